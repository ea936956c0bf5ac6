//! Rails, bows and corner caps, with the roof sheet on.

use super::{Ask, Row, row};
use crate::steps::Hazard::{Chemical, Cut, Drop, Fall, Noise, Residue, Road, Spread, Tension, Wind, Wiring};

pub(super) const SPLICE: &[Row] = &[
    row("look", "Bare the rail", "Platforms on both sides. Lining and wiring clear; the edge of the roof sheet loosened \
        over the splice and no farther, nobody on the sheet. Clean the rail and look at it with a lamp: a crack, a weld \
        or a bend of the rail itself is no work for a splice: stop, ask the maker.",
        &[Fall, Cut, Wiring, Residue]).stop(2)
        .ask(Ask::Words("Bare rail, both faces", "no crack, no weld, straight past the damage")),
    row("hold", "Hold the walls", "Walls tied across and braced at the place, both diagonals measured and written down. \
        The cover lies ready for every stop.", &[Spread, Fall]).stop(1).ask(Ask::Diagonals),
    row("cut", "Cut out", "{cut} of damage and margin, square, corners rounded, no cut into sheet or neighbour. No heat: \
        neither torch nor welding on an aluminium rail.", &[Fall, Cut, Noise]).photos(1),
    row("lay", "Lay the splice dry", "{piece} of like rail or the maker's splice section, {reach} past the cut each side, \
        clamped true with a straightedge. Existing holes transferred and reused.", &[Fall, Cut, Noise]).stop(1)
        .ask(Ask::Length("Splice past the cut, the shorter side", "reach", 8)),
    row("fasten", "Fasten", "{side} fasteners each side, {fasteners} in all: size, rows and pitch no weaker than the \
        factory's. Steel and aluminium kept apart by film or sealant, coated fasteners.",
        &[Fall, Noise, Road]).stop(1),
    row("true", "Measure again", "Diagonals as before, the rail straight over the splice.", &[Spread, Fall]).stop(1)
        .ask(Ask::DiagonalsAgain),
    row("close", "Close and seal", "Foam tape or sealant as it was, sheet edge rolled back without a crack, a closed bead \
        on both edges of the splice; braces out last.", &[Fall, Chemical, Cut]).photos(1),
];

pub(super) const NOSE_RAIL: &[Row] = &[
    row("platforms", "Platforms, strip out", "Platforms at the nose and {back} back on both sides. Lining at the nose, \
        harness, lamps and air lines clear. Nobody steps on sheet or bows.", &[Fall, Residue, Wiring, Cut]).stop(1),
    row("hold", "Hold the walls", "Both side walls tied across and braced before nose rail or front bow come out; both \
        diagonals at the nose measured and written down. The cover lies ready and is large enough.",
        &[Spread, Drop, Wind]).stop(2).ask(Ask::Diagonals),
    row("edge", "Loosen the roof's front edge", "Rivets out over the nose and {back} back on each top rail, the edge opened \
        slowly and evenly with a wide tool. Nobody in line with a sheet that springs. An edge that cracks: stop, a front \
        section is the way.", &[Fall, Tension, Cut, Noise]).stop(1)
        .ask(Ask::Words("Roof edge and sheet as far as loosened", "no crack, no crease")),
    row("off", "Old rail off", "Nose sheet rivets out, corner caps and corner plates off, rail and front bow held before \
        the last fastener. Corner posts, top rails and first bows looked at while they are bare; anything new is entered \
        as found more.", &[Fall, Spread, Drop, Noise]).photos(2),
    row("on", "New rail and front bow", "{piece}: fitted, clamped, {bolts} bolts through a few holes to hold it. Front bow in \
        with it, inner and outer corner plates tie it to the top rails. No heating and no welding of aluminium rails.",
        &[Spread, Fall, Drop]).stop(1).ask(Ask::DiagonalsAgain),
    row("holes", "Holes and rivets", "A new rail has no holes: drilled or punched at an even pitch no wider than {pitch}, the \
        first and the last 2 D from the ends; {rivets} rivets for roof edge and nose sheet.",
        &[Fall, Noise, Cut, Road]).stop(1),
    row("close", "Edge back, caps, seal", "Surfaces clean and dry, edge laid on sealant, riveted in its own holes, rolled \
        down evenly; corner caps on; a closed bead along nose and loosened edge. Braces out last.",
        &[Fall, Chemical, Cut]).photos(2),
];

pub(super) const STRAIGHTEN: &[Row] = &[
    row(
        "measure",
        "Measure the bend",
        "From inside, lining out of the way: a straightedge over the {bows}. Up to {limit} \
        is straightened; deeper, kinked, cracked or loose at an end takes a new bow: stop, choose that way.",
        &[Residue, Cut, Wiring],
    )
    .stop(1)
    .ask(Ask::UpToLimit("Depth of the bend, straightedge")),
    row(
        "straighten",
        "Straighten cold",
        "Propped from the floor on a plank, pushed slowly with a jack and a wide block, the \
        sheet above watched for a crease; never with heat, never with a hammer on the sheet.",
        &[Drop, Tension, Noise],
    ),
    row(
        "check",
        "Look and measure again",
        "Line of the bow, its ends, its fasteners, the sheet above.",
        &[Fall],
    )
    .stop(1)
    .ask(Ask::Straight("Depth that is left, straightedge", 8)),
];

pub(super) const BOW: &[Row] = &[
    row("look", "Look from inside", "Lining out of the way over the {bows}; ends, fasteners, wiring, and how the sheet is \
        held to it (rivets, tape or caulk). A crease or tear in the sheet above makes it a roof section: stop.",
        &[Residue, Wiring, Cut]).stop(1),
    row("hold", "Hold the walls", "Walls tied across at both neighbours, diagonals measured and written down; a bow comes \
        out only when the next ones hold. The sheet is propped on a soft plank.", &[Spread, Drop]).stop(1)
        .ask(Ask::Diagonals),
    row("change", "Out and in, one at a time", "Sheet cut free from the bow from inside with a thin blade, end fasteners out, \
        old bow down. New one of {piece} up, ends on film or sealant where steel meets aluminium, {fasteners} end fasteners \
        in all, coated. Nobody on the roof.", &[Spread, Drop, Cut, Noise]).photos(2),
    row("level", "Level with its neighbours", "A string over the neighbours: the bow touches it and pushes nothing up. \
        Diagonals as before.", &[Spread]).stop(1).ask(Ask::DiagonalsAgain),
    row("caulk", "Caulk to the sheet", "A bead between bow and sheet over the whole width; rivets that held the sheet go \
        back, sealed from outside from a platform. Props stay until it has cured.", &[Fall, Chemical]).photos(1),
];

pub(super) const CAP: &[Row] = &[
    row(
        "off",
        "Old cap off",
        "From a platform. {fasteners} fasteners out, the cap held; the corner covered at every stop.",
        &[Fall, Drop, Cut, Noise],
    ),
    row(
        "look",
        "Look at the corner",
        "Rails, corner post and corner plates bare and clean: bent, cracked or loose: stop, \
        enter it as found more.",
        &[Fall],
    )
    .stop(2),
    row(
        "on",
        "New cap on",
        "On sealant, in the existing holes, a worn one in the next size; steel and aluminium kept apart.",
        &[Fall, Chemical, Noise, Road],
    )
    .photos(1),
    row(
        "seal",
        "Seal round",
        "A closed bead, tooled so that water runs off to the side.",
        &[Fall, Chemical],
    )
    .photos(1),
];
