//! Money: lines, hours, supplies and tax, in exact decimals.
//!
//! Each amount is rounded once, half up to the cent, from its exact product. Tax is half up once a line or
//! once for the whole invoice (SSUTA s. 324, which binds its member states; elsewhere the shop says). Products
//! are taken in i128, since a decimal type that rounds at 28 digits would round some cents twice.

use crate::Error;
use crate::input::Fields;
use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};
use serde_json::{Value, json};

/// Where the tax is rounded.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ts_rs::TS)]
#[serde(rename_all = "snake_case")]
pub enum TaxRounding {
    /// Half up on each taxed amount, then summed.
    Line,
    /// Half up once, on the sum of the taxed amounts.
    Invoice,
}

/// Something that is bought or taken from stock.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Goods {
    /// Trade word of the item.
    pub item: String,
    /// How much of it.
    pub quantity: Decimal,
    /// Price of one.
    pub unit_price: Decimal,
    /// Whether tax falls on it.
    pub taxed: bool,
}

/// Hours of one task.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Labour {
    /// The task.
    pub task: String,
    /// Hours of one person.
    pub hours: Decimal,
    /// Price of an hour.
    pub rate: Decimal,
    /// Whether tax falls on it.
    pub taxed: bool,
}

/// Shop supplies: a share of the labour up to a cap.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Supplies {
    /// Share of the labour, 0 to 1.
    pub share_of_labour: Decimal,
    /// The most that is charged; none = no cap.
    pub cap: Option<Decimal>,
    /// Whether tax falls on them.
    pub taxed: bool,
}

/// Everything that is to be priced.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Bill {
    /// Goods.
    pub lines: Vec<Goods>,
    /// Hours.
    pub hours: Vec<Labour>,
    /// The tax, 0 to 1.
    pub tax_rate: Decimal,
    /// Where it is rounded.
    pub tax_rounding: TaxRounding,
    /// Supplies, if the shop charges any.
    pub supplies: Option<Supplies>,
}

/// One amount of the bill, in cents.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Amount {
    /// Without tax.
    pub cents: i128,
    /// Its tax, where tax is rounded by line; none by invoice.
    pub tax: Option<i128>,
}

/// The bill worked out; every money field is in cents.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Priced {
    /// Of each of the goods, in their order.
    pub lines: Vec<Amount>,
    /// Of each of the hours, in their order.
    pub hours: Vec<Amount>,
    /// Sum of the goods.
    pub material: i128,
    /// Sum of the hours.
    pub labour: i128,
    /// Supplies.
    pub supplies: i128,
    /// Tax.
    pub tax: i128,
    /// All together.
    pub total: i128,
}

/// Prices a bill.
///
/// # Errors
/// `price_amount` with the pointer of a negative amount, a share or rate above 1, or a sum beyond 38 digits.
pub fn work_out(bill: &Bill) -> Result<Priced, Error> {
    sound_share(bill.tax_rate, "/tax_rate", "the tax rate")?;
    let mut taxes = Taxes {
        rate: bill.tax_rate,
        rounding: bill.tax_rounding,
        taxed: 0,
        tax: 0,
    };
    let mut lines = Vec::with_capacity(bill.lines.len());
    for (i, line) in bill.lines.iter().enumerate() {
        lines.push(taxes.amount(line.quantity, line.unit_price, line.taxed, &format!("/lines/{i}"))?);
    }
    let mut hours = Vec::with_capacity(bill.hours.len());
    for (i, line) in bill.hours.iter().enumerate() {
        hours.push(taxes.amount(line.hours, line.rate, line.taxed, &format!("/hours/{i}"))?);
    }
    let (material, labour) = (sum(&lines, "/lines")?, sum(&hours, "/hours")?);
    let supplies = match &bill.supplies {
        None => 0,
        Some(given) => {
            let cents = supplies(given, labour)?;
            taxes.add(cents, given.taxed, "/supplies")?;
            cents
        }
    };
    let tax = taxes.total()?;
    let total = [labour, supplies, tax]
        .iter()
        .try_fold(material, |sum, part| sum.checked_add(*part));
    let total = total.ok_or_else(|| too_large("/lines"))?;
    Ok(Priced {
        lines,
        hours,
        material,
        labour,
        supplies,
        tax,
        total,
    })
}

/// Cents as they are written, `1234.50`.
pub fn money(cents: i128) -> String {
    let (sign, size) = if cents < 0 {
        ("-", cents.unsigned_abs())
    } else {
        ("", cents.unsigned_abs())
    };
    let (whole, part) = (
        size.checked_div(100).unwrap_or(0),
        size.checked_rem(100).unwrap_or(0),
    );
    format!("{sign}{whole}.{part:02}")
}

/// The command `price`: JSON in, JSON out.
///
/// # Errors
/// The JSON pointer of what is not understood, and what is accepted.
pub fn figure(input: &Value) -> Result<Value, Error> {
    let bill = read(input)?;
    let priced = work_out(&bill)?;
    let tax = |amount: &Amount| amount.tax.map(money);
    let lines: Vec<Value> = bill.lines.iter().zip(&priced.lines).map(|(of, amount)| {
        json!({"item": of.item, "quantity": of.quantity.to_string(), "unit_price": of.unit_price.to_string(),
            "amount": money(amount.cents), "taxed": of.taxed, "tax": tax(amount)})
    }).collect();
    let hours: Vec<Value> = bill
        .hours
        .iter()
        .zip(&priced.hours)
        .map(|(of, amount)| {
            json!({"task": of.task, "hours": of.hours.to_string(), "rate": of.rate.to_string(),
            "amount": money(amount.cents), "taxed": of.taxed, "tax": tax(amount)})
        })
        .collect();
    Ok(
        json!({"material": money(priced.material), "labour": money(priced.labour),
        "supplies": money(priced.supplies), "tax": money(priced.tax), "total": money(priced.total),
        "lines": lines, "hours": hours}),
    )
}

fn read(input: &Value) -> Result<Bill, Error> {
    let known = ["lines", "hours", "tax_rate", "tax_rounding", "supplies"];
    let top = Fields::whole(input, &known)?;
    let lines = top.list("lines", |value, at| {
        let line = top.entry(value, at, &["item", "quantity", "unit_price", "taxed"])?;
        let (quantity, unit_price) = (decimal(&line, "quantity")?, decimal(&line, "unit_price")?);
        Ok(Goods {
            item: line.text("item")?,
            quantity,
            unit_price,
            taxed: flag(&line)?,
        })
    })?;
    let hours = top.list("hours", |value, at| {
        let line = top.entry(value, at, &["task", "hours", "rate", "taxed"])?;
        let (hours, rate) = (decimal(&line, "hours")?, decimal(&line, "rate")?);
        Ok(Labour {
            task: line.text("task")?,
            hours,
            rate,
            taxed: flag(&line)?,
        })
    })?;
    let has_cap = input.pointer("/supplies/cap").is_some_and(|cap| !cap.is_null());
    let supplies = top
        .object("supplies", &["share_of_labour", "cap", "taxed"])?
        .map(|given| {
            let cap = has_cap.then(|| decimal(&given, "cap")).transpose()?;
            Ok(Supplies {
                share_of_labour: decimal(&given, "share_of_labour")?,
                cap,
                taxed: flag(&given)?,
            })
        });
    let tax_rounding = match top.word("tax_rounding", &["line", "invoice"])? {
        Some("line") => TaxRounding::Line,
        Some(_) => TaxRounding::Invoice,
        None => {
            return Err(top.wrong(
                "tax_rounding",
                "input_missing",
                "“tax_rounding” is missing: line or invoice.",
            ));
        }
    };
    Ok(Bill {
        lines: lines.unwrap_or_default(),
        hours: hours.unwrap_or_default(),
        tax_rate: decimal(&top, "tax_rate")?,
        tax_rounding,
        supplies: supplies.transpose()?,
    })
}

fn flag(fields: &Fields) -> Result<bool, Error> {
    let missing = || fields.wrong("taxed", "input_missing", "“taxed” is missing: true or false.");
    fields.flag("taxed")?.ok_or_else(missing)
}

/// An amount in plain decimal notation, at most 18 digits, so that the product of any two is exact.
fn decimal(fields: &Fields, name: &str) -> Result<Decimal, Error> {
    const WANTED: &str =
        "A decimal number in quotes is expected here, 0 or more, with at most 18 digits: \"12.345\".";
    let read = |text: String| {
        let (whole, part) = text.split_once('.').unwrap_or((text.as_str(), "0"));
        let digits = |s: &str| !s.is_empty() && s.bytes().all(|b| b.is_ascii_digit());
        let (all, whole) = (digits(whole) && digits(part), whole.trim_start_matches('0'));
        let part = part.trim_end_matches('0');
        let few = whole.len().saturating_add(part.len()) <= 18;
        (all && few)
            .then(|| Decimal::from_str_exact(&format!("0{whole}.{part}0")).ok())
            .flatten()
    };
    let found = fields.text(name).ok().and_then(read).map(|d| d.normalize());
    found.ok_or_else(|| fields.wrong(name, "price_decimal", WANTED))
}

/// The tax as it gathers over the bill.
struct Taxes {
    rate: Decimal,
    rounding: TaxRounding,
    taxed: i128,
    tax: i128,
}

impl Taxes {
    fn amount(&mut self, count: Decimal, price: Decimal, taxed: bool, at: &str) -> Result<Amount, Error> {
        if count.is_sign_negative() || price.is_sign_negative() {
            return Err(refuse(
                at,
                "Quantities, hours, prices and rates are 0 or more.".to_owned(),
            ));
        }
        let cents = Exact::of(count)
            .times(Exact::of(price))
            .and_then(Exact::cents)
            .ok_or_else(|| too_large(at))?;
        Ok(Amount {
            cents,
            tax: self.add(cents, taxed, at)?,
        })
    }

    /// Takes an amount into the tax; what it bears, where tax is rounded by line.
    fn add(&mut self, cents: i128, taxed: bool, at: &str) -> Result<Option<i128>, Error> {
        if !taxed {
            return Ok((self.rounding == TaxRounding::Line).then_some(0));
        }
        let large = || too_large(at);
        match self.rounding {
            TaxRounding::Invoice => {
                self.taxed = self.taxed.checked_add(cents).ok_or_else(large)?;
                Ok(None)
            }
            TaxRounding::Line => {
                let tax = Exact::of_cents(cents)
                    .times(Exact::of(self.rate))
                    .and_then(Exact::cents)
                    .ok_or_else(large)?;
                self.tax = self.tax.checked_add(tax).ok_or_else(large)?;
                Ok(Some(tax))
            }
        }
    }

    fn total(&self) -> Result<i128, Error> {
        match self.rounding {
            TaxRounding::Line => Ok(self.tax),
            TaxRounding::Invoice => Exact::of_cents(self.taxed)
                .times(Exact::of(self.rate))
                .and_then(Exact::cents)
                .ok_or_else(|| too_large("/tax_rate")),
        }
    }
}

/// The smaller of share and cap. Rounding never changes an order, so each is rounded and then compared.
fn supplies(given: &Supplies, labour: i128) -> Result<i128, Error> {
    sound_share(
        given.share_of_labour,
        "/supplies/share_of_labour",
        "the share of the labour",
    )?;
    let share = Exact::of_cents(labour)
        .times(Exact::of(given.share_of_labour))
        .and_then(Exact::cents);
    let share = share.ok_or_else(|| too_large("/supplies"))?;
    let Some(cap) = given.cap else { return Ok(share) };
    if cap.is_sign_negative() {
        return Err(refuse(
            "/supplies/cap",
            "The cap is 0 or more; null means no cap.".to_owned(),
        ));
    }
    Ok(share.min(Exact::of(cap).cents().ok_or_else(|| too_large("/supplies/cap"))?))
}

fn sum(amounts: &[Amount], at: &str) -> Result<i128, Error> {
    amounts
        .iter()
        .try_fold(0_i128, |sum, a| sum.checked_add(a.cents))
        .ok_or_else(|| too_large(at))
}

fn sound_share(share: Decimal, at: &str, what: &str) -> Result<(), Error> {
    if share.is_sign_negative() || share > Decimal::ONE {
        return Err(refuse(
            at,
            format!("Here, {what} is a share from 0 to 1: 8.25 % is \"0.0825\"."),
        ));
    }
    Ok(())
}

fn refuse(at: &str, sentence: impl Into<String>) -> Error {
    Error::new("price_amount", sentence).at(at)
}

fn too_large(at: &str) -> Error {
    refuse(
        at,
        "These amounts are too large to be worked out to the cent; each has at most 18 digits.".to_owned(),
    )
}

/// A decimal with nothing lost: `digits` / 10^`places`.
#[derive(Clone, Copy)]
struct Exact {
    digits: i128,
    places: u32,
}

impl Exact {
    fn of(decimal: Decimal) -> Self {
        let decimal = decimal.normalize();
        Exact {
            digits: decimal.mantissa(),
            places: decimal.scale(),
        }
    }

    fn of_cents(cents: i128) -> Self {
        Exact {
            digits: cents,
            places: 2,
        }
    }

    fn times(self, other: Self) -> Option<Self> {
        let digits = self.digits.checked_mul(other.digits)?;
        Some(Exact {
            digits,
            places: self.places.checked_add(other.places)?,
        })
    }

    /// In cents, half up, once.
    fn cents(self) -> Option<i128> {
        let Some(over) = self.places.checked_sub(2) else {
            return self
                .digits
                .checked_mul(10_i128.checked_pow(2_u32.checked_sub(self.places)?)?);
        };
        // More places than an i128 has digits: nothing reaches half a cent.
        let Some(one) = 10_i128.checked_pow(over) else {
            return Some(0);
        };
        let up = i128::from(self.digits.checked_rem(one)? >= one.checked_sub(one.checked_div(2)?)?);
        self.digits.checked_div(one)?.checked_add(up)
    }
}
