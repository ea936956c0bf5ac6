//! Hinges, rear guard, lamps and harness, mud flaps, reflective sheeting, decals.

use super::{Ask, Row, row};
use crate::steps::Hazard::{Chemical, Cut, Drop, Noise, Road, Tip, Wiring};

pub(super) const HINGE: &[Row] = &[
    row(
        "hold",
        "Hold the door",
        "Door propped at its lower edge, the other hinges looked at: one hinge at a time. Hinge and \
        frame cleaned and looked at: a weld or a crack into the frame: stop, ask the maker.",
        &[Drop],
    )
    .stop(1),
    row(
        "change",
        "Hinge off and on",
        "{fasteners} fasteners of like size and grade, on sealant, in the existing holes; pin greased.",
        &[Drop, Cut, Noise, Road],
    )
    .photos(1),
    row(
        "swing",
        "Swing and latch",
        "Opened to its holder, closed, latched; gap even, prop away last.",
        &[Drop],
    )
    .stop(1)
    .ask(Ask::Words(
        "Door closes, latches, holds open",
        "closes, latches, holds open",
    )),
];

pub(super) const PIN: &[Row] = &[
    row(
        "hold",
        "Hold the door",
        "Door propped at its lower edge. Old pin driven out; eyes of hinge and strap looked at and \
        cleaned: oval or cracked eyes take a new hinge: stop.",
        &[Drop, Noise, Cut],
    )
    .stop(1),
    row(
        "in",
        "New pin in",
        "Greased, seated, secured as the old one was.",
        &[Drop],
    ),
    row(
        "swing",
        "Swing and latch",
        "Opened to its holder, closed, latched; prop away last.",
        &[Drop],
    )
    .stop(1)
    .ask(Ask::Words(
        "Door closes, latches, holds open",
        "closes, latches, holds open",
    )),
];

pub(super) const GUARD: &[Row] = &[
    row(
        "look",
        "Look at what holds it",
        "Brackets, frame rails and welds behind the guard cleaned and looked at: bent, cracked or \
        welded on: stop, ask the maker. Number and date on the old label photographed.",
        &[Tip, Cut],
    )
    .stop(2),
    row(
        "off",
        "Old guard off",
        "Held by a jack or two people before the last bolt.",
        &[Drop, Noise],
    ),
    row(
        "on",
        "New guard on",
        "The maker's guard with its label, the maker's bolts, by the maker's sheet; nothing is heated, \
        drilled larger or straightened to fit.",
        &[Drop, Road],
    )
    .stop(2)
    .ask(Ask::Written(
        "Maker's sheet: number, torque used, by whom",
        "as the maker's sheet says",
    )),
    row(
        "measure",
        "Measure",
        "Above the road with the unit empty and level, from both sides of the body, and forward of the rear: \
        the proof asks for the values by the date built (49 CFR 393.86, 571.224).",
        &[Tip],
    )
    .stop(1)
    .ask(Ask::Written(
        "Above the road; from each side; forward of the rear",
        "within the rule of the date built",
    )),
];

pub(super) const LAMP: &[Row] = &[
    row(
        "off",
        "Old lamp out",
        "Power off. Plug and wires looked at: green or hard wire is cut back to bright metal.",
        &[Wiring, Cut],
    )
    .photos(1),
    row(
        "on",
        "New lamp in",
        "Same colour, marks and place; plug greased, wire clipped so that nothing chafes, hole sealed.",
        &[Wiring, Chemical],
    ),
    row(
        "test",
        "Test",
        "Power on: this lamp and its neighbours.",
        &[Wiring],
    )
    .stop(1)
    .ask(Ask::Words("This lamp and its neighbours", "lit, none dims")),
];

pub(super) const WIRES: &[Row] = &[
    row(
        "look",
        "Find both ends",
        "Power off. Harness bare over the damage, wires counted and written down by colour; ABS wires \
        only as the maker says. What cut it is found and moved.",
        &[Wiring, Cut],
    )
    .stop(1),
    row(
        "join",
        "Join and seal",
        "{piece} of like wire let in, up to {joints} joints, each crimped and sealed by itself, not side by \
        side; loom closed, clipped clear of edges.",
        &[Wiring, Chemical],
    )
    .photos(1),
    row(
        "test",
        "Test",
        "Power on: every lamp, every circuit, the ABS lamp.",
        &[Wiring],
    )
    .stop(1)
    .ask(Ask::Words("Every circuit", "works, none feeds another")),
];

pub(super) const HARNESS: &[Row] = &[
    row("look", "Find the run", "Power off. Run, clips and grommets photographed, lengths measured connector to connector.",
        &[Wiring, Cut]).stop(2),
    row("draw", "Draw it in", "{piece} by the plan. The old one draws a line through; new grommets, clips where they were, slack at \
        doors and nose, nothing chafes.", &[Wiring, Cut]).photos(1),
    row("test", "Test", "Power on: every lamp, every circuit, the ABS lamp.", &[Wiring]).stop(1)
        .ask(Ask::Words("Every circuit", "works, none feeds another")),
];

pub(super) const FLAP: &[Row] = &[
    row(
        "off",
        "Old flap off",
        "Bracket looked at: bent is changed, cracked at the frame asks the maker.",
        &[Tip, Cut, Drop],
    ),
    row(
        "on",
        "New flap on",
        "{fasteners} bolts with a bar or washers, square to the road.",
        &[Drop, Road],
    )
    .stop(1)
    .ask(Ask::Written(
        "Lower edge above the road, unit empty",
        "by the shop's states' rule",
    )),
];

pub(super) const SHEETING: &[Row] = &[
    row(
        "off",
        "Old pieces off",
        "Warmed and peeled, glue off, sheet washed, dry, within the label's temperatures.",
        &[Chemical, Cut],
    ),
    row(
        "on",
        "New pieces on",
        "{count} of {piece}, at least {width} wide: {cut}; {pattern}. Not over rivet heads without a \
        cut, edges rolled down, the mark of the grade readable.",
        &[Chemical],
    )
    .stop(1)
    .ask(Ask::Written(
        "Centre above the road",
        "375 to 1525 mm (49 CFR 571.108 S8.2)",
    )),
];

pub(super) const DECAL: &[Row] = &[
    row(
        "off",
        "Old one off",
        "Photographed with a rule beside it, then warmed and peeled; sheet washed and dry.",
        &[Chemical, Cut],
    )
    .photos(1),
    row(
        "on",
        "New one on",
        "{piece}, same words and place, level; unit number as on the papers.",
        &[Chemical],
    )
    .stop(1),
];
