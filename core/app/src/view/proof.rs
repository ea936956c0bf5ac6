//! Proof: what is shown before the unit goes, row by row, with the rule that it is held against and the rule's
//! date. It never says that a repair is safe; it says what was looked at, against what, and by whom.

use crate::{
    answer::{Proof, ProofRow, Refusal},
    now::Now,
    people, typed,
    view::{head, photos, steps},
};
use bowseam_figures::{
    measure::Length,
    proof::{self, Kind, ProofUnit},
    steps::CURE_STARTED,
};
use bowseam_jobs::{
    entry::{ArrivalField, ProofAnswer, ProofOk, What},
    job::Stage,
    people::{Person, Qualification},
};
use chrono::{DateTime, TimeDelta, Utc};
use rust_decimal::{Decimal, prelude::ToPrimitive};

/// The row that marks Proof as complete; it is set and taken back by the program alone.
const COMPLETE: &str = "complete";
/// Steps that lay the last sealant of a repair; the cure counts from the last of them.
const SEALING: [&str; 4] = ["seal", "seal:behind", "patch_seal", "cure"];
/// Widest body, 23 CFR 658.15.
const WIDEST: Length = Length::inches(102);
/// Beyond both exclusions of 3 in a side, 23 CFR 658.16.
const WIDEST_WITH_EXCLUSIONS: Length = Length::inches(108);

/// The rows of this job.
///
/// # Errors
/// None now; the figures may refuse later.
pub fn rows(now: &Now) -> Result<Vec<proof::ProofRow>, Refusal> {
    Ok(proof::proof_rows(now.work(), &unit(now)))
}

fn unit(now: &Now) -> ProofUnit {
    let built = now.arrival(ArrivalField::Built);
    let month = built.and_then(|built| built.get(..7));
    ProofUnit {
        built_before_december_1993: month.map(|month| month < "1993-12"),
        // A plate that gives the month alone leaves January 1998 open.
        built_before_26_january_1998: match (built, month) {
            (Some(_), Some("1998-01")) => built
                .filter(|built| built.len() > 7)
                .map(|built| built < "1998-01-26"),
            (Some(built), _) => Some(built < "1998-01-26"),
            _ => None,
        },
        final_check: now.book.planning.final_check.value,
    }
}

/// The screen.
///
/// # Errors
/// The store cannot be read, or the figures cannot be worked out.
pub fn proof(now: &Now) -> Result<Proof, Refusal> {
    Ok(Proof {
        head: head::head(now)?,
        rows: rows(now)?.iter().map(|row| one(now, row)).collect(),
        pairs: photos::pairs(now),
        lacks: lacks(now)?,
        rule_note: "Each row names its rule and the date of the text that was read. Rules change, and local codes, \
                    the maker's instructions and licensed practice come first. Nothing here says that a repair is \
                    safe: it says what was looked at, against which rule, and by whom."
            .to_owned(),
    })
}

fn one(now: &Now, row: &proof::ProofRow) -> ProofRow {
    let kept = now.job.proof.get(&row.key);
    let answer = kept.map(|kept| kept.value.clone());
    ProofRow {
        key: row.key.clone(),
        title: row.title.clone(),
        rule: row.rule.clone().unwrap_or_default(),
        rule_date: row.rule_date.clone().unwrap_or_default(),
        form: form(row.kind).to_owned(),
        remark: remark(now, row, answer.as_ref()),
        ok: is_ok(now, row),
        answer,
        by: kept.map(|kept| now.name(kept.by)),
        at: kept.map(|kept| kept.at),
        not_before: if row.kind == Kind::Leak {
            cured_at(now).flatten()
        } else {
            None
        },
    }
}

const fn form(kind: Kind) -> &'static str {
    match kind {
        Kind::YesNo => "yes_no",
        Kind::Measured => "measured",
        Kind::PhotoPairs => "photo_pairs",
        Kind::Leak => "leak",
    }
}

/// Whether a row asks for a measured value.
pub fn is_measured(row: &proof::ProofRow) -> bool {
    row.kind == Kind::Measured
}

fn is_ok(now: &Now, row: &proof::ProofRow) -> bool {
    let said = now.job.proof.get(&row.key).map(|kept| kept.value.ok);
    match (row.kind, said) {
        (_, Some(ProofOk::NotNeeded)) => true,
        // Pairs speak for themselves: they are there or not.
        (Kind::PhotoPairs, _) => photos::pairs_lack(now).is_empty(),
        (_, said) => said == Some(ProofOk::Yes),
    }
}

fn remark(now: &Now, row: &proof::ProofRow, answer: Option<&ProofAnswer>) -> Option<String> {
    match row.kind {
        Kind::PhotoPairs => {
            let lacks = photos::pairs_lack(now);
            (!lacks.is_empty()).then(|| format!("wanted: {}", lacks.join("; ")))
        }
        Kind::Leak if longest_cure(now).is_none() => Some(
            "The shop book holds no cure hours: read them from the label of the sealant before testing."
                .to_owned(),
        ),
        Kind::Measured if row.key == "width" => width_remark(now, &answer?.value),
        _ => None,
    }
}

fn width_remark(now: &Now, value: &str) -> Option<String> {
    let width = typed::length(value, now.unit, "value").ok()?;
    if width > WIDEST_WITH_EXCLUSIONS {
        return Some("Wider than 102 in with 3 in on each side: what sticks out?".to_owned());
    }
    (width > WIDEST).then(|| {
        "Wider than 102 in: only what 23 CFR 658.16 leaves out may stick out, up to 3 in a side.".to_owned()
    })
}

/// What lacks, in words.
///
/// # Errors
/// As [`rows`].
pub fn lacks(now: &Now) -> Result<Vec<String>, Refusal> {
    let said = |row: &proof::ProofRow| match now.job.proof.get(&row.key).map(|kept| kept.value.ok) {
        Some(ProofOk::No) => format!("{}: answered no", row.title),
        _ => row.title.clone(),
    };
    Ok(rows(now)?
        .iter()
        .filter(|row| !is_ok(now, row))
        .map(said)
        .collect())
}

/// Label hours of cure: at the temperature that was written down, else the longest of the shop book.
pub fn longest_cure(now: &Now) -> Option<Decimal> {
    let longest = || now.book.cure.iter().map(|line| line.hours).max();
    let hours = match written_temperature(now) {
        Some(at_f) => now.book.cure_hours(at_f).or_else(longest),
        None => longest(),
    };
    hours.map(|hours| hours.0)
}

/// What was written when the cure started, and when it was entered.
fn cure_started<'n>(now: &'n Now) -> Option<(&'n str, DateTime<Utc>)> {
    let kept = now.job.steps.get("cure")?.values.get(CURE_STARTED)?;
    Some((kept.value.text.as_str(), kept.at))
}

/// The temperature in it: as it is read today, else the number before `F` or `°F` wherever it stands.
fn written_temperature(now: &Now) -> Option<i32> {
    let (text, _) = cure_started(now)?;
    typed::CureStart::kept(text).at_f.or_else(|| {
        let before = text.to_uppercase().replace('°', "");
        let (before, _) = before.rsplit_once('F')?;
        let digits = before.trim_end().chars().rev();
        let digits: String = digits.take_while(char::is_ascii_digit).collect();
        digits.chars().rev().collect::<String>().parse().ok()
    })
}

/// From when the cure counts: as it was written, unless sealing was done after that; else from when the last sealing
/// was marked as done. None where it is not.
fn sealed_at(now: &Now) -> Option<DateTime<Utc>> {
    let written = cure_started(now).and_then(|(text, entered)| {
        let at = typed::CureStart::kept(text).at?;
        Some((at.with_timezone(&Utc), entered))
    });
    let mut sealed = None;
    for key in SEALING.iter().filter(|key| now.step(key).is_ok()) {
        if *key == "cure" && (sealed.is_some() || written.is_some()) {
            // The wait itself: done when it is over, it does not start it.
            continue;
        }
        let done = now
            .job
            .steps
            .get(*key)
            .and_then(|state| state.done.as_ref())
            .filter(|kept| kept.value)?;
        sealed = sealed.max(Some(done.at));
    }
    match written {
        Some((at, entered)) if sealed.is_none_or(|sealed| sealed <= entered) => Some(at),
        _ => sealed,
    }
}

/// More than a shift before the sealing was marked as done, a start is hardly that of this sealing.
const SHIFT: TimeDelta = TimeDelta::hours(8);

/// Whether a cure can have started at the moment that was written.
///
/// # Errors
/// `cure_before` the unit came in; `reason_missing` where it lies more than a shift before the sealing was marked as done
/// and no reason is given.
pub fn start_fits(now: &Now, written: &str, reason: &str) -> Result<(), Refusal> {
    let Some(at) = typed::CureStart::kept(written).at.map(|at| at.to_utc()) else {
        return Ok(());
    };
    let opened = now.job.opened.as_ref().map(|kept| kept.at);
    // A job may be opened some time after the unit came in.
    if opened.is_some_and(|opened| opened.signed_duration_since(at) > SHIFT) {
        let sentence = "This lies before the unit came in. Accepted is when the last sealant was laid, as in 14:30, 72 F, or now, 72 F.";
        return Err(Refusal::at("cure_before", "measured", sentence));
    }
    let steps = SEALING.iter().filter(|key| **key != "cure");
    let done = steps.filter_map(|key| now.job.steps.get(*key)?.done.as_ref());
    let sealed = done.filter(|kept| kept.value).map(|kept| kept.at).max();
    match sealed.filter(|sealed| reason.is_empty() && sealed.signed_duration_since(at) > SHIFT) {
        None => Ok(()),
        Some(sealed) => Err(Refusal::at(
            "reason_missing",
            "reason",
            format!(
                "The sealing was marked as done on {}, more than a shift after this. Put the start right, or say the reason beside it; it then stays on record.",
                crate::words::time(sealed)
            ),
        )),
    }
}

/// When the cure is over: nothing where the work seals nothing or no label is known (inner), or where the
/// sealing is not done (outer).
fn cured_at(now: &Now) -> Option<Option<DateTime<Utc>>> {
    let seals = SEALING.iter().any(|key| now.step(key).is_ok());
    let sealed = if seals { Some(sealed_at(now)?) } else { None };
    Some(sealed.and_then(|sealed| cured(now, sealed)))
}

/// When what was sealed then has cured; nothing where no label is known.
fn cured(now: &Now, sealed: DateTime<Utc>) -> Option<DateTime<Utc>> {
    let minutes = longest_cure(now)?.checked_mul(Decimal::from(60))?;
    sealed.checked_add_signed(TimeDelta::try_minutes(minutes.ceil().to_i64()?)?)
}

/// What is said at the wait itself: until when, and from what that counts.
pub fn cure_words(now: &Now) -> Option<String> {
    let (text, _) = cure_started(now)?;
    let sealed = sealed_at(now)?;
    let until = cured(now, sealed)?;
    let from = match typed::CureStart::kept(text).at {
        Some(at) if sealed == at.with_timezone(&Utc) => "as it was entered here",
        Some(_) => "from the sealing that was done after this was entered",
        None => {
            "from when the sealing was marked as done, since no time is read here: write it as 14:30, 72 F"
        }
    };
    let hours = longest_cure(now).unwrap_or_default().normalize();
    Some(format!(
        "Cures until {}: {hours} h by the label, {from}.",
        crate::words::time(until)
    ))
}

/// Whole hours until the cure is over; none where it is, or where its end is not known.
pub fn cures_for(now: &Now, at: DateTime<Utc>) -> Option<i64> {
    let cured = cured_at(now).flatten().filter(|cured| at < *cured)?;
    Some(cured.signed_duration_since(at).num_hours().saturating_add(1))
}

/// Why a row cannot be answered yet.
pub fn too_early(now: &Now, row: &proof::ProofRow, at: DateTime<Utc>) -> Option<String> {
    if row.kind != Kind::Leak {
        return None;
    }
    match cured_at(now) {
        None => Some("The sealing is not done yet: the leak test comes after it has cured.".to_owned()),
        Some(_) => not_cured(now, at).map(|why| format!("{why}.")),
    }
}

/// That what was sealed has not cured yet, without its full stop.
pub fn not_cured(now: &Now, at: DateTime<Utc>) -> Option<String> {
    let cured = cured_at(now).flatten().filter(|cured| at < *cured)?;
    Some(format!(
        "The sealant cures until {} by its label ({} h): a leak test before says nothing",
        crate::words::time(cured),
        longest_cure(now).unwrap_or_default().normalize()
    ))
}

/// Who looks over the work by himself did not do it.
pub fn own_work(now: &Now, row: &proof::ProofRow) -> Option<String> {
    if row.key != "final_check" {
        return None;
    }
    let did = |state: &bowseam_jobs::job::StepState| {
        state
            .done
            .as_ref()
            .is_some_and(|kept| kept.value && Some(kept.by) == now.person)
    };
    now.job.steps.values().any(did).then(|| {
        "The final check is for somebody who did not do the work; you did steps of it. Let another person sign in and look.".to_owned()
    })
}

/// Where the shop has people who are qualified to inspect, one of them does the final check, while it counts.
pub fn not_qualified(now: &Now, person: &Person, row: &proof::ProofRow) -> Option<String> {
    let inspects = |person: &Person| {
        person
            .more
            .qualified
            .iter()
            .any(|own| own.what == Qualification::Inspect)
    };
    if row.key != "final_check" || !now.people.iter().any(inspects) {
        return None;
    }
    people::may_not(person, Qualification::Inspect)
}

/// The entry that marks Proof as complete, or takes the mark back, where it does not stand as it should.
///
/// # Errors
/// As [`rows`].
pub fn marker(now: &Now) -> Result<Option<What>, Refusal> {
    let marked = now
        .job
        .proof
        .get(COMPLETE)
        .is_some_and(|kept| kept.value.ok == ProofOk::Yes);
    let begun =
        matches!(now.job.stage, Stage::InTheBay | Stage::Proved | Stage::OnHold) && !now.steps().is_empty();
    let complete = begun && steps::current(now).is_none() && lacks(now)?.is_empty();
    let answer = complete.then(|| ProofAnswer {
        ok: ProofOk::Yes,
        value: String::new(),
        note: String::new(),
    });
    Ok((complete != marked).then(|| What::Proof {
        row: COMPLETE.to_owned(),
        answer,
    }))
}
