//! The check digit of a vehicle identification number (49 CFR 565.15), so that a mistyped one is caught at
//! the trailer.

use crate::Error;
use crate::input::Fields;
use serde_json::{Value, json};

/// Weights of the 17 places (49 CFR 565.15, table IV); the check digit itself weighs nothing.
const WEIGHTS: [u32; 17] = [8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2];
/// Year codes from 1980 on; they come again every 30 years (49 CFR 565.15, table VII; first cycle from memory).
const YEARS: &str = "ABCDEFGHJKLMNPRSTVWXY123456789";
/// Worth of the letters A to Z (table III); 0 for those that no number holds.
const LETTERS: [u32; 26] = [
    1, 2, 3, 4, 5, 6, 7, 8, 0, 1, 2, 3, 4, 5, 0, 7, 0, 9, 2, 3, 4, 5, 6, 7, 8, 9,
];

/// The command `vin`: `{"vin": "..."}` in; valid, check_digit, found, year_candidates, warnings out. *Valid* is
/// length, characters and check digit alone. Small letters are read as capitals.
///
/// # Errors
/// `vin_unread` at `/vin`: not 17 characters, a letter I, O or Q, any other character that no number holds.
pub fn vin(input: &Value) -> Result<Value, Error> {
    let fields = Fields::whole(input, &["vin"])?;
    let wrong = || refuse("The number is expected here, as a text of 17 characters.");
    let given = fields.text("vin").map_err(|_| wrong())?;
    let capitals = given.to_ascii_uppercase();
    let characters: Vec<char> = capitals.chars().collect();
    check_characters(&characters)?;
    let sum = characters.iter().zip(WEIGHTS).fold(0_u32, |sum, (c, weight)| {
        sum.saturating_add(worth(*c).unwrap_or(0).saturating_mul(weight))
    });
    let digit = match sum.checked_rem(11).unwrap_or(0) {
        10 => 'X',
        rest => char::from_digit(rest, 10).unwrap_or('0'),
    };
    let found = at(&characters, 9);
    let years = years(at(&characters, 10));
    let mut warnings = oddities(&characters, &years);
    if capitals != given {
        warnings.push("Small letters were read as capitals.".to_owned());
    }
    if found != digit {
        warnings.push(format!(
            "Place 9 holds {found}, but the other characters give {digit}: compare the number with the \
             plate, character by character."
        ));
    }
    Ok(
        json!({"valid": found == digit, "check_digit": digit.to_string(), "found": found.to_string(),
        "year_candidates": years, "warnings": warnings, "rule": "49 CFR 565.15"}),
    )
}

fn check_characters(characters: &[char]) -> Result<(), Error> {
    if let Some(c) = characters.iter().find(|c| matches!(c, 'I' | 'O' | 'Q')) {
        return Err(refuse(format!(
            "The letter {c} is in no vehicle identification number (I, O and Q are left out, since they \
             look like 1 and 0). Look at the plate again."
        )));
    }
    if let Some(c) = characters.iter().find(|c| worth(**c).is_none()) {
        return Err(refuse(format!(
            "The character {c:?} is in no vehicle identification number; digits 0 to 9 and letters \
             without I, O, Q are."
        )));
    }
    if characters.len() != WEIGHTS.len() {
        return Err(refuse(format!(
            "A vehicle identification number has 17 characters; this one has {}.",
            characters.len()
        )));
    }
    Ok(())
}

fn refuse(sentence: impl Into<String>) -> Error {
    Error::new("vin_unread", sentence).at("/vin")
}

/// The character at a place counted from 1; the length was checked before.
fn at(characters: &[char], place: usize) -> char {
    place
        .checked_sub(1)
        .and_then(|i| characters.get(i))
        .copied()
        .unwrap_or('0')
}

fn worth(c: char) -> Option<u32> {
    match c {
        '0'..='9' => c.to_digit(10),
        'A'..='Z' => {
            let place = u32::from(c).checked_sub(u32::from('A'))?;
            LETTERS
                .get(usize::try_from(place).ok()?)
                .copied()
                .filter(|worth| *worth > 0)
        }
        _ => None,
    }
}

/// A trailer's number does not say which of the 30-year cycles it is of; both are named.
fn years(code: char) -> Vec<u32> {
    let place = YEARS
        .chars()
        .position(|c| c == code)
        .and_then(|place| u32::try_from(place).ok());
    place.map_or_else(Vec::new, |place| {
        vec![place.saturating_add(1980), place.saturating_add(2010)]
    })
}

/// What is odd without making the number wrong.
fn oddities(characters: &[char], years: &[u32]) -> Vec<String> {
    let mut odd = Vec::new();
    if years.is_empty() {
        odd.push(format!(
            "Place 10 holds {}, which stands for no model year (U, Z and 0 are not used).",
            at(characters, 10)
        ));
    }
    // A maker of few vehicles (9 in place 3) has its name in places 12 to 14, so its serial is shorter
    // (49 CFR 565.15, from memory).
    let serial = if at(characters, 3) == '9' {
        15..=17
    } else {
        14..=17
    };
    let first = *serial.start();
    if serial
        .into_iter()
        .any(|place| !at(characters, place).is_ascii_digit())
    {
        odd.push(format!(
            "Places {first} to 17 of a trailer's number are digits; here stands a letter."
        ));
    }
    let letter = at(characters, 9);
    if letter.is_ascii_alphabetic() && letter != 'X' {
        odd.push(format!(
            "Place 9 is the check digit, 0 to 9 or X; here stands {letter}."
        ));
    }
    odd
}
