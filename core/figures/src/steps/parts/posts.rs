//! Corner posts and side posts.

use super::{Ask, Row, row};
use crate::steps::Hazard::{
    Chemical, Cut, Drop, Fall, Noise, Residue, Road, Spread, Tension, Tip, Wind, Wiring,
};

const LOOK: Row = row("look", "Bare the post", "Lining and scuff band out of the way; post, its ends at both rails, the \
    sheet and the wiring behind it looked at. A rail that is bent or cracked with it: stop, enter it as found more.",
    &[Residue, Cut, Wiring]).stop(1);

pub(super) const CORNER: &[Row] = &[
    row("look", "Bare the corner", "Lining, corner cap, lamps and harness off; both rails, corner plates and the rows of \
        nose and side sheet looked at.", &[Residue, Wiring, Fall, Cut]).stop(2),
    row("hold", "Hold the corner", "Roof and both walls tied and braced, a prop from the floor on a plank under the rail at \
        the corner, the unit level and supported; both diagonals written down. Never both corner posts at once.",
        &[Spread, Tip, Drop]).stop(1).ask(Ask::Diagonals),
    row("off", "Old post out", "Rivets of nose sheet and side sheet drilled out with their holes kept, the post held before \
        the last ones; the opening covered at every stop.", &[Fall, Cut, Noise, Drop, Wind]).photos(1),
    row("on", "New post in", "{piece}, as the maker sells it, seated at both ends, clamped, bolted through a few holes. \
        Existing holes of the sheets transferred. No heat, no welding.", &[Spread, Drop, Cut]).stop(1)
        .ask(Ask::DiagonalsAgain),
    row("rivet", "Rivet", "{rivets} rivets, size, rows and pitch as the factory's; steel and aluminium kept apart. Corner \
        plates and cap back.", &[Fall, Noise, Road]).stop(1),
    row("seal", "Seal", "A closed bead on both edges, over the full height, and round the cap.", &[Fall, Chemical]).photos(1),
];

pub(super) const STRAIGHTEN: &[Row] = &[
    LOOK,
    row(
        "measure",
        "Measure the bend",
        "A straightedge on {posts}. Up to {limit} is straightened; deeper, kinked, cracked or \
        torn at a rivet takes another way: stop, choose it.",
        &[Cut],
    )
    .stop(1)
    .ask(Ask::UpToLimit("Depth of the bend, straightedge")),
    row(
        "straighten",
        "Straighten cold",
        "With clamps, a straight bar and a wide block, slowly; the sheet outside is watched \
        and its rivets are looked at. Never with heat.",
        &[Tension, Noise, Cut],
    ),
    row(
        "check",
        "Look and measure again",
        "Post straight, no crack at rivets or lips, sheet rivets tight; a loose one comes \
        out and is set again one size up.",
        &[Road],
    )
    .stop(1)
    .ask(Ask::Straight("Depth that is left, straightedge", 8)),
];

pub(super) const SPLICE: &[Row] = &[
    LOOK,
    row(
        "cut",
        "Cut out the damage",
        "On {posts}: {cut}, square, the sheet's rivets over it drilled out with their holes kept; \
        saw depth set to the post, the sheet is not cut.",
        &[Cut, Noise, Spread],
    )
    .photos(1),
    row(
        "lay",
        "Lay the splice dry",
        "{piece} of like post, nested or beside, {reach} past the cut each side, straight with \
        the post.",
        &[Cut, Noise],
    )
    .stop(1)
    .ask(Ask::Length("Splice past the cut, the shorter side", "reach", 4)),
    row(
        "fasten",
        "Fasten",
        "{side} each side into the post, and the sheet's own holes over the cut: size, rows and pitch no \
        weaker than the factory's. Steel and aluminium kept apart.",
        &[Noise, Road],
    )
    .stop(1)
    .ask(Ask::Straight("Out of line, straightedge", 8)),
];

pub(super) const SISTER: &[Row] = &[
    LOOK,
    row(
        "lay",
        "Set the new post",
        "Beside {posts}, {piece}, bottom rail to top rail, tight to the old post and to the \
        sheet, ends on their brackets; rails get no extra holes.",
        &[Drop, Cut],
    )
    .stop(1)
    .ask(Ask::Straight("Out of line, straightedge", 8)),
    row(
        "fasten",
        "Fasten",
        "{rivets} rivets, into the old post and through the sheet, pitch as the factory row; new holes in \
        the sheet are sealed outside. Steel and aluminium kept apart.",
        &[Noise, Cut, Road],
    )
    .stop(1),
    row(
        "seal",
        "Seal outside",
        "Sealant under and over each new rivet of the sheet.",
        &[Fall, Chemical],
    )
    .photos(1),
];

pub(super) const REPLACE: &[Row] = &[
    LOOK,
    row(
        "hold",
        "Hold the wall",
        "Wall tied and braced at both neighbours, diagonals of the two bays written down. One post at \
        a time; not while the roof is open.",
        &[Spread, Tip],
    )
    .stop(1)
    .ask(Ask::Diagonals),
    row(
        "change",
        "Out and in",
        "Rivets of {posts} drilled out with the sheet's holes kept, old post out, new one of {piece} in, \
        seated at both rails, clamped. Existing holes transferred.",
        &[Drop, Cut, Noise],
    )
    .stop(1)
    .ask(Ask::DiagonalsAgain),
    row(
        "rivet",
        "Rivet and seal",
        "{rivets} rivets, size and pitch as the factory row; a worn hole takes the next size. Each \
        rivet sealed outside; a lap that was opened is bedded anew.",
        &[Fall, Noise, Chemical, Road],
    )
    .stop(1),
];
