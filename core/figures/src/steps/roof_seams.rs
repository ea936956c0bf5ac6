//! The ends of a new roof sheet: where the old one is cut, how the seams are made, and how the free end is trimmed.
//!
//! At every seam the sheet nearer the nose lies on top, so that water runs to the rear (common practice). Behind
//! the damage the new sheet is the upper one; ahead of it the old sheet is, and the new one goes under it.

use super::{Hazard, RoofMethod, RoofWork, Step, Target, Work};
use crate::basis::Standing;
use crate::measure::Length;

/// The old sheet off, with every cut to be measured on both sides.
pub(super) fn old_sheet(work: &Work, roof: &RoofWork) -> Step {
    let say = |length: Length| length.say(work.unit);
    let off = "Off in strips, from the front, each one lowered, none thrown. Rivets drilled out; the \
     rail's holes stay as they are.";
    let depth = "saw depth set to the sheet";
    let ahead = roof.front_seam.map(|(bow, station)| {
        let (at, lap) = (say(station.plus(roof.lap)), say(roof.lap));
        format!(
            "Ahead of the damage: cut straight across at {at} from the nose, {lap} behind the front of bow {bow}, \
             {depth}, the bow under it is not cut: the sheet ahead stays and ends there."
        )
    });
    let behind = roof.seam_bow.zip(roof.seam_station).map(|(bow, station)| {
        let at = say(station);
        let where_ = if ahead.is_some() { "Behind it: cut" } else { "Cut" };
        format!("{where_} straight across at the front of bow {bow}, at {at} from the nose, {depth}.")
    });
    let lamps = "Lamps and wiring at the rear header are found and laid aside first.";
    let text = match (ahead, behind) {
        (Some(ahead), Some(behind)) => format!("{ahead} {behind} {off}"),
        (Some(ahead), None) => format!("{ahead} Down to the rear header. {lamps} {off}"),
        (None, Some(behind)) => format!("{behind} {off}"),
        (None, None) => format!("The whole sheet, nose rail to rear header. {lamps} {off}"),
    };
    let mut step = Step::new("old_sheet", "Old sheet off", text)
        .hazards(&[
            Hazard::Fall,
            Hazard::Cut,
            Hazard::Noise,
            Hazard::Wiring,
            Hazard::Wind,
        ])
        .stop(2)
        .task("old_sheet");
    if let Some((_, station)) = roof.front_seam {
        let cut = station.plus(roof.lap);
        step = cut_measured(work, step, "front_cut", "Front cut", cut).basis(
            say(cut),
            "a lap behind the front of a sound bow: the sheet ahead lies on top, and both have the bow under them",
            Standing::CommonPractice,
        );
    }
    if let Some(station) = roof.seam_station {
        step = cut_measured(work, step, "cut_station", "Cut", station).basis(
            say(station),
            "front of a sound bow, so that the seam has a bow under it",
            Standing::CommonPractice,
        );
    }
    step
}

/// The sheet ahead, so that the new one goes under it; none where there is no seam ahead.
pub(super) fn free_ahead(work: &Work, roof: &RoofWork) -> Option<Step> {
    let (bow, _) = roof.front_seam?;
    let freed = roof.freed.say(work.unit);
    let text = format!(
        "From {freed} ahead of bow {bow} to its end: rail rivets drilled out, the rail's holes kept, rolled edges opened \
         without a kink, old caulk off the bow. Wedged up evenly, only as far as the new sheet needs."
    );
    let step = Step::new("free_ahead", "Free the sheet ahead", text)
        .hazards(&[Hazard::Fall, Hazard::Cut, Hazard::Noise, Hazard::Wind])
        .stop(1)
        .task("front_seam");
    Some(step.basis(freed, "freed along both rails", Standing::Memory))
}

/// How near a station is read with a tape hooked at the nose: .3 mm and .2 mm a metre for the tape alone (a tape of class II,
/// from memory), up to a sixteenth of an inch.
fn by_tape(at: Length) -> Length {
    let sixteenth = Length::sixty_fourths(4);
    let off = Length::from_nm(300_000).plus(at.part(5_000).unwrap_or_default());
    let up = off.plus(sixteenth).minus(Length::from_nm(1)).holds(sixteenth);
    sixteenth.times(up.unwrap_or_default())
}

/// A cut is held to the shop's tolerance, but no nearer than its station can be read.
fn cut_measured(work: &Work, step: Step, key: &str, what: &str, at: Length) -> Step {
    let (room, standing) = match by_tape(at) {
        read if read > work.tolerances.edge => (read, Standing::Memory),
        _ => (work.tolerances.edge, work.tolerances.standing.clone()),
    };
    ["roadside", "curbside"].iter().fold(step, |step, side| {
        step.value(
            &format!("{key}_{side}"),
            format!("{what} from the nose, {side}"),
            Target::Length(at),
            Some(room),
            standing.clone(),
        )
    })
}

/// Tape goes on the lower sheet of each seam; none for a whole roof.
pub(super) fn seam_tape(roof: &RoofWork) -> Option<Step> {
    let on = match (roof.front_seam.is_some(), roof.seam_station.is_some()) {
        (false, false) => return None,
        (false, true) => "on the old sheet's edge",
        (true, true) => {
            "on the edge of the lower sheet: in front on top of the new sheet, behind on the old one"
        }
        (true, false) => "on top of the new sheet's front edge, since it is the lower one",
    };
    let step = Step::new(
        "seam_tape",
        "Seam tape",
        format!(
            "{} rows of structural double-sided tape {on}, the full width, rolled down. The liner stays on until \
             the sheet is squared.",
            roof.tape_rows
        ),
    );
    Some(
        step.hazards(&[Hazard::Fall, Hazard::Chemical])
            .photos(1)
            .task("tape"),
    )
}

pub(super) fn sheet_on(work: &Work, roof: &RoofWork) -> Step {
    let wind = match &work.wind_limit {
        Some(limit) => format!("Wind limit of the shop: {limit}."),
        None => {
            "The shop book holds no wind limit: the supervisor says yes or no before it is lifted.".to_owned()
        }
    };
    let say = |length: Length| length.say(work.unit);
    let sheet = roof
        .sheet
        .map(|[length, width]| format!(" of {} by {}", say(length), say(width)))
        .unwrap_or_default();
    let end = match roof.front_seam {
        Some((bow, station)) => format!(
            "Squared and cut in front; slid under the sheet ahead until its edge lies at the front of bow {bow}, \
             {} from the nose. Nothing is bent up sharply; a dent in the sheet ahead is a leak.",
            say(station)
        ),
        None if roof.seam_station.is_some() => format!(
            "Squared and cut at the rear; it lies on top of the old sheet by {}, so that water runs to the rear.",
            say(roof.lap)
        ),
        None => "Squared and cut at the rear header.".to_owned(),
    };
    let step = Step::new(
        "sheet_on",
        "Sheet on",
        format!("The sheet{sheet} goes up with a hoist or four people. {wind} {end}"),
    )
    .hazards(&[Hazard::Wind, Hazard::Fall, Hazard::Cut])
    .stop(1)
    .task("sheet_on")
    .basis("hoist or four people", "handling", Standing::Memory);
    if roof.front_seam.is_some() {
        return lap_measured(
            work,
            step,
            "front_lap",
            "Lap of the sheet ahead over the new one",
            roof.lap,
        );
    }
    if roof.seam_station.is_some() {
        lap_measured(work, step, "seam_lap", "Lap over the old sheet", roof.lap)
    } else {
        step
    }
}

fn lap_measured(work: &Work, step: Step, key: &str, what: &str, lap: Length) -> Step {
    let room = Some(work.tolerances.edge.times(2));
    step.value(key, what, Target::Length(lap), room, Standing::Memory)
}

/// The seam ahead of the damage, where the new sheet is held before it is stretched.
pub(super) fn front_seam(work: &Work, roof: &RoofWork) -> Step {
    let bow = roof
        .front_seam
        .map_or_else(String::new, |(bow, _)| format!(" over bow {bow}"));
    let text = format!(
        "The seam{bow}: liners off, the sheet ahead laid back on the new one and pressed down, its rolled edges closed \
         again. {}",
        sealed_and_riveted(work, roof)
    );
    seam_step(roof, "front_seam", "Front seam", text)
}

/// The rear end: the seam behind the damage, or the rear header.
pub(super) fn rear_end(work: &Work, roof: &RoofWork) -> Step {
    if roof.seam_station.is_none() {
        return Step::new(
            "rear_end",
            "Rear end",
            "Sealed on the rear header and riveted in its existing holes, before the sheet is stretched.",
        )
        .hazards(&[Hazard::Fall, Hazard::Chemical, Hazard::Noise, Hazard::Road])
        .stop(1)
        .task("seam");
    }
    let first = if roof.way == RoofMethod::MiddleSection {
        "With the tension held: liners off, pressed down on the old sheet behind."
    } else {
        "Liners off, pressed down."
    };
    let text = format!("{first} {}", sealed_and_riveted(work, roof));
    let step = seam_step(roof, "seam", "Seam", text);
    if roof.way == RoofMethod::MiddleSection {
        step.hazards(&[Hazard::Tension])
    } else {
        step
    }
}

fn sealed_and_riveted(work: &Work, roof: &RoofWork) -> String {
    let (rivets, rail) = (roof.seam_rivets_a_side, roof.sealant_on_rail.say(work.unit));
    format!(
        "Polyurethane sealant the full width and at least {rail} along each top rail beside it. {rivets} rivets a side \
         through the sheet into each top rail, in existing holes next to the seam; no extra holes."
    )
}

fn seam_step(roof: &RoofWork, key: &str, title: &str, text: String) -> Step {
    Step::new(key, title, text)
        .hazards(&[Hazard::Fall, Hazard::Chemical, Hazard::Noise, Hazard::Road])
        .stop(2)
        .task("seam")
        .basis(
            format!("{} a side", roof.seam_rivets_a_side),
            "seam rivets, existing holes",
            Standing::CommonPractice,
        )
}

/// The end that was stretched: trimmed after the plates are off, and made fast.
pub(super) fn trim(work: &Work, roof: &RoofWork) -> Step {
    let hazards = [Hazard::Fall, Hazard::Cut, Hazard::Noise];
    let two_d = |step: Step| {
        step.basis(
            "2 D",
            "edge distance",
            Standing::Published("AC 43.13-1B 4-57".to_owned()),
        )
    };
    match roof.way {
        RoofMethod::MiddleSection => {
            let lap = roof.lap.say(work.unit);
            let text = format!(
                "Rear trimmed to a lap of {lap} past the front of the bow, straight across, with shears or with a strip \
                 of sheet pushed under: the old sheet is not scored. The edge pressed down and sealed."
            );
            let step = Step::new("trim_rear", "Trim the rear to the lap", text);
            let step = step.hazards(&hazards).stop(1).task("seam");
            lap_measured(work, step, "seam_lap", "Lap over the old sheet behind", roof.lap)
        }
        RoofMethod::RearSection => {
            let edge = roof.edge.say(work.unit);
            let text = format!(
                "Rear trimmed to {edge}, sealed on the rear header and riveted in its existing holes; a renewed \
                 header has none: drilled or punched in an even pitch. First and last rivet at least 2 D from the ends."
            );
            let step = Step::new("trim_rear", "Trim the rear, rivet the rear header", text)
                .hazards(&hazards)
                .hazards(&[Hazard::Chemical, Hazard::Road])
                .stop(1)
                .task("rivets");
            two_d(edge_measured(
                work,
                step,
                "rear_edge",
                "Rear edge past the rear header",
                roof.edge,
            ))
        }
        RoofMethod::FrontSection | RoofMethod::WholeRoof | RoofMethod::Patch => {
            let holes = if roof.nose_rail {
                "The new nose rail has no holes: drilled or punched in an even pitch."
            } else {
                "In the nose rail's existing holes."
            };
            let front = roof.front_edge.say(work.unit);
            let text =
                format!("Front trimmed to {front}. {holes} First and last rivet at least 2 D from the ends.");
            let step = Step::new("trim_front", "Trim the front, rivet the nose rail", text);
            let step = step.hazards(&hazards).stop(1).task("rivets");
            two_d(edge_measured(
                work,
                step,
                "front_edge",
                "Front edge past the nose rail",
                roof.front_edge,
            ))
        }
    }
}

fn edge_measured(work: &Work, step: Step, key: &str, what: &str, edge: Length) -> Step {
    step.value(
        key,
        what,
        Target::Length(edge),
        Some(work.tolerances.edge),
        work.tolerances.standing.clone(),
    )
}

#[cfg(test)]
mod tests {
    use super::by_tape;
    use crate::measure::Length;

    /// .3 mm + .2 mm a metre: 2.4 m .79 mm, 11.0 m 2.50 mm, 16.2 m 3.53 mm; a sixteenth is 1.5875 mm.
    #[test]
    fn a_station_far_back_is_read_no_nearer_than_a_tape_is_good_for() {
        let sixteenths = |count: i64| Length::sixty_fourths(4 * count);
        assert_eq!(by_tape(Length::inches(96)), sixteenths(1));
        assert_eq!(by_tape(Length::inches(434)), sixteenths(2));
        assert_eq!(by_tape(Length::inches(636)), sixteenths(3));
        assert_eq!(by_tape(Length::ZERO), sixteenths(1));
    }
}
