//! Riveting: grip, length, hole, spacing, and where the rivets of a line go, existing holes reused.
//!
//! Length = grip + 1.5 D, up to what is sold; pitch at least 3 D (NAVEDTRA 14018); edge at least 2 D
//! (AC 43.13-1B 4-57).

use crate::basis::{Basis, Standing, many};
use crate::error::Error;
use crate::fasten_holes::{Place, PlaceIs, bolt_length, hole, places};
use crate::input::{Fields, json};
use crate::measure::{Length, Unit};
use crate::rules::{GripRange, RivetRules};
use serde::{Deserialize, Serialize};
use serde_json::{Value, json};
use ts_rs::TS;

/// Most rivets in one line.
const MOST: i64 = 2_000;
/// Steps in which solid rivets are sold.
const STEP: Length = Length::sixty_fourths(4);
const NAVEDTRA: &str = "NAVEDTRA 14018";

/// Solid or blind rivet, or bolt.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, TS)]
#[serde(rename_all = "snake_case")]
pub enum RivetKind {
    /// Bucked from behind.
    Solid,
    /// Set from one side.
    Blind,
    /// Bolt and nut; washers count as layers.
    Bolt,
}

/// A hole that is there already.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Hole {
    /// Its place along the line.
    pub at: Length,
    /// Its size, where it was measured.
    pub diameter: Option<Length>,
}

/// One line of rivets.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RivetLine {
    /// Thickness of each sheet between the heads.
    pub layers: Vec<Length>,
    /// Pressed thickness of tape and sealant between them.
    pub film: Vec<Length>,
    /// Rivet diameter.
    pub diameter: Length,
    /// Solid or blind.
    pub kind: RivetKind,
    /// Length of the line.
    pub line_length: Length,
    /// Holes to reuse.
    pub existing_holes: Vec<Hole>,
    /// Edge distance; none: 2 D.
    pub edge: Option<Length>,
    /// Pitch; none: the shop's, or 4 D.
    pub pitch: Option<Length>,
}

/// What a line of rivets takes.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, TS)]
pub struct Rivets {
    /// All layers between the heads.
    pub grip: Length,
    /// Length that is sold; none for blind rivets, which are bought by grip range.
    pub length: Option<Length>,
    /// The shop's grip range, for blind rivets.
    pub grip_range: Option<GripRange>,
    /// Hole to drill; none for a diameter that the table does not have.
    pub hole: Option<Length>,
    /// Least edge distance.
    pub edge_min: Length,
    /// Least pitch.
    pub pitch_min: Length,
    /// Widest distance between neighbours.
    pub pitch: Length,
    /// Where they go.
    pub places: Vec<Length>,
    /// What each place is: an existing hole, a worn one with its next size, or a new one.
    pub holes: Vec<Place>,
    /// How many of them use an existing hole.
    pub reused: u32,
    /// What to look at.
    pub warnings: Vec<String>,
    /// The working.
    pub basis: Vec<Basis>,
}

/// Works out one line of rivets.
///
/// # Errors
/// No layers, a line too short or with over 2000 rivets, a hole off the line; with JSON pointers as in
/// `bowseam figure rivets`.
pub fn rivets(line: &RivetLine, rules: &RivetRules, unit: Unit) -> Result<Rivets, Error> {
    let wrong = |at: &str, sentence: &str| Err(Error::new("rivets_line", sentence).at(at));
    let d = line.diameter;
    if d <= Length::ZERO || d > Length::inches(2) {
        return wrong(
            "/diameter",
            "A rivet is more than 0 and at most 2 in in diameter.",
        );
    }
    let Some(thickest) = line.layers.iter().copied().max().filter(|t| *t > Length::ZERO) else {
        return wrong(
            "/layers",
            "At least one sheet with a thickness of more than 0 is expected.",
        );
    };
    if line
        .existing_holes
        .iter()
        .any(|hole| hole.at > line.line_length || hole.at < Length::ZERO)
    {
        return wrong("/existing_holes", "A hole lies outside the line.");
    }
    let grip = line
        .layers
        .iter()
        .chain(&line.film)
        .fold(Length::ZERO, |sum, layer| sum.plus(*layer));
    let mut found = Rivets {
        grip,
        length: None,
        grip_range: None,
        hole: hole(line.kind, d),
        edge_min: d.times(2),
        pitch_min: d.times(3),
        pitch: Length::ZERO,
        places: Vec::new(),
        holes: Vec::new(),
        reused: 0,
        warnings: Vec::new(),
        basis: Vec::new(),
    };
    length(line, rules, unit, &mut found);
    size_warnings(line, thickest, unit, &mut found);
    layout(line, rules, unit, &mut found)?;
    found.holes = places(line, rules, unit, &mut found);
    Ok(found)
}

fn length(line: &RivetLine, rules: &RivetRules, unit: Unit, found: &mut Rivets) {
    let d = line.diameter;
    let say = |length: Length| length.say_decimal(unit);
    found.basis.push(Basis::new(
        say(found.grip),
        "grip, all layers and film",
        Standing::Unit,
    ));
    if line.kind == RivetKind::Blind {
        found.grip_range = grip_range(rules, d, found.grip);
        match &found.grip_range {
            Some(range) => found.basis.push(Basis::new(
                range.name.as_str(),
                "grip range that holds it",
                Standing::Shop,
            )),
            None => found
                .warnings
                .push("No blind rivet in the shop book has this diameter and grip.".to_owned()),
        }
        return;
    }
    if line.kind == RivetKind::Bolt {
        found.length = bolt_length(found.grip, d);
        match found.length {
            Some(sold) => found.basis.push(Basis::new(
                sold.say(Unit::In),
                "grip, nut of 7/8 D and two threads, next length sold in steps of 1/4 in",
                Standing::Memory,
            )),
            None => found
                .warnings
                .push("The bolt table has 1/4, 5/16, 3/8, 1/2, 5/8 and 3/4 in only; take length and hole from the bolt maker.".to_owned()),
        }
        return;
    }
    let least = found.grip.plus(tail(d));
    let sold = solid_length(found.grip, d);
    found.length = Some(sold);
    let published = Standing::Published(NAVEDTRA.to_owned());
    found.basis.push(Basis::new(
        format!("+ 1.5 x {}", say(d)),
        "for the formed head",
        published,
    ));
    found
        .basis
        .push(Basis::new(say(least), "least length", Standing::Worked));
    found.basis.push(Basis::new(
        sold.say(Unit::In),
        "next length sold, in steps of 1/16 in",
        Standing::CommonPractice,
    ));
}

/// 1.5 D in whole nanometres, never short: the half is taken up.
fn tail(d: Length) -> Length {
    let double = d.times(3).nm().saturating_add(1);
    Length::from_nm(double.checked_div(2).unwrap_or_default())
}

/// Length of a solid rivet as it is sold.
pub(crate) fn solid_length(grip: Length, d: Length) -> Length {
    up_to(grip.plus(tail(d)), STEP)
}

/// The shop's grip range of a blind rivet.
pub(crate) fn grip_range(rules: &RivetRules, d: Length, grip: Length) -> Option<GripRange> {
    let fits = |range: &&GripRange| range.diameter == d && range.from <= grip && grip <= range.to;
    rules.grip_ranges.iter().find(fits).cloned()
}

fn size_warnings(line: &RivetLine, thickest: Length, unit: Unit, found: &mut Rivets) {
    let d = line.diameter;
    let say = |length: Length| length.say_decimal(unit);
    let rivet = line.kind != RivetKind::Bolt;
    if rivet && (d < thickest || d > thickest.times(3)) {
        found.warnings.push(format!(
            "The rivet's diameter, {}, is outside the handbook guide for the thickest sheet of its joint, {}: {} to {}, 1 to 3 times \
             the sheet ({NAVEDTRA}).",
            say(d),
            say(thickest),
            say(thickest),
            say(thickest.times(3))
        ));
    }
    match found.hole {
        Some(hole) => found
            .basis
            .push(Basis::new(say(hole), "hole, by table", Standing::Memory)),
        None if !rivet => {}
        None => found.warnings.push(
            "The hole table has 1/8, 5/32, 3/16 and 1/4 in rivets only; take the hole from the rivet maker."
                .to_owned(),
        ),
    }
    let limit = found.hole.unwrap_or(d);
    let worn = line
        .existing_holes
        .iter()
        .filter(|hole| hole.diameter.is_some_and(|size| size > limit))
        .count();
    if worn > 0 {
        let sentence = format!(
            "{} larger than this size's hole: a worn hole takes the next size.",
            many(
                u32::try_from(worn).unwrap_or(u32::MAX),
                "existing hole is",
                "existing holes are"
            )
        );
        found.warnings.push(sentence);
    }
    let narrow = line.edge.filter(|edge| *edge < found.edge_min);
    if let Some(edge) = narrow {
        let least = say(found.edge_min);
        found
            .warnings
            .push(format!("An edge of {} is less than 2 D ({least}).", say(edge)));
    }
}

fn layout(line: &RivetLine, rules: &RivetRules, unit: Unit, found: &mut Rivets) -> Result<(), Error> {
    let d = line.diameter;
    let say = |length: Length| length.say_decimal(unit);
    let edge = line.edge.unwrap_or(found.edge_min);
    let (wanted, standing) = match (line.pitch, rules.pitch) {
        (Some(pitch), _) => (pitch, Standing::Unit),
        (None, Some(pitch)) => (pitch, Standing::Shop),
        (None, None) => (d.times(4), Standing::Published(NAVEDTRA.to_owned())),
    };
    let pitch = wanted.max(found.pitch_min);
    if wanted < pitch {
        found.warnings.push(format!(
            "A pitch of {} is less than 3 D; {} is used.",
            say(wanted),
            say(pitch)
        ));
    }
    found.basis.push(Basis::new(
        say(edge),
        "edge distance",
        line.edge.map_or_else(edge_source, |_| Standing::Unit),
    ));
    found
        .basis
        .push(Basis::new(say(pitch), "widest pitch wanted", standing));
    let (first, last) = (edge, line.line_length.minus(edge));
    if last < first {
        let sentence = format!(
            "The line is shorter than two edge distances ({}).",
            say(edge.times(2))
        );
        return Err(Error::new("rivets_line", sentence).at("/line_length"));
    }
    if last.minus(first).holds(pitch).unwrap_or_default() > MOST {
        return Err(Error::new(
            "rivets_line",
            "More than 2000 rivets in one line; check the unit.",
        )
        .at("/line_length"));
    }
    let anchors = reusable(line, edge, found);
    found.places = fill(&anchors, first, last, pitch, found.pitch_min);
    found.reused = u32::try_from(anchors.len()).unwrap_or(u32::MAX);
    let gaps = found
        .places
        .iter()
        .zip(found.places.iter().skip(1))
        .map(|(a, b)| b.apart(*a));
    found.pitch = gaps.max().unwrap_or_default();
    // Even spaces are cut to whole nanometres, so that a gap may be one of them over.
    if found.pitch > pitch.plus(Length::from_nm(1)) {
        let sentence = format!(
            "Some rivets stand {} apart: one more between them would be closer than 3 D.",
            say(found.pitch)
        );
        found.warnings.push(sentence);
    }
    found.basis.push(Basis::new(
        found.places.len().to_string(),
        "rivets",
        Standing::Worked,
    ));
    Ok(())
}

fn edge_source() -> Standing {
    Standing::Published("AC 43.13-1B 4-57".to_owned())
}

/// The existing holes that a rivet may take: clear of the ends, not closer to each other than 3 D.
fn reusable(line: &RivetLine, edge: Length, found: &mut Rivets) -> Vec<Length> {
    let (first, last) = (edge, line.line_length.minus(edge));
    let mut all: Vec<Length> = line.existing_holes.iter().map(|hole| hole.at).collect();
    all.sort_unstable();
    let mut kept: Vec<Length> = Vec::new();
    for at in &all {
        let clear = kept
            .last()
            .is_none_or(|before| at.apart(*before) >= found.pitch_min);
        if *at >= first && *at <= last && clear {
            kept.push(*at);
        }
    }
    let left = all.len().saturating_sub(kept.len());
    if left > 0 {
        found.warnings.push(format!(
            "{} not used: too near an end, or closer than 3 D to another. Close or cover it.",
            many(
                u32::try_from(left).unwrap_or(u32::MAX),
                "existing hole is",
                "existing holes are"
            )
        ));
    }
    kept
}

/// Existing holes, and new ones evenly between them so that no two stand wider than `pitch` or closer than
/// `least`.
fn fill(anchors: &[Length], first: Length, last: Length, pitch: Length, least: Length) -> Vec<Length> {
    let mut fixed = anchors.to_vec();
    // An end that no existing hole serves within one pitch gets a rivet of its own.
    if fixed.first().is_none_or(|at| at.minus(first) > pitch) {
        fixed.insert(0, first);
    }
    if fixed.last().is_none_or(|at| last.minus(*at) > pitch) || (anchors.is_empty() && last > first) {
        fixed.push(last);
    }
    fixed.dedup();
    if let [a, b] = fixed.as_slice()
        && anchors.is_empty()
        && b.apart(*a) < least
    {
        return vec![a.plus(b.apart(*a).part(2).unwrap_or_default())];
    }
    let mut places = Vec::new();
    for (a, b) in fixed.iter().zip(fixed.iter().skip(1)) {
        let gap = b.apart(*a);
        let spaces = spaces(gap, pitch, least);
        for i in 0..spaces {
            places.push(a.plus(gap.times(i).part(spaces).unwrap_or_default()));
        }
    }
    places.extend(fixed.last());
    places
}

/// Even spaces in a gap: no wider than `pitch`, or fewer where those would be closer than `least`.
fn spaces(gap: Length, pitch: Length, least: Length) -> i64 {
    let wanted = gap
        .plus(pitch)
        .minus(Length::from_nm(1))
        .holds(pitch)
        .unwrap_or(1)
        .max(1);
    let most = gap.holds(least).unwrap_or(1).max(1);
    wanted.min(most)
}

/// Up to the next whole step.
pub(crate) fn up_to(length: Length, step: Length) -> Length {
    let down = step.times(length.holds(step).unwrap_or_default());
    if down == length { down } else { down.plus(step) }
}

/// `bowseam figure rivets`: one line of rivets, JSON in, JSON out.
///
/// # Errors
/// What is missing, unknown or cannot be, with its JSON pointer.
pub fn figure(input: &Value) -> Result<Value, Error> {
    let known = &[
        "unit",
        "layers",
        "film",
        "diameter",
        "kind",
        "line_length",
        "existing_holes",
        "edge",
        "pitch",
        "shop",
    ];
    let fields = Fields::whole(input, known)?;
    let layers = fields.lengths("layers")?;
    let kind = fields.word("kind", &["solid", "blind", "bolt"])?;
    let line = RivetLine {
        layers: layers.ok_or_else(|| {
            fields.wrong(
                "layers",
                "input_missing",
                "The sheets between the heads are missing.",
            )
        })?,
        film: fields.lengths("film")?.unwrap_or_default(),
        diameter: fields.some_length("diameter")?,
        kind: match kind {
            Some("blind") => RivetKind::Blind,
            Some("bolt") => RivetKind::Bolt,
            _ => RivetKind::Solid,
        },
        line_length: fields.some_length("line_length")?,
        existing_holes: fields
            .list("existing_holes", |value, at| one_hole(&fields, value, at))?
            .unwrap_or_default(),
        edge: fields.length("edge")?,
        pitch: fields.length("pitch")?,
    };
    let rules = match fields.object("shop", &["pitch", "grip_ranges"])? {
        Some(shop) => rules(&shop)?,
        None => RivetRules::default(),
    };
    Ok(output(&rivets(&line, &rules, fields.unit)?, fields.unit))
}

fn one_hole(fields: &Fields<'_>, value: &Value, at: String) -> Result<Hole, Error> {
    if value.is_object() {
        let hole = fields.entry(value, at, &["at", "diameter"])?;
        return Ok(Hole {
            at: hole.needed_length("at")?,
            diameter: hole.length("diameter")?,
        });
    }
    let at = fields.length_of(value, at)?;
    Ok(Hole { at, diameter: None })
}

fn rules(shop: &Fields<'_>) -> Result<RivetRules, Error> {
    let ranges = shop.list("grip_ranges", |value, at| {
        let range = shop.entry(value, at, &["name", "diameter", "from", "to"])?;
        Ok(GripRange {
            name: range.text("name")?,
            diameter: range.some_length("diameter")?,
            from: range.needed_length("from")?,
            to: range.needed_length("to")?,
        })
    })?;
    Ok(RivetRules {
        pitch: shop.length("pitch")?,
        grip_ranges: ranges.unwrap_or_default(),
    })
}

fn output(found: &Rivets, unit: Unit) -> Value {
    let number = |length: Length| json(length.to_decimal(unit));
    let range_of =
        |range: &GripRange| json!({"name": range.name, "from": number(range.from), "to": number(range.to)});
    let range = found.grip_range.as_ref().map(range_of);
    let place = |p: &Place| {
        json!({"at": number(p.at), "is": p.is, "diameter": p.diameter.map(number),
        "hole": p.hole.map(number), "length": p.length.map(number), "grip_range": p.grip_range.as_ref().map(range_of)})
    };
    let worn = found.holes.iter().filter(|p| p.is == PlaceIs::Worn).count();
    json!({
        "grip": number(found.grip),
        "length": found.length.map(number),
        "grip_range": range,
        "hole": found.hole.map(number),
        "edge_min": number(found.edge_min),
        "pitch_min": number(found.pitch_min),
        "count": found.places.len(),
        "pitch": number(found.pitch),
        "places": found.places.iter().copied().map(number).collect::<Vec<_>>(),
        "holes": found.holes.iter().map(place).collect::<Vec<_>>(),
        "reused": found.reused,
        "worn": worn,
        "warnings": found.warnings,
        "basis": found.basis,
    })
}

#[cfg(test)]
#[path = "fasten_tests.rs"]
mod tests;
