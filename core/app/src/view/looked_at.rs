//! Values of a step that are no lengths: what is looked at is as wanted or not, and a temperature is a number. Any other
//! word there ("yes") would say nothing to who reads the packet.

use crate::{answer::Refusal, typed};
use bowseam_figures::steps::{Target, Wanted};
use bowseam_jobs::entry::Measured;

/// What stands between the choice and the words beside it.
const BESIDE: &str = ": ";

/// How a value is entered.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Form {
    /// A length.
    Length,
    /// As wanted, or not so, with words beside it; with `true` as wanted needs its words too.
    Choice(bool),
    /// Degrees.
    Temperature,
    /// Any words.
    Text,
}

impl Form {
    /// Of a value.
    pub fn of(wanted: &Wanted) -> Self {
        match wanted.wanted {
            Target::Length(_) | Target::SameAs(_) => Self::Length,
            // Recorded values that something later is held against are lengths; their keys say so.
            Target::Recorded if wanted.key.starts_with("diagonal") => Self::Length,
            Target::Recorded | Target::Words(_) if wanted.key.contains("temperature") => Self::Temperature,
            Target::Words(_) => Self::Choice(false),
            Target::Written(_) => Self::Choice(true),
            Target::Recorded => Self::Text,
        }
    }

    /// Its name for a screen.
    pub fn word(self) -> &'static str {
        match self {
            Self::Length => "length",
            Self::Choice(_) => "choice",
            Self::Temperature => "temperature",
            Self::Text => "text",
        }
    }
}

/// What is chosen where it is not as wanted.
pub fn otherwise(wanted: &str) -> &'static str {
    if wanted == "dry" { "not dry" } else { "not so" }
}

/// The choice that a text says, and the words beside it; of older programs it may say neither.
fn chosen<'t>(wanted: &str, text: &'t str) -> Option<(bool, &'t str)> {
    let (choice, beside) = text.split_once(BESIDE.trim_end()).unwrap_or((text, ""));
    let is = |word: &str| choice.trim().eq_ignore_ascii_case(word);
    let so = is(wanted).then_some(true);
    let so = so.or_else(|| is(otherwise(wanted)).then_some(false))?;
    Some((so, beside.trim()))
}

/// The words of a choice's target.
fn target(wanted: &Wanted) -> Option<&str> {
    match (&wanted.wanted, Form::of(wanted)) {
        (Target::Words(said) | Target::Written(said), Form::Choice(_)) => Some(said),
        _ => None,
    }
}

/// Whether what was looked at is as wanted; nothing for other values, and where an older entry says neither.
pub fn fits(wanted: &Wanted, measured: &Measured) -> Option<bool> {
    Some(chosen(target(wanted)?, &measured.text)?.0)
}

/// A typed choice or temperature as it is kept; other values as they are typed.
///
/// # Errors
/// Words that are neither choice, no temperature.
pub fn read(wanted: &Wanted, typed: &str) -> Result<String, Refusal> {
    if Form::of(wanted) == Form::Temperature {
        return degrees(typed);
    }
    let Some(said) = target(wanted) else {
        return Ok(typed.to_owned());
    };
    let otherwise = otherwise(said);
    let (so, beside) = chosen(said, typed).ok_or_else(|| {
        let sentence = format!(
            "“{typed}” does not say how it is. Accepted are “{said}” and “{otherwise}”; words may follow behind a colon."
        );
        Refusal::at("choice_unread", "measured", sentence)
    })?;
    let choice = if so { said } else { otherwise };
    Ok(if beside.is_empty() {
        choice.to_owned()
    } else {
        format!("{choice}{BESIDE}{beside}")
    })
}

/// Degrees with the letter that they were typed with, Fahrenheit where there is none.
fn degrees(typed: &str) -> Result<String, Refusal> {
    typed::fahrenheit(typed, "measured")?;
    let plain = typed.trim().replace(['°', ' '], "");
    let number = plain.trim_end_matches(['c', 'C', 'f', 'F']);
    let letter = if plain.ends_with(['c', 'C']) { 'C' } else { 'F' };
    Ok(format!("{number} °{letter}"))
}

/// What lacks to an entered value beside its reason, in words.
pub fn lacks(wanted: &Wanted, measured: &Measured) -> Option<String> {
    let (what, text) = (&wanted.what, &measured.text);
    match (Form::of(wanted), target(wanted)) {
        (Form::Temperature, _) => {
            let unread = typed::fahrenheit(text, "measured").is_err();
            unread.then(|| format!("{what}: “{text}” is no temperature"))
        }
        (Form::Choice(words), Some(said)) => match chosen(said, text) {
            None => Some(format!("{what}: “{text}” does not say whether it is “{said}”")),
            Some((true, "")) if words => Some(format!("{what}: what stands there is not written down")),
            Some((false, _)) if measured.reason.is_empty() => Some(format!(
                "{what}: “{}” without saying where, and why it stays so",
                otherwise(said)
            )),
            Some(_) => None,
        },
        _ => None,
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;
    use bowseam_figures::basis::Standing;

    fn wanted(key: &str, wanted: Target) -> Wanted {
        Wanted {
            key: key.to_owned(),
            what: "Inside".to_owned(),
            wanted,
            tolerance: None,
            standing: Standing::Shop,
        }
    }

    fn said(text: String) -> Measured {
        Measured {
            length: None,
            text,
            reason: String::new(),
        }
    }

    #[test]
    fn what_is_looked_at_is_as_wanted_or_not_and_any_other_word_is_refused() {
        let dry = wanted("leak", Target::Words("dry".to_owned()));
        for (typed, kept, fits_) in [
            ("dry", "dry", true),
            ("Dry: two hours", "dry: two hours", true),
            ("not dry", "not dry", false),
            ("not dry: bow 7", "not dry: bow 7", false),
        ] {
            let text = read(&dry, typed).unwrap();
            assert_eq!(text, kept);
            let measured = said(text);
            assert_eq!(fits(&dry, &measured), Some(fits_));
            assert_eq!(lacks(&dry, &measured).is_none(), fits_, "{typed}");
        }
        for typed in ["yes", "dryish", "a drop"] {
            let refusal = read(&dry, typed).unwrap_err();
            assert_eq!(refusal.code, "choice_unread");
            assert!(refusal.sentence.contains("“not dry”"), "{}", refusal.sentence);
        }
        let older = said("yes".to_owned());
        assert_eq!(fits(&dry, &older), None, "readable, and neither");
        assert!(lacks(&dry, &older).unwrap().contains("“yes”"));
        let maker = wanted("maker:m", Target::Written("instruction in hand".to_owned()));
        let lack = |typed: &str| lacks(&maker, &said(read(&maker, typed).unwrap()));
        assert!(lack("instruction in hand").is_some());
        assert!(lack("instruction in hand: 12-B, 3 May").is_none());
    }

    #[test]
    fn a_temperature_is_a_number_kept_with_its_letter() {
        let metal = wanted(
            "surface_temperature",
            Target::Words("within the label's limits".to_owned()),
        );
        for (typed, kept) in [("75", "75 °F"), ("24 C", "24 °C"), ("68.5°f", "68.5 °F")] {
            assert_eq!(read(&metal, typed).unwrap(), kept);
            assert_eq!(read(&metal, kept).unwrap(), kept, "typed again");
        }
        for typed in ["yes", "within the label's limits", "warm"] {
            assert!(read(&metal, typed).unwrap_err().sentence.contains("Accepted"));
        }
    }
}
