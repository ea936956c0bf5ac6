//! What a person typed, read: dates, lists of stations, hours, places on the body. Each refusal says what is
//! accepted.

use crate::{answer::Refusal, ask::TypedPlace};
use bowseam_figures::{
    basis,
    body::Plan,
    mark::{Place, Surface},
    measure::{Length, Unit},
};
use chrono::{DateTime, Datelike, FixedOffset, Local, NaiveDate, NaiveTime, Utc};
use rust_decimal::Decimal;
use std::str::FromStr;

/// Longest text that a field keeps.
const LONGEST: usize = 2000;
/// Most stations in a list.
const MOST_STATIONS: usize = 400;

/// Trimmed text without control characters.
///
/// # Errors
/// Over 2000 characters.
pub fn text(typed: &str, field: &str) -> Result<String, Refusal> {
    let kept: String = typed.chars().filter(|c| !c.is_control() || *c == '\n').collect();
    let kept = kept.trim();
    if kept.chars().count() > LONGEST {
        let sentence = format!("This text is too long: up to {LONGEST} characters are kept.");
        return Err(Refusal::at("text_long", field, sentence));
    }
    Ok(kept.to_owned())
}

/// A date as `2026-11-28` or `11/28/2026`, kept as the first; the month alone (`2019-05`, `05/2019`) where a
/// plate gives no day.
///
/// # Errors
/// Anything else, and years outside 1950 to 2100.
pub fn date(typed: &str, month_is_enough: bool) -> Result<String, Refusal> {
    let typed = typed.trim();
    let month = if month_is_enough {
        " The month alone is enough: 2026-11 or 11/2026."
    } else {
        ""
    };
    let refused = || {
        Refusal::at(
            "date_unread",
            "value",
            format!(
                "“{typed}” is not understood as a date. Accepted are 2026-11-28 and 11/28/2026 (month first).{month}"
            ),
        )
    };
    let day = NaiveDate::parse_from_str(typed, "%Y-%m-%d")
        .or_else(|_| NaiveDate::parse_from_str(typed, "%m/%d/%Y"))
        .ok();
    let (date, said) = match day {
        Some(date) => (date, date.format("%Y-%m-%d").to_string()),
        None if month_is_enough => {
            let first = NaiveDate::parse_from_str(&format!("{typed}-01"), "%Y-%m-%d")
                .or_else(|_| NaiveDate::parse_from_str(&format!("01/{typed}"), "%d/%m/%Y"))
                .map_err(|_| refused())?;
            (first, first.format("%Y-%m").to_string())
        }
        None => return Err(refused()),
    };
    if (1950..=2100).contains(&date.year()) {
        Ok(said)
    } else {
        Err(refused())
    }
}

/// A date and, where it is known, the time of day behind it, in 24 hours or with am and pm; kept as `2026-11-28`
/// or `2026-11-28 06:40`.
///
/// # Errors
/// As [`date`]; a time that is none.
pub fn date_and_time(typed: &str) -> Result<String, Refusal> {
    let Some((day, time)) = typed.trim().split_once(' ') else {
        return date(typed, false);
    };
    let said = time.trim().to_lowercase().replace(' ', "");
    let read = ["%H:%M", "%I:%M%p"]
        .iter()
        // A full hour has no minutes to read.
        .find_map(|form| NaiveTime::parse_from_str(&said, form).ok())
        .or_else(|| {
            let minutes = said.replace("am", ":00am").replace("pm", ":00pm");
            NaiveTime::parse_from_str(&minutes, "%I:%M%p").ok()
        });
    let time = read.ok_or_else(|| {
        let sentence = format!(
            "“{}” is not understood as a time of day. Accepted are 06:40, 6:40 pm and 6 pm, behind the date.",
            time.trim()
        );
        Refusal::at("time_unread", "value", sentence)
    })?;
    Ok(format!("{} {}", date(day, false)?, time.format("%H:%M")))
}

/// When a cure started, and at which temperature, as far as either was written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct CureStart {
    /// The moment.
    pub at: Option<DateTime<FixedOffset>>,
    /// Degrees Fahrenheit.
    pub at_f: Option<i32>,
}

impl CureStart {
    /// As it was kept by [`cure_start`]: a moment without its day and its hours from UTC is none, since another device
    /// would read another one.
    pub fn kept(text: &str) -> Self {
        let found = Written::of(text);
        let at = found.day.zip(found.time).zip(found.offset);
        Self {
            at: at.and_then(|((day, time), offset)| day.and_time(time).and_local_timezone(offset).single()),
            at_f: found.at_f,
        }
    }
}

/// What stands in a text, word by word.
#[derive(Default)]
struct Written {
    day: Option<NaiveDate>,
    time: Option<NaiveTime>,
    offset: Option<FixedOffset>,
    at_f: Option<i32>,
    now: bool,
}

impl Written {
    fn of(text: &str) -> Self {
        let plain = text.to_lowercase().replace([',', ';'], " ").replace('°', "");
        // `6 pm` and `72 f` are one word each.
        let mut words: Vec<String> = Vec::new();
        for word in plain.split_whitespace() {
            match words.last_mut() {
                Some(last) if matches!(word, "am" | "pm" | "f" | "c") => last.push_str(word),
                _ => words.push(word.to_owned()),
            }
        }
        let mut found = Self::default();
        for word in &words {
            let hour = word.replace("am", ":00am").replace("pm", ":00pm");
            let time = [(word, "%H:%M"), (word, "%I:%M%p"), (&hour, "%I:%M%p")]
                .into_iter()
                .find_map(|(word, form)| NaiveTime::parse_from_str(word, form).ok());
            let degrees = || {
                fahrenheit(word, "measured")
                    .ok()
                    .filter(|_| word.ends_with(['f', 'c']))
            };
            found.time = found.time.or(time);
            found.day = found.day.or_else(|| date(word, false).ok()?.parse().ok());
            found.at_f = found.at_f.or_else(degrees);
            found.offset = found.offset.or_else(|| {
                let signed = word.starts_with(['+', '-']) && word.contains(':');
                word.parse().ok().filter(|_| signed)
            });
            found.now |= word == "now";
        }
        found
    }
}

/// Now, by the clock of who typed a time: so many minutes ahead of UTC. The core may run in another zone than the screen,
/// which is then served to a phone by a machine elsewhere; a screen that says none has the zone of this machine.
///
/// # Errors
/// A day and more from UTC.
pub fn now_in(zone: Option<i32>) -> Result<DateTime<FixedOffset>, Refusal> {
    let Some(minutes) = zone else {
        return Ok(Local::now().fixed_offset());
    };
    let zone = minutes.checked_mul(60).and_then(FixedOffset::east_opt);
    let zone = zone.ok_or_else(|| {
        let sentence =
            format!("A clock {minutes} minutes ahead of UTC is none: less than a day is accepted.");
        Refusal::at("zone", "zone", sentence)
    })?;
    Ok(Utc::now().with_timezone(&zone))
}

/// When a cure started and at which temperature, as typed: `14:30, 72 F`, `now, 22 C`, `2026-11-28 6 pm, 72 F`. A time
/// without its day is the last such time before `now`. Kept with its hours from UTC, so that every device reads the same
/// moment; a temperature alone stays as it is.
///
/// # Errors
/// Words that say neither a moment nor a temperature; a moment that is still to come.
pub fn cure_start(typed: &str, now: DateTime<FixedOffset>) -> Result<String, Refusal> {
    let found = Written::of(typed);
    let offset = found.offset.unwrap_or(*now.offset());
    let on = |day: NaiveDate, time: NaiveTime| day.and_time(time).and_local_timezone(offset).single();
    let at = match (found.time, found.day) {
        (None, _) if found.now => Some(now),
        (None, _) => None,
        (Some(time), Some(day)) => on(day, time),
        (Some(time), None) => {
            let today = now.with_timezone(&offset).date_naive();
            let ended = |at: &DateTime<FixedOffset>| *at <= now;
            on(today, time)
                .filter(ended)
                .or_else(|| on(today.pred_opt()?, time))
        }
    };
    if at.is_none() && found.at_f.is_none() {
        let sentence = format!(
            "No time and no temperature is read in “{typed}”. Accepted is when the sealant was laid, and at which temperature: 14:30, 72 F; now, 72 F; 2026-11-28 6 pm, 72 F, the day as 11/28/2026 too."
        );
        return Err(Refusal::at("cure_unread", "measured", sentence));
    }
    if at.is_some_and(|at| at > now) {
        let sentence =
            "This is still to come. Accepted is when the sealant was laid, as in 14:30, 72 F, or now, 72 F.";
        return Err(Refusal::at("cure_ahead", "measured", sentence));
    }
    let said = [
        at.map(|at| at.format("%Y-%m-%d %H:%M %:z").to_string()),
        found.at_f.map(|at_f| format!("{at_f} °F")),
    ];
    let said: Vec<String> = said.into_iter().flatten().collect();
    Ok(if at.is_none() {
        typed.to_owned()
    } else {
        said.join(", ")
    })
}

/// A length, with the field that it stands in.
///
/// # Errors
/// As [`Length::parse`].
pub fn length(typed: &str, unit: Unit, field: &str) -> Result<Length, Refusal> {
    Length::parse(typed, unit).map_err(|e| Refusal::from(e).beside(field))
}

/// Stations as a list, `24, 48, 72`, or as a row, `24 every 24, 26 bows`; sorted from the nose.
///
/// # Errors
/// A station that is no length, one that comes twice, more than 400.
pub fn stations(typed: &str, unit: Unit) -> Result<Vec<Length>, Refusal> {
    const FIELD: &str = "value";
    let refused = |why: &str| {
        Refusal::at(
            "stations_unread",
            FIELD,
            format!("{why} Accepted are a list (24, 48, 72) and a row (24 every 24, 26 of them)."),
        )
    };
    let mut stations = Vec::new();
    if let Some((first, rest)) = typed.split_once("every") {
        let (spacing, how_many) = rest
            .split_once(',')
            .ok_or_else(|| refused("How many is missing."))?;
        let (first, spacing) = (length(first, unit, FIELD)?, length(spacing, unit, FIELD)?);
        let digits: String = how_many.trim().chars().take_while(char::is_ascii_digit).collect();
        let how_many: usize = digits
            .parse()
            .map_err(|_| refused("How many is not a whole number."))?;
        if how_many == 0 || how_many > MOST_STATIONS || spacing == Length::ZERO {
            return Err(refused(
                "A row has 1 to 400 stations with some distance between them.",
            ));
        }
        let mut at = first;
        for _ in 0..how_many {
            stations.push(at);
            at = at.plus(spacing);
        }
    } else {
        for part in typed.split([',', ';', '\n']).filter(|p| !p.trim().is_empty()) {
            stations.push(length(part, unit, FIELD)?);
        }
    }
    stations.sort_unstable();
    if stations.len() > MOST_STATIONS {
        return Err(refused("There are more than 400 stations."));
    }
    if stations.windows(2).any(|pair| pair.first() == pair.last()) {
        return Err(refused("A station stands there twice."));
    }
    Ok(stations)
}

/// Places on the outside of the body, each `curbside 120 to 132, 40 to 52`, with `;` or a line between them.
///
/// # Errors
/// A face, or a length, that is none; more than 400.
pub fn places(typed: &str, unit: Unit) -> Result<Vec<Place>, Refusal> {
    let parts: Vec<&str> = typed
        .split([';', '\n'])
        .map(str::trim)
        .filter(|part| !part.is_empty())
        .collect();
    if parts.len() > MOST_STATIONS {
        return Err(place_refused("There are more than 400 places."));
    }
    parts.into_iter().map(|part| outside_place(part, unit)).collect()
}

/// Places as they are typed.
pub fn places_written(places: &[Place], unit: Unit) -> String {
    let all: Vec<String> = places.iter().map(|place| place.say(unit)).collect();
    all.join("; ")
}

fn place_refused(why: &str) -> Refusal {
    let sentence = format!(
        "{why} Accepted are places such as: curbside 120 to 132, 40 to 52; roof 300 to 318, 20 to 38. First the face \
         (roof, curbside, roadside, nose, rear), then from and to, then low and high (on the roof: from the roadside \
         edge)."
    );
    Refusal::at("places_unread", "value", sentence)
}

fn outside_place(typed: &str, unit: Unit) -> Result<Place, Refusal> {
    let faces = [
        Surface::Roof,
        Surface::Curbside,
        Surface::Roadside,
        Surface::Nose,
        Surface::Rear,
    ];
    let unread = || place_refused(&format!("“{typed}” is not understood."));
    let lower = typed.to_lowercase();
    let face = faces
        .into_iter()
        .find_map(|face| Some((face, lower.strip_prefix(face.word())?)));
    let (surface, rest) = face.ok_or_else(unread)?;
    let (along, across) = rest.split_once(',').ok_or_else(unread)?;
    let pair = |text: &str| {
        let (near, far) = text.split_once(" to ")?;
        let read = |end: &str| Length::parse(end.trim_matches([' ', ':']), unit).ok();
        Some((read(near)?, read(far)?))
    };
    let ((from, to), (low, high)) = pair(along).zip(pair(across)).ok_or_else(unread)?;
    Ok(Place {
        surface,
        from,
        to,
        low,
        high,
    })
}

/// Hours or money, 0 or more, as exact text.
///
/// # Errors
/// Anything that is no plain decimal number.
pub fn decimal(typed: &str, what: &str, field: &str) -> Result<Decimal, Refusal> {
    basis::written(typed.trim().trim_end_matches('h'))
        .filter(|n| !n.is_sign_negative() && *n < Decimal::from(10_000_000))
        .ok_or_else(|| {
            let number = "a number, 0 or more, with a point: 12.5";
            let sentence = if typed.trim().is_empty() {
                format!("Nothing is entered for {what}. Accepted is {number}.")
            } else {
                format!("“{typed}” is not understood as {what}. Accepted is {number}.")
            };
            Refusal::at("number_unread", field, sentence)
        })
}

/// A temperature as typed, in whole degrees Fahrenheit: `75`, `75 F`, `24 °C`. Up to a half is rounded away.
///
/// # Errors
/// `temperature_unread`, with what is accepted.
pub fn fahrenheit(typed: &str, field: &str) -> Result<i32, Refusal> {
    let plain = typed.trim().to_lowercase().replace(['°', ' '], "");
    let (number, celsius) = match plain.strip_suffix('c') {
        Some(number) => (number, true),
        None => (plain.trim_end_matches('f'), false),
    };
    let degrees = Decimal::from_str(number).ok().and_then(|degrees| {
        let times_nine = degrees
            .checked_mul(Decimal::from(9))?
            .checked_div(Decimal::from(5))?;
        if celsius {
            times_nine.checked_add(Decimal::from(32))
        } else {
            Some(degrees)
        }
    });
    let whole = degrees.and_then(|degrees| i32::try_from(degrees.round()).ok());
    whole
        .filter(|degrees| (-60..=160).contains(degrees))
        .ok_or_else(|| {
            let sentence =
                format!("“{typed}” is not understood as a temperature. Accepted is 75, 75 F or 24 C.");
            Refusal::at("temperature_unread", field, sentence)
        })
}

/// A place as typed, on this body.
///
/// # Errors
/// A side that is no length (the field names which), sides in the wrong order, a place beyond the body.
pub fn place(typed: &TypedPlace, plan: &Plan, unit: Unit) -> Result<Place, Refusal> {
    let place = Place {
        surface: typed.surface,
        from: length(&typed.from, unit, "from")?,
        to: length(&typed.to, unit, "to")?,
        low: length(&typed.low, unit, "low")?,
        high: length(&typed.high, unit, "high")?,
    };
    if place.to == place.from || place.high == place.low {
        let field = if place.to == place.from { "to" } else { "high" };
        let sentence =
            "A mark has some size: both ends are the same here. Enter where it begins and where it ends.";
        return Err(Refusal::at("place_size", field, sentence));
    }
    place.check(plan)?;
    Ok(place)
}

/// A length the way it is typed: what a tape's fraction would round is written out as a decimal, so that typing
/// one field anew does not move another.
pub fn exactly(length: Length, unit: Unit) -> String {
    unrounded(length.say(unit), length, unit)
}

/// The thickness of a sheet the way it is typed: `0.040 in`, which is no mark of a tape.
pub fn sheet(thickness: Length, unit: Unit) -> String {
    unrounded(thickness.say_decimal(unit), thickness, unit)
}

fn unrounded(said: String, length: Length, unit: Unit) -> String {
    if !said.starts_with('~') {
        return said;
    }
    // A millimetre has six whole decimals of a nanometre; an inch has not always.
    let decimal = length.to_decimal(unit);
    let unit = match Length::from_decimal(decimal, unit) {
        Ok(same) if same == length => unit,
        _ => Unit::Mm,
    };
    format!("{} {}", length.to_decimal(unit), unit.word())
}

/// A place written the way it is typed.
pub fn written(place: &Place, unit: Unit) -> TypedPlace {
    let say = |length: Length| exactly(length, unit);
    TypedPlace {
        surface: place.surface,
        from: say(place.from),
        to: say(place.to),
        low: say(place.low),
        high: say(place.high),
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    #[test]
    fn dates_are_read_in_both_ways_and_kept_in_one() {
        assert_eq!(date("2026-11-28", false).unwrap(), "2026-11-28");
        assert_eq!(date(" 11/28/2026", false).unwrap(), "2026-11-28");
        assert_eq!(date("05/2019", true).unwrap(), "2019-05");
        assert_eq!(date("2019-05", true).unwrap(), "2019-05");
        for wrong in [
            "",
            "28.11.2026",
            "28/11/2026",
            "2026-13-01",
            "0001-01-01",
            "2019-05",
        ] {
            let refusal = date(wrong, false).unwrap_err();
            assert!(refusal.sentence.contains("11/28/2026"), "{}", refusal.sentence);
        }
    }

    #[test]
    fn a_time_of_day_may_stand_behind_a_date() {
        for (typed, kept) in [
            ("2026-11-28", "2026-11-28"),
            ("11/28/2026 6:40", "2026-11-28 06:40"),
            ("2026-11-28 6:40 PM", "2026-11-28 18:40"),
            ("2026-11-28 6pm", "2026-11-28 18:00"),
            ("2026-11-28 12 am", "2026-11-28 00:00"),
        ] {
            assert_eq!(date_and_time(typed).unwrap(), kept, "{typed}");
        }
        for wrong in ["2026-11-28 25:00", "2026-11-28 noonish", "28.11. 6:40"] {
            let refusal = date_and_time(wrong).unwrap_err();
            assert!(refusal.sentence.contains("Accepted"), "{}", refusal.sentence);
        }
    }

    #[test]
    fn a_cure_starts_at_the_last_such_time_and_every_device_reads_the_same_moment() {
        let now: DateTime<FixedOffset> = "2026-11-28T14:00:00-05:00".parse().unwrap();
        for (typed, kept) in [
            ("13:30, 72 F", "2026-11-28 13:30 -05:00, 72 °F"),
            ("started 6 pm at 22 C", "2026-11-27 18:00 -05:00, 72 °F"),
            ("now 68°f", "2026-11-28 14:00 -05:00, 68 °F"),
            ("2026-11-20 9:15 am", "2026-11-20 09:15 -05:00"),
            ("11/20/2026 9:15 am, 72 F", "2026-11-20 09:15 -05:00, 72 °F"),
            ("72 F", "72 F"),
        ] {
            assert_eq!(cure_start(typed, now).unwrap(), kept, "{typed}");
            assert_eq!(cure_start(kept, now).unwrap(), kept, "typed again");
        }
        let kept = CureStart::kept("2026-11-28 13:30 -05:00, 72 °F");
        let at: DateTime<FixedOffset> = "2026-11-28T18:30:00Z".parse().unwrap();
        assert_eq!((kept.at, kept.at_f), (Some(at), Some(72)));
        assert_eq!(CureStart::kept("13:30, 72 F").at, None, "of no known day");
        let refusal = cure_start("2026-11-29 08:00, 72 F", now).unwrap_err();
        assert_eq!(refusal.code, "cure_ahead");
        assert_eq!(cure_start("yes", now).unwrap_err().code, "cure_unread");
    }

    #[test]
    fn stations_are_read_as_a_list_and_as_a_row() {
        let list = stations("48, 24 , 72", Unit::In).unwrap();
        assert_eq!(list, [24, 48, 72].map(Length::inches));
        let row = stations("24 every 24, 26 bows", Unit::In).unwrap();
        assert_eq!((row.len(), row.last().copied()), (26, Some(Length::inches(624))));
        assert!(stations("", Unit::In).unwrap().is_empty());
        for wrong in [
            "24, 24",
            "24 every 0, 3",
            "24 every 24",
            "24 every 24, many",
            "1 every 1, 401",
            "near the nose",
        ] {
            assert!(stations(wrong, Unit::In).is_err(), "{wrong}");
        }
    }

    #[test]
    fn what_a_field_shows_is_read_back_as_the_same_length() {
        for typed in [".040", "0.0403 in", "63.3", "14 3/8", "1016.25 mm", "5' 3 3/64"] {
            let length = Length::parse(typed, Unit::In).unwrap();
            for unit in [Unit::In, Unit::Mm] {
                for shown in [exactly(length, unit), sheet(length, unit)] {
                    assert_eq!(Length::parse(&shown, unit).unwrap(), length, "{typed}: {shown}");
                }
            }
        }
        let sold = Length::thousandths(40);
        assert_eq!(
            (sheet(sold, Unit::In), exactly(sold, Unit::In)),
            ("0.040 in".to_owned(), "0.04 in".to_owned())
        );
    }

    #[test]
    fn money_and_hours_are_exact_and_never_negative() {
        assert_eq!(
            decimal("$ 12.50", "an amount", "amount").unwrap().to_string(),
            "12.50"
        );
        assert_eq!(
            decimal("$3,900.50", "an amount", "amount").unwrap().to_string(),
            "3900.50"
        );
        for wrong in [
            "",
            "-1",
            "1,5",
            "1.5,000",
            "1,5000",
            ",500",
            "NaN",
            "1e9999",
            "99999999999",
        ] {
            assert!(decimal(wrong, "an amount", "amount").is_err(), "{wrong}");
        }
    }
}
