//! The shop book: every value that a shop sets, each with where it comes from. The program ships starting
//! values only; prices and hours of the starting book are invented and have to be replaced by the shop's own.

use crate::basis::{Amount, Given};
use crate::cut::{Stock, StockKind};
use crate::error::Error;
use crate::measure::{Length, Unit};
use crate::parts::{PartHours, PartPrices, PartRules};
use crate::price::TaxRounding;
use crate::rules::{PatchRules, RivetRules, RoofRules, Row, Show, unread, values};
use crate::side_patch::SideRules;
use rust_decimal::{Decimal, RoundingStrategy};
use serde::{Deserialize, Serialize};
use ts_rs::TS;

impl Show for TaxRounding {
    fn show(&self, _: Unit) -> String {
        match self {
            Self::Line => "by line",
            Self::Invoice => "by invoice",
        }
        .to_owned()
    }

    fn read(typed: &str, _: Unit) -> Result<Self, Error> {
        match typed.trim().to_lowercase().as_str() {
            "by line" => Ok(Self::Line),
            "by invoice" => Ok(Self::Invoice),
            _ => Err(unread(typed, "by line or by invoice")),
        }
    }
}

const fn cents(cents: i64) -> (i64, u32) {
    (cents, 2)
}

fn shop((digits, behind): (i64, u32)) -> Given<Amount> {
    Given::shop(Amount::new(digits, behind))
}

fn memory((digits, behind): (i64, u32)) -> Given<Amount> {
    Given::memory(Amount::new(digits, behind))
}

values! {
    /// Prices of material.
    Prices {
        /// Roof sheet, a square foot.
        roof_sheet_sq_ft: Amount = shop(cents(495));
        /// Side sheet, a square foot.
        side_sheet_sq_ft: Amount = shop(cents(460));
        /// Seam tape, a roll.
        seam_tape_roll: Amount = shop(cents(8_900));
        /// Seam tape, length of a roll.
        seam_tape_roll_length: Length = Given::shop(Length::inches(12 * 50));
        /// Foam tape, a roll.
        foam_tape_roll: Amount = shop(cents(2_450));
        /// Foam tape, length of a roll.
        foam_tape_roll_length: Length = Given::shop(Length::inches(12 * 50));
        /// Sealant, a cartridge.
        sealant_cartridge: Amount = shop(cents(1_375));
        /// Rivet, each.
        rivet: Amount = shop(cents(22));
        /// Roof bow, each.
        bow: Amount = shop(cents(7_850));
        /// Front roof bow, each.
        front_bow: Amount = shop(cents(14_600));
        /// Nose rail, a foot.
        nose_rail_ft: Amount = shop(cents(2_180));
        /// Corner cap, each.
        corner_cap: Amount = shop(cents(6_400));
        /// Lining sheet, each.
        lining_sheet: Amount = shop(cents(5_900));
    }
}

values! {
    /// Hours of one person, by task.
    Hours {
        /// Make safe, a job.
        make_safe: Amount = shop((10, 1));
        /// Platforms up and down, a job on the roof.
        platforms: Amount = shop((75, 2));
        /// Cover of the open roof on and off, a stop.
        cover: Amount = shop((5, 1));
        /// Strip out, a bow opened.
        strip_out: Amount = shop((30, 2));
        /// Tie, brace and measure, a job.
        brace: Amount = shop((15, 1));
        /// Old sheet off, a foot.
        old_sheet: Amount = shop((12, 2));
        /// Fit a bow, each.
        bow: Amount = shop((75, 2));
        /// Nose rail with its front bow and corners, each.
        nose_rail: Amount = shop((40, 1));
        /// Clean and scuff, a foot.
        cleaning: Amount = shop((8, 2));
        /// Tape, a foot of section.
        tape: Amount = shop((4, 2));
        /// Sheet on, squared and clamped, a foot.
        sheet_on: Amount = shop((15, 2));
        /// Seam, each.
        seam: Amount = shop((15, 1));
        /// Sheet ahead of a section freed, lifted and laid back, each.
        front_seam: Amount = shop((10, 1));
        /// Stretch and release, each.
        stretch: Amount = shop((12, 1));
        /// Caulk, a bow.
        caulk: Amount = shop((10, 2));
        /// Rivets, a hundred.
        rivets: Amount = shop((18, 1));
        /// Roll the edge, a foot of edge.
        edge: Amount = shop((3, 2));
        /// Roof patch, each.
        patch: Amount = shop((25, 1));
        /// Side patch, each, without its rivets.
        side_patch: Amount = shop((15, 1));
        /// Side section off and on, each, without its rivets.
        side_section: Amount = shop((45, 1));
        /// Whole side sheet off and on, each, without its rivets.
        side_sheet: Amount = shop((60, 1));
        /// Rivets of a side sheet, a hundred.
        side_rivets: Amount = shop((18, 1));
        /// Swarf and tools out, a job.
        clean_up: Amount = shop((5, 1));
        /// Lights and ABS, a job.
        lights: Amount = shop((5, 1));
        /// Leak test, a job.
        leak_test: Amount = shop((10, 1));
        /// Lining out of the way and back, a job.
        lining: Amount = shop((20, 1));
        /// Reflective sheeting, decals and unit number, a job.
        sheeting: Amount = shop((5, 1));
    }
}

values! {
    /// Rates, tax and supplies.
    Money {
        /// Labour, an hour.
        labour_rate: Amount = shop(cents(11_800));
        /// Tax, as a share.
        tax_rate: Amount = shop((725, 4));
        /// Tax is rounded.
        tax_rounding: TaxRounding = Given::shop(TaxRounding::Invoice);
        /// Tax falls on material.
        material_taxed: bool = Given::shop(true);
        /// Tax falls on labour.
        labour_taxed: bool = Given::shop(false);
        /// Supplies, as a share of labour.
        supplies_share: Amount = shop((5, 2));
        /// Supplies, the most that is charged.
        supplies_cap: Amount = shop(cents(9_500));
        /// Tax falls on supplies.
        supplies_taxed: bool = Given::shop(true);
    }
}

values! {
    /// People, time and chance.
    Planning {
        /// Hours of work in a day, one person.
        hours_a_day: Amount = shop((8, 0));
        /// People on a patch.
        people_patch: u32 = Given::shop(2);
        /// People on a roof section.
        people_section: u32 = Given::shop(2);
        /// People on a whole roof, without a hoist.
        people_whole_roof: u32 = Given::memory(4);
        /// People on a side section or a whole side sheet.
        people_side_sheet: u32 = Given::shop(2);
        /// Allowance for hidden damage, as a share of the total.
        hidden_damage_share: Amount = shop((15, 2));
        /// Working days in a week, from Monday.
        workdays: u32 = Given::shop(5);
        /// People of the shop on one job.
        people: u32 = Given::shop(2);
        /// Bays: so many units are in work at a time.
        bays: u32 = Given::shop(1);
        /// People of a shift, for all jobs together.
        people_a_shift: u32 = Given::shop(2);
        /// Shifts a day.
        shifts: u32 = Given::shop(1);
        /// A hoist for the sheet.
        hoist: bool = Given::shop(false);
        /// Hours of a task, at best: share below the figured ones.
        task_less_share: Amount = memory((25, 2));
        /// Hours of a task, at worst: share above the figured ones.
        task_more_share: Amount = memory((25, 2));
        /// Hours of the whole job, a good day: share below.
        pace_less_share: Amount = memory((10, 2));
        /// Hours of the whole job, a bad day: share above.
        pace_more_share: Amount = memory((15, 2));
        /// Material spoiled, at worst: share above the figured one.
        spoiled_share: Amount = memory((5, 2));
        /// Chance that a hidden part behind a mark is damaged.
        hidden_chance: Amount = memory((25, 2));
        /// Chance that an opened bow beside the damage is damaged.
        beside_chance: Amount = memory((5, 2));
        /// A hidden part without its own hours, hours.
        hidden_hours: Amount = memory((15, 1));
        /// A hidden part without its own price, material.
        hidden_material: Amount = memory((6_000, 2));
        /// Hours of a side patch saved while the roof is off over it, as a share.
        side_under_roof_share: Amount = memory((10, 2));
        /// Repair above this share of the unit's value: repair or retire is asked.
        retire_share: Amount = memory((60, 2));
        /// Wind above which no long sheet is handled, miles an hour.
        wind_limit_mph: u32 = Given::memory(15);
        /// An independent final check is wanted.
        final_check: bool = Given::shop(true);
        /// Warranty on the shop's own work after the unit left, months.
        warranty_months: u32 = Given::shop(6);
        /// Photos whose file says where they were taken are brought in, as they are.
        photo_positions: bool = Given::shop(true);
    }
}

values! {
    /// Tolerances of measured values.
    Limits {
        /// Rolled edge.
        edge: Length = Given::memory(Length::sixty_fourths(4));
        /// Between the diagonals before and after.
        diagonal: Length = Given::memory(Length::sixty_fourths(8));
        /// Outside width of the body.
        width: Length = Given::memory(Length::sixty_fourths(16));
    }
}

values! {
    /// How the shop cuts, and what it keeps.
    Cutting {
        /// Width of a saw's cut, for rails, posts, bows and trim.
        saw_kerf: Length = Given::memory(Length::sixty_fourths(8));
        /// Width of a cut in sheet; nothing for shears.
        sheet_kerf: Length = Given::shop(Length::ZERO);
        /// Trimmed off a bar, both ends together, before it is measured.
        end_trim: Length = Given::shop(Length::ZERO);
        /// A left-over of at least this length (and a third of it in width) is kept as a drop.
        keep_from: Length = Given::practice(Length::inches(24));
    }
}

/// Hours until a product may be tested, washed or loaded, from its label.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, TS)]
#[serde(deny_unknown_fields)]
pub struct Cure {
    /// The product, in the shop's words.
    pub product: String,
    /// Degrees Fahrenheit.
    pub at_f: i32,
    /// Hours.
    pub hours: Amount,
}

/// A day on which the shop does not work.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, TS)]
#[serde(deny_unknown_fields)]
pub struct Closed {
    /// The day, as 2026-12-25.
    pub day: String,
    /// Why, in the shop's words.
    pub why: String,
}

/// Everything a shop sets.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize, TS)]
#[serde(default, deny_unknown_fields)]
pub struct Book {
    /// Rates, tax and supplies.
    pub money: Money,
    /// Prices of material.
    pub prices: Prices,
    /// Hours of one person.
    pub hours: Hours,
    /// Rules of a roof section.
    pub roof: RoofRules,
    /// Rules of a roof patch.
    pub patch: PatchRules,
    /// Rules of side sheet work.
    pub side: SideRules,
    /// Rules of work on the other parts.
    pub parts: Box<PartRules>,
    /// Prices of the other parts.
    pub part_prices: Box<PartPrices>,
    /// Hours of one person on the other parts.
    pub part_hours: Box<PartHours>,
    /// Rules of riveting.
    pub rivets: RivetRules,
    /// Tolerances.
    pub limits: Limits,
    /// People, time and chance.
    pub planning: Planning,
    /// How the shop cuts, and what it keeps.
    pub cutting: Cutting,
    /// Cure times from labels; empty until the shop enters them, never guessed.
    pub cure: Vec<Cure>,
    /// Days on which the shop does not work, beside those of its week.
    pub closed: Vec<Closed>,
}

impl Book {
    /// All single values as they are read, group by group.
    #[must_use]
    pub fn rows(&self, unit: Unit) -> Vec<Row> {
        let mut rows = self.money.rows("money", unit);
        rows.extend(self.prices.rows("prices", unit));
        rows.extend(self.hours.rows("hours", unit));
        rows.extend(self.roof.rows("roof", unit));
        rows.extend(self.patch.rows("patch", unit));
        rows.extend(self.side.rows("side", unit));
        rows.extend(self.parts.rows("parts", unit));
        rows.extend(self.part_prices.rows("part_prices", unit));
        rows.extend(self.part_hours.rows("part_hours", unit));
        rows.extend(self.limits.rows("limits", unit));
        rows.extend(self.planning.rows("planning", unit));
        rows.extend(self.cutting.rows("cutting", unit));
        rows.extend(self.cure.iter().map(|cure| Row {
            group: "cure".to_owned(),
            key: format!("{}/{}", cure.product, cure.at_f),
            name: format!("{}, at {} °F", cure.product, cure.at_f),
            value: format!("{} h", cure.hours.show(unit)),
            standing: crate::basis::Standing::Shop,
        }));
        rows
    }

    /// Sets a value as it was typed, by its row's group and key; nothing typed brings the starting value back.
    ///
    /// # Errors
    /// `no_value`, or what was typed is none: the sentence says what is accepted.
    pub fn set(&mut self, group: &str, key: &str, typed: &str, unit: Unit) -> Result<(), Error> {
        let set = match group {
            "money" => self.money.set_typed(key, typed, unit),
            "prices" => self.prices.set_typed(key, typed, unit),
            "hours" => self.hours.set_typed(key, typed, unit),
            "roof" => self.roof.set_typed(key, typed, unit),
            "patch" => self.patch.set_typed(key, typed, unit),
            "side" => self.side.set_typed(key, typed, unit),
            "parts" => self.parts.set_typed(key, typed, unit),
            "part_prices" => self.part_prices.set_typed(key, typed, unit),
            "part_hours" => self.part_hours.set_typed(key, typed, unit),
            "limits" => self.limits.set_typed(key, typed, unit),
            "planning" => self.planning.set_typed(key, typed, unit),
            "cutting" => self.cutting.set_typed(key, typed, unit),
            _ => None,
        };
        set.unwrap_or_else(|| {
            let sentence = format!("The shop book has no value “{group}/{key}”.");
            Err(Error::new("no_value", sentence))
        })?;
        if (group, key) == ("planning", "bays") && self.planning.bays.value == 0 {
            return Err(unread(typed, "a number of bays from 1"));
        }
        if (group, key) == ("planning", "people_a_shift") && self.planning.people_a_shift.value == 0 {
            return Err(unread(typed, "a number of people from 1"));
        }
        let share =
            key.ends_with("_share") || key.ends_with("_chance") || matches!(key, "waste" | "tax_rate");
        let number = crate::basis::written(typed);
        if share && number.is_some_and(|number| number > Decimal::ONE) {
            return Err(unread(typed, "a share from 0 to 1: 8.25 % is .0825"));
        }
        Ok(())
    }

    /// Tape is bought in the rolls that the shop has. Where the stock list has some, a roll is as long as there and costs what the
    /// book takes for that length, so that figures, cut list and buying list of a job speak of one roll.
    pub fn take_rolls(&mut self, stock: &[Stock]) {
        let prices = &mut self.prices;
        for (item, price, length) in [
            (
                "seam tape",
                &mut prices.seam_tape_roll,
                &mut prices.seam_tape_roll_length,
            ),
            (
                "foam tape",
                &mut prices.foam_tape_roll,
                &mut prices.foam_tape_roll_length,
            ),
        ] {
            let roll = stock.iter().find(|stock| {
                stock.item == item && stock.kind == StockKind::Coil && stock.length > Length::ZERO
            });
            let Some(roll) = roll.filter(|roll| roll.length != length.value) else {
                continue;
            };
            let [new, old] = [roll.length, length.value].map(|length| length.to_decimal(Unit::Mm));
            let exact = price
                .value
                .0
                .checked_mul(new)
                .and_then(|all| all.checked_div(old));
            if let Some(exact) = exact {
                price.value = Amount(exact.round_dp_with_strategy(2, RoundingStrategy::MidpointAwayFromZero));
                length.value = roll.length;
            }
        }
    }

    /// Hours of cure at a temperature: the longest of the products, each at its nearest label line that is no
    /// warmer. None if the label of a product has no line for it, or no label was entered.
    #[must_use]
    pub fn cure_hours(&self, at_f: i32) -> Option<Amount> {
        let lines = || self.cure.iter().filter(|line| line.at_f <= at_f);
        let hours = |product: &str| {
            lines()
                .filter(|l| l.product == product)
                .max_by_key(|l| l.at_f)
                .map(|l| l.hours)
        };
        self.cure
            .iter()
            .map(|line| hours(&line.product))
            .collect::<Option<Vec<_>>>()?
            .into_iter()
            .max()
    }
}
