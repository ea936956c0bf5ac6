//! Nose wall and doors.

use super::{Ask, Row, row};
use crate::steps::Hazard::{Chemical, Cut, Drop, Fall, Noise, Residue, Road, Spread, Wind, Wiring};

const PATCH_LAY: &str = "Like material and thickness, {patch}, corners rounded to {radius}. Lay it over, dry and \
    square; transfer the holes from the panel, existing holes are reused. {rows} all round, pitch up to {pitch}, \
    {edge} from every edge. Drill through both, edges of holes broken. No weaker than the factory seam beside it \
    (size, rows, pitch).";
const PATCH_CUT: &str = "A rectangle {cut}, corners rounded to {radius}, past the last crease; a crease that runs on: \
    stop, enter it as found more. Saw depth set to the sheet. Edges broken, swarf off.";
const PATCH_RIVET: &str = "Both faces clean, scuffed and dry, sealant under the whole lap, then {rivets} rivets of \
    {diameter} from the middle of each side to the corners. A bad rivet comes out and is set again one size up.";

pub(super) const NOSE_PATCH: &[Row] = &[
    row("look", "Look behind the nose wall", "Lining out of the way. Harness, air lines, refrigeration and lamp \
        wiring found and clear; posts and corner posts looked at. A post that is bent or cracked: stop, enter it as \
        found more, a patch does not mend it.", &[Residue, Wiring, Cut]).stop(1),
    row("cut", "Cut back to sound metal", PATCH_CUT, &[Fall, Cut, Noise, Wiring]).photos(1),
    row("lay", "Cut and lay the patch dry", PATCH_LAY, &[Fall, Cut, Noise]).stop(1)
        .ask(Ask::Length("Lap past the cut, the narrowest edge", "lap", 4)),
    row("rivet", "Bed and rivet", PATCH_RIVET, &[Fall, Chemical, Noise, Road]).stop(1),
    row("seal", "Seal", "A closed bead along every edge and on every rivet, tooled so that water and road spray run \
        off; no upper edge stays open.", &[Chemical]).photos(1),
];

pub(super) const NOSE_SHEET: &[Row] = &[
    row("look", "Strip the nose", "Lining, lamps, harness clips, air lines and decals off; each photographed where it \
        sat. Posts, corner posts, nose rail and bottom rail looked at.", &[Residue, Wiring, Cut, Drop]).stop(2),
    row("hold", "Hold the walls", "Before a rivet comes out: both side walls tied across and braced at the nose, both \
        diagonals of the nose opening measured and written down. The roof stays closed while the nose is open; the \
        cover lies ready for every stop.", &[Spread, Drop]).stop(1).ask(Ask::Diagonals),
    row("off", "Old sheet off", "Rivets drilled out with the holes of posts and rails kept; the sheet is held before \
        the last ones go. Worn holes take the next rivet size.", &[Fall, Cut, Noise, Drop, Wind]).photos(1),
    row("on", "New sheet on, squared, clamped", "{piece}, like material and thickness, squared to both corner posts and \
        clamped. Existing holes located and transferred; rails get no extra ones. Steel and aluminium kept apart.",
        &[Fall, Wind, Drop, Cut]).stop(1).ask(Ask::DiagonalsAgain),
    row("rivet", "Bed and rivet", "Sealant under every lap, then {rivets} rivets, from the middle out, size, rows and \
        pitch as the factory's.", &[Fall, Chemical, Noise, Road]).stop(1),
    row("close", "Seal and put back", "A closed bead all round and on every rivet; lamps, harness and air lines where \
        they sat, nothing chafes.", &[Chemical, Wiring]).photos(2),
];

pub(super) const DOOR_DENT: &[Row] = &[
    row("measure", "Measure the dent", "Door open and hooked, or shut and pinned: it must not swing. A straightedge over \
        the deepest place, a light along the skin. Up to {limit} is straightened or filled; deeper, a crack, an open edge \
        or a wet core: stop, choose another way.", &[Drop, Cut]).stop(1).ask(Ask::UpToLimit("Depth of the dent, straightedge")),
    row("work", "Straighten or fill, coat", "Worked cold from the rim to the middle where the back of the skin can be \
        reached; a layered skin is not pulled off its core. What stays low is scuffed, filled and coated as the labels say, \
        nothing over rivets, hinges, gasket or reflective strip.", &[Chemical, Noise]).photos(1),
    row("swing", "Swing, latch", "Gasket, hinges and lock rods are clear.", &[Drop]).stop(1)
        .ask(Ask::Words("Door closes, latches, holds open", "closes, latches, holds open")),
];

pub(super) const DOOR_PATCH: &[Row] = &[
    row(
        "hold",
        "Hold the door",
        "Door open and hooked, or shut and pinned: it must not swing. Skin, core and both faces \
        looked at; a wet or soft core makes it a new panel.",
        &[Drop, Cut],
    )
    .stop(1),
    row("cut", "Cut back to sound skin", PATCH_CUT, &[Cut, Noise]).photos(1),
    row("lay", "Cut and lay the patch dry", PATCH_LAY, &[Cut, Noise])
        .stop(1)
        .ask(Ask::Length("Lap past the cut, the narrowest edge", "lap", 4)),
    row("rivet", "Bed and rivet", PATCH_RIVET, &[Chemical, Noise, Road]).stop(1),
    row(
        "swing",
        "Seal, swing, latch",
        "A closed bead along every edge. Door swung through: gasket, hinges, lock rods \
        and the reflective strip are clear of the patch.",
        &[Chemical, Drop],
    )
    .stop(1)
    .ask(Ask::Words(
        "Door closes, latches, holds open",
        "closes, latches, holds open",
    )),
];

pub(super) const DOOR_PANEL: &[Row] = &[
    row(
        "measure",
        "Measure the opening",
        "Height and width at three places each, both diagonals, hinge places and lock \
        rods. An opening out of square is the rear frame's: stop, ask the maker.",
        &[Drop],
    )
    .stop(1)
    .ask(Ask::Diagonals),
    row(
        "off",
        "Old panel off",
        "Lifted by a hoist or two people, hinges loosened from below to above with the weight \
        held; lock rods, keepers, holders and the identification plate kept.",
        &[Drop, Cut],
    )
    .photos(2),
    row(
        "on",
        "New panel on",
        "{count}. Hardware over from the old one, holes sealed, hinge pins greased, gaps even all \
        round, the door carried by its hinges and not by the lock rods.",
        &[Drop, Cut, Road],
    )
    .stop(1)
    .ask(Ask::DiagonalsAgain),
    row(
        "gasket",
        "Gasket",
        "{gasket} of gasket, upper corners uncut, joints at the bottom.",
        &[Chemical],
    ),
    row(
        "swing",
        "Swing and latch",
        "Opened to its holder, closed, latched and locked, three times; a light inside shows \
        no gap.",
        &[Drop],
    )
    .stop(1)
    .ask(Ask::Words(
        "Door closes, latches, holds open",
        "closes, latches, holds open",
    )),
];

pub(super) const GASKET: &[Row] = &[
    row(
        "look",
        "See how the door hangs",
        "Gaps all round, hinges, lock rods. A door that hangs low is set right before \
        it gets a gasket.",
        &[Drop],
    )
    .stop(1)
    .ask(Ask::Words("Gap all round", "even")),
    row(
        "off",
        "Old gasket out",
        "Retainer or rivets out, channel clean and dry.",
        &[Cut, Chemical],
    ),
    row(
        "on",
        "New gasket in",
        "{gasket}, upper corners uncut, joints at the bottom and sealed, lips towards the weather.",
        &[Chemical],
    )
    .photos(1),
    row(
        "swing",
        "Close and look",
        "Latches without force; a light inside shows no gap.",
        &[Drop],
    )
    .stop(1)
    .ask(Ask::Words("Light inside shows", "no gap")),
];
