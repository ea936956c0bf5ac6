//! Reading JSON that people and programs write by hand: every field is named in the error that it causes,
//! unknown fields are refused (a misspelt name must not fall back to a starting value in silence), and
//! lengths may be numbers in the object's unit or strings in tape notation.

use crate::error::Error;
use crate::measure::{Length, Unit};
use rust_decimal::Decimal;
use rust_decimal::prelude::{FromStr, ToPrimitive};
use serde_json::{Map, Number, Value};

/// Most entries that a list may have.
const LONGEST_LIST: usize = 2_000;

/// One JSON object, with where it stands in the input and the unit of its numbers.
pub struct Fields<'a> {
    map: &'a Map<String, Value>,
    at: String,
    /// The unit of bare numbers that are lengths.
    pub unit: Unit,
}

impl<'a> Fields<'a> {
    /// The whole input: an object that may name its `unit`.
    ///
    /// # Errors
    /// Not an object, a unit other than `in` and `mm`, or a field that is not among `known`.
    pub fn whole(value: &'a Value, known: &[&str]) -> Result<Self, Error> {
        let mut fields = Self::of(value, String::new(), Unit::In, known)?;
        fields.unit = match fields.get("unit") {
            None => Unit::In,
            Some(Value::String(word)) if word == "in" => Unit::In,
            Some(Value::String(word)) if word == "mm" => Unit::Mm,
            Some(_) => return Err(fields.wrong("unit", "input_unit", "The unit is \"in\" or \"mm\".")),
        };
        Ok(fields)
    }

    fn of(value: &'a Value, at: String, unit: Unit, known: &[&str]) -> Result<Self, Error> {
        let Value::Object(map) = value else {
            return Err(Error::new("input_object", "An object is expected here: { ... }.").at(at));
        };
        let fields = Self { map, at, unit };
        match map.keys().find(|name| !known.contains(&name.as_str())) {
            None => Ok(fields),
            Some(name) => {
                let sentence = format!("This field is not known. Known here: {}.", known.join(", "));
                Err(fields.wrong(name, "input_unknown_field", sentence))
            }
        }
    }

    fn get(&self, name: &str) -> Option<&'a Value> {
        self.map.get(name).filter(|value| !value.is_null())
    }

    /// JSON pointer to a field of this object.
    #[must_use]
    pub fn pointer(&self, name: &str) -> String {
        format!("{}/{}", self.at, name.replace('~', "~0").replace('/', "~1"))
    }

    /// An error at a field of this object.
    pub fn wrong(&self, name: &str, code: &str, sentence: impl Into<String>) -> Error {
        Error::new(code, sentence).at(self.pointer(name))
    }

    fn missing(&self, name: &str, what: &str) -> Error {
        self.wrong(
            name,
            "input_missing",
            format!("“{name}” is missing: {what} is expected."),
        )
    }

    /// An object that may be left out.
    ///
    /// # Errors
    /// Not an object, or an unknown field in it.
    pub fn object(&self, name: &str, known: &[&str]) -> Result<Option<Self>, Error> {
        self.get(name)
            .map(|value| Self::of(value, self.pointer(name), self.unit, known))
            .transpose()
    }

    /// An object that must be there.
    ///
    /// # Errors
    /// As [`Fields::object`], or missing.
    pub fn needed_object(&self, name: &str, known: &[&str]) -> Result<Self, Error> {
        self.object(name, known)?
            .ok_or_else(|| self.missing(name, "an object"))
    }

    /// A length, if it is there.
    ///
    /// # Errors
    /// Neither a number nor tape notation; negative; over 100 m.
    pub fn length(&self, name: &str) -> Result<Option<Length>, Error> {
        self.get(name)
            .map(|value| length(value, self.unit).map_err(|e| e.at(self.pointer(name))))
            .transpose()
    }

    /// A length that must be there.
    ///
    /// # Errors
    /// As [`Fields::length`], or missing.
    pub fn needed_length(&self, name: &str) -> Result<Length, Error> {
        self.length(name)?.ok_or_else(|| self.missing(name, "a length"))
    }

    /// A length that must be there and be more than nothing.
    ///
    /// # Errors
    /// As [`Fields::length`], or missing, or 0.
    pub fn some_length(&self, name: &str) -> Result<Length, Error> {
        let found = self.needed_length(name)?;
        if found == Length::ZERO {
            return Err(self.wrong(name, "input_zero", format!("“{name}” must be more than 0.")));
        }
        Ok(found)
    }

    /// A list of lengths, if it is there.
    ///
    /// # Errors
    /// Not a list, too long, or an entry that is no length.
    pub fn lengths(&self, name: &str) -> Result<Option<Vec<Length>>, Error> {
        self.list(name, |value, at| length(value, self.unit).map_err(|e| e.at(at)))
    }

    /// A list, each entry read by `read`, which gets the entry and its pointer.
    ///
    /// # Errors
    /// Not a list, over 2000 entries, or what `read` refuses.
    pub fn list<T>(
        &self,
        name: &str,
        read: impl Fn(&'a Value, String) -> Result<T, Error>,
    ) -> Result<Option<Vec<T>>, Error> {
        let Some(value) = self.get(name) else {
            return Ok(None);
        };
        let Value::Array(entries) = value else {
            return Err(self.wrong(name, "input_list", "A list is expected here: [ ... ]."));
        };
        if entries.len() > LONGEST_LIST {
            return Err(self.wrong(
                name,
                "input_list",
                format!("A list has at most {LONGEST_LIST} entries."),
            ));
        }
        let at = |i: usize| format!("{}/{i}", self.pointer(name));
        entries
            .iter()
            .enumerate()
            .map(|(i, entry)| read(entry, at(i)))
            .collect::<Result<_, _>>()
            .map(Some)
    }

    /// An object inside a list, read by its pointer.
    ///
    /// # Errors
    /// Not an object, or an unknown field in it.
    pub fn entry(&self, value: &'a Value, at: String, known: &[&str]) -> Result<Self, Error> {
        Self::of(value, at, self.unit, known)
    }

    /// A length inside a list, read by its pointer.
    ///
    /// # Errors
    /// As [`Fields::length`].
    pub fn length_of(&self, value: &Value, at: String) -> Result<Length, Error> {
        length(value, self.unit).map_err(|e| e.at(at))
    }

    /// A text of 1 to 80 characters that must be there.
    ///
    /// # Errors
    /// Missing, no text, or of another length.
    pub fn text(&self, name: &str) -> Result<String, Error> {
        let text = self.get(name).and_then(Value::as_str).map(str::trim);
        let fits = text.filter(|text| (1..=80).contains(&text.chars().count()));
        let wrong = || {
            self.wrong(
                name,
                "input_text",
                "A text of 1 to 80 characters is expected here.",
            )
        };
        fits.map(str::to_owned).ok_or_else(wrong)
    }

    /// A plain number from 0 to `most`, if it is there.
    ///
    /// # Errors
    /// Not a number, negative, or over `most`.
    pub fn number(&self, name: &str, most: u32) -> Result<Option<Decimal>, Error> {
        let Some(value) = self.get(name) else {
            return Ok(None);
        };
        let fits = |n: &Decimal| !n.is_sign_negative() && *n <= Decimal::from(most);
        match decimal(value).filter(fits) {
            Some(number) => Ok(Some(number)),
            None => Err(self.wrong(
                name,
                "input_number",
                format!("A number from 0 to {most} is expected here."),
            )),
        }
    }

    /// A whole number from 0 to `most`, if it is there.
    ///
    /// # Errors
    /// Not a whole number, negative, or over `most`.
    pub fn count(&self, name: &str, most: u32) -> Result<Option<u32>, Error> {
        self.get(name)
            .map(|value| count(value, most).map_err(|e| e.at(self.pointer(name))))
            .transpose()
    }

    /// A yes or no, if it is there.
    ///
    /// # Errors
    /// Neither true nor false.
    pub fn flag(&self, name: &str) -> Result<Option<bool>, Error> {
        match self.get(name) {
            None => Ok(None),
            Some(Value::Bool(flag)) => Ok(Some(*flag)),
            Some(_) => Err(self.wrong(name, "input_flag", "true or false is expected here.")),
        }
    }

    /// One of the words, if it is there.
    ///
    /// # Errors
    /// Anything else.
    pub fn word<'w>(&self, name: &str, words: &[&'w str]) -> Result<Option<&'w str>, Error> {
        let Some(value) = self.get(name) else {
            return Ok(None);
        };
        let found = value
            .as_str()
            .and_then(|text| words.iter().find(|word| **word == text));
        match found {
            Some(word) => Ok(Some(word)),
            None => Err(self.wrong(
                name,
                "input_word",
                format!("Expected is one of: {}.", words.join(", ")),
            )),
        }
    }
}

/// A whole number from 0 to `most`.
///
/// # Errors
/// Anything else.
pub fn count(value: &Value, most: u32) -> Result<u32, Error> {
    let found = decimal(value)
        .filter(|n| n.fract().is_zero())
        .and_then(|n| n.to_u32());
    found.filter(|n| *n <= most).ok_or_else(|| {
        Error::new(
            "input_count",
            format!("A whole number from 0 to {most} is expected here."),
        )
    })
}

fn length(value: &Value, unit: Unit) -> Result<Length, Error> {
    match value {
        Value::String(text) => Length::parse(text, unit),
        Value::Number(_) => match decimal(value) {
            Some(number) => Length::from_decimal(number, unit),
            None => Err(Error::new("length_long", "Lengths go from 0 to 100 m (3937 in).")),
        },
        _ => Err(Error::new(
            "input_length",
            "A length is expected here: a number, or text such as \"63 3/8 in\".",
        )),
    }
}

/// The exact decimal that was written; none for what is no number or has too many digits.
fn decimal(value: &Value) -> Option<Decimal> {
    let Value::Number(number) = value else { return None };
    let text = number.to_string();
    Decimal::from_str(&text)
        .or_else(|_| Decimal::from_scientific(&text))
        .ok()
}

/// A decimal as a JSON number.
#[must_use]
pub fn json(number: Decimal) -> Value {
    let number = number.normalize();
    if let Some(whole) = number.to_i64().filter(|_| number.fract().is_zero()) {
        return Value::from(whole);
    }
    number
        .to_f64()
        .and_then(Number::from_f64)
        .map_or(Value::Null, Value::Number)
}
