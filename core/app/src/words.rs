//! The trade's words for what the types name, in English: they stand in sentences that the core makes
//! (`hits bows 3 and 4`, `waits for ...`). Labels of fields and buttons belong to the screens.

use bowseam_figures::mark::{Age, PartHit};
use bowseam_jobs::entry::{
    ArrivalField, HoldWhy, OfficeField, PhotoWhen, PlanField, RollAnswer, RoofOffField,
};
use bowseam_jobs::on_photo::UnitView;
use bowseam_jobs::people::{Qualification, Role};
use chrono::{DateTime, NaiveDateTime, Utc};

/// Old or new.
pub const fn age(age: Age) -> &'static str {
    match age {
        Age::Old => "old damage",
        Age::New => "new damage",
        Age::NotKnown => "not known whether old or new",
    }
}

/// `3, 4 and 6`.
pub fn list<T: ToString>(items: &[T]) -> String {
    match items {
        [] => String::new(),
        [one] => one.to_string(),
        [first @ .., last] => {
            let first: Vec<String> = first.iter().map(ToString::to_string).collect();
            format!("{} and {}", first.join(", "), last.to_string())
        }
    }
}

/// What a mark hits, in a line: `roof bow 2 and 3 (hidden: look when it is open), roof sheet`.
pub fn hits(hits: &[PartHit]) -> String {
    let mut said = Vec::new();
    for hit in hits {
        let mut words = format!("{} {}", hit.part.word(), list(&hit.numbers))
            .trim()
            .to_owned();
        if hit.hidden {
            words.push_str(" (hidden: look when it is open)");
        }
        said.push(words);
    }
    said.join(", ")
}

/// A count with its word: `1 photo`, `3 photos`.
pub fn count(n: usize, one: &str, several: &str) -> String {
    if n == 1 {
        format!("1 {one}")
    } else {
        format!("{n} {several}")
    }
}

/// People, one at least.
pub fn people(many: u32) -> String {
    let many = usize::try_from(many.max(1)).unwrap_or(usize::MAX);
    count(many, "person", "people")
}

/// When a photo was taken, of the work.
pub const fn photo_when(when: PhotoWhen) -> &'static str {
    match when {
        PhotoWhen::Before => "before",
        PhotoWhen::During => "at work",
        PhotoWhen::After => "after",
    }
}

/// A view of the whole unit.
pub const fn view(view: UnitView) -> &'static str {
    match view {
        UnitView::NoseRoadside => "the roadside corner at the nose",
        UnitView::NoseCurbside => "the curbside corner at the nose",
        UnitView::RearRoadside => "the roadside corner at the rear",
        UnitView::RearCurbside => "the curbside corner at the rear",
        UnitView::Roof => "the roof",
        UnitView::Inside => "the inside",
        UnitView::Nose => "the nose",
        UnitView::Roadside => "the roadside",
        UnitView::Curbside => "the curbside",
        UnitView::Rear => "the rear",
    }
}

/// Why a job is on hold.
pub const fn hold(why: HoldWhy) -> &'static str {
    match why {
        HoldWhy::Parts => "parts",
        HoldWhy::Weather => "weather",
        HoldWhy::People => "people",
        HoldWhy::Answer => "somebody's answer",
    }
}

/// A role, as its key.
pub const fn role(role: Role) -> &'static str {
    match role {
        Role::Inspector => "inspector",
        Role::Technician => "technician",
        Role::Supervisor => "supervisor",
    }
}

/// An answer to *May it roll?*
pub const fn roll(answer: RollAnswer) -> &'static str {
    match answer {
        RollAnswer::ParkIt => "Park it",
        RollAnswer::WithLimits => "May roll, with limits",
        RollAnswer::MayRoll => "May roll",
    }
}

/// A field of Arrival.
pub const fn arrival(field: ArrivalField) -> &'static str {
    match field {
        ArrivalField::Unit => "unit number",
        ArrivalField::Vin => "VIN",
        ArrivalField::Plate => "plate",
        ArrivalField::BodyType => "body type",
        ArrivalField::Built => "built",
        ArrivalField::Inspected => "annual inspection",
        ArrivalField::Slot => "yard slot",
        ArrivalField::FoundBy => "who found it",
        ArrivalField::FoundAt => "when it was found",
        ArrivalField::Account => "driver's account",
        ArrivalField::Order => "claim or order number",
        ArrivalField::Payer => "who pays",
        ArrivalField::Value => "the unit's value",
        ArrivalField::Load => "load",
        ArrivalField::Seal => "seal number",
        ArrivalField::SealOpened => "who opened the seal, when, on whose word, the new seal",
        ArrivalField::Placards => "placards or cargo residue",
        ArrivalField::Wiring => "antennas, panels, wiring",
    }
}

/// A measure of the body.
pub const fn plan(field: PlanField) -> &'static str {
    match field {
        PlanField::Length => "outside length",
        PlanField::Width => "outside width",
        PlanField::SideHeight => "height of the side",
        PlanField::RailWidthOutside => "top rail outside to outside",
        PlanField::Bows => "roof bows",
        PlanField::Posts => "side posts",
        PlanField::SideJoints => "laps of the side sheets",
        PlanField::RailHolePitch => "pitch of the holes in the top rails",
        PlanField::RailFlange => "flange of the rails",
        PlanField::PostFlange => "flange of the posts",
        PlanField::HeaderFlange => "flange of the rear header",
        PlanField::BowEnd => "end clips of the bows",
        PlanField::CornerCap => "corner caps",
        PlanField::RoofSheet => "roof sheet",
        PlanField::SideSheet => "side sheet",
        PlanField::CompositeSides => "sides of composite plate",
        PlanField::RoofSeams => "seams of earlier roof repairs",
        PlanField::EarlierPatches => "patches of earlier repairs",
    }
}

/// An entered field of the Roof-off check.
pub const fn roof_off(field: RoofOffField) -> &'static str {
    match field {
        RoofOffField::People => "people",
        RoofOffField::DryHours => "dry hours",
        RoofOffField::Cover => "cover",
    }
}

/// What the office writes on a job.
pub const fn office(field: OfficeField) -> &'static str {
    match field {
        OfficeField::PayerOrder => "payer's order number",
        OfficeField::Insurer => "insurer's number",
        OfficeField::ReportClosed => "driver's report closed",
        OfficeField::ComebackOf => "comeback of an earlier job",
        OfficeField::Warranty => "paid or under warranty",
        OfficeField::Retain => "record after its keeping time",
    }
}

/// What somebody is qualified for.
pub const fn qualification(what: Qualification) -> &'static str {
    match what {
        Qualification::Release => "release units",
        Qualification::Inspect => "inspect",
        Qualification::Weld => "weld",
    }
}

/// A time in a sentence. The page that shows the sentence writes it in the zone of the phone or desk that it is read on, as
/// it does all times, and knows it by this form; [`plain`] writes it for paper.
pub fn time(at: DateTime<Utc>) -> String {
    at.format(IN_SENTENCE).to_string()
}

/// As [`time`] writes it: always so many letters.
const IN_SENTENCE: &str = "%Y-%m-%dT%H:%MZ";
const LETTERS: usize = 17;

/// A time on paper, which is read anywhere.
pub fn utc(at: DateTime<Utc>) -> String {
    at.format("%Y-%m-%d %H:%M UTC").to_string()
}

/// A sentence for paper, its times as [`utc`] writes them.
pub fn plain(text: &str) -> String {
    let mut said = String::with_capacity(text.len());
    let mut rest = text;
    while let Some(first) = rest.chars().next() {
        let read = |some: &str| NaiveDateTime::parse_from_str(some, IN_SENTENCE).ok();
        match rest
            .split_at_checked(LETTERS)
            .and_then(|(some, after)| Some((read(some)?, after)))
        {
            Some((at, after)) => {
                said.push_str(&utc(at.and_utc()));
                rest = after;
            }
            None => {
                said.push(first);
                rest = rest.get(first.len_utf8()..).unwrap_or_default();
            }
        }
    }
    said
}

#[cfg(test)]
mod tests {
    use super::{plain, plan, time};
    use crate::now::PLAN_FIELDS;
    use bowseam_figures::measured::MEASURES;

    #[test]
    fn a_time_in_a_sentence_is_put_right_for_paper_wherever_it_stands() {
        let at = time("2026-01-03T13:00:30Z".parse().unwrap_or_default());
        assert_eq!(at, "2026-01-03T13:00Z");
        assert_eq!(
            plain(&format!("{at}: Köder until {at}, 24 h.")),
            "2026-01-03 13:00 UTC: Köder until 2026-01-03 13:00 UTC, 24 h."
        );
        assert_eq!(plain("2026-01-03T25:00Z ½"), "2026-01-03T25:00Z ½");
    }

    #[test]
    fn the_figures_know_each_measure_by_the_name_that_it_has_here() {
        for (name, _) in MEASURES {
            assert!(PLAN_FIELDS.iter().any(|field| plan(*field) == name), "{name}");
        }
    }
}
