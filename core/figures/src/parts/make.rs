//! How a way on a part is put together: takeoff lines with their working, material in the measure it is sold in,
//! hours by the shop book, pieces to cut, and what has to lie ready.

use super::{Fact, Offer, OnHand, PartTakeoff};
use crate::basis::{Amount, Basis, Given, Line, Standing};
use crate::bill::{Bought, Buying, feet, rolls, square_feet};
use crate::body::Plan;
use crate::cut::{Need, even_holes};
use crate::mark::{Mark, Part, Surface};
use crate::measure::{Length, Unit};
use crate::rail_rivets::{Carrier, Fitting, RailRivet};
use crate::shop::Book;
use crate::takeoff_lines::{area, cartridges};
use rust_decimal::Decimal;

/// Works a way out, or says why it does not fit.
pub(super) type Make = for<'m> fn(&mut Making<'m>) -> Result<(), String>;

/// A way as it is worked out.
pub(super) struct Making<'a> {
    pub plan: &'a Plan,
    pub mark: &'a Mark,
    pub book: &'a Book,
    pub unit: Unit,
    pub taken: PartTakeoff,
    buying: Buying<'a>,
    rivets: i64,
    beads: Length,
}

/// A step of the working.
pub(super) fn basis(value: impl Into<String>, what: &str, standing: Standing) -> Basis {
    Basis::new(value, what, standing)
}

/// Entered with the mark or the plan.
pub(super) fn measured(value: impl Into<String>, what: &str) -> Basis {
    Basis::new(value, what, Standing::Unit)
}

/// Worked out from the steps before.
pub(super) fn worked(value: impl Into<String>, what: &str) -> Basis {
    Basis::new(value, what, Standing::Worked)
}

/// A count of the shop book.
pub(super) fn counted(rule: &Given<u32>, what: &str) -> Basis {
    Basis::new(rule.value.to_string(), what, rule.standing.clone())
}

impl<'a> Making<'a> {
    pub fn new(plan: &'a Plan, mark: &'a Mark, book: &'a Book, offer: &Offer, unit: Unit) -> Self {
        Self {
            plan,
            mark,
            book,
            unit,
            taken: PartTakeoff {
                mark: mark.id.clone(),
                part: mark.part,
                way: offer.way,
                title: offer.title.to_owned(),
                why: Vec::new(),
                lines: Vec::new(),
                needs: Vec::new(),
                on_hand: Vec::new(),
                facts: Vec::new(),
                numbers: Vec::new(),
                task: String::new(),
                people: 1,
                lining: false,
                wet: false,
                depth_open: false,
                warnings: Vec::new(),
            },
            buying: Buying::new(book),
            rivets: 0,
            beads: Length::ZERO,
        }
    }

    pub fn say(&self, length: Length) -> String {
        length.say(self.unit)
    }

    pub fn why(&mut self, sentence: impl Into<String>) {
        self.taken.why.push(sentence.into());
    }

    pub fn warn(&mut self, sentence: impl Into<String>) {
        self.taken.warnings.push(sentence.into());
    }

    /// A small depth is read from a gauge in decimals, everything else from a tape.
    pub fn fact(&mut self, name: &str, length: Length) {
        let small = length < Length::sixty_fourths(16);
        let said = if small {
            length.say_decimal(self.unit)
        } else {
            self.say(length)
        };
        self.taken.facts.push(Fact {
            name: name.to_owned(),
            said,
            length: Some(length),
        });
    }

    pub fn said(&mut self, name: &str, said: impl ToString) {
        self.taken.facts.push(Fact {
            name: name.to_owned(),
            said: said.to_string(),
            length: None,
        });
    }

    /// A length of the shop book as a step of the working.
    pub fn rule(&self, sign: &str, rule: &Given<Length>, what: &str) -> Basis {
        let value = format!("{sign}{}", self.say(rule.value));
        Basis::new(value.trim(), what, rule.standing.clone())
    }

    fn line(&mut self, item: &str, quantity: Decimal, unit: &str, working: Vec<Basis>) {
        self.taken.lines.push(Line::of(item, quantity, unit, working));
    }

    /// A finished line of another takeoff.
    pub fn known_line(&mut self, line: Line) {
        self.taken.lines.push(line);
    }

    /// What has to lie ready besides what is bought.
    pub fn ready(&mut self, item: &str, wanted: impl Into<String>) {
        self.taken.on_hand.push(OnHand {
            item: item.to_owned(),
            wanted: wanted.into(),
        });
    }

    fn buy(&mut self, item: &str, quantity: Decimal, unit: &str, price: &Given<Amount>) {
        self.buying.goods(item, quantity, unit, price);
        if !quantity.is_zero() {
            self.ready(item, format!("{} {unit}", quantity.normalize()));
        }
    }

    /// A length of work that is counted and not bought by the length.
    pub fn length(&mut self, item: &str, length: Length, working: Vec<Basis>) {
        self.line(item, length.to_decimal(self.unit), self.unit.word(), working);
    }

    /// Pieces that are bought by the piece.
    pub fn each(&mut self, item: &str, count: i64, price: &Given<Amount>, working: Vec<Basis>) {
        self.line(item, Decimal::from(count), "each", working);
        self.buy(item, Decimal::from(count), "each", price);
    }

    /// Rivets; those of all lines are bought together.
    pub fn rivets(&mut self, item: &str, count: i64, working: Vec<Basis>) {
        self.line(item, Decimal::from(count), "each", working);
        self.count_rivets(count);
    }

    /// Rivets into what carries the sheet: through so many sheets of the roof into a rail, of the wall into a post, or through
    /// that and a piece over it.
    pub fn rivets_into(
        &mut self,
        item: &str,
        count: i64,
        (into, [sheets, flanges]): (Carrier, [usize; 2]),
        working: Vec<Basis>,
    ) {
        self.rivets(item, count, working);
        let sheet = match into {
            Carrier::Post => self.plan.side_sheet,
            Carrier::Rail | Carrier::Header => self.plan.roof_sheet,
        };
        self.last_into(&vec![sheet; sheets], (into, flanges));
    }

    /// Rivets of a bow's end or a corner cap.
    pub fn rivets_of(&mut self, fitting: Fitting, item: &str, count: i64, working: Vec<Basis>) {
        self.rivets(item, count, working);
        if let Some(line) = self.taken.lines.last_mut() {
            fitting.beside(line, self.plan, self.book, self.unit);
        }
    }

    /// Says beside the last line how long its rivets are.
    pub fn last_into(&mut self, sheets: &[Length], into: (Carrier, usize)) {
        let diameter = match into.0 {
            Carrier::Post => self.book.side.diameter.value,
            Carrier::Rail | Carrier::Header => self.book.roof.rivet_diameter.value,
        };
        let rivet = RailRivet::of(self.plan, self.book, diameter, sheets, into, self.unit);
        if let Some(line) = self.taken.lines.last_mut() {
            rivet.beside(line, self.unit);
        }
    }

    /// Rivets of a line that is there already.
    pub const fn count_rivets(&mut self, count: i64) {
        self.rivets = self.rivets.saturating_add(count);
    }

    /// A bead of sealant; cartridges of all beads are bought together.
    pub fn bead(&mut self, item: &str, length: Length, working: Vec<Basis>) {
        self.length(item, length, working);
        self.count_bead(length);
    }

    /// A bead of a line that is there already.
    pub const fn count_bead(&mut self, length: Length) {
        self.beads = self.beads.plus(length);
    }

    /// Pieces of bar or rail, cut from stock and bought by the foot.
    pub fn bar(
        &mut self,
        item: &str,
        length: Length,
        count: i64,
        price: &Given<Amount>,
        mut working: Vec<Basis>,
    ) {
        let all = length.times(count);
        if count > 1 {
            working.push(worked(format!("x {count}"), "pieces"));
        }
        self.length(item, all, working);
        self.buy(item, feet(all), "ft", price);
        self.need(item, length, None, None, count);
    }

    /// Tape, bought in whole rolls.
    pub fn tape(
        &mut self,
        item: &str,
        length: Length,
        price: &Given<Amount>,
        roll: &Given<Length>,
        working: Vec<Basis>,
    ) -> Result<(), String> {
        self.length(item, length, working);
        let count = rolls(length, roll).map_err(|error| error.sentence)?;
        self.buy(item, count, "roll", price);
        Ok(())
    }

    /// A piece of sheet, cut from stock and bought by the square foot.
    pub fn sheet(
        &mut self,
        item: &str,
        [along, up]: [Length; 2],
        price: &Given<Amount>,
        working: Vec<Basis>,
    ) -> Result<(), String> {
        let squares = area(along, up, self.unit).map_err(|error| error.sentence)?;
        self.line(item, squares, &format!("{}²", self.unit.word()), working);
        self.buy_sheet(item, [along, up], price)
    }

    /// The material of a sheet whose line is there already.
    pub fn buy_sheet(
        &mut self,
        item: &str,
        [along, up]: [Length; 2],
        price: &Given<Amount>,
    ) -> Result<(), String> {
        let feet = square_feet(along, up).map_err(|error| error.sentence)?;
        self.buy(item, feet, "sq ft", price);
        Ok(())
    }

    /// A piece to cut from stock.
    pub fn need(
        &mut self,
        item: &str,
        length: Length,
        width: Option<Length>,
        thickness: Option<Length>,
        count: i64,
    ) {
        if length <= Length::ZERO || width.is_some_and(|width| width <= Length::ZERO) || count < 1 {
            return;
        }
        self.taken.needs.push(Need {
            item: item.to_owned(),
            length,
            width,
            thickness,
            count: u32::try_from(count).unwrap_or(u32::MAX),
            turn: width.is_some(),
        });
    }

    /// Hours of a task by the shop book.
    pub fn hours(
        &mut self,
        task: &str,
        title: &str,
        quantity: Decimal,
        of: &str,
        rate: &Given<Amount>,
    ) -> Result<(), String> {
        if self.taken.task.is_empty() {
            task.clone_into(&mut self.taken.task);
        }
        self.buying
            .hours(task, title, quantity, of, rate)
            .map_err(|error| error.sentence)
    }

    /// Hours of a task that is counted.
    pub fn hours_each(
        &mut self,
        task: &str,
        title: &str,
        count: i64,
        of: &str,
        rate: &Given<Amount>,
    ) -> Result<(), String> {
        self.hours(task, title, Decimal::from(count), of, rate)
    }

    /// Hours of a task by the foot.
    pub fn hours_feet(
        &mut self,
        task: &str,
        title: &str,
        length: Length,
        of: &str,
        rate: &Given<Amount>,
    ) -> Result<(), String> {
        self.hours(task, title, feet(length), of, rate)
    }

    /// Cartridges and rivets of all lines, and the result.
    pub fn done(mut self) -> Result<(PartTakeoff, Bought), String> {
        if self.beads > Length::ZERO {
            let (tubes, exact) = cartridges(self.beads, &self.book.roof).map_err(|error| error.sentence)?;
            let rules = &self.book.roof;
            let [wide, high] = rules.bead.value;
            let working = vec![
                worked(self.say(self.beads), "all beads"),
                basis(
                    format!("x {} x {}", self.say(wide), self.say(high)),
                    "bead",
                    rules.bead.standing.clone(),
                ),
                basis(
                    format!("+ {}", rules.waste.value),
                    "share of waste",
                    rules.waste.standing.clone(),
                ),
                basis(
                    format!("/ {} fl oz", rules.cartridge_fl_oz.value),
                    "a cartridge",
                    rules.cartridge_fl_oz.standing.clone(),
                ),
                worked(exact.to_string(), "before rounding up"),
            ];
            let price = &self.book.prices.sealant_cartridge;
            self.each("sealant cartridges", tubes, price, working);
        }
        if self.rivets > 0 {
            let price = &self.book.prices.rivet;
            self.buy("rivets", Decimal::from(self.rivets), "each", price);
        }
        Ok((self.taken, self.buying.bought))
    }

    /// Where the damage lies along its part: across the body for nose rail, header and bows, upright for posts
    /// and hinges, along the surface otherwise.
    pub fn reach(&self) -> (Length, Length) {
        let place = self.mark.place;
        let flat = matches!(place.surface, Surface::Roof | Surface::Floor);
        match self.mark.part {
            Part::NoseRail | Part::RearHeader | Part::RoofBow | Part::FrontRoofBow if flat => {
                (place.low, place.high)
            }
            Part::CornerPost | Part::SidePost | Part::Hinge | Part::CornerCap if !flat => {
                (place.low, place.high)
            }
            _ => (place.from, place.to),
        }
    }

    /// Length of the damage along its part.
    pub fn run(&self) -> Length {
        let (near, far) = self.reach();
        far.minus(near)
    }

    /// The longer side of the damage.
    pub fn longest(&self) -> Length {
        let place = self.mark.place;
        place.to.minus(place.from).max(place.high.minus(place.low))
    }
}

/// Rivets of a line of this length: one in each corner, an even pitch no wider than `pitch` between.
pub(super) fn in_line(length: Length, pitch: Length) -> Result<i64, String> {
    let holes = even_holes(length.max(Length::ZERO), Length::ZERO, pitch);
    let count = holes.and_then(|holes| i64::try_from(holes.len()).ok());
    count.map(|count| count.max(2)).ok_or_else(|| {
        "More than 2000 fasteners in a line: check the measures and the pitch in the shop book.".to_owned()
    })
}

/// Whole steps that a length reaches into, at least none.
pub(super) fn whole(length: Length, step: Length) -> i64 {
    length.holds(step).unwrap_or_default().max(0)
}

/// Whole steps up.
pub(super) fn whole_up(length: Length, step: Length) -> i64 {
    let down = whole(length, step);
    down.saturating_add(i64::from(step.times(down) < length))
}

/// A count with its word: `1 board`, `2 boards`.
pub(super) fn many(count: impl Into<i64>, one: &str, more: &str) -> String {
    let count = count.into();
    format!("{count} {}", if count == 1 { one } else { more })
}
