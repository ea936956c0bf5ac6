//! The lines of a roof takeoff: sheet, tape, sealant, rivets, edge, each with its working.

use crate::basis::{Amount, Basis, Given, Line, Standing};
use crate::error::Error;
use crate::measure::{Length, Unit};
use crate::rules::RoofRules;
use crate::takeoff::{RoofBody, RoofTakeoff, RoofWay};
use rust_decimal::{Decimal, RoundingStrategy};

/// Nanometres cubed in one US fluid ounce: 1.8046875 in³ exactly (NIST Handbook 44, appendix C).
const FLUID_OUNCE: i128 = 29_573_529_562_500_000_000_000;
const MILLIONTHS: i64 = 1_000_000;

/// A roof whose seam is found.
pub(crate) struct Roof<'a> {
    pub(crate) body: &'a RoofBody,
    pub(crate) rules: &'a RoofRules,
    pub(crate) unit: Unit,
    pub(crate) seam: Option<(u32, Length)>,
    /// Seam station, or the body's end.
    pub(crate) end: Length,
    pub(crate) hit: Vec<u32>,
    pub(crate) opened: Vec<u32>,
}

impl Roof<'_> {
    pub(crate) fn takeoff(&self, damage_end: Length) -> Result<RoofTakeoff, Error> {
        let rules = self.rules;
        let behind = self.behind();
        let finished_length = self.end.plus(behind.value).plus(rules.front_edge.value);
        let rough_length = self.end.plus(behind.value).plus(rules.stretch_extra.value);
        let finished_width = self.body.rail_width_outside.plus(rules.edge.value.times(2));
        let mut warnings = Vec::new();
        let rough_width = self.rough_width(finished_width, &mut warnings);
        // With no sheet wide enough the quantities still help to ask for one: they are of the finished width.
        let bought_width = rough_width.unwrap_or(finished_width);
        let mut taken = RoofTakeoff {
            way: if self.seam.is_some() {
                RoofWay::Section
            } else {
                RoofWay::WholeRoof
            },
            seam_bow: self.seam.map(|(number, _)| number),
            seam_station: self.seam.map(|(_, station)| station),
            bows_hit: self.hit.clone(),
            bows_opened: self.opened.clone(),
            rough_length,
            rough_width,
            finished_length,
            finished_width,
            weight_rough_lb: self.weight(rough_length, bought_width)?,
            weight_finished_lb: self.weight(finished_length, finished_width)?,
            large: self.end >= rules.large_section_from.value,
            lines: Vec::new(),
            why: vec![self.why(damage_end)],
            warnings,
        };
        taken.lines = self.lines(&taken, bought_width)?;
        Ok(taken)
    }

    /// What the sheet needs behind the seam station: the lap, or the edge over the rear header.
    const fn behind(&self) -> &Given<Length> {
        if self.seam.is_some() {
            &self.rules.seam_lap
        } else {
            &self.rules.edge
        }
    }

    fn why(&self, damage_end: Length) -> String {
        let (end, margin) = (
            damage_end.say(self.unit),
            self.rules.seam_margin.value.say(self.unit),
        );
        match self.seam {
            Some((number, station)) => format!(
                "Bow {number} at {} is the first sound bow at least {margin} behind the damage's end at {end}.",
                station.say(self.unit)
            ),
            None => format!(
                "No sound bow lies {margin} or more behind the damage's end at {end}, so a seam has nothing under it."
            ),
        }
    }

    fn rough_width(&self, finished: Length, warnings: &mut Vec<String>) -> Option<Length> {
        let widths = &self.rules.sheet_widths.value;
        if widths.is_empty() {
            return Some(finished);
        }
        let found = widths.iter().copied().filter(|width| *width >= finished).min();
        if found.is_none() {
            let finished = finished.say(self.unit);
            warnings.push(format!("No sheet width in the shop book is enough: {finished} is needed. Quantities are for that width."));
        }
        found
    }

    fn weight(&self, length: Length, width: Length) -> Result<Amount, Error> {
        let inches = |l: Length| l.to_decimal(Unit::In);
        let weight = inches(length)
            .checked_mul(inches(width))
            .and_then(|area| area.checked_mul(inches(self.body.roof_sheet)))
            .and_then(|volume| volume.checked_mul(self.body.density.value.0));
        let weight = weight.ok_or_else(too_much)?;
        Ok(Amount(weight.round_dp_with_strategy(
            2,
            RoundingStrategy::MidpointAwayFromZero,
        )))
    }

    fn lines(&self, taken: &RoofTakeoff, bought_width: Length) -> Result<Vec<Line>, Error> {
        let (rules, width) = (self.rules, self.body.rail_width_outside);
        let seam_tape = self
            .seam
            .map_or(Length::ZERO, |_| width.times(rules.tape_rows.value.into()));
        let seam_sealant = width.plus(rules.seam_sealant_on_rail.value.times(2));
        let caulk = if taken.large {
            width.times(count_of(&self.opened))
        } else {
            Length::ZERO
        };
        let across = if self.seam.is_some() {
            width
        } else {
            width.times(2)
        };
        let edge = self.end.times(2).plus(across);
        let edge_sealant = if rules.seal_edges.value {
            edge
        } else {
            Length::ZERO
        };
        let beads = seam_sealant.plus(caulk).plus(edge_sealant);
        let mut lines = vec![
            self.sheet(taken, bought_width)?,
            self.seam_tape(seam_tape),
            self.length_line(
                "foam tape",
                self.end.times(2),
                vec![self.to_end("x 2, both top rails")],
            ),
            self.seam_sealant(seam_sealant),
            self.bow_caulk(caulk, taken.large),
            self.edge_sealant(edge_sealant, edge),
            self.cartridges(beads)?,
        ];
        lines.extend(self.rivets()?);
        let sides = self.to_end("x 2, both sides");
        let ends = if self.seam.is_some() {
            "at the nose"
        } else {
            "x 2, nose and rear"
        };
        lines.push(self.length_line("edge to roll", edge, vec![sides, self.rails(ends)]));
        Ok(lines)
    }

    fn sheet(&self, taken: &RoofTakeoff, bought_width: Length) -> Result<Line, Error> {
        let say = |length: Length| length.say(self.unit);
        let behind = self.behind();
        let to = self
            .seam
            .map_or("to the rear".to_owned(), |(number, _)| format!("to bow {number}"));
        let lap = if self.seam.is_some() {
            "lap"
        } else {
            "edge over the rear header"
        };
        let edge = &self.rules.edge;
        let mut basis = vec![
            Basis::new(say(self.end), to, Standing::Unit),
            Basis::new(format!("+ {}", say(behind.value)), lap, behind.standing.clone()),
            Basis::new(
                format!("+ {}", say(self.rules.stretch_extra.value)),
                "for stretching",
                self.rules.stretch_extra.standing.clone(),
            ),
            Basis::new(say(taken.rough_length), "rough length", Standing::Worked),
            self.rails(""),
            Basis::new(
                format!("+ 2 x {}", say(edge.value)),
                "to roll over each rail",
                edge.standing.clone(),
            ),
        ];
        if bought_width != taken.finished_width {
            let standing = self.rules.sheet_widths.standing.clone();
            basis.push(Basis::new(
                say(bought_width),
                "narrowest width on sale that is enough",
                standing,
            ));
        }
        let area = area(taken.rough_length, bought_width, self.unit)?;
        let mut line = self.line("roof sheet", area, &format!("{}²", self.unit.word()), basis);
        let (rough, finished) = (taken.weight_rough_lb, taken.weight_finished_lb);
        line.more = Some(format!("weight rough {rough} lb, finished {finished} lb"));
        Ok(line)
    }

    fn seam_tape(&self, length: Length) -> Line {
        let rows = &self.rules.tape_rows;
        let basis = vec![
            Basis::new(format!("{} x", rows.value), "rows", rows.standing.clone()),
            self.rails(""),
        ];
        let mut line = self.length_line("seam tape", length, basis);
        if self.seam.is_none() {
            line.more = Some("A whole roof has no seam.".to_owned());
        }
        line
    }

    fn seam_sealant(&self, length: Length) -> Line {
        let on_rail = &self.rules.seam_sealant_on_rail;
        let value = format!("+ 2 x {}", on_rail.value.say(self.unit));
        let basis = vec![
            self.rails(""),
            Basis::new(value, "on each top rail", on_rail.standing.clone()),
        ];
        let mut line = self.length_line("seam sealant", length, basis);
        if self.seam.is_none() {
            line.more = Some("Laid along the rear header.".to_owned());
        }
        line
    }

    fn bow_caulk(&self, length: Length, large: bool) -> Line {
        let from = &self.rules.large_section_from;
        let say = from.value.say(self.unit);
        let basis = vec![
            Basis::new(format!("from {say}"), "a section is large", from.standing.clone()),
            Basis::new(format!("{} x", self.opened.len()), "bows opened", Standing::Unit),
            self.rails(""),
        ];
        let mut line = self.length_line("bow caulk", length, basis);
        if !large {
            line.more = Some(format!("Nothing: the section is shorter than {say}."));
        }
        line
    }

    fn edge_sealant(&self, length: Length, edge: Length) -> Line {
        let seal = &self.rules.seal_edges;
        let word = if seal.value { "yes" } else { "no" };
        let basis = vec![
            Basis::new(word, "rolled edges are sealed", seal.standing.clone()),
            Basis::new(edge.say(self.unit), "edge to roll", Standing::Worked),
        ];
        let mut line = self.length_line("edge sealant", length, basis);
        if !seal.value {
            line.more = Some("Nothing: the shop does not seal rolled edges.".to_owned());
        }
        line
    }

    fn cartridges(&self, beads: Length) -> Result<Line, Error> {
        let rules = self.rules;
        let [width, height] = rules.bead.value;
        let (count, exact) = cartridges(beads, rules)?;
        let size = format!("x {} x {}", width.say(self.unit), height.say(self.unit));
        let more = Decimal::ONE
            .checked_add(rules.waste.value.0)
            .ok_or_else(too_much)?;
        let holds = format!("/ {} fl oz", rules.cartridge_fl_oz.value);
        let published = Standing::Published("NIST Handbook 44, appendix C".to_owned());
        let basis = vec![
            Basis::new(beads.say(self.unit), "all beads", Standing::Worked),
            Basis::new(size, "bead", rules.bead.standing.clone()),
            Basis::new(format!("x {more}"), "waste", rules.waste.standing.clone()),
            Basis::new(holds, "a cartridge", rules.cartridge_fl_oz.standing.clone()),
            Basis::new("1 fl oz = 1.8046875 in³", "fluid ounce", published),
            Basis::new(exact.to_string(), "before rounding up", Standing::Worked),
        ];
        Ok(self.line("sealant cartridges", Decimal::from(count), "each", basis))
    }

    /// Rivets of seam, rails and nose rail.
    fn rivets(&self) -> Result<Vec<Line>, Error> {
        let (rules, pitch) = (self.rules, self.body.rail_hole_pitch);
        let a_side = i64::from(rules.seam_rivets_a_side.value);
        let seam = if self.seam.is_some() {
            a_side.saturating_mul(2)
        } else {
            0
        };
        let reach = if self.seam.is_some() {
            self.end.plus(rules.seam_lap.value)
        } else {
            self.end
        };
        let holes = reach.holds(pitch).unwrap_or_default().saturating_mul(2);
        let rail = holes.saturating_sub(seam).max(0);
        let in_reach = Basis::new(
            format!("{} / {}", reach.say(self.unit), pitch.say(self.unit)),
            "holes a side",
            Standing::Unit,
        );
        let seam_basis = Basis::new(
            format!("2 x {a_side}"),
            "rivets a side",
            rules.seam_rivets_a_side.standing.clone(),
        );
        let mut lines = vec![
            self.line("seam rivets", Decimal::from(seam), "each", vec![seam_basis]),
            self.line(
                "rail rivets",
                Decimal::from(rail),
                "each",
                vec![
                    in_reach,
                    Basis::new(
                        holes.to_string(),
                        "existing holes of both rails",
                        Standing::Worked,
                    ),
                    Basis::new(format!("- {seam}"), "seam rivets", Standing::Worked),
                ],
            ),
        ];
        lines.push(self.header_rivets("nose rail rivets")?);
        if self.seam.is_none() {
            lines.push(self.header_rivets("rear header rivets")?);
        }
        Ok(lines)
    }

    fn header_rivets(&self, item: &str) -> Result<Line, Error> {
        let (width, pitch) = (self.body.rail_width_outside, self.body.rail_hole_pitch);
        let diameter = &self.rules.rivet_diameter;
        let span = width.minus(diameter.value.times(4));
        if span <= Length::ZERO {
            return Err(
                Error::new("roof_rivet", "The rivet is too large for this width.").at("/shop/rivet_diameter")
            );
        }
        let count = spaces(span, pitch).saturating_add(1);
        let basis = vec![
            self.rails(""),
            Basis::new(
                format!("- 2 x 2 x {}", diameter.value.say_decimal(self.unit)),
                "2 D at each end",
                diameter.standing.clone(),
            ),
            Basis::new(
                format!("/ {}", pitch.say(self.unit)),
                "even pitch, no wider than the rail's",
                Standing::Unit,
            ),
        ];
        let mut line = self.line(item, Decimal::from(count), "each", basis);
        line.more = Some("New holes, evenly spaced.".to_owned());
        Ok(line)
    }

    fn to_end(&self, what: &str) -> Basis {
        let name = if self.seam.is_some() {
            "seam station"
        } else {
            "body length"
        };
        Basis::new(self.end.say(self.unit), format!("{name} {what}"), Standing::Unit)
    }

    fn rails(&self, what: &str) -> Basis {
        let what = format!("rail width outside {what}");
        Basis::new(
            self.body.rail_width_outside.say(self.unit),
            what.trim_end(),
            Standing::Unit,
        )
    }

    fn length_line(&self, item: &str, length: Length, basis: Vec<Basis>) -> Line {
        self.line(item, length.to_decimal(self.unit), self.unit.word(), basis)
    }

    fn line(&self, item: &str, quantity: Decimal, unit: &str, mut basis: Vec<Basis>) -> Line {
        let standing = Standing::weakest(basis.iter().map(|step| &step.standing));
        let quantity = quantity.normalize();
        let short = quantity.round_dp_with_strategy(3, RoundingStrategy::MidpointAwayFromZero);
        basis.push(Basis::new(format!("{short} {unit}"), item, Standing::Worked));
        Line {
            item: item.to_owned(),
            quantity: quantity.to_string(),
            unit: unit.to_owned(),
            basis,
            standing,
            more: None,
        }
    }
}

/// Even spaces no wider than `pitch` that fill `span`.
fn spaces(span: Length, pitch: Length) -> i64 {
    let whole = span.holds(pitch).unwrap_or_default();
    if pitch.times(whole) == span {
        whole
    } else {
        whole.saturating_add(1)
    }
}

fn count_of(list: &[u32]) -> i64 {
    i64::try_from(list.len()).unwrap_or(i64::MAX)
}

/// Area in square units, to six decimals.
pub(crate) fn area(length: Length, width: Length, unit: Unit) -> Result<Decimal, Error> {
    let one = match unit {
        Unit::In => Length::inches(1),
        Unit::Mm => Length::mm(1),
    };
    let squares = |a: Length, b: Length| {
        let square = i128::from(a.nm()).checked_mul(b.nm().into())?;
        Decimal::try_from_i128_with_scale(square, 0).ok()
    };
    let area = squares(length, width)
        .zip(squares(one, one))
        .and_then(|(area, one)| area.checked_div(one));
    let area = area.ok_or_else(too_much)?;
    Ok(area.round_dp_with_strategy(6, RoundingStrategy::MidpointAwayFromZero))
}

/// Cartridges for a length of bead, up to a whole one (in whole numbers, so that nothing is rounded before),
/// and the exact count to two decimals.
pub(crate) fn cartridges(beads: Length, rules: &RoofRules) -> Result<(i64, Decimal), Error> {
    let millionths = |number: Decimal| {
        let scaled = number.checked_mul(Decimal::from(MILLIONTHS))?.normalize();
        i128::try_from(scaled).ok().filter(|_| scaled.fract().is_zero())
    };
    let digits = |at: &str| {
        Error::new(
            "roof_sealant",
            "A number with at most six decimals is expected here.",
        )
        .at(at)
    };
    let waste = millionths(rules.waste.value.0).ok_or_else(|| digits("/shop/waste"))?;
    let holds = millionths(rules.cartridge_fl_oz.value.0).ok_or_else(|| digits("/shop/cartridge_fl_oz"))?;
    let [width, height] = rules.bead.value;
    if [width, height]
        .into_iter()
        .any(|side| side > Length::mm(1000) || side < Length::ZERO)
    {
        return Err(Error::new("roof_sealant", "A bead is at most 1 m wide and high.").at("/shop/bead"));
    }
    let volume = i128::from(beads.nm())
        .checked_mul(width.nm().into())
        .and_then(|v| v.checked_mul(height.nm().into()));
    let wanted = volume
        .and_then(|v| v.checked_mul(i128::from(MILLIONTHS).checked_add(waste)?))
        .ok_or_else(too_much)?;
    let one = FLUID_OUNCE.checked_mul(holds).filter(|one| *one > 0);
    let one = one.ok_or_else(|| {
        Error::new("roof_sealant", "A cartridge holds more than 0 fl oz.").at("/shop/cartridge_fl_oz")
    })?;
    let up = wanted
        .checked_add(one)
        .and_then(|sum| sum.checked_sub(1))
        .and_then(|sum| sum.checked_div(one));
    let hundredths = wanted
        .checked_div(one.checked_div(100).unwrap_or(one))
        .unwrap_or_default();
    let count = up.and_then(|up| i64::try_from(up).ok()).ok_or_else(too_much)?;
    Ok((
        count,
        Decimal::try_from_i128_with_scale(hundredths, 2).unwrap_or_default(),
    ))
}

pub(crate) fn too_much() -> Error {
    Error::new("roof_too_much", "These measures are too large to work with.")
}
