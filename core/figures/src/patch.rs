//! A roof patch: whether a mark may be patched under the shop's limits, and what the patch takes.

use crate::basis::{Basis, Line, Standing, many};
use crate::body::Plan;
use crate::cut::Need;
use crate::mark::{Mark, Part, Surface};
use crate::measure::{Length, Unit};
use crate::rules::PatchRules;
use crate::side_patch::Rect;
use serde::{Deserialize, Serialize};
use ts_rs::TS;

/// What one patch takes.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, TS)]
pub struct PatchTakeoff {
    /// The mark it covers.
    pub mark: String,
    /// Nearest corner of the cut-out: station, and distance from the roadside edge.
    #[serde(default)]
    pub corner: [Length; 2],
    /// What is cut out: along and across the roof.
    pub cut_out: [Length; 2],
    /// The patch: along and across the roof.
    pub patch: [Length; 2],
    /// Rivets all round.
    pub rivets: u32,
    /// Once round the patch: tape and sealant.
    pub round: Length,
    /// The takeoff.
    pub lines: Vec<Line>,
}

impl PatchTakeoff {
    /// Lap past the cut-out.
    #[must_use]
    pub fn overlap(&self) -> Length {
        let ([cut, _], [patch, _]) = (self.cut_out, self.patch);
        patch.minus(cut).part(2).unwrap_or_default()
    }

    /// The piece to cut from the stock.
    #[must_use]
    pub fn need(&self, plan: &Plan) -> Need {
        let [length, width] = self.patch;
        Need {
            item: "roof sheet".to_owned(),
            length,
            width: Some(width),
            thickness: Some(plan.roof_sheet),
            count: 1,
            turn: true,
        }
    }

    /// Where it is cut out and how large the patch is, to be read at the roof.
    #[must_use]
    pub fn say(&self, unit: Unit) -> String {
        let say = |length: Length| length.say(unit);
        let ([from, low], [along, across]) = (self.corner, self.cut_out);
        let [long, wide] = self.patch.map(say);
        format!(
            "from station {} to {}, {} to {} from the roadside edge; patch {long} along by {wide} across",
            say(from),
            say(from.plus(along)),
            say(low),
            say(low.plus(across))
        )
    }
}

/// Why a mark cannot be patched under the shop's limits; empty if it can.
#[must_use]
pub fn why_not(plan: &Plan, mark: &Mark, rules: &PatchRules, unit: Unit) -> Vec<String> {
    let place = mark.place;
    let say = |length: Length| length.say(unit);
    let mut why = Vec::new();
    if mark.part != Part::RoofSheet || place.surface != Surface::Roof {
        why.push(format!(
            "The {} is damaged, not only the roof sheet; a patch mends sheet.",
            mark.part.word()
        ));
        return why;
    }
    let (along, across) = (place.to.minus(place.from), place.high.minus(place.low));
    if along > rules.longest.value || across > rules.widest.value {
        let (longest, widest) = (say(rules.longest.value), say(rules.widest.value));
        why.push(format!(
            "The damage, {} x {}, is larger than what a patch covers, {longest} x {widest} (shop rule).",
            say(along),
            say(across)
        ));
    }
    let bows = plan
        .bows
        .iter()
        .filter(|at| **at >= place.from && **at <= place.to)
        .count();
    let (bows, most) = (u32::try_from(bows).unwrap_or(u32::MAX), rules.bows.value);
    if bows > most {
        why.push(format!(
            "It reaches over {}; a patch may reach over {} (shop rule).",
            many(bows, "bow", "bows"),
            if most == 0 {
                "none".to_owned()
            } else {
                most.to_string()
            }
        ));
    }
    // The patch itself must stay clear, so that its overlap counts.
    let reach = rules.clean_margin.value.plus(rules.overlap.value);
    let clear = rules.rail_clear.value.plus(reach);
    if place.low < clear || place.high > plan.width.minus(clear) {
        let distance = say(rules.rail_clear.value);
        why.push(format!(
            "The patch would come nearer than {distance} to a top rail; it may not (shop rule)."
        ));
    }
    if place.from < clear || place.to > plan.length.minus(clear) {
        let distance = say(rules.rail_clear.value);
        why.push(format!("The patch would come nearer than {distance} to the nose rail or the rear header; it may not (shop rule)."));
    }
    let from_seam = rules.seam_clear.value.plus(reach);
    let near = plan
        .roof_seams
        .iter()
        .find(|seam| **seam >= place.from.minus(from_seam) && **seam <= place.to.plus(from_seam));
    if let Some(seam) = near {
        let distance = say(rules.seam_clear.value);
        why.push(format!(
            "An earlier seam at station {} is nearer than {distance} to the patch (shop rule).",
            say(*seam)
        ));
    }
    let reach = Rect::of(&place).grown(from_seam);
    let near = plan
        .patches_on(Surface::Roof)
        .find(|earlier| reach.touches(Rect::of(earlier)));
    if let Some(earlier) = near {
        let (distance, from, to) = (say(rules.seam_clear.value), say(earlier.from), say(earlier.to));
        why.push(format!(
            "An earlier patch from station {from} to {to} is nearer than {distance} to the patch (shop rule)."
        ));
    }
    why
}

/// Why marks cannot be patched, each for itself and beside each other; empty if they can. No reason comes twice.
#[must_use]
pub fn why_none(plan: &Plan, marks: &[&Mark], rules: &PatchRules, unit: Unit) -> Vec<String> {
    let mut why: Vec<String> = Vec::new();
    let alone = marks.iter().flat_map(|mark| why_not(plan, mark, rules, unit));
    for reason in alone.chain(too_near(marks, rules, unit)) {
        if !why.contains(&reason) {
            why.push(reason);
        }
    }
    why
}

/// Two patches that would not keep their distance from each other.
fn too_near(marks: &[&Mark], rules: &PatchRules, unit: Unit) -> Option<String> {
    let size = rules.clean_margin.value.plus(rules.overlap.value);
    let gap = rules.seam_clear.value;
    let near = |(i, one): (usize, &&Mark)| {
        let reach = Rect::of(&one.place).grown(size.plus(gap));
        let mut others = marks.iter().skip(i.saturating_add(1));
        others.any(|other| reach.touches(Rect::of(&other.place).grown(size)))
    };
    marks.iter().enumerate().any(near).then(|| {
        let gap = gap.say(unit);
        format!("Two patches would come nearer than {gap} to each other (shop rule): put one mark over both, or take a section.")
    })
}

/// What the patch of one mark takes.
#[must_use]
pub fn patch(mark: &Mark, rules: &PatchRules, unit: Unit) -> PatchTakeoff {
    let place = mark.place;
    let (margin, overlap) = (&rules.clean_margin, &rules.overlap);
    let damage = [place.to.minus(place.from), place.high.minus(place.low)];
    let cut_out = damage.map(|side| side.plus(margin.value.times(2)));
    let size = cut_out.map(|side| side.plus(overlap.value.times(2)));
    let [along, across] = size;
    let round = along.plus(across).times(2);
    // A closed row: each side has as many spaces as rivets that belong to it.
    let spaces = |side: Length| {
        let span = side.minus(rules.edge.value.times(2)).max(Length::ZERO);
        let pitch = rules.pitch.value;
        span.plus(pitch)
            .minus(Length::from_nm(1))
            .holds(pitch)
            .unwrap_or_default()
            .max(1)
    };
    let rivets = spaces(along).saturating_add(spaces(across)).saturating_mul(2);
    let say = |length: Length| length.say(unit);
    let sheet_basis = vec![
        Basis::new(
            format!("{} x {}", say(damage[0]), say(damage[1])),
            "damage",
            Standing::Unit,
        ),
        Basis::new(
            format!("+ 2 x {}", say(margin.value)),
            "back to sound sheet",
            margin.standing.clone(),
        ),
        Basis::new(
            format!("+ 2 x {}", say(overlap.value)),
            "overlap",
            overlap.standing.clone(),
        ),
        Basis::new(
            format!("{} x {}", say(along), say(across)),
            "patch",
            Standing::Worked,
        ),
    ];
    let rivet_basis = vec![
        Basis::new(say(round), "round the patch", Standing::Worked),
        Basis::new(
            say(rules.pitch.value),
            "widest pitch",
            rules.pitch.standing.clone(),
        ),
        Basis::new(
            say(rules.edge.value),
            "edge distance",
            rules.edge.standing.clone(),
        ),
        Basis::new(rivets.to_string(), "rivets", Standing::Worked),
    ];
    let round_basis = vec![Basis::new(say(round), "round the patch", Standing::Worked)];
    let area = crate::takeoff_lines::area(along, across, unit)
        .unwrap_or_default()
        .normalize()
        .to_string();
    let length = round.to_decimal(unit).to_string();
    let line = |item: &str, quantity: &str, unit: &str, basis: &Vec<Basis>| Line {
        item: item.to_owned(),
        quantity: quantity.to_owned(),
        unit: unit.to_owned(),
        standing: Standing::weakest(basis.iter().map(|step| &step.standing)),
        basis: basis.clone(),
        more: None,
    };
    let word = unit.word();
    PatchTakeoff {
        mark: mark.id.clone(),
        corner: [place.from, place.low].map(|near| near.minus(margin.value)),
        cut_out,
        patch: size,
        rivets: u32::try_from(rivets).unwrap_or(u32::MAX),
        round,
        lines: vec![
            line("roof sheet", &area, &format!("{word}²"), &sheet_basis),
            line("seam tape", &length, word, &round_basis),
            line("patch sealant", &length, word, &round_basis),
            line("patch rivets", &rivets.to_string(), "each", &rivet_basis),
        ],
    }
}
