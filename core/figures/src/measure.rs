//! Lengths, exact. A trailer is measured with a tape in sixteenths and drawn in millimetres; both must agree
//! to the last digit, so a length is a whole number of nanometres (1/64 in is 396 875 nm, 1 in is 25 400 000).
//!
//! [`Length::parse`] reads what people write from a tape, [`Length::say`] writes it back the same way.
//! Arithmetic never overflows: it stops at the ends of the range, far beyond any trailer.

use crate::error::Error;
use rust_decimal::{Decimal, RoundingStrategy, prelude::ToPrimitive};
use serde::{Deserialize, Serialize};
use std::str::FromStr;
use ts_rs::TS;

/// Nanometres in an inch (the inch is 25.4 mm exactly since 1959).
const INCH: i64 = 25_400_000;
/// Nanometres in a sixteenth, the finest line people read from a tape.
const SIXTEENTH: i64 = 1_587_500;
const SIXTEENTHS_A_FOOT: i64 = 192;
const MM: i64 = 1_000_000;
/// Longest length accepted from outside: 100 m.
const LONGEST: i64 = 100_000_000_000;
/// Longest text that can be a length.
const LONGEST_TEXT: usize = 40;

const ACCEPTED: &str = "Accepted are for example 63 3/8 in, 5' 3-3/8, 63.4 in, 1610 mm and 1.61 m.";

/// The unit that a person or an input works in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default, Serialize, Deserialize, TS)]
#[serde(rename_all = "lowercase")]
pub enum Unit {
    /// Inches (and feet).
    #[default]
    In,
    /// Millimetres.
    Mm,
}

impl Unit {
    /// As it is written behind a number: `in` or `mm`.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::In => "in",
            Self::Mm => "mm",
        }
    }

    const fn nanometres(self) -> i64 {
        match self {
            Self::In => INCH,
            Self::Mm => MM,
        }
    }
}

/// A length in whole nanometres; in JSON that plain number. Differences may be negative.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default, Serialize, Deserialize, TS)]
pub struct Length(#[ts(type = "number")] i64);

impl Length {
    /// No length.
    pub const ZERO: Self = Self(0);

    /// From nanometres.
    #[must_use]
    pub const fn from_nm(nm: i64) -> Self {
        Self(nm)
    }

    /// From whole inches.
    #[must_use]
    pub const fn inches(inches: i64) -> Self {
        Self(inches.saturating_mul(INCH))
    }

    /// From sixty-fourths of an inch.
    #[must_use]
    pub const fn sixty_fourths(count: i64) -> Self {
        Self(count.saturating_mul(396_875))
    }

    /// From thousandths of an inch, as sheet is sold.
    #[must_use]
    pub const fn thousandths(count: i64) -> Self {
        Self(count.saturating_mul(25_400))
    }

    /// From whole millimetres.
    #[must_use]
    pub const fn mm(mm: i64) -> Self {
        Self(mm.saturating_mul(MM))
    }

    /// In nanometres.
    #[must_use]
    pub const fn nm(self) -> i64 {
        self.0
    }

    /// Sum; stops at the end of the range.
    #[must_use]
    pub const fn plus(self, other: Self) -> Self {
        Self(self.0.saturating_add(other.0))
    }

    /// Difference, negative if the other is longer; stops at the end of the range.
    #[must_use]
    pub const fn minus(self, other: Self) -> Self {
        Self(self.0.saturating_sub(other.0))
    }

    /// Multiple; stops at the end of the range.
    #[must_use]
    pub const fn times(self, count: i64) -> Self {
        Self(self.0.saturating_mul(count))
    }

    /// One of `count` equal parts, cut to a whole nanometre; none for a count of nothing.
    #[must_use]
    pub const fn part(self, count: i64) -> Option<Self> {
        match self.0.checked_div(count) {
            Some(nm) => Some(Self(nm)),
            None => None,
        }
    }

    /// How often the other goes into this one as a whole; none if the other is nothing.
    #[must_use]
    pub const fn holds(self, other: Self) -> Option<i64> {
        self.0.checked_div(other.0)
    }

    /// Distance between two stations, never negative.
    #[must_use]
    pub const fn apart(self, other: Self) -> Self {
        Self(self.0.saturating_sub(other.0).saturating_abs())
    }

    /// Neither negative nor longer than 100 m: what may come from outside.
    #[must_use]
    pub const fn is_sound(self) -> bool {
        self.0 >= 0 && self.0 <= LONGEST
    }

    /// A measure that work is figured with: more than nothing, and sound.
    ///
    /// # Errors
    /// The sentence that names it, whose it is and what, and says what is accepted.
    pub(crate) fn measured(self, whose: &str, name: &str) -> Result<Self, String> {
        if self > Self::ZERO && self.is_sound() {
            return Ok(self);
        }
        let name = name.replace('_', " ");
        Err(format!(
            "The {whose}'s {name}: more than 0 and at most 100 m is accepted."
        ))
    }

    /// From a decimal number of units, to the nearest nanometre.
    ///
    /// # Errors
    /// Negative, or over 100 m.
    pub fn from_decimal(number: Decimal, unit: Unit) -> Result<Self, Error> {
        of_units(number, unit.nanometres()).and_then(Self::sound)
    }

    /// As a decimal number of units, to six decimals (a quarter of a hundred-thousandth of a millimetre).
    #[must_use]
    pub fn to_decimal(self, unit: Unit) -> Decimal {
        Decimal::from(self.0)
            .checked_div(Decimal::from(unit.nanometres()))
            .unwrap_or_default()
            .round_dp_with_strategy(6, RoundingStrategy::MidpointAwayFromZero)
            .normalize()
    }

    /// Reads a length as people write it: `5' 3-3/8`, `63 3/8 in`, `63.4`, `1610 mm`, `1.61 m`, `5ft 3in`,
    /// with typographic marks and fractions (`′ ″ ½`) as well. A bare number is in `default_unit`; after
    /// feet it is inches. Fractions are halves to sixty-fourths.
    ///
    /// # Errors
    /// A sentence that says what is wrong and what is accepted: empty, negative, a decimal comma, a fraction
    /// that no tape has, mixed systems, over 100 m.
    pub fn parse(text: &str, default_unit: Unit) -> Result<Self, Error> {
        if text.chars().count() > LONGEST_TEXT {
            return Err(Error::new(
                "length_text",
                format!("This is too long for a length. {ACCEPTED}"),
            ));
        }
        let plain = plain(text);
        let plain = plain.trim();
        if plain.is_empty() {
            return Err(Error::new(
                "length_empty",
                format!("A length is missing. {ACCEPTED}"),
            ));
        }
        if plain.starts_with('-') {
            return Err(Error::new(
                "length_negative",
                "A length cannot be negative; stations run back from the nose, from 0.",
            ));
        }
        if plain.contains(',') {
            let sentence = "Write the decimal with a point and thousands without a mark: 63.4 in, 1610 mm.";
            return Err(Error::new("length_comma", sentence));
        }
        let tokens = tokens(plain).ok_or_else(|| unread(text))?;
        Reader {
            text,
            tokens: &tokens,
            default_unit,
        }
        .read()
        .and_then(Self::sound)
    }

    fn sound(self) -> Result<Self, Error> {
        if self.is_sound() {
            return Ok(self);
        }
        if self.0 < 0 {
            return Err(Error::new(
                "length_negative",
                "A length cannot be negative; stations run back from the nose, from 0.",
            ));
        }
        Err(Error::new(
            "length_long",
            "Lengths go up to 100 m (3937 in); this one is longer. Check the unit.",
        ))
    }

    /// As it is read from a tape: inches to the sixteenth (`168 5/8 in`), or whole millimetres (`1610 mm`).
    /// A `~` stands before it only if something was rounded away.
    #[must_use]
    pub fn say(self, unit: Unit) -> String {
        match unit {
            Unit::Mm => {
                let (count, about) = self.rounded(MM);
                format!("{about}{}{count} mm", self.sign())
            }
            Unit::In => {
                let (count, about) = self.rounded(SIXTEENTH);
                format!("{about}{}{} in", self.sign(), mixed(count, ' '))
            }
        }
    }

    /// In feet and inches, to the sixteenth: `14' 0-5/8"`.
    #[must_use]
    pub fn say_feet(self) -> String {
        let (count, about) = self.rounded(SIXTEENTH);
        let feet = count.checked_div(SIXTEENTHS_A_FOOT).unwrap_or_default();
        let rest = count.checked_rem(SIXTEENTHS_A_FOOT).unwrap_or_default();
        let inches = if rest > 0 && rest < 16 {
            format!("0-{}", mixed(rest, '-'))
        } else {
            mixed(rest, '-')
        };
        format!("{about}{}{feet}' {inches}\"", self.sign())
    }

    /// As sheet and rivets are named: decimals, at least three for inches (`0.040 in`), hundredths of a
    /// millimetre (`1.02 mm`).
    #[must_use]
    pub fn say_decimal(self, unit: Unit) -> String {
        let digits = match unit {
            Unit::In => 3,
            Unit::Mm => 2,
        };
        let exact = self.to_decimal(unit);
        let short = exact.round_dp_with_strategy(digits, RoundingStrategy::MidpointAwayFromZero);
        let in_full = unit == Unit::In && exact.scale() == 4;
        if in_full {
            return format!("{exact} in");
        }
        let about = if short == exact { "" } else { "~" };
        let places = usize::try_from(digits).unwrap_or(2);
        format!("{about}{short:.places$} {}", unit.word())
    }

    /// Magnitude in steps, half up, and the mark that it was rounded.
    fn rounded(self, step: i64) -> (i64, &'static str) {
        let nm = self.0.saturating_abs();
        let count = nm
            .saturating_add(step.checked_div(2).unwrap_or_default())
            .checked_div(step)
            .unwrap_or_default();
        let about = if count.saturating_mul(step) == nm { "" } else { "~" };
        (count, about)
    }

    const fn sign(self) -> &'static str {
        if self.0 < 0 { "-" } else { "" }
    }
}

/// Sixteenths as a mixed number: `168 5/8`, with the given mark between whole and fraction.
fn mixed(sixteenths: i64, between: char) -> String {
    let whole = sixteenths.checked_div(16).unwrap_or_default();
    let rest = sixteenths.checked_rem(16).unwrap_or_default();
    if rest == 0 {
        return whole.to_string();
    }
    // A fraction of sixteenths is reduced by the twos that both sides have.
    let twos = rest.trailing_zeros().min(4);
    let fraction = format!(
        "{}/{}",
        rest.checked_shr(twos).unwrap_or(rest),
        16_i64.checked_shr(twos).unwrap_or(16)
    );
    if whole == 0 {
        fraction
    } else {
        format!("{whole}{between}{fraction}")
    }
}

/// A decimal number of units of the given size, to the nearest nanometre.
fn of_units(number: Decimal, size: i64) -> Result<Length, Error> {
    let long = || {
        Error::new(
            "length_long",
            "Lengths go up to 100 m (3937 in); this one is longer. Check the unit.",
        )
    };
    let nm = number.checked_mul(Decimal::from(size)).ok_or_else(long)?;
    let nm = nm.round_dp_with_strategy(0, RoundingStrategy::MidpointAwayFromZero);
    nm.to_i64().map(Length).ok_or_else(long)
}

/// Typographic marks as plain ones, in lower case.
fn plain(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        let put = match c {
            '\u{2033}' | '\u{201c}' | '\u{201d}' | '\u{201f}' => "\"",
            '\u{2032}' | '\u{2018}' | '\u{2019}' => "'",
            '\u{2010}'..='\u{2015}' | '\u{2212}' => "-",
            '\u{2044}' | '\u{2215}' => "/",
            '\u{a0}' | '\u{2009}' | '\u{202f}' | '\t' => " ",
            '½' => " 1/2",
            '¼' => " 1/4",
            '¾' => " 3/4",
            '⅛' => " 1/8",
            '⅜' => " 3/8",
            '⅝' => " 5/8",
            '⅞' => " 7/8",
            _ => {
                out.extend(c.to_lowercase());
                continue;
            }
        };
        out.push_str(put);
    }
    out.replace("''", "\"")
}

#[derive(Debug, Clone, PartialEq)]
enum Token {
    Number(Decimal),
    Dash,
    Slash,
    Feet,
    Inch,
    Metric(i64),
}

/// Numbers, marks and unit words; none if something else stands there.
fn tokens(plain: &str) -> Option<Vec<Token>> {
    let mut found = Vec::new();
    let mut rest = plain.trim_start();
    while let Some(first) = rest.chars().next() {
        let (token, length) = if first.is_ascii_digit() || first == '.' {
            let end = rest
                .find(|c: char| !c.is_ascii_digit() && c != '.')
                .unwrap_or(rest.len());
            (Token::Number(number(rest.get(..end)?)?), end)
        } else if first.is_alphabetic() {
            let end = rest.find(|c: char| !c.is_alphabetic()).unwrap_or(rest.len());
            let token = unit_word(rest.get(..end)?)?;
            let end = if rest.get(end..)?.starts_with('.') {
                end.saturating_add(1)
            } else {
                end
            };
            (token, end)
        } else {
            let token = match first {
                '-' => Token::Dash,
                '/' => Token::Slash,
                '\'' => Token::Feet,
                '"' => Token::Inch,
                _ => return None,
            };
            (token, first.len_utf8())
        };
        found.push(token);
        rest = rest.get(length..)?.trim_start();
    }
    Some(found)
}

fn number(digits: &str) -> Option<Decimal> {
    if digits == "." || digits.matches('.').count() > 1 {
        return None;
    }
    let digits = digits.trim_end_matches('.');
    Decimal::from_str(&format!("0{digits}")).ok()
}

fn unit_word(word: &str) -> Option<Token> {
    Some(match word {
        "in" | "inch" | "inches" => Token::Inch,
        "ft" | "foot" | "feet" => Token::Feet,
        "mm" => Token::Metric(MM),
        "cm" => Token::Metric(10_000_000),
        "m" => Token::Metric(1_000_000_000),
        _ => return None,
    })
}

/// Reads the tokens of one length.
struct Reader<'a> {
    text: &'a str,
    tokens: &'a [Token],
    default_unit: Unit,
}

impl Reader<'_> {
    fn read(&self) -> Result<Length, Error> {
        use Token::{Dash, Feet, Inch, Metric, Number};
        match self.tokens {
            [Number(n), Metric(size)] => of_units(*n, *size),
            [.., Metric(_)] => Err(Error::new(
                "length_metric_fraction",
                format!("Fractions belong to inches; metric lengths are written in decimals. {ACCEPTED}"),
            )),
            [Number(n)] if self.default_unit == Unit::Mm => of_units(*n, MM),
            [Number(feet), Feet] => of_units(*feet, INCH.saturating_mul(12)),
            [Number(feet), Feet, Dash, rest @ .., Inch] | [Number(feet), Feet, rest @ .., Inch] => {
                self.feet(*feet, rest)
            }
            [Number(feet), Feet, Dash, rest @ ..] | [Number(feet), Feet, rest @ ..] => self.feet(*feet, rest),
            [rest @ .., Inch] => self.inches(rest),
            rest if self.default_unit == Unit::In => self.inches(rest),
            _ => Err(Error::new(
                "length_metric_fraction",
                format!(
                    "A fraction needs its unit here, since bare numbers are millimetres: 63 3/8 in. {ACCEPTED}"
                ),
            )),
        }
    }

    fn feet(&self, feet: Decimal, rest: &[Token]) -> Result<Length, Error> {
        if !feet.fract().is_zero() {
            return Err(Error::new(
                "length_feet",
                format!("Before inches, feet are whole: 5' 3-3/8. {ACCEPTED}"),
            ));
        }
        let inches = self.inches(rest)?;
        if inches >= Length::inches(12) {
            return Err(Error::new(
                "length_feet",
                "After feet, inches go from 0 to under 12: 5' 3-3/8 or 63 3/8 in.",
            ));
        }
        Ok(of_units(feet, INCH.saturating_mul(12))?.plus(inches))
    }

    fn inches(&self, tokens: &[Token]) -> Result<Length, Error> {
        use Token::{Dash, Number, Slash};
        match tokens {
            [Number(n)] => of_units(*n, INCH),
            [Number(over), Slash, Number(under)] => fraction(*over, *under),
            [Number(whole), Number(over), Slash, Number(under)]
            | [Number(whole), Dash, Number(over), Slash, Number(under)] => {
                let part = fraction(*over, *under)?;
                if !whole.fract().is_zero() || part >= Length::inches(1) {
                    return Err(Error::new(
                        "length_fraction",
                        format!(
                            "A whole number of inches and a fraction under 1 belong together: 63 3/8 in. {ACCEPTED}"
                        ),
                    ));
                }
                Ok(of_units(*whole, INCH)?.plus(part))
            }
            _ => Err(unread(self.text)),
        }
    }
}

fn fraction(over: Decimal, under: Decimal) -> Result<Length, Error> {
    let tape = || {
        Error::new(
            "length_fraction",
            "A tape has halves, quarters, eighths, 16ths, 32nds and 64ths: 63 3/8 in. Write other parts as a decimal.",
        )
    };
    let (Some(over), Some(under)) = (whole(over), whole(under)) else {
        return Err(tape());
    };
    if ![2, 4, 8, 16, 32, 64].contains(&under) {
        return Err(tape());
    }
    let each = 64_i64.checked_div(under).ok_or_else(tape)?;
    Ok(Length::sixty_fourths(over.saturating_mul(each)))
}

fn whole(number: Decimal) -> Option<i64> {
    if number.fract().is_zero() {
        number.to_i64()
    } else {
        None
    }
}

fn unread(text: &str) -> Error {
    let text = text.trim();
    Error::new(
        "length_unread",
        format!("“{text}” is not understood as a length. {ACCEPTED}"),
    )
}

#[cfg(test)]
#[path = "measure_tests.rs"]
mod tests;
