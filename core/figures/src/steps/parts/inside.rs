//! Lining, scuff band and floor, and what many parts have: fasteners set anew, leaks, worn places, wet layers.

use super::{Ask, Row, row};
use crate::steps::Hazard::{Chemical, Cut, Drop, Fall, Noise, Residue, Road, Tip, Wiring};

pub(super) const REFASTEN: &[Row] = &[
    row("out", "Loose fasteners out", "At {place}: the loose ones and one sound one beyond them at each end, the part held. \
        Holes looked at with a lamp: a crack between holes, or a hole torn oval, is more than loose fasteners: stop, enter \
        it as found more.", &[Fall, Drop, Noise]).stop(1),
    row("in", "Set anew", "{fasteners} in all. A worn hole takes the next size, as many and as near to each other as the \
        factory's; steel and aluminium kept apart. Where water could come in, on sealant.",
        &[Noise, Chemical, Road]).stop(1)
        .ask(Ask::Words("Each fastener, by hand and by hammer tap", "tight, none turns")),
];

pub(super) const RESEAL: &[Row] = &[
    row("find", "Find where it comes in", "Dry it, then water from below to above, somebody inside with a lamp; the mark at \
        {place} is where it shows, not always where it comes in. A tear, a crack or a loose row: stop, mark that.",
        &[Fall, Wiring, Residue]).stop(2),
    row("out", "Old sealant out", "Cut out and scraped back to metal over {seal}, cleaned, scuffed, dry, within the label's \
        temperatures.", &[Fall, Cut, Chemical]).photos(1),
    row("in", "New bead", "A closed bead over {seal}, pressed into the seam and on each rivet, tooled so that water runs off.",
        &[Fall, Chemical]).photos(1),
];

pub(super) const DRESS: &[Row] = &[
    row(
        "measure",
        "Clean and measure",
        "At {place}: rust, dirt and loose coating off, then the depth with a gauge. Up to {limit} \
        is dressed; deeper, a crack, or through: stop, choose another way.",
        &[Cut, Chemical],
    )
    .stop(1)
    .ask(Ask::UpToLimit("Depth, gauge")),
    row(
        "coat",
        "Dress and coat",
        "Smooth in the long direction, no sharp end left, no metal taken beyond need; cleaned, coated or \
        filled by the label.",
        &[Cut, Chemical, Noise],
    )
    .photos(1),
];

pub(super) const DRY_OUT: &[Row] = &[
    row(
        "leak",
        "The leak first",
        "Where the water at {place} came from is found and mended before anything is dried; the marks \
        say where that is.",
        &[Residue],
    )
    .stop(1),
    row(
        "dry",
        "Dry and look",
        "Aired and dried, then looked at from both sides where it can be: soft, swollen, dark or apart: a \
        new piece is the way.",
        &[Residue, Chemical],
    )
    .stop(1)
    .ask(Ask::Words("After drying, by hand and awl", "hard, flat, dry")),
];

pub(super) const INSERT: &[Row] = &[
    row(
        "look",
        "Look behind the lining",
        "Screws out, the damaged piece off: posts, sheet and wiring behind it looked at and \
        photographed. Anything bent, torn or wet: enter it as found more before it is covered.",
        &[Residue, Cut, Wiring],
    )
    .stop(1),
    row(
        "cut",
        "Cut from post to post",
        "From {cut}, saw depth set to the lining, power off; upright edges on the middle of a \
        post.",
        &[Cut, Noise, Wiring],
    ),
    row(
        "fit",
        "Fit the insert",
        "{piece}, like thickness, on backing strips at the upper and lower edge, {screws} screws that end \
        in the post and do not reach the sheet. Flush all round, so that no load hangs on an edge.",
        &[Cut, Drop],
    )
    .stop(1)
    .ask(Ask::Words("Hand over the joints", "flush, no edge stands")),
];

pub(super) const SHEETS: &[Row] = &[
    row(
        "look",
        "Old sheets out",
        "Scuff band loosened as far as needed, screws out, sheets down one at a time. Posts, side sheet \
        and wiring looked at and photographed before anything covers them.",
        &[Residue, Drop, Cut, Wiring],
    )
    .stop(2),
    row(
        "fit",
        "New sheets in",
        "{count} of {piece}, joints on the posts where they were, {screws} screws in all that do not reach \
        the sheet outside; only after the leak test.",
        &[Drop, Cut, Noise],
    )
    .stop(1)
    .ask(Ask::Words("Hand over the joints", "flush, no edge stands")),
];

pub(super) const BAND: &[Row] = &[
    row(
        "look",
        "Old band off",
        "From {cut}, cut on the middle of a post; lining and posts behind it looked at.",
        &[Residue, Cut, Noise],
    )
    .stop(1),
    row(
        "fit",
        "New band on",
        "{piece}, {screws} screws, ends flush with the old band, edges broken.",
        &[Cut, Drop],
    )
    .photos(1)
    .ask(Ask::Words("Hand over both joints", "flush, no edge stands")),
];

pub(super) const BOARDS: &[Row] = &[
    row(
        "look",
        "Look from below",
        "Crossmembers, their ends, wiring and air lines under {cut}. A bent, cracked or \
        loose crossmember asks the maker before a board covers it.",
        &[Tip, Wiring, Residue],
    )
    .stop(1),
    row(
        "out",
        "Old pieces out",
        "Screws out, {boards} cut over the middle of a crossmember, saw depth set to the \
        board: no crossmember, wire or air line is cut. The opening is fenced off, inside and below.",
        &[Cut, Noise, Drop, Wiring, Residue],
    )
    .photos(2),
    row(
        "clean",
        "Clean the crossmembers",
        "Old sealant and rust off, coated by the label, dry.",
        &[Chemical, Cut],
    ),
    row(
        "in",
        "New pieces in",
        "{boards} of {piece}, like thickness and strength, sealant in every joint and under both ends, \
        {screws} screws over {crossmembers} crossmembers, heads just under the face.",
        &[Cut, Noise, Chemical],
    )
    .stop(1)
    .ask(Ask::Straight("Step at the joints, straightedge", 4)),
    row(
        "below",
        "Seal from below",
        "Joints and screws looked at and sealed from below.",
        &[Tip, Chemical],
    )
    .photos(1),
];
