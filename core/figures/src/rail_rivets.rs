//! Rivets into a rail, a post or the rear header: sheet, film and the flange of what carries the sheet lie between the heads, so
//! they are longer than where two sheets meet. Body makers do not agree on these flanges: each is measured on the unit, else
//! the shop book's starting value stands in, from memory, and the working says so.

use crate::basis::{Basis, Given, Line, Standing};
use crate::body::Plan;
use crate::fasten::solid_length;
use crate::measure::{Length, Unit};
use crate::shop::Book;

/// What sheet is riveted to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Carrier {
    /// Top rail, bottom rail, nose rail.
    Rail,
    /// Side post, corner post, post of the nose wall.
    Post,
    /// Rear header.
    Header,
}

impl Carrier {
    const fn word(self) -> &'static str {
        match self {
            Self::Rail => "rail",
            Self::Post => "post",
            Self::Header => "header",
        }
    }

    /// Where its rivets are, beside those of sheet on sheet.
    const fn on(self) -> &'static str {
        match self {
            Self::Rail => "On the rails",
            Self::Post => "On the posts",
            Self::Header => "On the header",
        }
    }

    /// Thickness of its flange: the unit's own, else the shop book's.
    #[must_use]
    pub fn flange(self, plan: &Plan, book: &Book) -> Given<Length> {
        let (own, start) = match self {
            Self::Rail => (plan.rail_flange, &book.roof.rail_flange),
            Self::Post => (plan.post_flange, &book.side.post_flange),
            Self::Header => (plan.header_flange, &book.roof.header_flange),
        };
        own.map_or_else(
            || start.clone(),
            |value| Given {
                value,
                standing: Standing::Unit,
            },
        )
    }
}

/// A solid rivet into what carries the sheet.
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
    /// What it goes into.
    pub into: Carrier,
    /// Thickness of that, with where it comes from.
    pub flange: Given<Length>,
    /// The working.
    pub basis: Vec<Basis>,
}

impl RailRivet {
    /// A rivet of this diameter through these sheets, a film under each, into so many flanges of what carries them.
    #[must_use]
    pub fn of(
        plan: &Plan,
        book: &Book,
        diameter: Length,
        sheets: &[Length],
        (into, flanges): (Carrier, usize),
        unit: Unit,
    ) -> Self {
        let (flange, film) = (into.flange(plan, book), &book.side.film);
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
                format!("flange of the {}; measure it where an edge is open", into.word()),
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
            into,
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
            "{}: grip {grip}, with a {} flange of {flange} {whence}.",
            self.said(unit),
            self.into.word()
        );
        line.more = Some(match line.more.take() {
            Some(more) => format!("{more} {} {said}", self.into.on()),
            None => said,
        });
    }
}

/// Says the lengths beside the lines of a roof repair: one sheet on the rails, two where they lap.
pub(crate) fn of_roof(lines: &mut [Line], plan: &Plan, book: &Book, unit: Unit) {
    for line in lines {
        let (sheet, sheets, into) = match line.item.as_str() {
            "rail rivets" | "nose rail rivets" => (plan.roof_sheet, 1, Carrier::Rail),
            "seam rivets" => (plan.roof_sheet, 2, Carrier::Rail),
            "rear header rivets" => (plan.roof_sheet, 1, Carrier::Header),
            // The nose sheet is taken to be as thick as the side sheet (from memory, as elsewhere).
            "nose wall rivets" => (plan.side_sheet, 1, Carrier::Rail),
            _ => continue,
        };
        let (sheets, diameter) = (vec![sheet; sheets], book.roof.rivet_diameter.value);
        RailRivet::of(plan, book, diameter, &sheets, (into, 1), unit).beside(line, unit);
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
            let diameter = book.roof.rivet_diameter.value;
            RailRivet::of(plan, &book, diameter, &sheets, (Carrier::Rail, 1), Unit::In)
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

    /// By hand: .040 + .020 + .090 of a post = .150, + .28125 = .43125, so 7/16 in; a header of .125 as a rail. A post that was
    /// measured at .188 with a second one over it: .040 + .188 + .188 + 2 x .020 = .456, + .28125 = .73725, so 3/4 in.
    #[test]
    fn rivets_into_posts_and_headers_have_their_own_flanges() {
        let (plan, book) = (BodyType::DryVan53.plan(), Book::default());
        let rivet = |plan: &Plan, into: (Carrier, usize)| {
            let diameter = book.roof.rivet_diameter.value;
            RailRivet::of(plan, &book, diameter, &[plan.side_sheet], into, Unit::In)
        };
        assert_eq!(rivet(&plan, (Carrier::Post, 1)).length, Length::sixty_fourths(28));
        let header = rivet(&plan, (Carrier::Header, 1));
        assert_eq!(header.length, Length::sixty_fourths(32));
        let mut line = Line::of("rear header rivets", 26.into(), "each", Vec::new());
        header.beside(&mut line, Unit::In);
        assert!(
            line.more
                .unwrap()
                .ends_with("with a header flange of 0.125 in from memory, to be measured.")
        );
        let thick = Plan {
            post_flange: Some(Length::thousandths(188)),
            ..plan
        };
        let sistered = rivet(&thick, (Carrier::Post, 2));
        assert_eq!(
            (sistered.grip, sistered.length),
            (Length::thousandths(456), Length::sixty_fourths(48))
        );
        assert_eq!(sistered.flange.standing, Standing::Unit);
    }
}
