//! Reading a command's JSON object strictly: every field by its name, nothing unknown let through, and each
//! refusal with the JSON pointer (RFC 6901) of what is wrong and a sentence of what is accepted.

use crate::Error;
use crate::measure::{Length, Unit};
use rust_decimal::{Decimal, prelude::ToPrimitive};
use serde_json::{Map, Value};

/// One JSON object with its place in the whole input.
pub(crate) struct Fields<'a> {
    map: &'a Map<String, Value>,
    at: String,
}

/// A list's items, each with its pointer.
pub(crate) type Items<'a> = Vec<(&'a Value, String)>;

impl<'a> Fields<'a> {
    /// Opens an object and refuses any field that is not in `known`.
    pub(crate) fn open(value: &'a Value, at: &str, known: &[&str]) -> Result<Self, Error> {
        let Some(map) = value.as_object() else {
            return Err(refuse(
                at,
                format!(
                    "Here stands {}; wanted is an object with {}.",
                    kind(value),
                    list(known)
                ),
            ));
        };
        match map.keys().find(|key| !known.contains(&key.as_str())) {
            None => Ok(Fields {
                map,
                at: at.to_owned(),
            }),
            Some(key) => {
                let what = format!("There is no field {key:?} here. Known are {}.", list(known));
                Err(refuse(
                    &format!("{at}/{}", key.replace('~', "~0").replace('/', "~1")),
                    what,
                ))
            }
        }
    }

    /// The pointer of one of its fields.
    pub(crate) fn at(&self, name: &str) -> String {
        format!("{}/{name}", self.at)
    }

    /// A field that may be left out; null is the same as left out.
    pub(crate) fn maybe(&self, name: &str) -> Option<&'a Value> {
        self.map.get(name).filter(|value| !value.is_null())
    }

    fn need(&self, name: &str, wanted: &str) -> Result<&'a Value, Error> {
        self.maybe(name).ok_or_else(|| {
            refuse(
                &self.at(name),
                format!("The field {name:?} is missing; wanted is {wanted}."),
            )
        })
    }

    /// A text that has to be there.
    pub(crate) fn text(&self, name: &str, wanted: &str) -> Result<&'a str, Error> {
        let value = self.need(name, wanted)?;
        value.as_str().ok_or_else(|| {
            refuse(
                &self.at(name),
                format!("Here stands {}; wanted is {wanted}.", kind(value)),
            )
        })
    }

    /// True or false, which has to be there.
    pub(crate) fn flag(&self, name: &str) -> Result<bool, Error> {
        let value = self.need(name, "true or false")?;
        value.as_bool().ok_or_else(|| {
            refuse(
                &self.at(name),
                format!("Here stands {}; wanted is true or false.", kind(value)),
            )
        })
    }

    /// A count that has to be there.
    pub(crate) fn count(&self, name: &str) -> Result<u64, Error> {
        let value = self.need(name, "a whole number, 0 or more")?;
        value.as_u64().ok_or_else(|| {
            refuse(
                &self.at(name),
                format!(
                    "Here stands {}; wanted is a whole number, 0 or more.",
                    kind(value)
                ),
            )
        })
    }

    /// A list; empty if it is left out.
    pub(crate) fn items(&self, name: &str) -> Result<Items<'a>, Error> {
        let at = self.at(name);
        match self.maybe(name) {
            None => Ok(Vec::new()),
            Some(Value::Array(items)) => Ok(items
                .iter()
                .enumerate()
                .map(|(i, item)| (item, format!("{at}/{i}")))
                .collect()),
            Some(other) => Err(refuse(
                &at,
                format!("Here stands {}; wanted is a list in [ ].", kind(other)),
            )),
        }
    }

    /// An amount as decimal text, exact, 0 or more.
    pub(crate) fn decimal(&self, name: &str) -> Result<Decimal, Error> {
        const WANTED: &str =
            "a decimal number in quotes, 0 or more, such as \"12.345\", with at most 18 digits";
        let text = self.text(name, WANTED)?;
        decimal(text).ok_or_else(|| {
            refuse(
                &self.at(name),
                format!("{:?} is not understood; wanted is {WANTED}.", short(text)),
            )
        })
    }

    /// The object's unit of length; inches if it is left out.
    pub(crate) fn unit(&self) -> Result<Unit, Error> {
        match self.maybe("unit") {
            None => Ok(Unit::In),
            Some(Value::String(text)) if text == "in" => Ok(Unit::In),
            Some(Value::String(text)) if text == "mm" => Ok(Unit::Mm),
            Some(_) => Err(refuse(
                &self.at("unit"),
                "The unit of length is \"in\" or \"mm\".".to_owned(),
            )),
        }
    }

    /// A length that has to be there: a number in the unit, or text in tape notation.
    pub(crate) fn length(&self, name: &str, unit: Unit) -> Result<Length, Error> {
        const WANTED: &str = "a length, as a number in the unit or as text in tape notation";
        let value = self.need(name, WANTED)?;
        let text = match value {
            Value::Number(number) => number.to_string(),
            Value::String(text) => text.clone(),
            other => {
                return Err(refuse(
                    &self.at(name),
                    format!("Here stands {}; wanted is {WANTED}.", kind(other)),
                ));
            }
        };
        Length::parse(&text, unit).map_err(|e| e.at(self.at(name)))
    }

    /// A length that may be left out.
    pub(crate) fn maybe_length(&self, name: &str, unit: Unit) -> Result<Option<Length>, Error> {
        self.maybe(name).map(|_| self.length(name, unit)).transpose()
    }
}

/// A refusal of one place of the input.
pub(crate) fn refuse(at: &str, sentence: String) -> Error {
    Error::new("bad_input", sentence).at(at)
}

/// Plain decimal notation, at most 18 digits: so the product of any two is exact in an i128.
fn decimal(text: &str) -> Option<Decimal> {
    let (whole, part) = text.split_once('.').unwrap_or((text, "0"));
    let digits = |s: &str| !s.is_empty() && s.bytes().all(|b| b.is_ascii_digit());
    if !digits(whole) || !digits(part) {
        return None;
    }
    let (whole, part) = (whole.trim_start_matches('0'), part.trim_end_matches('0'));
    if whole.len().saturating_add(part.len()) > 18 {
        return None;
    }
    Decimal::from_str_exact(&format!("0{whole}.{part}0"))
        .ok()
        .map(|d| d.normalize())
}

/// A decimal as a JSON number, whole where it is whole.
pub(crate) fn number(decimal: Decimal) -> Value {
    match (
        decimal.is_integer().then(|| decimal.to_i64()).flatten(),
        decimal.to_f64(),
    ) {
        (Some(whole), _) => Value::from(whole),
        (None, Some(float)) => Value::from(float),
        (None, None) => Value::Null,
    }
}

fn kind(value: &Value) -> &'static str {
    match value {
        Value::Null => "nothing",
        Value::Bool(_) => "true or false",
        Value::Number(_) => "a number",
        Value::String(_) => "text",
        Value::Array(_) => "a list",
        Value::Object(_) => "an object",
    }
}

fn list(known: &[&str]) -> String {
    known.join(", ")
}

/// The start of what was entered, so that an error stays short.
pub(crate) fn short(text: &str) -> String {
    text.chars().take(40).collect()
}
