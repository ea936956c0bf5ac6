//! How sheet, rails and steel grow with temperature, for the moment at which a roof sheet is stretched.
//!
//! Aluminium sheet on aluminium rails moves together; what counts is the difference in temperature of the two,
//! and the steel parts between.

use crate::basis::{Basis, Standing};
use crate::measure::{Length, Unit};
use crate::steps::{growth_of_aluminium, growth_of_steel};

/// Temperature that the growth is counted from.
const FROM_F: i32 = 70;

/// Growth at stretching.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Growth {
    /// How much longer the sheet is than it will be at the rails' temperature; negative: shorter.
    pub difference: Length,
    /// A sentence.
    pub words: String,
    /// The working.
    pub basis: Vec<Basis>,
}

/// Of a sheet of this length, at the temperatures measured on sheet and rails (°F).
#[must_use]
pub fn at_stretching(length: Length, sheet_f: i32, rails_f: i32, unit: Unit) -> Growth {
    let above = |degrees: i32| i64::from(degrees.saturating_sub(FROM_F));
    let (sheet, rails) = (
        growth_of_aluminium(length, above(sheet_f)),
        growth_of_aluminium(length, above(rails_f)),
    );
    let steel = growth_of_steel(length, above(rails_f));
    let difference = sheet.minus(rails);
    let say = |length: Length| signed(length, unit);
    let size = difference.apart(Length::ZERO).say_decimal(unit);
    let words = match difference.nm() {
        0 => "Sheet and rails have one temperature: they move together.".to_owned(),
        1.. => format!(
            "The sheet is {size} longer than it will be at the rails' temperature: it draws tighter as it cools to them."
        ),
        _ => format!(
            "The sheet is {size} shorter than it will be at the rails' temperature: it slackens as it warms to them."
        ),
    };
    let handbook = || Standing::Published("handbook tables".to_owned());
    let basis = vec![
        Basis::new(length.say(unit), "length that is stretched", Standing::Worked),
        Basis::new(format!("{sheet_f} °F"), "sheet, as measured", Standing::Unit),
        Basis::new(format!("{rails_f} °F"), "rails, as measured", Standing::Unit),
        Basis::new(
            say(sheet),
            format!("growth of the sheet from {FROM_F} °F (13.1e-6 a °F)"),
            handbook(),
        ),
        Basis::new(
            say(rails),
            format!("growth of aluminium rails from {FROM_F} °F"),
            handbook(),
        ),
        Basis::new(say(difference), "sheet less rails", Standing::Worked),
        Basis::new(
            say(steel),
            format!("growth of steel between, at the rails' temperature, from {FROM_F} °F (6.5e-6 a °F)"),
            Standing::Memory,
        ),
        Basis::new(
            say(rails.minus(steel)),
            "aluminium rails less steel",
            Standing::Memory,
        ),
    ];
    Growth {
        difference,
        words,
        basis,
    }
}

fn signed(length: Length, unit: Unit) -> String {
    let sign = if length < Length::ZERO { "-" } else { "+" };
    format!("{sign} {}", length.apart(Length::ZERO).say_decimal(unit))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn fifty_three_feet_of_aluminium_grow_by_the_handbooks_figure_over_a_hundred_degrees() {
        // 636 in x 13.1e-6 x 100 = .833 in (handbook tables).
        let found = at_stretching(Length::inches(636), 170, 70, Unit::In);
        assert_eq!(found.difference, Length::from_nm(21_162_264));
        assert!(
            found.words.contains("longer") && found.words.contains("tighter"),
            "{}",
            found.words
        );
    }

    #[test]
    fn sheet_and_rails_of_one_temperature_move_together_and_a_cold_sheet_slackens() {
        let length = Length::inches(168);
        assert_eq!(at_stretching(length, 95, 95, Unit::In).difference, Length::ZERO);
        let cold = at_stretching(length, 40, 60, Unit::In);
        assert!(cold.difference < Length::ZERO && cold.words.contains("slackens"));
        // 168 x 13.1e-6 x 20 = .0440 in.
        assert!(cold.words.contains("0.044 in"), "{}", cold.words);
    }

    #[test]
    fn no_length_or_temperature_panics() {
        for degrees in [i32::MIN, -1, 0, i32::MAX] {
            let _ = at_stretching(Length::from_nm(i64::MAX), degrees, i32::MAX, Unit::Mm);
        }
    }
}
