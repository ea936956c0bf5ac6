//! A roof patch: the commonest repair, with its own shorter order.

use super::{Hazard, RoofWork, Step, Target, Work};
use crate::basis::Standing;
use crate::patch::PatchTakeoff;

/// Patches beside a section, when it is closed: the platforms are there already.
pub(super) fn beside(work: &Work, roof: &RoofWork) -> Vec<Step> {
    if roof.patches.is_empty() {
        return Vec::new();
    }
    steps(work, roof).into_iter().skip(1).collect()
}

pub(super) fn steps(work: &Work, roof: &RoofWork) -> Vec<Step> {
    let wanted = roof.patches.first().map_or(roof.lap, PatchTakeoff::overlap);
    let lap = wanted.say(work.unit);
    let places: String = (1..)
        .zip(&roof.patches)
        .map(|(i, patch): (u32, _)| format!(" Cut-out {i}: {}.", patch.say(work.unit)))
        .collect();
    let fit = |step: Step, key: &str, place: &str| {
        step.value(
            key,
            format!("Lap past the cut, {place}"),
            Target::Length(wanted),
            Some(wanted.part(4).unwrap_or_default()),
            Standing::Memory,
        )
    };
    let lap_step = Step::new(
        "patch_lap",
        "Cut and lay the patch dry",
        format!(
            "Like material and thickness, corners rounded, {lap} past the cut all round, edges broken. \
             Lay it dry, mark it round, drill through both. Backed with a strip where it is between \
             bows."
        ),
    )
    .hazards(&[Hazard::Cut, Hazard::Noise])
    .stop(1)
    .task("patch");
    let lap_step = fit(
        fit(lap_step, "patch_lap_front", "front"),
        "patch_lap_rear",
        "rear",
    );
    vec![
        Step::new(
            "platforms",
            "Platforms",
            "Side platforms set, both sides of the place; nobody steps on the sheet.",
        )
        .hazards(&[Hazard::Fall])
        .stop(0)
        .task("platforms"),
        Step::new(
            "patch_look",
            "Look from inside",
            "See from inside, or through the hole, that no bow, rail or seam is reached. If one is, this \
             way does not fit any more: stop, enter it as found more.",
        )
        .hazards(&[Hazard::Residue])
        .stop(2),
        Step::new(
            "patch_cut_out",
            "Cut back to sound metal",
            format!(
                "A rectangle with rounded corners, past the last crease; saw depth set to the sheet. Edges broken, \
                 swarf off.{places}"
            ),
        )
        .hazards(&[Hazard::Fall, Hazard::Cut, Hazard::Noise, Hazard::Wiring])
        .photos(1)
        .task("patch"),
        lap_step,
        Step::new(
            "patch_clean",
            "Clean and scuff",
            "Both faces clean, scuffed, dry and within the label's temperatures.",
        )
        .hazards(&[Hazard::Fall, Hazard::Chemical])
        .task("patch")
        .value(
            "patch_temperature",
            "Temperature of the sheet",
            Target::Words("within the label's limits".to_owned()),
            None,
            Standing::Shop,
        ),
        Step::new(
            "patch_set",
            "Tape, sealant, set",
            "Structural tape or sealant under the whole lap. The front edge faces the weather: bed it \
             first, in a full bead.",
        )
        .hazards(&[Hazard::Fall, Hazard::Chemical])
        .task("patch"),
        Step::new(
            "patch_rivet",
            "Rivet",
            "From the middle of each side to the corners, even pitch, at least 2 D from every edge. A \
             bad rivet comes out and is set again one size up.",
        )
        .hazards(&[Hazard::Fall, Hazard::Noise, Hazard::Road])
        .stop(1)
        .task("patch")
        .basis(
            "2 D",
            "edge distance",
            Standing::Published("AC 43.13-1B 4-57".to_owned()),
        ),
        Step::new(
            "patch_seal",
            "Seal round",
            "A closed bead round the patch and on every rivet, tooled so that water runs off.",
        )
        .hazards(&[Hazard::Fall, Hazard::Chemical])
        .photos(1)
        .task("patch"),
    ]
}
