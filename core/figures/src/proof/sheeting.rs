//! Reflective sheeting of one side and of the rear, compared with 49 CFR 571.108 S8.2, or with 393.13 for
//! trailers built before 1 December 1993.
//!
//! The numbers are those of the rule as read in texts of 2015 and 2016. Of the paragraph numbers, S8.2.1.4.1 was
//! given with them; S8.2.1, S8.2.3.1 (rear) and S8.2.3.2 (side) are from memory. Where the rule says *as evenly
//! as practicable* and names no number, the measure is this program's own, and the fault says so.

use crate::Error;
use crate::input::{Fields, json as number};
use crate::measure::{Length, Unit};
use serde_json::{Value, json};

/// Segments are 300 mm, 150 more or less.
const SEGMENT: (Length, Length) = (Length::mm(150), Length::mm(450));
/// The narrowest of the three widths (50, 75, 100 mm), each a least width.
const WIDTH: Length = Length::mm(50);
/// Centreline above the road, unladen.
const HEIGHT: (Length, Length) = (Length::mm(375), Length::mm(1525));
/// Strip on the rear guard.
const GUARD: Length = Length::mm(38);
/// Two pairs of white 300 mm strips at the upper corners.
const CORNERS: u32 = 4;
/// Our own measure of *full width*: hinges and lock rods may interrupt, nothing wider.
const REAR_GAP: Length = Length::mm(100);
/// Our own measure of *as close to the ends as practicable*: one longest segment.
const END_GAP: Length = Length::mm(450);

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Colour {
    Red,
    White,
}

impl Colour {
    const fn word(self) -> &'static str {
        match self {
            Colour::Red => "red",
            Colour::White => "white",
        }
    }
}

#[derive(Debug, Clone)]
struct Piece {
    from: Length,
    to: Length,
    colour: Colour,
    width: Length,
    centre: Option<Length>,
}

struct Rear {
    width: Length,
    pieces: Vec<Piece>,
    corners: u32,
    guard: Option<Length>,
}

/// The paragraphs that a fault can name, by the date the trailer was built.
struct Rule {
    name: &'static str,
    before_1993: bool,
    pattern: &'static str,
    width: &'static str,
    side: &'static str,
    rear: &'static str,
}

/// Built on or after 1 December 1993.
const NEW: Rule = Rule {
    name: "49 CFR 571.108 S8.2",
    before_1993: false,
    pattern: "S8.2.1.4.1",
    width: "S8.2.1",
    side: "S8.2.3.2",
    rear: "S8.2.3.1",
};
/// Built before.
const OLD: Rule = Rule {
    name: "49 CFR 393.13",
    before_1993: true,
    pattern: "393.13",
    width: "393.13",
    side: "393.13",
    rear: "393.13",
};

/// The faults as they are found.
struct Faults {
    unit: Unit,
    found: Vec<Value>,
}

impl Faults {
    fn add(&mut self, rule: &str, what: String) {
        self.found.push(json!({"what": what, "rule": rule}));
    }

    fn say(&self, length: Length) -> String {
        length.say(self.unit)
    }
}

/// The command `sheeting`, one side at a time; the rear may be null.
///
/// # Errors
/// Each with the JSON pointer: unknown fields, a length that is not understood, a piece that ends
/// before it starts or beyond the trailer, a colour other than red or white, a date that is none.
pub fn sheeting(input: &Value) -> Result<Value, Error> {
    let top = Fields::whole(input, &["unit", "length", "built", "side_pieces", "rear"])?;
    let unit = top.unit;
    let length = top.some_length("length")?;
    let built = top.text("built").map_err(|_| no_date(&top))?;
    let rule = if date(&built).ok_or_else(|| no_date(&top))? < (1993, 12, 1) {
        &OLD
    } else {
        &NEW
    };
    let side = pieces(&top, "side_pieces", length)?;
    let rear = read_rear(&top)?;

    let mut faults = Faults {
        unit,
        found: Vec::new(),
    };
    let required = length.part(2).unwrap_or_default();
    let runs = runs(&side);
    let found = runs
        .iter()
        .fold(Length::ZERO, |sum, (from, to)| sum.plus(to.minus(*from)));
    let short_by = if found < required {
        required.minus(found)
    } else {
        Length::ZERO
    };
    check_strip(&mut faults, "side", &side, rule, rule.side);
    check_side(&mut faults, &runs, length, short_by, rule);
    if let Some(rear) = &rear {
        check_rear(&mut faults, rear, rule);
    }
    let out = |length: Length| number(length.to_decimal(unit));
    Ok(
        json!({"rule": rule.name, "required_side": out(required), "found_side": out(found),
        "short_by": out(short_by), "faults": faults.found, "warnings": warnings(&runs, length, &side, rear.as_ref(), rule, unit)}),
    )
}

fn no_date(top: &Fields) -> Error {
    let sentence = "The date built is expected here, as 2019-05-01, or 2019-05 as on the plate.";
    top.wrong("built", "sheeting_date", sentence)
}

/// Year, month and day; a month alone is its first day (the rules change on the first of a month).
fn date(text: &str) -> Option<(u32, u32, u32)> {
    let parts: Vec<&str> = text.split('-').collect();
    let (year, month, day) = match parts.as_slice() {
        [year, month] => (*year, *month, "01"),
        [year, month, day] => (*year, *month, *day),
        _ => return None,
    };
    let part = |text: &str, digits: usize| {
        let plain = text.len() == digits && text.bytes().all(|b| b.is_ascii_digit());
        plain.then(|| text.parse::<u32>().ok()).flatten()
    };
    let (year, month, day) = (part(year, 4)?, part(month, 2)?, part(day, 2)?);
    let leap = year.is_multiple_of(4) && (!year.is_multiple_of(100) || year.is_multiple_of(400));
    let days = match month {
        4 | 6 | 9 | 11 => 30,
        2 if leap => 29,
        2 => 28,
        1..=12 => 31,
        _ => 0,
    };
    ((1..=days).contains(&day) && year >= 1900).then_some((year, month, day))
}

fn read_rear(top: &Fields) -> Result<Option<Rear>, Error> {
    let known = ["width", "pieces", "upper_corners", "guard_strip_width"];
    let Some(rear) = top.object("rear", &known)? else {
        return Ok(None);
    };
    let width = rear.some_length("width")?;
    let no_corners = || {
        let sentence = "The number of white strips at the upper corners is expected here, 0 to 100.";
        rear.wrong("upper_corners", "input_missing", sentence)
    };
    Ok(Some(Rear {
        width,
        pieces: pieces(&rear, "pieces", width)?,
        corners: rear.count("upper_corners", 100)?.ok_or_else(no_corners)?,
        guard: rear.length("guard_strip_width")?,
    }))
}

fn pieces(fields: &Fields, name: &str, end: Length) -> Result<Vec<Piece>, Error> {
    let known = ["from", "to", "colour", "width", "centre_above_ground"];
    let read = |value, at| {
        let piece = fields.entry(value, at, &known)?;
        let (from, to) = (piece.needed_length("from")?, piece.needed_length("to")?);
        let (says_from, says_to) = (from.say(fields.unit), to.say(fields.unit));
        if from >= to {
            let sentence =
                format!("This piece goes from {says_from} to {says_to}; it has to end after it starts.");
            return Err(piece.wrong("to", "sheeting_piece", sentence));
        }
        if to > end {
            let end = end.say(fields.unit);
            let sentence = format!("This piece ends at {says_to}, beyond the trailer's {end}.");
            return Err(piece.wrong("to", "sheeting_piece", sentence));
        }
        let colour = match piece.word("colour", &["red", "white"])? {
            Some("red") => Colour::Red,
            Some(_) => Colour::White,
            None => return Err(piece.wrong("colour", "input_missing", "“colour” is missing: red or white.")),
        };
        let (width, centre) = (
            piece.needed_length("width")?,
            piece.length("centre_above_ground")?,
        );
        Ok(Piece {
            from,
            to,
            colour,
            width,
            centre,
        })
    };
    let mut pieces = fields.list(name, read)?.unwrap_or_default();
    pieces.sort_by_key(|piece| (piece.from, piece.to));
    Ok(pieces)
}

/// Stretches that are covered, in order; pieces that touch or lap are one, so that nothing counts twice.
fn runs<'a>(pieces: impl IntoIterator<Item = &'a Piece>) -> Vec<(Length, Length)> {
    let mut runs: Vec<(Length, Length)> = Vec::new();
    for piece in pieces {
        match runs.last_mut() {
            Some((_, end)) if piece.from <= *end => *end = (*end).max(piece.to),
            _ => runs.push((piece.from, piece.to)),
        }
    }
    runs
}

/// Stretches that are bare, the ends included.
fn bare(runs: &[(Length, Length)], end: Length) -> Vec<(Length, Length)> {
    let starts = std::iter::once(Length::ZERO).chain(runs.iter().map(|(_, to)| *to));
    let ends = runs.iter().map(|(from, _)| *from).chain(std::iter::once(end));
    starts.zip(ends).filter(|(from, to)| from < to).collect()
}

/// What every red and white strip keeps to: width, height, segments, share of the colours.
fn check_strip(faults: &mut Faults, name: &str, pieces: &[Piece], rule: &Rule, place: &str) {
    for piece in pieces {
        let at = format!("{name}, {} at {}", piece.colour.word(), faults.say(piece.from));
        if piece.width < WIDTH {
            let what = format!(
                "{at}: {} wide; the least is 50 mm (75 and 100 mm are the other classes). Where rivet \
                 heads are in the way, two strips of 25 mm above each other count as 50.",
                faults.say(piece.width)
            );
            faults.add(rule.width, what);
        }
        let height = piece
            .centre
            .filter(|centre| *centre < HEIGHT.0 || *centre > HEIGHT.1);
        if let Some(height) = height {
            let what = format!(
                "{at}: centreline {} above the road; it is 375 to 1525 mm, as near to that as practicable.",
                faults.say(height)
            );
            faults.add(place, what);
        }
    }
    let mut covered = [Length::ZERO; 2];
    for (colour, sum) in [Colour::Red, Colour::White].into_iter().zip(&mut covered) {
        for (from, to) in runs(pieces.iter().filter(|piece| piece.colour == colour)) {
            let long = to.minus(from);
            *sum = sum.plus(long);
            if long < SEGMENT.0 || long > SEGMENT.1 {
                let what = format!(
                    "{name}, {} at {}: {} long without a change of colour; segments are 300 mm, 150 more \
                     or less (150 to 450).",
                    colour.word(),
                    faults.say(from),
                    faults.say(long)
                );
                faults.add(rule.pattern, what);
            }
        }
    }
    let [red, white] = covered;
    let all = red.plus(white);
    for (colour, sum) in [(Colour::Red, red), (Colour::White, white)] {
        if sum.times(3) > all.times(2) {
            let what = format!(
                "{name}: {} is {} of {}; neither colour may be more than two thirds.",
                colour.word(),
                faults.say(sum),
                faults.say(all)
            );
            faults.add(rule.pattern, what);
        }
    }
}

fn check_side(faults: &mut Faults, runs: &[(Length, Length)], length: Length, short_by: Length, rule: &Rule) {
    if short_by > Length::ZERO {
        let what = format!(
            "side: {} short; at least half of the trailer's length is covered.",
            faults.say(short_by)
        );
        faults.add(rule.side, what);
    }
    let longest = bare(runs, length)
        .into_iter()
        .max_by_key(|(from, to)| to.minus(*from));
    if let Some((from, to)) = longest.filter(|(from, to)| to.minus(*from).times(4) > length) {
        let what = format!(
            "side: bare from {} to {}, more than a quarter of the length. The spaces are to be spread as \
             evenly as practicable; the quarter is this program's measure, the rule names none.",
            faults.say(from),
            faults.say(to)
        );
        faults.add(rule.side, what);
        return;
    }
    let half = length.part(2).unwrap_or_default();
    let front = runs.iter().fold(Length::ZERO, |sum, (from, to)| {
        sum.plus((*to).min(half).minus((*from).min(half)))
    });
    let all = runs
        .iter()
        .fold(Length::ZERO, |sum, (from, to)| sum.plus(to.minus(*from)));
    let fewer = front.min(all.minus(front));
    if fewer.times(3) < all {
        let what = format!(
            "side: one half of the length carries {} of {}. The spaces are to be spread as evenly as \
             practicable; a third in each half is this program's measure, the rule names none.",
            faults.say(fewer),
            faults.say(all)
        );
        faults.add(rule.side, what);
    }
}

fn check_rear(faults: &mut Faults, rear: &Rear, rule: &Rule) {
    check_strip(faults, "rear", &rear.pieces, rule, rule.rear);
    for (from, to) in bare(&runs(&rear.pieces), rear.width) {
        if to.minus(from) > REAR_GAP {
            let what = format!(
                "rear: bare from {} to {}; the strip goes over the full width, as near to the edges as \
                 practicable (hinges and lamps may interrupt it; up to 100 mm is this program's \
                 measure).",
                faults.say(from),
                faults.say(to)
            );
            faults.add(rule.rear, what);
        }
    }
    if rear.corners < CORNERS {
        let what = format!(
            "rear: {} white strips at the upper corners; there are two pairs of 300 mm, one level and \
             one upright in each corner: 4.",
            rear.corners
        );
        faults.add(rule.rear, what);
    }
    // 393.13 leaves the guard of older trailers out.
    if let Some(guard) = rear.guard.filter(|guard| *guard < GUARD && !rule.before_1993) {
        let what = format!(
            "rear guard: strip {} wide; the least is 38 mm, over the guard's full width.",
            faults.say(guard)
        );
        faults.add(rule.rear, what);
    }
}

/// What was not compared, and what a person has to look at.
fn warnings(
    runs: &[(Length, Length)],
    length: Length,
    side: &[Piece],
    rear: Option<&Rear>,
    rule: &Rule,
    unit: Unit,
) -> Vec<String> {
    let mut say = vec![
        "Compared with the rule as read in texts of 2015 and 2016 (paragraphs S8.2.1 and S8.2.3 numbered \
         from memory); look up the present one. White within \
         75 mm of a red or amber lamp, and the marks on the sheeting itself, are looked at on the unit."
            .to_owned(),
    ];
    if rule.before_1993 {
        say.push(
            "Built before 1 December 1993: 49 CFR 393.13. A notice of 2025 proposed to take it back; its \
             outcome is not known to this program."
                .to_owned(),
        );
    }
    for (from, to) in bare(runs, length)
        .into_iter()
        .filter(|(from, to)| *from == Length::ZERO || *to == length)
    {
        if to.minus(from) > END_GAP {
            say.push(format!(
                "Side: bare from {} to {}; the strip begins and ends as near to the front and the rear \
                 as practicable.",
                from.say(unit),
                to.say(unit)
            ));
        }
    }
    let rear_pieces = rear.map_or(&[] as &[Piece], |rear| rear.pieces.as_slice());
    if side.iter().chain(rear_pieces).any(|piece| piece.centre.is_none()) {
        say.push("The height of some pieces was not measured, so it was not compared.".to_owned());
    }
    match rear {
        None => say.push("The rear was not looked at.".to_owned()),
        Some(rear) if rear.guard.is_none() && !rule.before_1993 => say.push(
            "No strip on a rear guard was given. A trailer with a rear guard has one, at least 38 mm wide."
                .to_owned(),
        ),
        Some(_) => {}
    }
    say
}
