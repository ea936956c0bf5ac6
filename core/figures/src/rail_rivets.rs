//! Rivets through a rail: sheet, film and the rail's flange lie between the heads, so they are longer than where two
//! sheets meet. Body makers do not agree on the flange's thickness: it is measured on the unit, else the shop book's
//! starting value stands in, from memory, and the working says so.

use crate::basis::{Basis, Given, Line, Standing};
use crate::body::Plan;
use crate::fasten::solid_length;
use crate::measure::{Length, Unit};
use crate::shop::Book;

/// A solid rivet into a rail.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RailRivet {
    /// Its diameter.
    pub diameter: Length,
    /// Everything between the heads.
    pub layers: Vec<Length>,
    /// Tape and sealant among them, pressed.
    pub film: Vec<Length>,
    /// All of them together.
    pub grip: Length,
    /// As it is sold.
    pub length: Length,
    /// Of the rail, with where it comes from.
    pub flange: Given<Length>,
    /// The working.
    pub basis: Vec<Basis>,
}

/// Thickness of the flange of the rails: the unit's own, else the shop book's.
#[must_use]
pub fn flange(plan: &Plan, book: &Book) -> Given<Length> {
    plan.rail_flange.map_or_else(
        || book.roof.rail_flange.clone(),
        |value| Given {
            value,
            standing: Standing::Unit,
        },
    )
}

impl RailRivet {
    /// A rivet of this diameter through so many sheets, a film under each, into metal of the rail's thickness.
    #[must_use]
    pub fn of(
        plan: &Plan,
        book: &Book,
        diameter: Length,
        sheets: &[Length],
        flanges: usize,
        unit: Unit,
    ) -> Self {
        let (flange, film) = (flange(plan, book), &book.side.film);
        let mut layers = sheets.to_vec();
        layers.extend(std::iter::repeat_n(flange.value, flanges));
        let film = vec![film.value; layers.len().saturating_sub(1)];
        let sum = |all: &[Length]| all.iter().fold(Length::ZERO, |sum, layer| sum.plus(*layer));
        let grip = sum(&layers).plus(sum(&film));
        let length = solid_length(grip, diameter);
        let say = |length: Length| length.say_decimal(unit);
        let all = |layers: &[Length]| {
            layers
                .iter()
                .map(|layer| say(*layer))
                .collect::<Vec<_>>()
                .join(" + ")
        };
        let mut basis = Vec::new();
        if !sheets.is_empty() {
            basis.push(Basis::new(all(sheets), "sheet", Standing::Unit));
        }
        basis.extend([
            Basis::new(
                all(&film),
                "tape or sealant, pressed",
                book.side.film.standing.clone(),
            ),
            Basis::new(
                all(&vec![flange.value; flanges]),
                "flange of the rail; measure it where an edge is open",
                flange.standing.clone(),
            ),
            Basis::new(say(grip), "grip, everything between the heads", Standing::Worked),
            Basis::new(
                length.say(Unit::In),
                "+ 1.5 D for the formed head, up to the next length sold",
                Standing::Published("NAVEDTRA 14018".to_owned()),
            ),
        ]);
        Self {
            diameter,
            layers,
            film,
            grip,
            length,
            flange,
            basis,
        }
    }

    /// As it is read: size and length.
    #[must_use]
    pub fn said(&self, unit: Unit) -> String {
        format!(
            "{} x {}",
            self.diameter.say_decimal(unit),
            self.length.say(Unit::In)
        )
    }

    /// Says the length beside a line of rivets that takes some; the working of the line is that of its count.
    pub(crate) fn beside(&self, line: &mut Line, unit: Unit) {
        if line.quantity == "0" {
            return;
        }
        let whence = match self.flange.standing {
            Standing::Unit => "as measured",
            Standing::Memory => "from memory, to be measured",
            _ => "by the shop book",
        };
        let [grip, flange] = [self.grip, self.flange.value].map(|length| length.say_decimal(unit));
        let said = format!(
            "{}: grip {grip}, with a rail flange of {flange} {whence}.",
            self.said(unit)
        );
        line.more = Some(match line.more.take() {
            Some(more) => format!("{more} On the rails {said}"),
            None => said,
        });
    }
}

/// Says the lengths beside the lines of a roof repair: one sheet on the rails, two where they lap.
pub(crate) fn of_roof(lines: &mut [Line], plan: &Plan, book: &Book, unit: Unit) {
    for line in lines {
        let sheets = match line.item.as_str() {
            "rail rivets" | "nose rail rivets" => 1,
            "seam rivets" => 2,
            _ => continue,
        };
        let sheets = vec![plan.roof_sheet; sheets];
        RailRivet::of(plan, book, book.roof.rivet_diameter.value, &sheets, 1, unit).beside(line, unit);
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use super::*;
    use crate::body::BodyType;

    /// By hand: .040 sheet + .020 film + .125 flange = .185; + 1.5 x .1875 = .46625, so 1/2 in. Where two sheets lap:
    /// .245 + .28125 = .52625, so 9/16 in.
    #[test]
    fn a_rivet_into_a_rail_holds_sheet_film_and_flange() {
        let (plan, book) = (BodyType::DryVan53.plan(), Book::default());
        let rivet = |plan: &Plan, sheets: usize| {
            let sheets = vec![plan.roof_sheet; sheets];
            RailRivet::of(plan, &book, book.roof.rivet_diameter.value, &sheets, 1, Unit::In)
        };
        let (one, two) = (rivet(&plan, 1), rivet(&plan, 2));
        assert_eq!(
            (one.grip, one.length),
            (Length::thousandths(185), Length::sixty_fourths(32))
        );
        assert_eq!(
            (two.grip, two.length),
            (Length::thousandths(245), Length::sixty_fourths(36))
        );
        let beside = |rivet: &RailRivet| {
            let mut line = Line::of("rail rivets", 78.into(), "each", Vec::new());
            rivet.beside(&mut line, Unit::In);
            line.more.unwrap()
        };
        assert_eq!(
            beside(&one),
            "0.1875 in x 1/2 in: grip 0.185 in, with a rail flange of 0.125 in from memory, to be measured."
        );
        // A rail that was measured at .188 takes the next length: .248 + .28125 = .52925, 9/16 in.
        let thick = Plan {
            rail_flange: Some(Length::thousandths(188)),
            ..plan
        };
        let own = rivet(&thick, 1);
        assert_eq!(
            (own.grip, own.length),
            (Length::thousandths(248), Length::sixty_fourths(36))
        );
        assert!(
            beside(&own).ends_with("a rail flange of 0.188 in as measured."),
            "{}",
            beside(&own)
        );
    }
}
