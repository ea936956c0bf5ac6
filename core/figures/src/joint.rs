//! Joint strength beside the factory seam: the printed rivet counts of AC 43.13-1B tables 4-9 to 4-11, and first
//! principles (the lower of rivet shear and sheet bearing).
//!
//! Both are advice. The counts were written for aircraft sheet; the first rule at a trailer is *no weaker than
//! the factory seam beside it*, and the maker's repair instruction comes before everything.

use crate::basis::{Basis, Standing, many};
use crate::error::Error;
use crate::input::{Fields, json};
use crate::measure::{Length, Unit};
use crate::rules::{Show, unread};
use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};
use serde_json::{Value, json};
use ts_rs::TS;

/// A printed row: sheet in thousandths of an inch, then tenths of a rivet an inch for each of [`SIZES`]; 0 is
/// an empty cell.
type Row = (i64, [u32; 5]);

/// Rivet sizes of the columns: name, diameter in sixty-fourths, hole in ten-thousandths of an inch.
const SIZES: [(&str, i64, u32); 5] = [
    ("3/32", 6, 960),
    ("1/8", 8, 1_285),
    ("5/32", 10, 1_590),
    ("3/16", 12, 1_910),
    ("1/4", 16, 2_570),
];

// FAA AC 43.13-1B (9/8/98), tables 4-9, 4-10 and 4-11, as printed: 2117-T4 rivets an inch of width, single lap.
const T4_9: [Row; 12] = [
    (16, [65, 49, 0, 0, 0]),
    (20, [69, 49, 39, 0, 0]),
    (25, [86, 49, 39, 0, 0]),
    (32, [111, 62, 39, 33, 0]),
    (36, [125, 70, 45, 33, 24]),
    (40, [138, 77, 50, 35, 24]),
    (51, [0, 98, 64, 45, 25]),
    (64, [0, 123, 81, 56, 31]),
    (81, [0, 0, 102, 71, 39]),
    (91, [0, 0, 114, 79, 44]),
    (102, [0, 0, 128, 89, 49]),
    (128, [0, 0, 0, 112, 62]),
];
const T4_10: [Row; 12] = [
    (16, [65, 49, 0, 0, 0]),
    (20, [65, 49, 39, 0, 0]),
    (25, [69, 49, 39, 0, 0]),
    (32, [89, 49, 39, 33, 0]),
    (36, [100, 56, 39, 33, 24]),
    (40, [111, 62, 40, 33, 24]),
    (51, [0, 79, 51, 36, 24]),
    (64, [0, 99, 65, 45, 25]),
    (81, [0, 125, 81, 57, 31]),
    (91, [0, 0, 91, 63, 35]),
    (102, [0, 0, 103, 71, 39]),
    (128, [0, 0, 129, 89, 49]),
];
const T4_11: [Row; 12] = [
    (16, [63, 47, 0, 0, 0]),
    (20, [63, 47, 38, 0, 0]),
    (25, [63, 47, 38, 0, 0]),
    (32, [63, 47, 38, 32, 0]),
    (36, [71, 47, 38, 32, 24]),
    (40, [79, 47, 38, 32, 24]),
    (51, [101, 56, 38, 32, 24]),
    (64, [127, 70, 46, 32, 24]),
    (81, [0, 89, 58, 40, 24]),
    (91, [0, 100, 65, 45, 25]),
    (102, [0, 112, 73, 51, 28]),
    (128, [0, 0, 92, 64, 35]),
];

const ADVICE: &str = "Advice only: these counts were written for aircraft. Make the joint no weaker than the factory seam beside it (size, rows, pitch), and follow the maker's repair instruction before everything.";

/// Shear of 2117-T4 rivets, psi (MIL-HDBK-5J 8.1.2(b), from memory).
pub const SHEAR_2117_PSI: f64 = 30_000.0;

/// A table of AC 43.13-1B. Each covers several sheet alloys: read its heading.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, TS)]
pub enum JointTable {
    /// Table 4-9.
    #[serde(rename = "4-9")]
    T4x9,
    /// Table 4-10; holds clad 2024-T3.
    #[serde(rename = "4-10")]
    T4x10,
    /// Table 4-11; holds 5052.
    #[serde(rename = "4-11")]
    T4x11,
}

impl JointTable {
    const NAMES: [&'static str; 3] = ["4-9", "4-10", "4-11"];

    /// Its number as printed.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::T4x9 => "4-9",
            Self::T4x10 => "4-10",
            Self::T4x11 => "4-11",
        }
    }

    const fn rows(self) -> &'static [Row; 12] {
        match self {
            Self::T4x9 => &T4_9,
            Self::T4x10 => &T4_10,
            Self::T4x11 => &T4_11,
        }
    }

    /// Rivet shear and sheet bearing that are counted on, as shares of the sheet's tensile strength. They give
    /// every printed entry again but one, within a tenth (worked back from the table).
    const fn shares(self) -> (f64, f64) {
        match self {
            Self::T4x9 => (0.40, 1.60),
            Self::T4x10 => (0.50, 1.60),
            Self::T4x11 => (0.70, 1.65),
        }
    }
}

impl Show for JointTable {
    fn show(&self, _: Unit) -> String {
        format!("AC 43.13-1B table {}", self.name())
    }

    fn read(typed: &str, _: Unit) -> Result<Self, Error> {
        let all = [Self::T4x9, Self::T4x10, Self::T4x11];
        let named = all.into_iter().find(|table| typed.trim().ends_with(table.name()));
        named.ok_or_else(|| unread(typed, "the table's number: 4-9, 4-10 or 4-11"))
    }
}

/// What is joined: the share of the printed count that the notes to the tables ask for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, TS)]
#[serde(rename_all = "snake_case")]
pub enum JointCase {
    /// The printed count.
    Full,
    /// Single-lap sheet joint, 75 %.
    SingleLapSheet,
    /// Intermediate frame, 60 %.
    IntermediateFrame,
    /// Stringer, 80 %.
    Stringer,
}

impl JointCase {
    const NAMES: [&'static str; 4] = ["full", "single_lap_sheet", "intermediate_frame", "stringer"];

    const fn percent(self) -> u32 {
        match self {
            Self::Full => 100,
            Self::SingleLapSheet => 75,
            Self::IntermediateFrame => 60,
            Self::Stringer => 80,
        }
    }
}

/// What gives way first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, TS)]
#[serde(rename_all = "snake_case")]
pub enum Governs {
    /// The rivet shears.
    Shear,
    /// The sheet is crushed at the hole.
    Bearing,
}

/// A printed count.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Printed {
    /// Sheet of the row that was read; thicker than asked where that lies between two rows.
    pub row: Length,
    /// Rivets an inch, in tenths.
    pub tenths: u32,
    /// Rivet diameter of the column.
    pub diameter: Length,
    /// Its hole, in inches.
    pub hole: f64,
    /// What gives way first; none where both are within a tenth of a rivet.
    pub governs: Option<Governs>,
}

/// Reads a table: the row of the sheet or the next thicker one, the column of the rivet.
///
/// # Errors
/// `joint_diameter` for a rivet without a column, `joint_sheet` for a sheet outside the rows or an empty cell;
/// both name what the table holds.
pub fn printed(table: JointTable, sheet: Length, diameter: Length) -> Result<Printed, Error> {
    let near = |(_, sixty_fourths, _): &(&str, i64, u32)| {
        Length::sixty_fourths(*sixty_fourths).apart(diameter) <= Length::thousandths(1)
    };
    let Some((column, (size, sixty_fourths, hole))) = SIZES.iter().enumerate().find(|(_, size)| near(size))
    else {
        let sentence = "The tables have rivets of 3/32, 1/8, 5/32, 3/16 and 1/4 in.";
        return Err(Error::new("joint_diameter", sentence).at("/diameter"));
    };
    let cell = |(_, cells): &Row| cells.get(column).copied().filter(|tenths| *tenths > 0);
    let held = || table.rows().iter().filter(|row| cell(row).is_some());
    let outside = || {
        let ends = [held().next(), held().next_back()]
            .map(|row| row.map_or(Length::ZERO, |(t, _)| Length::thousandths(*t)));
        let [thin, thick] = ends.map(|t| t.say_decimal(Unit::In));
        let sentence = format!(
            "Table {} has {size} in rivets for sheet from {thin} to {thick}; {} is outside.",
            table.name(),
            sheet.say_decimal(Unit::In)
        );
        Error::new("joint_sheet", sentence).at("/sheet")
    };
    if table
        .rows()
        .first()
        .is_some_and(|(t, _)| sheet < Length::thousandths(*t))
    {
        return Err(outside());
    }
    let row = table
        .rows()
        .iter()
        .find(|(t, _)| Length::thousandths(*t) >= sheet);
    let row = row.ok_or_else(outside)?;
    let tenths = cell(row).ok_or_else(outside)?;
    let hole = f64::from(*hole) / 10_000.0;
    let thousandths = u32::try_from(row.0).unwrap_or_default();
    Ok(Printed {
        row: Length::thousandths(row.0),
        tenths,
        diameter: Length::sixty_fourths(*sixty_fourths),
        hole,
        governs: governs(table, f64::from(thousandths) / 1_000.0, hole),
    })
}

/// Counts from the shares of the table's notes: whichever needs more rivets governs, none where the printed
/// tenth cannot tell.
fn governs(table: JointTable, sheet: f64, hole: f64) -> Option<Governs> {
    let (shear_share, bearing_share) = table.shares();
    let by_shear = sheet / shear(shear_share, hole);
    let by_bearing = sheet / bearing(bearing_share, hole, sheet);
    if (by_shear - by_bearing).abs() < 0.1 {
        return None;
    }
    Some(if by_shear > by_bearing {
        Governs::Shear
    } else {
        Governs::Bearing
    })
}

/// Load that shears one rivet, single shear: stress x area. Psi and inches give pounds, MPa and mm newtons.
#[must_use]
pub fn shear(stress: f64, diameter: f64) -> f64 {
    stress * std::f64::consts::PI / 4.0 * diameter * diameter
}

/// Load that crushes one sheet at one rivet: stress x diameter x thickness.
#[must_use]
pub fn bearing(stress: f64, diameter: f64, thickness: f64) -> f64 {
    stress * diameter * thickness
}

/// Load that tears a plate through a row of holes.
#[must_use]
pub fn tear(stress: f64, width: f64, holes: u32, hole: f64, thickness: f64) -> f64 {
    stress * (width - f64::from(holes) * hole).max(0.0) * thickness
}

/// Lower of shear and bearing of one rivet, and which it is (MIL-HDBK-5H 8.1.2).
#[must_use]
pub fn one_rivet(by_shear: f64, by_bearing: f64) -> (f64, Governs) {
    if by_shear <= by_bearing {
        (by_shear, Governs::Shear)
    } else {
        (by_bearing, Governs::Bearing)
    }
}

/// Rivets each side of a break: length x thickness x tensile strength / strength of one rivet; the exact
/// number, to be taken up to a whole one. None for strengths that are none.
#[must_use]
pub fn rivets_for_break(length: f64, thickness: f64, tensile: f64, one: f64) -> Option<f64> {
    let many = length * thickness * tensile / one;
    (one > 0.0 && many.is_finite()).then_some(many)
}

/// A joint by the table.
#[derive(Debug, Clone, PartialEq)]
pub struct Joint {
    /// What was read.
    pub printed: Printed,
    /// Rivets on each side, a whole number.
    pub count: i64,
    /// Rows at 4 D pitch, with 2 D to the ends.
    pub rows: i64,
    /// The working.
    pub basis: Vec<Basis>,
}

/// Rivets of a joint: printed count x share x length, up to a whole rivet, with no rounding between.
///
/// # Errors
/// As [`printed`].
pub fn joint(
    table: JointTable,
    sheet: Length,
    diameter: Length,
    cut: Length,
    case: JointCase,
    unit: Unit,
) -> Result<Joint, Error> {
    let found = printed(table, sheet, diameter)?;
    let count = whole_rivets(found.tenths, case, cut);
    let a_row = cut.holds(found.diameter.times(4)).unwrap_or(1).max(1);
    let rows = up(count.into(), a_row.into());
    let source = || Standing::Published(format!("FAA AC 43.13-1B, table {}", table.name()));
    let mut basis = Vec::new();
    if found.row != sheet {
        let row = found.row.say_decimal(Unit::In);
        let what = format!("next thicker row: {} lies between two", sheet.say_decimal(unit));
        basis.push(Basis::new(row, what, source()));
    }
    let per_inch = tenths(found.tenths);
    basis.push(Basis::new(
        format!("{per_inch} per inch"),
        "printed count",
        source(),
    ));
    let share = format!("x {} %", case.percent());
    basis.push(Basis::new(share, "share, by the notes to the table", source()));
    basis.push(Basis::new(
        format!("x {}", cut.say(unit)),
        "length of the cut",
        Standing::Unit,
    ));
    basis.push(Basis::new(
        count.to_string(),
        "rivets each side, up to a whole one",
        Standing::Worked,
    ));
    let row_basis = format!(
        "{a_row} a row at 4 D, 2 D to the ends: {}",
        many(rows, "row", "rows")
    );
    let navedtra = Standing::Published("NAVEDTRA 14018".to_owned());
    basis.push(Basis::new(row_basis, "rows", navedtra));
    let one = shear(SHEAR_2117_PSI, found.hole);
    basis.push(Basis::new(
        format!("{one:.0} lb"),
        "shear of one 2117 rivet in its hole, at 30 000 psi",
        Standing::Memory,
    ));
    Ok(Joint {
        printed: found,
        count,
        rows,
        basis,
    })
}

/// Printed tenths x share x length in inches, up to a whole rivet.
fn whole_rivets(tenths: u32, case: JointCase, cut: Length) -> i64 {
    let over = i128::from(tenths)
        .saturating_mul(case.percent().into())
        .saturating_mul(cut.nm().into());
    up(over, i128::from(Length::inches(1).nm()).saturating_mul(1_000))
}

/// Rows that a single-lap sheet joint needs at a pitch.
pub(crate) fn lap_rows(tenths: u32, pitch: Length) -> i64 {
    whole_rivets(tenths, JointCase::SingleLapSheet, pitch).max(1)
}

fn up(over: i128, under: i128) -> i64 {
    let whole = over
        .saturating_add(under.saturating_sub(1))
        .checked_div(under)
        .unwrap_or_default();
    i64::try_from(whole).unwrap_or(i64::MAX)
}

fn tenths(count: u32) -> Decimal {
    Decimal::try_new(count.into(), 1).unwrap_or_default()
}

/// Reads the name of a table.
///
/// # Errors
/// Missing, or another name.
pub(crate) fn table_of(fields: &Fields<'_>) -> Result<JointTable, Error> {
    match fields.word("table", &JointTable::NAMES)? {
        Some("4-9") => Ok(JointTable::T4x9),
        Some("4-10") => Ok(JointTable::T4x10),
        Some(_) => Ok(JointTable::T4x11),
        None => Err(fields.wrong(
            "table",
            "input_missing",
            "The table is missing: \"4-9\", \"4-10\" or \"4-11\" of AC 43.13-1B.",
        )),
    }
}

/// `bowseam figure joint`: rivets of a joint by the table, JSON in, JSON out. With `tensile_psi` of the sheet
/// the first principles stand beside it.
///
/// # Errors
/// What is missing, unknown or outside the table, with its JSON pointer.
pub fn figure(input: &Value) -> Result<Value, Error> {
    let known = &[
        "unit",
        "table",
        "sheet",
        "diameter",
        "cut_length",
        "case",
        "tensile_psi",
    ];
    let fields = Fields::whole(input, known)?;
    let table = table_of(&fields)?;
    let (sheet, diameter) = (fields.some_length("sheet")?, fields.some_length("diameter")?);
    let cut = fields.some_length("cut_length")?;
    let case = match fields.word("case", &JointCase::NAMES)? {
        Some("full") => JointCase::Full,
        Some("single_lap_sheet") => JointCase::SingleLapSheet,
        Some("intermediate_frame") => JointCase::IntermediateFrame,
        Some(_) => JointCase::Stringer,
        None => {
            let names = JointCase::NAMES.join(", ");
            let sentence = format!("“case” is missing: one of {names} is expected.");
            return Err(fields.wrong("case", "input_missing", sentence));
        }
    };
    let found = joint(table, sheet, diameter, cut, case, fields.unit)?;
    let mut out = json!({
        "per_inch": json(tenths(found.printed.tenths)),
        "count": found.count,
        "rows": found.rows,
        "governs": found.printed.governs,
        "row": json(found.printed.row.to_decimal(fields.unit)),
        "basis": found.basis,
        "advice": ADVICE,
    });
    let tensile = fields.number("tensile_psi", 200_000)?;
    let tensile = tensile
        .and_then(|psi| f64::try_from(psi).ok())
        .filter(|psi| *psi > 0.0);
    if let (Some(psi), Some(map)) = (tensile, out.as_object_mut()) {
        map.insert(
            "first_principles".to_owned(),
            principles(&found, table, sheet, cut, psi),
        );
    }
    Ok(out)
}

/// The same joint from the strength of the sheet: what the cut sheet carried, and what one rivet does.
fn principles(found: &Joint, table: JointTable, sheet: Length, cut: Length, tensile: f64) -> Value {
    let inches = |length: Length| f64::try_from(length.to_decimal(Unit::In)).unwrap_or_default();
    let by_bearing = bearing(table.shares().1 * tensile, found.printed.hole, inches(sheet));
    let (one, governs) = one_rivet(shear(SHEAR_2117_PSI, found.printed.hole), by_bearing);
    let many = rivets_for_break(inches(cut), inches(sheet), tensile, one);
    json!({
        "one_rivet_lb": one,
        "governs": governs,
        "exact": many,
        "count": many.map(f64::ceil),
        "standing": Standing::Memory,
    })
}

#[cfg(test)]
#[path = "joint_tests.rs"]
mod tests;
