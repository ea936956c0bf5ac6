//! Work on the other parts. Each way has its rows in a table, in the order of the trade; the measures that a row
//! speaks of are filled in from the takeoff, so that text and figures cannot part.
//!
//! Order and checks are common practice; a limit or tolerance says where it comes from. The maker's repair
//! instruction comes before all of it, and the first step says so.

mod fittings;
mod inside;
mod posts;
mod rails;
mod walls;

use super::{Hazard, OtherWork, Step, Target};
use crate::basis::Standing;
use crate::group::WayKey;
use crate::mark::Part;
use crate::measure::Length;
use crate::parts::PartTakeoff;

/// A value that a row asks for.
#[derive(Clone, Copy)]
enum Ask {
    Nothing,
    /// From nothing up to the limit that the takeoff holds.
    UpToLimit(&'static str),
    /// The length of a fact, give or take sixty-fourths (from memory).
    Length(&'static str, &'static str, i64),
    /// Straight, give or take sixty-fourths (from memory).
    Straight(&'static str, i64),
    /// Both diagonals, before anything comes out.
    Diagonals,
    /// Both diagonals again.
    DiagonalsAgain,
    /// What is to be found, in words.
    Words(&'static str, &'static str),
    /// The same, with what is read or measured there.
    Written(&'static str, &'static str),
}

/// One step of a way, before the takeoff's measures are in it.
struct Row {
    key: &'static str,
    title: &'static str,
    text: &'static str,
    hazards: &'static [Hazard],
    stop: bool,
    photos: u32,
    ask: Ask,
}

const fn row(key: &'static str, title: &'static str, text: &'static str, hazards: &'static [Hazard]) -> Row {
    Row {
        key,
        title,
        text,
        hazards,
        stop: false,
        photos: 0,
        ask: Ask::Nothing,
    }
}

impl Row {
    const fn stop(mut self, photos: u32) -> Self {
        self.stop = true;
        self.photos = photos;
        self
    }

    const fn photos(mut self, photos: u32) -> Self {
        self.photos = photos;
        self
    }

    const fn ask(mut self, ask: Ask) -> Self {
        self.ask = ask;
        self
    }
}

/// Rows of a way on a part.
fn rows(part: Part, way: WayKey) -> &'static [Row] {
    match (part, way) {
        (_, WayKey::Refasten) => inside::REFASTEN,
        (_, WayKey::Reseal) => inside::RESEAL,
        (_, WayKey::DryOut) => inside::DRY_OUT,
        (_, WayKey::Dress) => inside::DRESS,
        (Part::NoseWall, WayKey::LappedPatch) => walls::NOSE_PATCH,
        (Part::NoseWall, _) => walls::NOSE_SHEET,
        (_, WayKey::LappedPatch) => walls::DOOR_PATCH,
        (Part::Door, WayKey::Straighten) => walls::DOOR_DENT,
        (Part::Door, WayKey::NewGasket) => walls::GASKET,
        (Part::Door, _) => walls::DOOR_PANEL,
        (Part::NoseRail, WayKey::Replace) => rails::NOSE_RAIL,
        (Part::NoseRail | Part::TopRail, _) => rails::SPLICE,
        (Part::RoofBow | Part::FrontRoofBow, WayKey::Straighten) => rails::STRAIGHTEN,
        (Part::RoofBow | Part::FrontRoofBow, _) => rails::BOW,
        (Part::CornerCap, _) => rails::CAP,
        (Part::CornerPost, _) => posts::CORNER,
        (Part::SidePost, WayKey::Straighten) => posts::STRAIGHTEN,
        (Part::SidePost, WayKey::Splice) => posts::SPLICE,
        (Part::SidePost, WayKey::Sister) => posts::SISTER,
        (Part::SidePost, _) => posts::REPLACE,
        (Part::Lining, WayKey::NewSection) => inside::INSERT,
        (Part::Lining, _) => inside::SHEETS,
        (Part::ScuffBand, _) => inside::BAND,
        (Part::Floor, _) => inside::BOARDS,
        (Part::Hinge, WayKey::NewPin) => fittings::PIN,
        (Part::Hinge, _) => fittings::HINGE,
        (Part::RearGuard, _) => fittings::GUARD,
        (Part::Lamp, _) => fittings::LAMP,
        (Part::Harness, WayKey::Splice) => fittings::WIRES,
        (Part::Harness, _) => fittings::HARNESS,
        (Part::MudFlap, _) => fittings::FLAP,
        (Part::ReflectiveSheeting, _) => fittings::SHEETING,
        (Part::Decal, _) => fittings::DECAL,
        _ => &[],
    }
}

/// What holds the walls when it is whole: it waits until the roof does so again.
pub(crate) fn holds_the_wall(taken: &PartTakeoff) -> bool {
    taken.way == WayKey::Replace && matches!(taken.part, Part::NoseWall | Part::SidePost)
}

/// Corner work, splices and patches are made while the roof is off; a whole nose sheet and whole side posts wait.
pub(super) fn while_roof_is_off(other: &OtherWork) -> bool {
    super::other::while_roof_is_off(other.part) && !other.taken.as_ref().is_some_and(holds_the_wall)
}

/// Steps of one mark that is mended by a way of its part.
pub(super) fn of(other: &OtherWork) -> Vec<Step> {
    match &other.taken {
        Some(taken) => of_way(other, taken),
        None => vec![super::side::no_figures(other)],
    }
}

fn of_way(other: &OtherWork, taken: &PartTakeoff) -> Vec<Step> {
    let mut steps = vec![ready(other, taken)];
    steps.extend(
        rows(taken.part, taken.way)
            .iter()
            .map(|row| step(row, other, taken)),
    );
    steps
}

/// Nothing is opened before everything for it lies there.
fn ready(other: &OtherWork, taken: &PartTakeoff) -> Step {
    let items: Vec<String> = taken
        .on_hand
        .iter()
        .map(|item| format!("{}: {}", item.item, item.wanted))
        .collect();
    let lying = if items.is_empty() {
        "tools and cleaner".to_owned()
    } else {
        items.join("; ")
    };
    let notes = taken.warnings.join(" ");
    let text = format!(
        "{}. The maker's repair instruction is looked for first and comes before this list. On hand: {lying}. {notes}",
        taken.title
    );
    Step::new(
        format!("part_ready:{}", other.mark),
        format!("Everything on hand: {}", other.title),
        text.trim_end(),
    )
    .stop(0)
}

fn step(row: &Row, other: &OtherWork, taken: &PartTakeoff) -> Step {
    let key = format!("part_{}:{}", row.key, other.mark);
    let title = format!("{}: {}", row.title, other.title);
    let mut step = Step::new(key, title, filled(row.text, taken)).hazards(row.hazards);
    step.stop_and_check = row.stop;
    step.photos_wanted = row.photos;
    let task = if matches!(row.ask, Ask::Diagonals) && taken.part != Part::Door {
        "part_brace"
    } else {
        taken.task.as_str()
    };
    if !task.is_empty() {
        step = step.task(&format!("{task}:{}", other.mark));
    }
    asked(step, row, other, taken)
}

fn asked(step: Step, row: &Row, other: &OtherWork, taken: &PartTakeoff) -> Step {
    let key = format!("part_{}_value:{}", row.key, other.mark);
    let fact = |name: &str| taken.facts.iter().find(|fact| fact.name == name)?.length;
    let near = |count: i64| Some(Length::sixty_fourths(count));
    let diagonal = |number: u32| format!("diagonal_{number}_part:{}", other.mark);
    match row.ask {
        Ask::Nothing => step,
        Ask::UpToLimit(what) => step.value(
            &key,
            what,
            Target::Length(Length::ZERO),
            fact("limit"),
            Standing::Shop,
        ),
        Ask::Length(what, name, room) => match fact(name) {
            Some(length) => step.value(&key, what, Target::Length(length), near(room), Standing::Memory),
            None => step,
        },
        Ask::Straight(what, room) => step.value(
            &key,
            what,
            Target::Length(Length::ZERO),
            near(room),
            Standing::Memory,
        ),
        Ask::Diagonals => [1, 2].into_iter().fold(step, |step, number| {
            step.value(
                &diagonal(number),
                format!("Diagonal {number} of the opening"),
                Target::Recorded,
                None,
                Standing::CommonPractice,
            )
        }),
        Ask::DiagonalsAgain => [1, 2].into_iter().fold(step, |step, number| {
            let key = format!("diagonal_{number}_part_after:{}", other.mark);
            let what = format!("Diagonal {number} of the opening, again");
            step.value(
                &key,
                what,
                Target::SameAs(diagonal(number)),
                near(8),
                Standing::Memory,
            )
        }),
        Ask::Words(what, wanted) => {
            let target = Target::Words(filled(wanted, taken));
            step.value(&key, what, target, None, Standing::CommonPractice)
        }
        Ask::Written(what, wanted) => {
            let target = Target::Written(wanted.to_owned());
            step.value(&key, what, target, None, Standing::CommonPractice)
        }
    }
}

/// The text with the takeoff's measures in it.
fn filled(text: &str, taken: &PartTakeoff) -> String {
    taken.facts.iter().fold(text.to_owned(), |text, fact| {
        text.replace(&format!("{{{}}}", fact.name), &fact.said)
    })
}
