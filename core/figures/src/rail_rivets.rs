//! Rivets into a rail, a post or the rear header: sheet, film and the flange of what carries the sheet lie between the heads, so
//! they are longer than where two sheets meet. So are those of a bow's end clip and of a corner cap. Body makers do not agree on
//! these thicknesses: each is measured on the unit, else the shop book's starting value stands in, from memory, and the working
//! says so.

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
        own_or(own, start)
    }
}

fn own_or(own: Option<Length>, start: &Given<Length>) -> Given<Length> {
    own.map_or_else(
        || start.clone(),
        |value| Given {
            value,
            standing: Standing::Unit,
        },
    )
}

/// What is riveted to a carrier in place of sheet.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fitting {
    /// The clip of a bow's end, on the inner flange of a top rail; film or sealant between (from memory, as where it lies).
    BowEnd,
    /// A corner cap, over rail ends and corner post.
    Cap,
}

impl Fitting {
    const fn word(self) -> &'static str {
        match self {
            Self::BowEnd => "an end clip",
            Self::Cap => "a corner cap",
        }
    }

    /// What it is riveted into.
    const fn into(self) -> &'static [Carrier] {
        match self {
            Self::BowEnd => &[Carrier::Rail],
            Self::Cap => &[Carrier::Rail, Carrier::Post],
        }
    }

    /// Its thickness: the unit's own, else the shop book's.
    #[must_use]
    pub fn thickness(self, plan: &Plan, book: &Book) -> Given<Length> {
        let (own, start) = match self {
            Self::BowEnd => (plan.bow_end, &book.parts.bow_end),
            Self::Cap => (plan.corner_cap, &book.parts.corner_cap),
        };
        own_or(own, start)
    }

    /// Its rivets, one for each of what it is riveted into.
    pub fn rivets(self, plan: &Plan, book: &Book, unit: Unit) -> impl Iterator<Item = RailRivet> {
        let into = self.into().iter();
        into.map(move |into| RailRivet::of_fitting(plan, book, self, *into, unit))
    }

    /// Says their lengths beside a line of them.
    pub(crate) fn beside(self, line: &mut Line, plan: &Plan, book: &Book, unit: Unit) {
        for rivet in self.rivets(plan, book, unit) {
            rivet.beside(line, unit);
        }
    }
}

/// A solid rivet into what carries the sheet.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RailRivet {
    /// Its diameter.
    pub diameter: Length,
    /// What lies on it where that is no sheet, with where its thickness comes from.
    pub fitting: Option<(Fitting, Given<Length>)>,
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
        into: (Carrier, usize),
        unit: Unit,
    ) -> Self {
        let sheet = Basis::new(said(sheets, unit), "sheet", Standing::Unit);
        let basis = if sheets.is_empty() {
            Vec::new()
        } else {
            vec![sheet]
        };
        Self::through(plan, book, diameter, (sheets.to_vec(), basis), into, unit)
    }

    /// A rivet through a fitting into one flange.
    fn of_fitting(plan: &Plan, book: &Book, fitting: Fitting, into: Carrier, unit: Unit) -> Self {
        let of = fitting.thickness(plan, book);
        let what = format!("{}; measure it where it is bare", fitting.word());
        let basis = Basis::new(of.value.say_decimal(unit), what, of.standing.clone());
        let (diameter, top) = (book.roof.rivet_diameter.value, (vec![of.value], vec![basis]));
        Self {
            fitting: Some((fitting, of)),
            ..Self::through(plan, book, diameter, top, (into, 1), unit)
        }
    }

    /// A rivet through these layers, with their working, into so many flanges; a film under each.
    fn through(
        plan: &Plan,
        book: &Book,
        diameter: Length,
        (mut layers, mut basis): (Vec<Length>, Vec<Basis>),
        (into, flanges): (Carrier, usize),
        unit: Unit,
    ) -> Self {
        let (flange, film) = (into.flange(plan, book), &book.side.film);
        layers.extend(std::iter::repeat_n(flange.value, flanges));
        let film = vec![film.value; layers.len().saturating_sub(1)];
        let sum = |all: &[Length]| all.iter().fold(Length::ZERO, |sum, layer| sum.plus(*layer));
        let grip = sum(&layers).plus(sum(&film));
        let length = solid_length(grip, diameter);
        let say = |length: Length| length.say_decimal(unit);
        basis.extend([
            Basis::new(
                said(&film, unit),
                "tape or sealant, pressed",
                book.side.film.standing.clone(),
            ),
            Basis::new(
                said(&vec![flange.value; flanges], unit),
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
            fitting: None,
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
        let of = |given: &Given<Length>| {
            let whence = match given.standing {
                Standing::Unit => "as measured",
                Standing::Memory => "from memory, to be measured",
                _ => "by the shop book",
            };
            format!("of {} {whence}", given.value.say_decimal(unit))
        };
        let fitting = self.fitting.as_ref();
        let fitting = fitting.map(|(fitting, given)| format!("{} {}, and ", fitting.word(), of(given)));
        let said = format!(
            "{}: grip {}, with {}a {} flange {}.",
            self.said(unit),
            self.grip.say_decimal(unit),
            fitting.unwrap_or_default(),
            self.into.word(),
            of(&self.flange)
        );
        line.more = Some(match line.more.take() {
            Some(more) => format!("{more} {} {said}", self.into.on()),
            None => said,
        });
    }
}

/// Layers as they are read.
fn said(layers: &[Length], unit: Unit) -> String {
    let layers: Vec<String> = layers.iter().map(|layer| layer.say_decimal(unit)).collect();
    layers.join(" + ")
}

/// Says the lengths beside the lines of a roof repair: one sheet on the rails, two where they lap; bow ends and caps.
pub(crate) fn of_roof(lines: &mut [Line], plan: &Plan, book: &Book, unit: Unit) {
    for line in lines {
        let (sheet, sheets, into) = match line.item.as_str() {
            "bow rivets" => {
                Fitting::BowEnd.beside(line, plan, book, unit);
                continue;
            }
            "cap rivets" => {
                Fitting::Cap.beside(line, plan, book, unit);
                continue;
            }
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
    #![allow(clippy::unwrap_used, clippy::indexing_slicing)]

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

    /// By hand: .090 clip + .020 film + .125 rail = .235, + .28125 = .51625, so 9/16 in; .080 cap on the rail: .225 + .28125 =
    /// .50625, 9/16 in; on a post of .090: .190 + .28125 = .47125, 1/2 in. A clip that was measured at .063 takes
    /// .208 + .28125 = .48925, 1/2 in.
    #[test]
    fn rivets_of_bow_ends_and_caps_have_a_length_of_their_own() {
        let (plan, book) = (BodyType::DryVan53.plan(), Book::default());
        let lengths = |plan: &Plan, fitting: Fitting| -> Vec<Length> {
            let rivets = fitting.rivets(plan, &book, Unit::In);
            rivets.map(|rivet| rivet.length).collect()
        };
        assert_eq!(lengths(&plan, Fitting::BowEnd), [Length::sixty_fourths(36)]);
        assert_eq!(
            lengths(&plan, Fitting::Cap),
            [Length::sixty_fourths(36), Length::sixty_fourths(32)]
        );
        let own = Plan {
            bow_end: Some(Length::thousandths(63)),
            ..plan.clone()
        };
        assert_eq!(lengths(&own, Fitting::BowEnd), [Length::sixty_fourths(32)]);
        let beside = |plan: &Plan, item: &str| {
            let mut lines = [Line::of(item, 12.into(), "each", Vec::new())];
            of_roof(&mut lines, plan, &book, Unit::In);
            lines[0].more.clone().unwrap()
        };
        assert_eq!(
            beside(&own, "bow rivets"),
            "0.1875 in x 1/2 in: grip 0.208 in, with an end clip of 0.063 in as measured, and a rail flange of 0.125 in from \
             memory, to be measured."
        );
        let cap = beside(&plan, "cap rivets");
        assert!(
            cap.contains("9/16 in: grip 0.225 in, with a corner cap of 0.080 in from memory, to be measured, and a rail flange")
                && cap.contains("On the posts 0.1875 in x 1/2 in: grip 0.190 in"),
            "{cap}"
        );
    }
}
