//! From takeoff to money: which material is bought, in which measure it is sold, and the hours of each task.

use crate::basis::{Amount, Basis, Given, Standing};
use crate::body::Plan;
use crate::error::Error;
use crate::measure::{Length, Unit};
use crate::patch::PatchTakeoff;
use crate::price::{Bill, Goods, Labour, Supplies};
use crate::roof_repair::RoofRepair;
use crate::shop::Book;
use crate::side_patch::{SideTakeoff, SideWay};
use crate::takeoff::RoofTakeoff;
use crate::takeoff_lines::{area, cartridges, edge_to_roll, too_much};
use rust_decimal::prelude::FromStr;
use rust_decimal::{Decimal, RoundingStrategy};
use serde::{Deserialize, Serialize};
use ts_rs::TS;

/// Material in money. Numbers are exact decimals as text.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, TS)]
pub struct MoneyLine {
    /// The item.
    pub item: String,
    /// How much is bought.
    pub quantity: String,
    /// In which measure it is sold.
    pub unit: String,
    /// Price of one.
    pub unit_price: String,
    /// Quantity x price, to the cent.
    pub amount: String,
    /// Tax falls on it.
    pub taxed: bool,
    /// Entered by hand, not figured.
    pub by_hand: bool,
    /// Where the price comes from.
    pub standing: Standing,
}

/// Hours of one task in money. Numbers are exact decimals as text.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, TS)]
pub struct TaskHours {
    /// The task's key in the shop book; `by_hand` for entered hours.
    pub task: String,
    /// As it is read.
    pub title: String,
    /// Hours of one person.
    pub hours: String,
    /// Price of an hour.
    pub rate: String,
    /// Hours x rate, to the cent.
    pub amount: String,
    /// Tax falls on it.
    pub taxed: bool,
    /// Entered by hand, not figured.
    pub by_hand: bool,
    /// The working.
    pub basis: Vec<Basis>,
}

/// Material and hours of one group, not priced yet.
#[derive(Debug, Clone, Default)]
pub(crate) struct Bought {
    pub goods: Vec<MoneyLine>,
    pub hours: Vec<TaskHours>,
}

/// Lines as they are added, with the book that prices them.
pub(crate) struct Buying<'a> {
    book: &'a Book,
    pub bought: Bought,
}

impl<'a> Buying<'a> {
    pub fn new(book: &'a Book) -> Self {
        Self {
            book,
            bought: Bought::default(),
        }
    }

    pub fn goods(&mut self, item: &str, quantity: Decimal, unit: &str, price: &Given<Amount>) {
        if quantity.is_zero() {
            return;
        }
        self.bought.goods.push(MoneyLine {
            item: item.to_owned(),
            quantity: quantity.normalize().to_string(),
            unit: unit.to_owned(),
            unit_price: price.value.to_string(),
            amount: String::new(),
            taxed: self.book.money.material_taxed.value,
            by_hand: false,
            standing: price.standing.clone(),
        });
    }

    pub fn hours(
        &mut self,
        task: &str,
        title: &str,
        quantity: Decimal,
        of: &str,
        rate: &Given<Amount>,
    ) -> Result<(), Error> {
        let hours = quantity.checked_mul(rate.value.0).ok_or_else(too_much)?;
        let hours = hours
            .round_dp_with_strategy(2, RoundingStrategy::MidpointAwayFromZero)
            .normalize();
        if hours.is_zero() {
            return Ok(());
        }
        self.bought.hours.push(TaskHours {
            task: task.to_owned(),
            title: title.to_owned(),
            hours: hours.to_string(),
            rate: self.book.money.labour_rate.value.to_string(),
            amount: String::new(),
            taxed: self.book.money.labour_taxed.value,
            by_hand: false,
            basis: vec![
                Basis::new(quantity.normalize().to_string(), of, Standing::Worked),
                Basis::new(format!("x {} h", rate.value), "shop book", rate.standing.clone()),
            ],
        });
        Ok(())
    }
}

/// Lines and hours as they are priced together.
pub(crate) fn bill(book: &Book, goods: &[&mut MoneyLine], hours: &[&mut TaskHours]) -> Result<Bill, Error> {
    let number = |text: &str| Decimal::from_str(text).map_err(|_| too_much());
    let rules = &book.money;
    let lines = goods.iter().map(|line| {
        let (quantity, unit_price) = (number(&line.quantity)?, number(&line.unit_price)?);
        Ok(Goods {
            item: line.item.clone(),
            quantity,
            unit_price,
            taxed: line.taxed,
        })
    });
    let labour = hours.iter().map(|line| {
        let (hours, rate) = (number(&line.hours)?, number(&line.rate)?);
        Ok(Labour {
            task: line.task.clone(),
            hours,
            rate,
            taxed: line.taxed,
        })
    });
    Ok(Bill {
        lines: lines.collect::<Result<_, Error>>()?,
        hours: labour.collect::<Result<_, Error>>()?,
        tax_rate: rules.tax_rate.value.0,
        tax_rounding: rules.tax_rounding.value,
        supplies: Some(Supplies {
            share_of_labour: rules.supplies_share.value.0,
            cap: Some(rules.supplies_cap.value.0),
            taxed: rules.supplies_taxed.value,
        }),
    })
}

pub(crate) fn feet(length: Length) -> Decimal {
    let inches = length.to_decimal(Unit::In);
    let feet = inches.checked_div(Decimal::from(12)).unwrap_or_default();
    feet.round_dp_with_strategy(2, RoundingStrategy::MidpointAwayFromZero)
}

pub(crate) fn square_feet(length: Length, width: Length) -> Result<Decimal, Error> {
    let feet = area(length, width, Unit::In)?
        .checked_div(Decimal::from(144))
        .ok_or_else(too_much)?;
    Ok(feet.round_dp_with_strategy(2, RoundingStrategy::MidpointAwayFromZero))
}

/// Whole rolls for a length of tape.
pub(crate) fn rolls(length: Length, roll: &Given<Length>) -> Result<Decimal, Error> {
    let none = || Error::new("book_roll", "A roll of tape in the shop book is longer than 0.").at("/prices");
    let one = roll.value;
    let whole = length
        .holds(one)
        .filter(|_| one > Length::ZERO)
        .ok_or_else(none)?;
    let more = i64::from(one.times(whole) < length);
    Ok(Decimal::from(whole.saturating_add(more)))
}

fn count(many: usize) -> Decimal {
    Decimal::from(u32::try_from(many).unwrap_or(u32::MAX))
}

/// Material and hours of an open roof.
pub(crate) fn open_roof(book: &Book, repair: &RoofRepair, plan: &Plan) -> Result<Bought, Error> {
    let RoofRepair {
        job, patches, lines, ..
    } = repair;
    let mut buying = Buying::new(book);
    let (prices, hours) = (&book.prices, &book.hours);
    let of = |item: &str| lines.iter().find(|line| line.item == item);
    let quantity = |item: &str| {
        of(item)
            .and_then(|line| line.quantity.parse::<Decimal>().ok())
            .unwrap_or_default()
    };
    let beside = Patches::of(patches)?;
    let mut sheet = Decimal::ZERO;
    for taken in repair.sections() {
        let width = taken.rough_width.unwrap_or(taken.finished_width);
        let one = square_feet(taken.rough_length, width)?;
        sheet = sheet.checked_add(one).ok_or_else(too_much)?;
    }
    let all = |of: &dyn Fn(&RoofTakeoff) -> Length| {
        repair
            .sections()
            .fold(Length::ZERO, |sum, taken| sum.plus(of(taken)))
    };
    let number = |of: &dyn Fn(&RoofTakeoff) -> u32| {
        Decimal::from(
            repair
                .sections()
                .fold(0_u32, |sum, taken| sum.saturating_add(of(taken))),
        )
    };
    buying.goods("roof sheet", sheet, "sq ft", &prices.roof_sheet_sq_ft);
    buying.goods("patch sheet", beside.sheet, "sq ft", &prices.roof_sheet_sq_ft);
    let width = plan.rail_width_outside;
    let open = all(&|taken| taken.opened_length(plan.length));
    let seams = all(&|taken| width.times(taken.seams().into()));
    let seam_tape = seams.times(book.roof.tape_rows.value.into()).plus(beside.round);
    buying.goods(
        "seam tape",
        rolls(seam_tape, &prices.seam_tape_roll_length)?,
        "roll",
        &prices.seam_tape_roll,
    );
    buying.goods(
        "foam tape",
        rolls(open.times(2), &prices.foam_tape_roll_length)?,
        "roll",
        &prices.foam_tape_roll,
    );
    buying.goods(
        "sealant cartridges",
        quantity("sealant cartridges"),
        "each",
        &prices.sealant_cartridge,
    );
    let rivets = [
        "seam rivets",
        "rail rivets",
        "nose rail rivets",
        "rear header rivets",
    ]
    .into_iter()
    .map(quantity);
    let rivets = rivets.fold(Decimal::ZERO, |sum, many| sum.checked_add(many).unwrap_or(sum));
    let fitted = ["bow rivets", "cap rivets", "nose wall rivets"]
        .into_iter()
        .map(quantity);
    let fitted = fitted.fold(Decimal::ZERO, Decimal::saturating_add);
    let all_rivets = rivets.saturating_add(beside.rivets.into()).saturating_add(fitted);
    buying.goods("rivets", all_rivets, "each", &prices.rivet);
    let (bows, opened) = repair.bows();
    let (bows, opened) = (count(bows), count(opened));
    buying.goods("roof bow", bows, "each", &prices.bow);
    let one = |wanted: bool| if wanted { Decimal::ONE } else { Decimal::ZERO };
    buying.goods("front roof bow", one(job.front_bow), "each", &prices.front_bow);
    let rail = if job.nose_rail { feet(width) } else { Decimal::ZERO };
    buying.goods("nose rail", rail, "ft", &prices.nose_rail_ft);
    for (item, price) in [
        ("corner plates", &book.part_prices.corner_plate),
        ("holding bolts", &book.part_prices.bolt),
        ("corner caps", &prices.corner_cap),
    ] {
        buying.goods(item, quantity(item), "each", price);
    }

    let section = feet(all(&|taken| taken.finished_length));
    let sheets = number(&|_| 1);
    buying.hours("strip_out", "Strip out", opened, "bows opened", &hours.strip_out)?;
    buying.hours("brace", "Tie, brace, measure", sheets, "openings", &hours.brace)?;
    buying.hours(
        "old_sheet",
        "Old sheet off",
        section,
        "feet of section",
        &hours.old_sheet,
    )?;
    let fitted = bows
        .checked_add(one(job.front_bow && !job.nose_rail))
        .unwrap_or(bows);
    buying.hours("bow", "Fit bows", fitted, "bows", &hours.bow)?;
    buying.hours(
        "nose_rail",
        "Nose rail, front bow, corners",
        one(job.nose_rail),
        "nose rail",
        &hours.nose_rail,
    )?;
    buying.hours(
        "cleaning",
        "Clean and scuff",
        section,
        "feet of section",
        &hours.cleaning,
    )?;
    buying.hours("tape", "Tape", section, "feet of section", &hours.tape)?;
    buying.hours(
        "sheet_on",
        "Sheet on, squared, clamped",
        section,
        "feet of section",
        &hours.sheet_on,
    )?;
    let front_seam = number(&|taken| taken.front_seam_station.is_some().into());
    buying.hours(
        "front_seam",
        "Sheet ahead freed, lifted, laid back",
        front_seam,
        "seam ahead of the section",
        &hours.front_seam,
    )?;
    let seams = number(&|taken| taken.seams().max(1));
    buying.hours("seam", "Seam", seams, "seams, or the rear end", &hours.seam)?;
    buying.hours("stretch", "Stretch and release", sheets, "sheets", &hours.stretch)?;
    let caulked = number(&|taken| match taken.large {
        true => u32::try_from(taken.bows_opened.len()).unwrap_or(u32::MAX),
        false => 0,
    });
    buying.hours("caulk", "Caulk", caulked, "bows", &hours.caulk)?;
    let hundreds = rivets.checked_div(Decimal::ONE_HUNDRED).unwrap_or_default();
    buying.hours("rivets", "Rivets", hundreds, "hundreds of rivets", &hours.rivets)?;
    buying.hours(
        "edge",
        "Roll the edge",
        feet(all(&|taken| edge_to_roll(taken, plan.length, width, &book.roof))),
        "feet of edge",
        &hours.edge,
    )?;
    buying.hours(
        "patch",
        "Roof patch",
        count(patches.len()),
        "patches",
        &hours.patch,
    )?;
    Ok(buying.bought)
}

/// What several patches take together.
#[derive(Default)]
struct Patches {
    sheet: Decimal,
    round: Length,
    rivets: u32,
}

impl Patches {
    fn of(patches: &[PatchTakeoff]) -> Result<Self, Error> {
        patches.iter().try_fold(Self::default(), |all, patch| {
            let [along, across] = patch.patch;
            let sheet = all.sheet.checked_add(square_feet(along, across)?);
            Ok(Self {
                sheet: sheet.ok_or_else(too_much)?,
                round: all.round.plus(patch.round),
                rivets: all.rivets.saturating_add(patch.rivets),
            })
        })
    }
}

/// Material and hours of roof patches.
pub(crate) fn patches(book: &Book, patches: &[PatchTakeoff]) -> Result<Bought, Error> {
    let mut buying = Buying::new(book);
    let prices = &book.prices;
    let Patches { sheet, round, rivets } = Patches::of(patches)?;
    buying.goods("roof sheet", sheet, "sq ft", &prices.roof_sheet_sq_ft);
    buying.goods(
        "seam tape",
        rolls(round, &prices.seam_tape_roll_length)?,
        "roll",
        &prices.seam_tape_roll,
    );
    let (tubes, _) = cartridges(round, &book.roof)?;
    buying.goods(
        "sealant cartridges",
        Decimal::from(tubes),
        "each",
        &prices.sealant_cartridge,
    );
    buying.goods("rivets", Decimal::from(rivets), "each", &prices.rivet);
    buying.hours(
        "patch",
        "Roof patch",
        count(patches.len()),
        "patches",
        &book.hours.patch,
    )?;
    Ok(buying.bought)
}

/// Material and hours of a side patch, or of whole side sheets.
pub(crate) fn side(book: &Book, taken: &SideTakeoff) -> Result<Bought, Error> {
    let mut buying = Buying::new(book);
    let (prices, hours) = (&book.prices, &book.hours);
    let [length, width] = taken.all_pieces(&book.side);
    let (sheet, pieces) = (square_feet(length, width)?, Decimal::from(taken.pieces()));
    buying.goods("side sheet", sheet, "sq ft", &prices.side_sheet_sq_ft);
    let (tubes, _) = cartridges(taken.beads, &book.roof)?;
    buying.goods(
        "sealant cartridges",
        Decimal::from(tubes),
        "each",
        &prices.sealant_cartridge,
    );
    let rivets = Decimal::from(taken.rivets);
    buying.goods("rivets", rivets, "each", &prices.rivet);
    match taken.way {
        SideWay::Patch => buying.hours("side_patch", "Side patch", pieces, "patch", &hours.side_patch)?,
        SideWay::Section => buying.hours(
            "side_sheet",
            "Side section off and on",
            pieces,
            "section",
            &hours.side_section,
        )?,
        SideWay::WholeSheet => {
            buying.hours(
                "side_sheet",
                "Side sheet off and on",
                pieces,
                "sheets",
                &hours.side_sheet,
            )?;
        }
    }
    let hundreds = rivets.checked_div(Decimal::ONE_HUNDRED).unwrap_or_default();
    buying.hours(
        "side_rivets",
        "Rivets of the side sheet",
        hundreds,
        "hundreds of rivets",
        &hours.side_rivets,
    )?;
    Ok(buying.bought)
}

/// What a job has once, whatever is fixed on it.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Once {
    /// Sheet that keeps water out is worked on: a leak test.
    pub wet: bool,
    /// The body is open: the lining out of the way.
    pub open: bool,
    /// Work on the roof: platforms.
    pub roof: bool,
    /// Stops, night or pause, for which an open roof is covered.
    pub stops: u32,
}

/// Hours that a job has once, whatever is fixed on it.
pub(crate) fn once(book: &Book, job: Once) -> Result<Bought, Error> {
    let mut buying = Buying::new(book);
    let hours = &book.hours;
    let one = |wanted: bool| if wanted { Decimal::ONE } else { Decimal::ZERO };
    buying.hours("make_safe", "Make safe", Decimal::ONE, "job", &hours.make_safe)?;
    buying.hours(
        "platforms",
        "Platforms up and down",
        one(job.roof),
        "job",
        &hours.platforms,
    )?;
    let stops = Decimal::from(job.stops);
    buying.hours("cover", "Cover on and off", stops, "stops", &hours.cover)?;
    buying.hours(
        "clean_up",
        "Swarf and tools out",
        Decimal::ONE,
        "job",
        &hours.clean_up,
    )?;
    buying.hours("lights", "Lights and ABS", Decimal::ONE, "job", &hours.lights)?;
    buying.hours("leak_test", "Leak test", one(job.wet), "job", &hours.leak_test)?;
    buying.hours(
        "lining",
        "Lining out of the way and back",
        one(job.open),
        "job",
        &hours.lining,
    )?;
    buying.hours(
        "sheeting",
        "Sheeting, decals, unit number",
        Decimal::ONE,
        "job",
        &hours.sheeting,
    )?;
    Ok(buying.bought)
}
