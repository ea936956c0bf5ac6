//! What many parts have: fasteners set anew, a leak sealed anew, a worn place dressed, wet layers dried.

use super::make::{Making, counted, in_line, measured, worked};
use crate::basis::{Amount, Basis, Given, Standing};
use crate::mark::Part;
use crate::measure::Length;
use crate::rail_rivets::Carrier;

/// A fastener as it is bought.
enum Fastener {
    Rivet,
    Screw,
    Bolt,
}

impl Making<'_> {
    /// Clean back, cut out, lap: the parts of a part that a splice or a section covers.
    pub(super) fn cut_out(&mut self, damage: Length) -> (Length, Vec<Basis>) {
        let margin = &self.book.parts.cut_margin;
        let cut = damage.plus(margin.value.times(2));
        let working = vec![
            measured(self.say(damage), "damage"),
            self.rule("+ 2 x ", margin, "back to sound metal"),
        ];
        self.fact("cut", cut);
        (cut, working)
    }

    /// Stations that a mark reaches over, as it is said.
    pub(super) fn place_said(&mut self) {
        let place = self.mark.place;
        let said = place.along(self.unit);
        self.said("place", said);
    }

    pub(super) fn screws(&mut self, count: i64, working: Vec<Basis>) {
        let price = &self.book.part_prices.screw;
        self.each("screws", count, price, working);
    }

    /// What comes out held the walls apart and the weather out: braced, by a large crew, lining out of the way, tested
    /// for leaks.
    pub(super) fn holds_body(&mut self) -> Result<(), String> {
        self.brace()?;
        self.large();
        self.taken.lining = true;
        self.taken.wet = true;
        Ok(())
    }

    /// Walls are tied before something comes out that holds them apart.
    pub(super) fn brace(&mut self) -> Result<(), String> {
        self.ready("ties and braces", "for both walls, with a tape for the diagonals");
        self.hours_each(
            "part_brace",
            "Tie, brace, measure",
            1,
            "place",
            &self.book.part_hours.brace,
        )
    }

    pub(super) fn cover(&mut self) {
        self.ready("cover", "large enough for the opening, with what holds it down");
    }

    pub(super) const fn large(&mut self) {
        self.taken.people = self.book.parts.people_large.value;
    }
}

/// Loose fasteners out, holes looked at, the next size or a new one in.
pub(super) fn refasten(m: &mut Making<'_>) -> Result<(), String> {
    let (count, working, fastener) = loose(m)?;
    let rate = &m.book.part_hours.refasten;
    match fastener {
        Fastener::Rivet => {
            m.rivets("rivets set anew", count, working);
            let (roof, side) = (m.plan.roof_sheet, m.plan.side_sheet);
            match m.mark.part {
                Part::NoseRail | Part::TopRail => m.last_into(&[roof], (Carrier::Rail, 1)),
                Part::BottomRail => m.last_into(&[side], (Carrier::Rail, 1)),
                Part::SidePost | Part::CornerPost => m.last_into(&[side], (Carrier::Post, 1)),
                _ => {}
            }
        }
        Fastener::Screw => m.screws(count, working),
        Fastener::Bolt => {
            let price = &m.book.part_prices.bolt;
            m.each("bolts", count, price, working);
        }
    }
    m.hours_each("refasten", "Fasteners set anew", count, "fasteners", rate)?;
    m.said("fasteners", count);
    m.place_said();
    m.taken.wet = matches!(
        m.mark.part,
        Part::NoseWall
            | Part::NoseRail
            | Part::CornerCap
            | Part::CornerPost
            | Part::TopRail
            | Part::BottomRail
            | Part::SideSheet
            | Part::RoofSheet
            | Part::Floor
    );
    m.taken.lining = matches!(m.mark.part, Part::SidePost | Part::RoofBow);
    if m.taken.wet {
        let bead = m.longest();
        let working = vec![measured(m.say(bead), "along the fasteners")];
        m.bead("sealant over the fasteners", bead, working);
    }
    m.why("The holes decide: a worn one takes the next size, an oval or torn one is no hole to fasten in.");
    m.warn("Fasteners that came loose had a reason: look for a bend, a crack or a wet layer behind them.");
    Ok(())
}

/// How many loose fasteners there are by the row that the part has.
fn loose(m: &Making<'_>) -> Result<(i64, Vec<Basis>, Fastener), String> {
    let rules = &m.book.parts;
    let row = |run: Length, pitch: &Given<Length>, fastener: Fastener| {
        let count = in_line(run, pitch.value)?;
        let working = vec![
            measured(m.say(run), "along the damage"),
            m.rule("/ ", pitch, "pitch of the row"),
        ];
        Ok((count, working, fastener))
    };
    let fixed = |rule: &Given<u32>, what: &str, fastener: Fastener| {
        Ok((i64::from(rule.value), vec![counted(rule, what)], fastener))
    };
    let run = m.longest();
    match m.mark.part {
        Part::NoseRail | Part::TopRail | Part::BottomRail => {
            let pitch = Given {
                value: m.plan.rail_hole_pitch,
                standing: Standing::Unit,
            };
            row(run, &pitch, Fastener::Rivet)
        }
        Part::NoseWall | Part::CornerPost | Part::SideSheet | Part::RoofSheet => {
            row(run, &m.book.side.joint_pitch, Fastener::Rivet)
        }
        Part::SidePost => row(run, &m.book.side.post_pitch, Fastener::Rivet),
        Part::RoofBow | Part::FrontRoofBow => {
            let ends = &rules.bow_end_fasteners;
            let bows = i64::try_from(m.taken.numbers.len()).unwrap_or(i64::MAX).max(1);
            let count = i64::from(ends.value).saturating_mul(2).saturating_mul(bows);
            let working = vec![worked(bows.to_string(), "bows"), counted(ends, "x 2 ends")];
            Ok((count, working, Fastener::Rivet))
        }
        Part::CornerCap => fixed(&rules.cap_fasteners, "fasteners of a cap", Fastener::Rivet),
        Part::Lining | Part::ScuffBand => row(run, &rules.lining_pitch, Fastener::Screw),
        Part::Hinge | Part::Door => fixed(&rules.hinge_fasteners, "fasteners of a hinge", Fastener::Bolt),
        Part::MudFlap => fixed(&rules.flap_fasteners, "fasteners of a flap", Fastener::Bolt),
        _ => row(run, &rules.fastener_pitch, Fastener::Screw),
    }
}

/// Where the water comes in is found, the old sealant comes out, a new bead goes in.
pub(super) fn reseal(m: &mut Making<'_>) -> Result<(), String> {
    let (run, reach) = (m.longest(), &m.book.parts.reseal_reach);
    let length = run.plus(reach.value.times(2));
    let working = vec![
        measured(m.say(run), "along the mark"),
        m.rule("+ 2 x ", reach, "sealed past it"),
    ];
    m.bead("sealant", length, working);
    m.fact("seal", length);
    m.place_said();
    m.hours_feet(
        "reseal",
        "Find the leak, seal anew",
        length,
        "feet of seam",
        &m.book.part_hours.reseal,
    )?;
    m.taken.wet = true;
    m.taken.lining = !matches!(m.mark.part, Part::Door | Part::Floor);
    m.why("The metal is sound and water still comes through: the place where it comes in is found, then sealed anew.");
    m.warn(
        "Water runs along rails and bows: the place where it drips is seldom the place where it comes in.",
    );
    Ok(())
}

/// A gouge or rust that takes no strength is dressed smooth and coated.
pub(super) fn dress(m: &mut Making<'_>) -> Result<(), String> {
    let (limit, price) = (m.book.parts.gouge.value, &m.book.part_prices.coating);
    dressed(m, limit, price)
}

/// The same on a floor board, which is filled.
pub(super) fn fill(m: &mut Making<'_>) -> Result<(), String> {
    let (limit, price) = (m.book.parts.board_gouge.value, &m.book.part_prices.coating);
    dressed(m, limit, price)
}

fn dressed(m: &mut Making<'_>, limit: Length, price: &Given<Amount>) -> Result<(), String> {
    m.each("coating", 1, price, vec![measured("1", "place")]);
    m.hours_each("dress", "Dress and coat", 1, "place", &m.book.part_hours.dress)?;
    up_to(m, limit, ["dresses", "Surface alone"])
}

/// Fits up to a depth: what is done up to there, and what the damage then is.
pub(super) fn up_to(m: &mut Making<'_>, limit: Length, [does, what]: [&str; 2]) -> Result<(), String> {
    m.fact("limit", limit);
    m.place_said();
    let said = m.taken.facts.iter().find(|fact| fact.name == "limit");
    let said = said.map(|fact| fact.said.clone()).unwrap_or_default();
    match m.mark.depth {
        Some(depth) if depth > limit => {
            let depth = depth.say_decimal(m.unit);
            return Err(format!(
                "It is {depth} deep, the shop book {does} up to {said}: another way."
            ));
        }
        Some(depth) => {
            let depth = depth.say_decimal(m.unit);
            m.why(format!("{what}, {depth} deep, within {said} (shop book)."));
        }
        None => {
            m.taken.depth_open = true;
            m.why(format!(
                "{what}, up to {said} deep (shop book): measure the depth and enter it with the mark, deeper is another way."
            ));
        }
    }
    Ok(())
}

/// Water-stained layers: dried and looked at once the leak is mended.
pub(super) fn dry_out(m: &mut Making<'_>) -> Result<(), String> {
    m.hours_each("dry_out", "Dry and look", 1, "place", &m.book.part_hours.dry_out)?;
    m.place_said();
    m.why("A stain is what a leak left: the leak is mended first, then the layer is dried and looked at.");
    m.warn("Soft, swollen or dark layers do not come back: then a new piece is the way.");
    Ok(())
}

/// The bows or posts of a mark, said and counted; `many` is their word, as `posts`.
pub(super) fn stations(m: &mut Making<'_>, all: &[Length], many: &'static str) -> Result<i64, String> {
    let found = reached(m, all);
    if found.is_empty() {
        return Err(format!("The plan has no {many}: enter their stations first."));
    }
    let word = if found.len() == 1 {
        many.trim_end_matches('s')
    } else {
        many
    };
    m.said(many, format!("{word} {}", numbers(&found)));
    let count = i64::try_from(found.len()).unwrap_or(i64::MAX);
    m.taken.numbers = found;
    Ok(count)
}

/// Straightened cold within the shop's limit; `other` is what is done beyond it.
pub(super) fn straight(m: &mut Making<'_>, limit: &Given<Length>, other: &str) -> Result<(), String> {
    m.fact("limit", limit.value);
    let mut working = vec![m.rule("", limit, "deepest bend")];
    let said = m.say(limit.value);
    match m.mark.depth {
        Some(depth) if depth > limit.value => {
            let depth = m.say(depth);
            return Err(format!(
                "It is {depth} out of line, the shop straightens up to {said}: {other}."
            ));
        }
        Some(depth) => {
            working.push(measured(m.say(depth), "out of line"));
            let depth = m.say(depth);
            m.why(format!(
                "It is {depth} out of line, within {said} (shop rule). Kinked or cracked: {other}."
            ));
        }
        None => {
            m.taken.depth_open = true;
            m.why(format!("Up to {said} out of line (shop rule): measure with a straightedge from inside first, and enter it with the mark. Deeper, kinked or cracked: {other}."));
        }
    }
    m.length("depth that is straightened", limit.value, working);
    Ok(())
}

/// Which bows or posts a mark reaches, the nearest one if it reaches none.
pub(super) fn reached(m: &Making<'_>, stations: &[Length]) -> Vec<u32> {
    let place = m.mark.place;
    let numbered = || (1_u32..).zip(stations.iter().copied());
    let under: Vec<u32> = numbered()
        .filter(|(_, at)| *at >= place.from && *at <= place.to)
        .map(|(number, _)| number)
        .collect();
    if !under.is_empty() {
        return under;
    }
    let apart = |at: Length| at.apart(place.from).min(at.apart(place.to));
    let nearest = numbered().min_by_key(|(_, at)| apart(*at));
    nearest.map(|(number, _)| number).into_iter().collect()
}

/// Numbers as they are read: `7, 8`.
pub(super) fn numbers(list: &[u32]) -> String {
    let all: Vec<String> = list.iter().map(u32::to_string).collect();
    all.join(", ")
}
