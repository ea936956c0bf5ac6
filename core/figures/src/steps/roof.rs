//! A section or a whole roof: opened, made good while it is open, closed again. The steps at the ends of the sheet
//! (cuts, seams, trimming) are in `roof_seams`.

use super::roof_seams::{free_ahead, front_seam, old_sheet, rear_end, seam_tape, sheet_on, trim};
use super::{Hazard, RoofWork, Step, Target, Work, growth_of_aluminium, growth_of_steel};
use crate::basis::Standing;
use crate::measure::Length;

/// Degrees for which the growth is shown.
const SHOWN_DEGREES: i64 = 10;

/// From the platforms to new bows and nose rail.
pub(super) fn open(work: &Work, roof: &RoofWork) -> Vec<Step> {
    let mut steps = vec![
        Step::new(
            "platforms",
            "Platforms",
            "Side platforms set along the length that is opened, on both sides. Nobody steps on sheet or \
             bows.",
        )
        .hazards(&[Hazard::Fall])
        .stop(0)
        .task("platforms"),
        Step::new(
            "strip_out",
            "Strip out",
            format!(
                "Lining off over {}, old rivet tails and wiring clear of the saw.",
                stretch(work, roof)
            ),
        )
        .hazards(&[Hazard::Residue, Hazard::Cut, Hazard::Noise, Hazard::Wiring])
        .photos(1)
        .task("strip_out"),
        Step::new(
            "brace",
            "Tie and brace",
            "Side walls tied across and braced, before a bow or the nose rail comes out.",
        )
        .hazards(&[Hazard::Spread, Hazard::Drop])
        .stop(2)
        .task("brace"),
        Step::new(
            "diagonals_before",
            "Diagonals",
            "Measure both diagonals of the opening, corner to corner at the top rails, and mark the four \
             points.",
        )
        .stop(1)
        .value(
            "diagonal_1_before",
            "Roadside front to curbside rear",
            Target::Recorded,
            None,
            Standing::Unit,
        )
        .value(
            "diagonal_2_before",
            "Curbside front to roadside rear",
            Target::Recorded,
            None,
            Standing::Unit,
        ),
        Step::new(
            "cover",
            "Cover at hand",
            "The cover for the opening lies ready and is large enough. The roof is covered at every \
             stop, not only at night.",
        )
        .hazards(&[Hazard::Wind])
        .stop(1)
        .task("cover"),
        old_sheet(work, roof),
    ];
    steps.extend(free_ahead(work, roof));
    steps.push(
        Step::new(
            "look_when_open",
            "Look at what was hidden",
            format!(
                "Bows, rails, posts, nose rail, wiring, lining: with a photo of each. Anything new is entered as found \
                 more now, while the unit is open, and waits for its own go-ahead.{}",
                seam_bows(roof)
            ),
        )
        .hazards(&[Hazard::Fall])
        .stop(3),
    );
    if !roof.bows_hit.is_empty() {
        steps.push(
            Step::new(
                "bows",
                "Bows",
                format!(
                    "Out and in again one at a time: {}. Ends on film or sealant where steel meets \
                     aluminium, coated fasteners, ends level with their neighbours.",
                    bows(&roof.bows_hit)
                ),
            )
            .hazards(&[Hazard::Spread, Hazard::Fall, Hazard::Drop, Hazard::Noise])
            .photos(2)
            .task("bow")
            .value(
                "bow_level",
                "String over the bows: every bow",
                Target::Words("touches, none high".to_owned()),
                None,
                Standing::CommonPractice,
            ),
        );
    }
    if roof.nose_rail {
        let front = if roof.front_bow {
            " The front roof bow goes in with it."
        } else {
            ""
        };
        steps.push(
            Step::new(
                "nose_rail",
                "Nose rail",
                format!(
                    "Fitted, clamped, bolted through a few holes to hold it, then riveted. Inner and \
                     outer corner plates tie it to the top rails.{front} No heating and no welding of \
                     aluminium rails."
                ),
            )
            .hazards(&[
                Hazard::Spread,
                Hazard::Fall,
                Hazard::Drop,
                Hazard::Noise,
                Hazard::Road,
            ])
            .stop(2)
            .task("nose_rail")
            .basis("no heat, no welding", "aluminium rails", Standing::Memory),
        );
    } else if roof.front_bow {
        steps.push(
            Step::new(
                "front_bow",
                "Front roof bow",
                "Out and in behind the nose rail, ends on film or sealant.",
            )
            .hazards(&[Hazard::Spread, Hazard::Drop])
            .photos(1)
            .task("bow"),
        );
    }
    steps
}

/// From the diagonals to the sealed edge.
pub(super) fn close(work: &Work, roof: &RoofWork) -> Vec<Step> {
    let (room, from) = (Some(work.tolerances.diagonal), work.tolerances.standing.clone());
    let mut steps = vec![
        Step::new(
            "diagonals_after",
            "Diagonals again",
            "The same four points as before. Not the same: slack the braces, pull it square, measure \
             again. No sheet goes on before.",
        )
        .hazards(&[Hazard::Spread])
        .stop(1)
        .value(
            "diagonal_1_after",
            "Roadside front to curbside rear",
            Target::SameAs("diagonal_1_before".to_owned()),
            room,
            from.clone(),
        )
        .value(
            "diagonal_2_after",
            "Curbside front to roadside rear",
            Target::SameAs("diagonal_2_before".to_owned()),
            room,
            from,
        ),
        Step::new(
            "clean",
            "Clean and scuff",
            "Rails and old sheet clean, scuffed and dry, within the label's temperatures.",
        )
        .hazards(&[Hazard::Fall, Hazard::Chemical])
        .task("cleaning")
        .value(
            "surface_temperature",
            "Temperature of the metal",
            Target::Words("within the label's limits".to_owned()),
            None,
            Standing::Shop,
        ),
        Step::new(
            "foam_tape",
            "Foam tape",
            format!("Along both top rails, for {}.", stretch(work, roof)),
        )
        .hazards(&[Hazard::Fall])
        .task("tape"),
    ];
    steps.extend(seam_tape(roof));
    steps.push(sheet_on(work, roof));
    steps.extend(edges(work, roof));
    // The end that is not stretched is held before the stretching: in the seam ahead, else at the rear.
    let held_in_front = roof.front_seam.is_some();
    if held_in_front {
        steps.push(front_seam(work, roof));
    } else {
        steps.push(rear_end(work, roof));
    }
    steps.push(stretch_step(work, roof));
    if roof.large {
        steps.push(
            Step::new(
                "lift_and_caulk",
                "Lift and caulk the bows",
                format!(
                    "Lifted a little from inside, every open bow caulked ({}). The tension is held all \
                     the time.",
                    bows(&roof.bows_opened)
                ),
            )
            .hazards(&[Hazard::Tension, Hazard::Fall, Hazard::Chemical])
            .stop(1)
            .task("caulk")
            .basis(
                "nobody above, tension held",
                "while it is lifted",
                Standing::CommonPractice,
            ),
        );
    }
    if held_in_front && roof.seam_station.is_some() {
        steps.push(rear_end(work, roof));
    }
    steps.extend(finish(work, roof));
    steps
}

fn edges(work: &Work, roof: &RoofWork) -> [Step; 2] {
    let (edge, say) = (roof.edge, roof.edge.say(work.unit));
    let measured = |step: Step, side: &str, word: &str| {
        ["front", "middle", "rear"].iter().fold(step, |step, place| {
            step.value(
                &format!("{side}_edge_{place}"),
                format!("{word} edge past the rail, {place}"),
                Target::Length(edge),
                Some(work.tolerances.edge),
                work.tolerances.standing.clone(),
            )
        })
    };
    let first = Step::new(
        "first_edge",
        "First edge",
        format!("Set at {say} past the rail over the whole length, clamped."),
    )
    .hazards(&[Hazard::Fall, Hazard::Cut])
    .stop(0)
    .task("sheet_on");
    let second = Step::new(
        "opposite_edge",
        "Opposite edge",
        format!("Scribed at {say}, sheared, clamped."),
    )
    .hazards(&[Hazard::Fall, Hazard::Cut])
    .stop(1)
    .task("sheet_on");
    [
        measured(first, "first", "First"),
        measured(second, "opposite", "Opposite"),
    ]
}

fn stretch_step(work: &Work, roof: &RoofWork) -> Step {
    let length = opened(roof);
    let pull = if roof.front_seam.is_some() {
        "Plates on the rear edge, pulled to the rear evenly, against the seam in front, until the sheet has a \
         slight bounce; the pullers bear as their maker says, on no bow."
    } else {
        "Plates on the front edge, pulled forward evenly until the sheet has a slight bounce."
    };
    let mut step = Step::new(
        "stretch",
        "Stretch",
        format!(
            "{pull} Look at the temperatures first: aluminium sheet on aluminium rails moves together, what counts \
             is the difference between sheet and rails, and steel parts between."
        ),
    )
    .hazards(&[Hazard::Tension, Hazard::Fall])
    .stop(1)
    .task("stretch")
    .value(
        "stretch_bounce",
        "Press in the middle between two bows",
        Target::Words("a slight bounce, no waves".to_owned()),
        None,
        Standing::CommonPractice,
    )
    .value(
        "sheet_temperature",
        "Temperature of the sheet",
        Target::Recorded,
        None,
        Standing::Unit,
    )
    .value(
        "rail_temperature",
        "Temperature of the rails",
        Target::Recorded,
        None,
        Standing::Unit,
    );
    if roof.front_seam.is_some() {
        step = step.basis(
            "to the rear",
            "a section that is held in a seam in front is stretched at its rear end",
            Standing::Memory,
        );
    }
    if length > Length::ZERO {
        let aluminium = growth_of_aluminium(length, SHOWN_DEGREES).say_decimal(work.unit);
        let steel = growth_of_steel(length, SHOWN_DEGREES).say_decimal(work.unit);
        step = step
            .basis(
                aluminium,
                "growth of the aluminium sheet for 10 °F (13.1e-6 a °F)",
                Standing::Published("handbook tables".to_owned()),
            )
            .basis(
                steel,
                "growth of steel over the same length for 10 °F (6.5e-6 a °F)",
                Standing::Memory,
            );
    }
    step
}

fn finish(work: &Work, roof: &RoofWork) -> Vec<Step> {
    let seal = if roof.seal_edges {
        "Sealant along every rolled edge, on the seam's ends and on every rivet of the seam."
    } else {
        "Sealant on the seam's ends and on every rivet of the seam; this shop does not seal rolled edges."
    };
    let (run, pinned) = if roof.front_seam.is_some() {
        ("from the front to the rear", "rear")
    } else {
        ("from the rear to the front", "front")
    };
    vec![
        Step::new(
            "rail_rivets",
            "Rivet both sides",
            format!(
                "Both sides together, {run}, in the rail's existing holes: no extra ones. A worn hole takes the next \
                 rivet size."
            ),
        )
        .hazards(&[Hazard::Tension, Hazard::Fall, Hazard::Noise, Hazard::Road])
        .stop(1)
        .task("rivets"),
        Step::new(
            "release",
            "Release, plates off",
            format!(
                "Released slowly and evenly, then the plates come off. Some shops pin the {pinned} before: as the \
                 shop does it."
            ),
        )
        .hazards(&[Hazard::Tension])
        .task("stretch"),
        trim(work, roof),
        Step::new(
            "roll_edge",
            "Roll the edge",
            "All round, in several passes, down over the rails; no crack, no lip that catches.",
        )
        .hazards(&[Hazard::Fall, Hazard::Cut])
        .stop(1)
        .task("edge"),
        Step::new("seal", "Seal", seal)
            .hazards(&[Hazard::Fall, Hazard::Chemical])
            .photos(2)
            .task("seam"),
        Step::new(
            "braces_out",
            "Braces out",
            "Only now: the roof is riveted all round. Ties slacked evenly, then taken out.",
        )
        .hazards(&[Hazard::Spread, Hazard::Drop])
        .task("brace"),
    ]
}

/// What is looked at under the seams before anything is fitted.
fn seam_bows(roof: &RoofWork) -> String {
    let front = roof.front_seam.map(|(bow, _)| bow);
    let under: Vec<u32> = front.into_iter().chain(roof.seam_bow).collect();
    if under.is_empty() {
        return String::new();
    }
    format!(
        " What lies under a seam ({}) is straight, tight at both ends, without crack and corrosion. If not: stop, found \
         more; the seam moves on to the next sound bow.",
        bows(&under)
    )
}

/// The length that is opened.
#[must_use]
pub fn opened(roof: &RoofWork) -> Length {
    let sheet = || roof.sheet.map(|[length, _]| length).unwrap_or_default();
    let from = roof.front_seam.map_or(Length::ZERO, |(_, station)| station);
    roof.seam_station.map_or_else(sheet, |to| to.minus(from))
}

fn stretch(work: &Work, roof: &RoofWork) -> String {
    let say = |length: Length| length.say(work.unit);
    match (roof.front_seam, roof.seam_station) {
        (None, Some(station)) => format!("{} from the nose", say(station)),
        (Some((_, from)), Some(to)) => format!("{} to {} from the nose", say(from), say(to)),
        (Some((_, from)), None) => format!("{} from the nose to the rear header", say(from)),
        (None, None) => "the whole length".to_owned(),
    }
}

fn bows(numbers: &[u32]) -> String {
    match numbers {
        [] => "none".to_owned(),
        [one] => format!("bow {one}"),
        [first, .., last]
            if usize::try_from(last.saturating_sub(*first))
                .is_ok_and(|n| n.saturating_add(1) == numbers.len()) =>
        {
            format!("bows {first} to {last}")
        }
        many => format!(
            "bows {}",
            many.iter().map(u32::to_string).collect::<Vec<_>>().join(", ")
        ),
    }
}
