//! The lap of a side patch: edge, pitch, rows, how far it reaches, and which edge is carried on to a post.

use crate::basis::{Basis, Standing, many};
use crate::error::Error;
use crate::joint::{Printed, lap_rows, printed};
use crate::measure::{Length, Unit};
use crate::side_patch::{MOST_ROWS, SideBody, SideRules};
use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;

/// The lap of a patch and the working behind it.
pub(crate) struct Lap {
    pub edge: Length,
    pub pitch: Length,
    /// Between the rows.
    spacing: Length,
    pub rows: u32,
    /// Where the rows come from.
    pub rows_from: Standing,
    /// Where the pitch comes from.
    pub pitch_from: Standing,
    pub overlap: Length,
    pub why: String,
    pub basis: Vec<Basis>,
    pub warnings: Vec<String>,
}

/// What is said of an edge.
pub(crate) struct Notes<'a> {
    pub why: &'a mut Vec<String>,
    pub warnings: &'a mut Vec<String>,
}

impl Lap {
    pub fn of(body: &SideBody, rules: &SideRules, unit: Unit) -> Result<Self, Error> {
        let d = rules.diameter.value;
        let say = |length: Length| length.say_decimal(unit);
        let mut warnings = Vec::new();
        let edge = times(d, rules.edge_d.value.0);
        let wanted = rules.pitch.value.unwrap_or(d.times(4));
        let pitch = wanted.max(d.times(3));
        if wanted < pitch {
            warnings.push(format!(
                "A pitch of {} is less than 3 D; {} is used.",
                say(wanted),
                say(pitch)
            ));
        }
        spacing_warnings(d, pitch, edge, unit, &mut warnings);
        let read = printed(rules.table.value, body.sheet, d);
        let (rows, why) = rows(rules, read, pitch, &mut warnings)?;
        // Rows stand 4 D apart, and the outer and the inner one keep their edge distance.
        let spacing = d.times(4);
        let overlap = spacing
            .times(i64::from(rows).saturating_sub(1))
            .plus(edge.times(2));
        let source = |name: &str| Standing::Published(name.to_owned());
        let rows_from = match rules.rows.value {
            Some(_) => rules.rows.standing.clone(),
            None => source("AC 43.13-1B tables 4-9 to 4-11"),
        };
        let basis = vec![
            Basis::new(rows.to_string(), "rows", rows_from.clone()),
            Basis::new(
                format!("{} x {}", rows.saturating_sub(1), say(spacing)),
                "between the rows, 4 D",
                source("TM 9-2320-303-24-2"),
            ),
            Basis::new(
                format!("+ 2 x {}", say(edge)),
                "edge distance",
                rules.edge_d.standing.clone(),
            ),
            Basis::new(say(overlap), "overlap all round", Standing::Worked),
        ];
        Ok(Self {
            edge,
            pitch,
            spacing,
            rows,
            rows_from,
            pitch_from: match rules.pitch.value {
                Some(_) => rules.pitch.standing.clone(),
                None => source("NAVEDTRA 14018"),
            },
            overlap,
            why,
            basis,
            warnings,
        })
    }

    /// Where an edge of the patch ends, seen so that it runs outwards with growing numbers. A post's rivet line
    /// that lies in the lap, or so near outside it that no lap has room between, takes one of the rows: the edge
    /// is carried on until it does.
    pub fn carried(
        &self,
        cut: Length,
        end: Length,
        posts: &[Length],
        unit: Unit,
        notes: &mut Notes<'_>,
    ) -> Length {
        let station = |post: Length| post.apart(Length::ZERO).say(unit);
        for post in posts.iter().filter(|at| at.apart(cut) < self.edge) {
            notes.warnings.push(format!(
                "The cut ends within an edge distance of the rivet line of the post at station {}: cut back past it, or keep the cut clear of it.",
                station(*post)
            ));
        }
        let (inner, outer) = (cut.plus(self.edge), end.minus(self.edge));
        let beside = |at: &&Length| **at >= inner && **at < end.plus(self.overlap);
        let Some(post) = posts.iter().copied().filter(|at| beside(&at)).min() else {
            return end;
        };
        // Rows that lie outside the post's line: none if it is the outer row, or beyond.
        let outside = outer
            .minus(post)
            .max(Length::ZERO)
            .plus(self.spacing)
            .minus(Length::from_nm(1))
            .holds(self.spacing)
            .unwrap_or_default();
        let carried = post.plus(self.spacing.times(outside)).plus(self.edge);
        if carried != end {
            notes.why.push(format!(
                "The edge is carried on to the post at station {} and uses its rivets: it would end between its rivet line and clear sheet.",
                station(post)
            ));
        }
        carried
    }
}

/// Rows of a patch: the shop's, or as many as the single-lap joint needs at this pitch.
fn rows(
    rules: &SideRules,
    read: Result<Printed, Error>,
    pitch: Length,
    warnings: &mut Vec<String>,
) -> Result<(u32, String), Error> {
    let needed = |found: &Printed| u32::try_from(lap_rows(found.tenths, pitch)).unwrap_or(u32::MAX);
    let table = rules.table.value.name();
    let by_shop = |rows: u32| {
        format!(
            "{}, by the shop book. No weaker than the factory seam beside it (size, rows, pitch), and as the maker says.",
            many(rows, "row", "rows")
        )
    };
    match (rules.rows.value, read) {
        (None, read) => {
            let rows = needed(&read?);
            if rows > MOST_ROWS {
                let sentence = format!(
                    "At this pitch the handbook check asks for {rows} rows; at most {MOST_ROWS} are laid out. Take a smaller pitch."
                );
                return Err(Error::new("side_rows", sentence).at("/shop/pitch"));
            }
            Ok((
                rows,
                format!(
                    "{}: as many as a single-lap joint needs at this pitch (AC 43.13-1B table {table}, advice). No weaker than the factory seam beside it (size, rows, pitch), and as the maker says.",
                    many(rows, "row", "rows")
                ),
            ))
        }
        (Some(rows), Ok(found)) => {
            let least = needed(&found);
            if rows < least {
                warnings.push(format!(
                    "The shop's {} fewer than the {least} of the handbook check (AC 43.13-1B table {table}, advice).",
                    many(rows, "row is", "rows are")
                ));
            }
            Ok((rows, by_shop(rows)))
        }
        (Some(rows), Err(error)) => {
            warnings.push(format!("No handbook check: {}", error.sentence));
            Ok((rows, by_shop(rows)))
        }
    }
}

/// Spacing against the published guides.
fn spacing_warnings(d: Length, pitch: Length, edge: Length, unit: Unit, warnings: &mut Vec<String>) {
    let say = |length: Length| length.say_decimal(unit);
    let (least, most) = (Length::sixty_fourths(40), Length::sixty_fourths(96));
    if pitch < least || pitch > most {
        warnings.push(format!(
            "The pitch of the patch's rivets, {}, is outside the practice of body repair: {} to {} (TM 9-2320-303-24-2).",
            say(pitch),
            say(least),
            say(most)
        ));
    }
    if pitch > d.times(8) {
        warnings.push(format!("A pitch of {} is over 8 D (NAVEDTRA 14018).", say(pitch)));
    }
    let body_edge = Length::sixty_fourths(24);
    if edge < d.times(2) {
        warnings.push(format!(
            "An edge of {} is less than 2 D ({}, AC 43.13-1B 4-57).",
            say(edge),
            say(d.times(2))
        ));
    } else if edge < body_edge {
        warnings.push(format!(
            "An edge of {} is less than {}, the practice of body repair (TM 9-2320-303-24-2).",
            say(edge),
            say(body_edge)
        ));
    }
}

/// A length times a decimal, up to the next nanometre: an edge is never short.
fn times(length: Length, by: Decimal) -> Length {
    let nm = Decimal::from(length.nm()).checked_mul(by).map(|nm| nm.ceil());
    Length::from_nm(nm.and_then(|nm| nm.to_i64()).unwrap_or(i64::MAX))
}
