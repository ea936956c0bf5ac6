//! Which steps of a working rest on measures that nobody took on this unit: their standing is then that of the
//! body type's starting value, not of the unit.
//!
//! The takeoff gets a plan and does not know who measured it; here the words of its steps are held against the
//! measures. A test goes through all ways, so a step that is new or renamed is found.

use crate::basis::{Line, Standing};
use crate::estimate::Group;

/// Measures as they are named to a person, with the steps that rest on them (their first words).
pub const MEASURES: [(&str, &[&str]); 8] = [
    ("top rail outside to outside", &["rail width outside"]),
    (
        "roof bows",
        &[
            "to bow",
            "from bow",
            "bows opened",
            "bows reached",
            "seam station",
            "from seam",
            "from the seam",
        ],
    ),
    (
        "outside length",
        &["to the rear", "body length", "nose to rear", "length of the side"],
    ),
    ("outside width", &["width of the body", "width of a door"]),
    (
        "pitch of the holes in the top rails",
        &["holes a side", "even pitch", "pitch of the rail's holes"],
    ),
    ("side posts", &["from post", "post to post", "posts (or ends)"]),
    ("laps of the side sheets", &["from joint", "rails"]),
    (
        "height of the side",
        &[
            "side height",
            "height of the side",
            "joints",
            "ends over the posts",
            "bottom rail to top rail",
            "down nose and rear",
        ],
    ),
];

/// Whether a step of a working is a measure of the body, whoever took it.
pub(crate) fn is_measure(what: &str) -> bool {
    MEASURES
        .iter()
        .any(|(_, words)| words.iter().any(|word| what.starts_with(word)))
}

/// Takes the unit's standing from every step of a group that rests on a measure not taken.
pub(crate) fn put(group: &mut Group, not_measured: &[String]) {
    let of = |line: &mut Line| one(line, not_measured);
    group.lines.iter_mut().for_each(of);
    for roof in group.roof.iter_mut().chain(&mut group.roof_behind) {
        roof.lines.iter_mut().for_each(of);
    }
    if let Some(side) = &mut group.side {
        side.lines.iter_mut().for_each(of);
    }
    for part in &mut group.parts {
        part.lines.iter_mut().for_each(of);
    }
}

fn one(line: &mut Line, not_measured: &[String]) {
    for step in line
        .basis
        .iter_mut()
        .filter(|step| step.standing == Standing::Unit)
    {
        let rests = |(measure, words): &&(&str, &[&str])| {
            not_measured.iter().any(|name| name == measure)
                && words.iter().any(|word| step.what.starts_with(word))
        };
        if let Some((measure, _)) = MEASURES.iter().find(rests) {
            step.standing = match *measure {
                "outside length" | "outside width" => Standing::CommonPractice,
                _ => Standing::Memory,
            };
        }
    }
    line.standing = Standing::weakest(line.basis.iter().map(|step| &step.standing));
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use super::*;
    use crate::body::{BodyType, Plan};
    use crate::estimate::{Chosen, estimate};
    use crate::made::mark;
    use crate::mark::{DamageKind, Mark, Part, Surface};
    use crate::measure::Unit;
    use crate::shop::Book;
    use crate::ways::ways;

    fn marks() -> [Mark; 4] {
        let tear = |id, surface, part, place| mark(id, surface, part, DamageKind::Tear, place);
        [
            tear("front", Surface::Roof, Part::RoofSheet, [3, 50, 20, 60]),
            tear("middle", Surface::Roof, Part::RoofSheet, [300, 340, 20, 60]),
            tear("rear", Surface::Roof, Part::RoofSheet, [580, 600, 20, 60]),
            tear("side", Surface::Curbside, Part::SideSheet, [100, 108, 40, 48]),
        ]
    }

    /// Lines of every way that fits each of the marks by itself.
    fn all_lines(not_measured: &[String]) -> Vec<Line> {
        let (plan, book): (Plan, Book) = (BodyType::DryVan53.plan(), Book::default());
        let mut lines = Vec::new();
        for mark in marks() {
            let alone = [mark];
            for choice in ways(&plan, &alone, &book, Unit::In).unwrap() {
                for way in choice.ways.iter().filter(|way| way.fits && way.price.is_some()) {
                    let chosen = [Chosen {
                        group: choice.group.clone(),
                        way: way.key.key().to_owned(),
                        by_hand: None,
                    }];
                    let job = estimate(&plan, &alone, &chosen, &book, not_measured, Unit::In).unwrap();
                    lines.extend(job.groups.into_iter().flat_map(|group| group.lines));
                }
            }
        }
        lines
    }

    fn of_the_unit(lines: &[Line]) -> Vec<String> {
        let steps = lines.iter().flat_map(|line| &line.basis);
        let unit = steps.filter(|step| step.standing == Standing::Unit);
        unit.map(|step| step.what.clone()).collect()
    }

    #[test]
    fn nothing_stands_as_of_this_unit_when_no_measure_was_taken_on_it_but_the_damage() {
        let names: Vec<String> = MEASURES.iter().map(|(name, _)| (*name).to_owned()).collect();
        let mut left = of_the_unit(&all_lines(&names));
        left.retain(|what| what != "damage");
        assert_eq!(left, Vec::<String>::new());
        assert!(of_the_unit(&all_lines(&[])).len() > 30);
    }

    #[test]
    fn a_line_that_rests_on_a_starting_value_is_no_better_founded_than_it() {
        let bows = ["roof bows".to_owned()];
        let lines = all_lines(&bows);
        let tape = lines.iter().find(|line| line.item == "foam tape").unwrap();
        assert_eq!(tape.standing, Standing::Memory);
        let lines = all_lines(&[]);
        let tape = lines.iter().find(|line| line.item == "foam tape").unwrap();
        assert_eq!(tape.standing, Standing::Unit);
    }
}
