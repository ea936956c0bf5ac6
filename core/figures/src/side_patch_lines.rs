//! The takeoff lines of a side patch and of a whole side sheet, each with its working.

use crate::basis::{Basis, Line, Standing};
use crate::error::Error;
use crate::measure::{Length, Unit};
use crate::side_patch::{SideBody, SideRules, SideTakeoff, SideWay};
use crate::side_patch_lap::Lap;
use crate::takeoff_lines::area;
use rust_decimal::Decimal;

/// Spaces no wider than `pitch` in a span, or fewer where those would be closer than `least`.
fn spaces(span: Length, pitch: Length, least: Length) -> i64 {
    let span = span.max(Length::ZERO);
    let wanted = span.plus(pitch).minus(Length::from_nm(1)).holds(pitch);
    let most = span.holds(least).unwrap_or(i64::MAX).max(1);
    wanted.unwrap_or_default().clamp(1, most)
}

/// Rivets of all rows: closed rings, each 4 D inside the one before.
pub(crate) fn patch_rivets(taken: &SideTakeoff) -> i64 {
    let ring = |row: u32| {
        let inset = taken
            .edge
            .plus(taken.diameter.times(4).times(row.into()))
            .times(2);
        let side = |length: Length| spaces(length.minus(inset), taken.pitch, taken.diameter.times(3));
        side(taken.patch.along())
            .saturating_add(side(taken.patch.up()))
            .saturating_mul(2)
    };
    (0..taken.rows).fold(0_i64, |sum, row| sum.saturating_add(ring(row)))
}

/// Rivets of a section or of whole sheets: each joint and both rails at the joint pitch, each post between at its own.
pub(crate) fn sheet_rivets(body: &SideBody, rules: &SideRules, taken: &SideTakeoff) -> i64 {
    let (sheet, least) = (taken.sheet, taken.diameter.times(3));
    let joint = spaces(sheet.up(), rules.joint_pitch.value, least).saturating_add(1);
    let rail = spaces(sheet.along(), rules.joint_pitch.value, least).saturating_sub(1);
    let post = spaces(sheet.up(), rules.post_pitch.value, least).saturating_sub(1);
    let between = |at: &&Length| **at > sheet.from && **at < sheet.to && !body.sheet_joints.contains(at);
    let posts = i64::try_from(body.posts.iter().filter(between).count()).unwrap_or(i64::MAX);
    let joints = i64::from(taken.sheets).saturating_add(1);
    joint
        .saturating_mul(joints)
        .saturating_add(rail.saturating_mul(2))
        .saturating_add(post.saturating_mul(posts))
}

impl SideTakeoff {
    /// One piece to cut, along the side and up: the patch, or a whole sheet (the widest) with its lap.
    #[must_use]
    pub fn piece(&self, rules: &SideRules) -> [Length; 2] {
        match self.way {
            SideWay::Patch => [self.patch.along(), self.patch.up()],
            SideWay::Section | SideWay::WholeSheet => {
                [self.widest.plus(rules.sheet_lap.value), self.sheet.up()]
            }
        }
    }

    /// All pieces side by side, along the side and up.
    #[must_use]
    pub fn all_pieces(&self, rules: &SideRules) -> [Length; 2] {
        match self.way {
            SideWay::Patch => self.piece(rules),
            SideWay::Section | SideWay::WholeSheet => {
                let laps = rules.sheet_lap.value.times(self.sheets.into());
                [self.sheet.along().plus(laps), self.sheet.up()]
            }
        }
    }

    /// How far a patch of this joint reaches past its damage, all round.
    pub(crate) const fn patch_margin(&self) -> Length {
        self.margin.plus(self.overlap)
    }

    /// How many such pieces.
    #[must_use]
    pub const fn pieces(&self) -> u32 {
        match self.way {
            SideWay::Patch | SideWay::Section => 1,
            SideWay::WholeSheet => self.sheets,
        }
    }
}

/// Beads of sealant: under the lap of a patch and round its edge; along the joints and rails of a sheet.
pub(crate) fn beads(taken: &SideTakeoff) -> Length {
    match taken.way {
        SideWay::Patch => taken.patch.along().plus(taken.patch.up()).times(4),
        SideWay::Section | SideWay::WholeSheet => {
            let joints = i64::from(taken.sheets).saturating_add(1);
            taken.sheet.up().times(joints).plus(taken.sheet.along().times(2))
        }
    }
}

/// Lines of a patch.
pub(crate) fn patch_lines(taken: &SideTakeoff, lap: &Lap, unit: Unit) -> Result<Vec<Line>, Error> {
    let (along, up) = (taken.patch.along(), taken.patch.up());
    let by = |a: Length, b: Length| format!("{} x {}", a.say(unit), b.say(unit));
    let cut = Basis::new(
        by(taken.cut_out.along(), taken.cut_out.up()),
        "cut-out, damage and margin",
        Standing::Shop,
    );
    let size = Basis::new(by(along, up), "patch", Standing::Worked);
    let mut sheet = vec![cut];
    sheet.extend(lap.basis.iter().cloned());
    sheet.push(size.clone());
    let round = along.plus(up).times(2);
    let sealant = vec![
        size.clone(),
        Basis::new(round.say(unit), "once round", Standing::Worked),
        Basis::new(
            "x 2",
            "under the lap, and round the edge",
            Standing::CommonPractice,
        ),
    ];
    let rivets = vec![
        size,
        Basis::new(taken.rows.to_string(), "rows, all round", lap.rows_from.clone()),
        Basis::new(
            taken.pitch.say_decimal(unit),
            "widest pitch",
            lap.pitch_from.clone(),
        ),
    ];
    Ok(vec![
        squares("side sheet", area(along, up, unit)?, unit, sheet),
        line(
            "patch sealant",
            taken.beads.to_decimal(unit),
            unit.word(),
            sealant,
        ),
        rivet_line("patch rivets", taken, unit, rivets),
    ])
}

/// Lines of a section or of whole sheets.
pub(crate) fn sheet_lines(rules: &SideRules, taken: &SideTakeoff, unit: Unit) -> Result<Vec<Line>, Error> {
    let (along, up) = (taken.sheet.along(), taken.sheet.up());
    let lap = &rules.sheet_lap;
    let [wide, _] = taken.all_pieces(rules);
    let (from_to, ends) = match taken.way {
        SideWay::Section => ("from post to post", "ends over the posts"),
        _ => ("from joint to joint", "joints"),
    };
    let sheet = vec![
        Basis::new(along.say(unit), from_to, Standing::Unit),
        Basis::new(
            format!("+ {} x {}", taken.sheets, lap.value.say(unit)),
            "lap",
            lap.standing.clone(),
        ),
        Basis::new(format!("x {}", up.say(unit)), "side height", Standing::Unit),
    ];
    let joints = i64::from(taken.sheets).saturating_add(1);
    let sealant = vec![
        Basis::new(format!("{joints} x {}", up.say(unit)), ends, Standing::Unit),
        Basis::new(format!("+ 2 x {}", along.say(unit)), "rails", Standing::Unit),
    ];
    let (joint, post) = (&rules.joint_pitch, &rules.post_pitch);
    let rivets = vec![
        Basis::new(
            joint.value.say(unit),
            "pitch at joints and rails",
            joint.standing.clone(),
        ),
        Basis::new(
            post.value.say(unit),
            "pitch on the posts between",
            post.standing.clone(),
        ),
    ];
    let mut count = rivet_line("sheet rivets", taken, unit, rivets);
    count.more = Some(format!(
        "{} Existing holes of joints, posts and rails are located and reused: count them.",
        count.more.unwrap_or_default()
    ));
    Ok(vec![
        squares("side sheet", area(wide, up, unit)?, unit, sheet),
        line(
            "sheet sealant",
            taken.beads.to_decimal(unit),
            unit.word(),
            sealant,
        ),
        count,
    ])
}

fn squares(item: &str, area: Decimal, unit: Unit, basis: Vec<Basis>) -> Line {
    line(item, area, &format!("{}²", unit.word()), basis)
}

fn rivet_line(item: &str, taken: &SideTakeoff, unit: Unit, basis: Vec<Basis>) -> Line {
    let mut line = line(item, Decimal::from(taken.rivets), "each", basis);
    line.more = taken.rivet_length.map(|length| {
        format!(
            "{} x {} where two sheets meet.",
            taken.diameter.say_decimal(unit),
            length.say(Unit::In)
        )
    });
    line
}

fn line(item: &str, quantity: Decimal, unit: &str, mut basis: Vec<Basis>) -> Line {
    let standing = Standing::weakest(basis.iter().map(|step| &step.standing));
    let quantity = quantity.normalize();
    basis.push(Basis::new(format!("{quantity} {unit}"), item, Standing::Worked));
    Line {
        item: item.to_owned(),
        quantity: quantity.to_string(),
        unit: unit.to_owned(),
        basis,
        standing,
        more: None,
    }
}
