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

/// A roof whose seams are found.
pub(crate) struct Roof<'a> {
    pub(crate) body: &'a RoofBody,
    pub(crate) rules: &'a RoofRules,
    pub(crate) unit: Unit,
    /// The seam ahead of the damage; none: opened up to the nose.
    pub(crate) front: Option<(u32, Length)>,
    /// The seam behind it; none: opened down to the rear.
    pub(crate) seam: Option<(u32, Length)>,
    /// Front seam station, or the nose.
    pub(crate) start: Length,
    /// Seam station, or the body's end.
    pub(crate) end: Length,
    pub(crate) hit: Vec<u32>,
    pub(crate) opened: Vec<u32>,
    /// Why the seams lie where they do.
    pub(crate) why: Vec<String>,
}

impl Roof<'_> {
    pub(crate) fn takeoff(&self) -> Result<RoofTakeoff, Error> {
        let rules = self.rules;
        let [rough_length, finished_length] = self.lengths();
        let finished_width = self.body.rail_width_outside.plus(rules.edge.value.times(2));
        let mut warnings = Vec::new();
        let rough_width = self.rough_width(finished_width, &mut warnings);
        // With no sheet wide enough the quantities still help to ask for one: they are of the finished width.
        let bought_width = rough_width.unwrap_or(finished_width);
        let mut taken = RoofTakeoff {
            way: self.way(),
            seam_bow: self.seam.map(|(number, _)| number),
            seam_station: self.seam.map(|(_, station)| station),
            front_seam_bow: self.front.map(|(number, _)| number),
            front_seam_station: self.front.map(|(_, station)| station),
            bows_hit: self.hit.clone(),
            bows_opened: self.opened.clone(),
            rough_length,
            rough_width,
            finished_length,
            finished_width,
            weight_rough_lb: self.weight(rough_length, bought_width)?,
            weight_finished_lb: self.weight(finished_length, finished_width)?,
            large: self.span() >= rules.large_section_from.value,
            lines: Vec::new(),
            why: self.why.clone(),
            warnings,
        };
        taken.lines = self.lines(&taken, bought_width)?;
        Ok(taken)
    }

    const fn way(&self) -> RoofWay {
        match (self.front, self.seam) {
            (None, Some(_)) => RoofWay::Section,
            (Some(_), Some(_)) => RoofWay::MiddleSection,
            (Some(_), None) => RoofWay::RearSection,
            (None, None) => RoofWay::WholeRoof,
        }
    }

    /// What is opened.
    const fn span(&self) -> Length {
        self.end.minus(self.start)
    }

    /// Rough and finished length. The sheet is stretched at the end that is free: at the nose, or at the rear
    /// where the front end is held in a seam. The sheet for the plates takes the place of that end's edge.
    fn lengths(&self) -> [Length; 2] {
        let rules = self.rules;
        let behind = self.span().plus(self.behind().value);
        match self.way() {
            RoofWay::Section | RoofWay::WholeRoof => [
                behind.plus(rules.stretch_extra.value),
                behind.plus(rules.front_edge.value),
            ],
            RoofWay::MiddleSection => [behind.plus(rules.stretch_extra.value), behind],
            RoofWay::RearSection => [self.span().plus(rules.stretch_extra.value), behind],
        }
    }

    /// What the sheet needs behind the seam station: the lap, or the edge over the rear header.
    const fn behind(&self) -> &Given<Length> {
        if self.seam.is_some() {
            &self.rules.seam_lap
        } else {
            &self.rules.edge
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
        let rows = i64::from(rules.tape_rows.value).saturating_mul(taken.seams().into());
        // The nose rail has no bead of its own; the rear header has one, like a seam.
        let ends = if self.front.is_some() { 2 } else { 1 };
        let seam_sealant = width.plus(rules.seam_sealant_on_rail.value.times(2)).times(ends);
        let caulk = if taken.large {
            width.times(count_of(&self.opened))
        } else {
            Length::ZERO
        };
        let edge = edge_to_roll(taken, self.body.length, width, rules);
        let edge_sealant = if rules.seal_edges.value {
            edge
        } else {
            Length::ZERO
        };
        let beads = seam_sealant.plus(caulk).plus(edge_sealant);
        let mut lines = vec![
            self.sheet(taken, bought_width)?,
            self.seam_tape(width.times(rows), taken.seams()),
            self.length_line(
                "foam tape",
                self.span().times(2),
                vec![self.to_end("x 2, both top rails")],
            ),
            self.seam_sealant(seam_sealant),
            self.bow_caulk(caulk, taken.large),
            self.edge_sealant(edge_sealant, edge),
            self.cartridges(beads)?,
        ];
        lines.extend(self.rivets(taken)?);
        lines.push(self.edge_line(edge));
        Ok(lines)
    }

    fn edge_line(&self, edge: Length) -> Line {
        let mut basis = vec![self.to_end("x 2, both sides")];
        if self.front.is_some() {
            let freed = &self.rules.seam_freed;
            let value = format!("+ 2 x {}", freed.value.say(self.unit));
            basis.push(Basis::new(
                value,
                "of the sheet ahead, freed and rolled again",
                freed.standing.clone(),
            ));
        }
        match self.way() {
            RoofWay::Section => basis.push(self.rails("at the nose")),
            RoofWay::RearSection => basis.push(self.rails("at the rear")),
            RoofWay::WholeRoof => basis.push(self.rails("x 2, nose and rear")),
            RoofWay::MiddleSection => {}
        }
        self.length_line("edge to roll", edge, basis)
    }

    /// The steps from the opened length to the rough one.
    fn length_basis(&self) -> Vec<Basis> {
        let say = |length: Length| length.say(self.unit);
        let (behind, extra) = (self.behind(), &self.rules.stretch_extra);
        let to = match (self.front, self.seam) {
            (None, Some((number, _))) => format!("to bow {number}"),
            (None, None) => "to the rear".to_owned(),
            (Some((ahead, at)), Some((number, end))) => {
                format!(
                    "from bow {ahead} at station {} to bow {number} at {}",
                    say(at),
                    say(end)
                )
            }
            (Some((ahead, at)), None) => format!("from bow {ahead} at station {} to the rear", say(at)),
        };
        let mut basis = vec![Basis::new(say(self.span()), to, Standing::Unit)];
        let mut more = |value: &Length, what: &str, standing: &Standing| {
            basis.push(Basis::new(format!("+ {}", say(*value)), what, standing.clone()));
        };
        match self.way() {
            RoofWay::Section => more(&behind.value, "lap", &behind.standing),
            RoofWay::MiddleSection => more(&behind.value, "lap over the sheet behind", &behind.standing),
            RoofWay::WholeRoof => more(&behind.value, "edge over the rear header", &behind.standing),
            RoofWay::RearSection => {}
        }
        match self.way() {
            RoofWay::Section | RoofWay::WholeRoof => more(&extra.value, "for stretching", &extra.standing),
            RoofWay::MiddleSection => more(
                &extra.value,
                "for stretching at the rear, trimmed to the lap afterwards",
                &Standing::Memory,
            ),
            RoofWay::RearSection => more(
                &extra.value,
                "for stretching at the rear, trimmed to the edge afterwards",
                &Standing::Memory,
            ),
        }
        basis
    }

    fn sheet(&self, taken: &RoofTakeoff, bought_width: Length) -> Result<Line, Error> {
        let say = |length: Length| length.say(self.unit);
        let edge = &self.rules.edge;
        let mut basis = self.length_basis();
        basis.extend([
            Basis::new(say(taken.rough_length), "rough length", Standing::Worked),
            self.rails(""),
            Basis::new(
                format!("+ 2 x {}", say(edge.value)),
                "to roll over each rail",
                edge.standing.clone(),
            ),
        ]);
        if bought_width != taken.finished_width {
            let standing = self.rules.sheet_widths.standing.clone();
            basis.push(Basis::new(
                say(bought_width),
                "narrowest width on sale that is enough",
                standing,
            ));
        }
        let area = area(taken.rough_length, bought_width, self.unit)?;
        let mut line = Line::of("roof sheet", area, &format!("{}²", self.unit.word()), basis);
        let (rough, finished) = (taken.weight_rough_lb, taken.weight_finished_lb);
        line.more = Some(format!("weight rough {rough} lb, finished {finished} lb"));
        Ok(line)
    }

    fn seam_tape(&self, length: Length, seams: u32) -> Line {
        let rows = &self.rules.tape_rows;
        let basis = vec![
            Basis::new(format!("{} x", rows.value), "rows", rows.standing.clone()),
            self.rails(if seams > 1 { "x 2, both seams" } else { "" }),
        ];
        let mut line = self.length_line("seam tape", length, basis);
        if seams == 0 {
            line.more = Some("A whole roof has no seam.".to_owned());
        }
        line
    }

    fn seam_sealant(&self, length: Length) -> Line {
        let on_rail = &self.rules.seam_sealant_on_rail;
        let value = format!("+ 2 x {}", on_rail.value.say(self.unit));
        let mut basis = vec![
            self.rails(""),
            Basis::new(value, "on each top rail", on_rail.standing.clone()),
        ];
        let more = match self.way() {
            RoofWay::Section => None,
            RoofWay::WholeRoof => Some("Laid along the rear header."),
            RoofWay::MiddleSection => Some("Both seams."),
            RoofWay::RearSection => Some("The seam, and along the rear header."),
        };
        if self.front.is_some() {
            basis.push(Basis::new("x 2", "front and rear end", Standing::CommonPractice));
        }
        let mut line = self.length_line("seam sealant", length, basis);
        line.more = more.map(str::to_owned);
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
        Ok(Line::of(
            "sealant cartridges",
            Decimal::from(count),
            "each",
            basis,
        ))
    }

    /// Rivets of seams, rails, nose rail and rear header.
    fn rivets(&self, taken: &RoofTakeoff) -> Result<Vec<Line>, Error> {
        let rules = self.rules;
        let a_side = rules.seam_rivets_a_side.value;
        let seams = i64::from(taken.seams());
        let seam = i64::from(a_side).saturating_mul(2).saturating_mul(seams);
        let word = if seams > 1 {
            "rivets a side, x 2 seams"
        } else {
            "rivets a side"
        };
        let seam_basis = vec![Basis::new(
            format!("2 x {a_side}"),
            word,
            rules.seam_rivets_a_side.standing.clone(),
        )];
        let mut lines = vec![
            Line::of("seam rivets", Decimal::from(seam), "each", seam_basis),
            self.rail_rivets(seam),
        ];
        if self.front.is_none() {
            lines.push(self.header_rivets("nose rail rivets", "New holes, evenly spaced.")?);
        }
        if self.seam.is_none() {
            lines.push(self.header_rivets(
                "rear header rivets",
                "Existing holes of the rear header, taken at the rails' pitch: count them. A renewed header has none: new holes, evenly spaced.",
            )?);
        }
        Ok(lines)
    }

    /// Rivets in the existing holes of both rails: under the new sheet, and under the sheet ahead where it is
    /// freed to take the new one under it.
    fn rail_rivets(&self, seam: i64) -> Line {
        let (rules, pitch) = (self.rules, self.body.rail_hole_pitch);
        let say = |length: Length| length.say(self.unit);
        let reach = match self.seam {
            Some(_) => self.end.plus(rules.seam_lap.value),
            None => self.end,
        };
        let holes_to = |at: Length| at.holds(pitch).unwrap_or_default();
        let mut basis = vec![Basis::new(
            format!("{} / {}", say(reach), say(pitch)),
            "holes a side",
            Standing::Unit,
        )];
        let mut a_side = holes_to(reach);
        if self.front.is_some() {
            let freed = &rules.seam_freed;
            let from = self.start.minus(freed.value).max(Length::ZERO);
            a_side = a_side.saturating_sub(holes_to(from));
            basis.push(Basis::new(
                format!("- {} / {}", say(from), say(pitch)),
                format!(
                    "holes ahead of {}, from where the sheet ahead is freed",
                    say(from)
                ),
                freed.standing.clone(),
            ));
        }
        let holes = a_side.saturating_mul(2);
        basis.extend([
            Basis::new(
                holes.to_string(),
                "existing holes of both rails",
                Standing::Worked,
            ),
            Basis::new(format!("- {seam}"), "seam rivets", Standing::Worked),
        ]);
        let rail = Decimal::from(holes.saturating_sub(seam).max(0));
        Line::of("rail rivets", rail, "each", basis)
    }

    fn header_rivets(&self, item: &str, more: &str) -> Result<Line, Error> {
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
        let mut line = Line::of(item, Decimal::from(count), "each", basis);
        line.more = Some(more.to_owned());
        Ok(line)
    }

    fn to_end(&self, what: &str) -> Basis {
        let name = match self.way() {
            RoofWay::Section => "seam station",
            RoofWay::WholeRoof => "body length",
            RoofWay::MiddleSection => "from seam to seam",
            RoofWay::RearSection => "from the seam to the rear",
        };
        Basis::new(
            self.span().say(self.unit),
            format!("{name} {what}"),
            Standing::Unit,
        )
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
        Line::of(item, length.to_decimal(self.unit), self.unit.word(), basis)
    }
}

/// Edge to roll: both sides of what is opened, of the sheet ahead where it is freed, and the ends at nose and
/// rear. A seam's end is not rolled.
pub(crate) fn edge_to_roll(
    taken: &RoofTakeoff,
    body_length: Length,
    rails: Length,
    rules: &RoofRules,
) -> Length {
    let freed = match taken.front_seam_station {
        Some(_) => rules.seam_freed.value,
        None => Length::ZERO,
    };
    let ends = 2_i64.saturating_sub(taken.seams().into());
    let sides = taken.opened_length(body_length).plus(freed).times(2);
    sides.plus(rails.times(ends))
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
