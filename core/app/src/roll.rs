//! *May it roll?*: which answer needs what, and when one no longer holds. The program only says what was marked;
//! 49 CFR 396.7 and the person who releases the unit decide.

use crate::words;
use bowseam_figures::mark::Part;
use bowseam_jobs::{
    entry::{Roll, RollAnswer},
    job::Job,
};

/// Parts that rule out *May roll, with limits* (vocabulary of this project: rear guard, doors, frame, suspension,
/// brakes, lamps, with the hardware and the wiring that these hang on).
const NO_LIMITS: [Part; 9] = [
    Part::RearGuard,
    Part::Door,
    Part::Hinge,
    Part::RearFrame,
    Part::Kingpin,
    Part::LandingGear,
    Part::Crossmember,
    Part::Lamp,
    Part::Harness,
];

const WHO_DECIDES: &str = "49 CFR 396.7 and the person who releases the unit decide.";

/// The marked parts that limits on speed or distance do not answer for, in words.
fn beyond_limits(job: &Job) -> Option<String> {
    let marked = job.marks.iter().map(|mark| mark.part);
    let mut parts: Vec<&str> = marked
        .filter(|part| NO_LIMITS.contains(part))
        .map(Part::word)
        .collect();
    parts.sort_unstable();
    parts.dedup();
    (!parts.is_empty()).then(|| words::list(&parts))
}

/// Why *May roll, with limits* is not offered, if it is not.
pub fn limits_refused(job: &Job) -> Option<String> {
    let parts = beyond_limits(job)?;
    Some(format!(
        "“May roll, with limits” is not offered with damage to the {parts}: limits on speed or distance do not answer for it. {WHO_DECIDES}"
    ))
}

/// Why plain *May roll* needs a reason in words, if it does: whatever is too grave for limits is too grave for none.
pub fn reason_needed(job: &Job) -> Option<String> {
    let parts = beyond_limits(job)?;
    Some(format!(
        "“May roll” with damage to the {parts} needs words on what makes the unit fit to roll: what was looked at, and what was done. {WHO_DECIDES}"
    ))
}

/// Why *May it roll?* has to be answered again, if it has: whoever let it roll did not know of marks that came later,
/// or the answer lacks what these marks ask for.
pub fn doubt(job: &Job) -> Option<String> {
    let kept = job
        .roll
        .as_ref()
        .filter(|kept| kept.value.answer != RollAnswer::ParkIt)?;
    let since: Vec<String> = job
        .marks
        .iter()
        .filter(|mark| mark.at > kept.at)
        .map(|mark| format!("{}, {}", mark.kind.word(), mark.part.word()))
        .collect();
    if !since.is_empty() {
        return Some(format!(
            "May it roll? was answered before this was marked: {}. Answer it again",
            since.join("; ")
        ));
    }
    let parts = beyond_limits(job)?;
    match &kept.value {
        Roll {
            answer: RollAnswer::WithLimits,
            ..
        } => Some(format!(
            "May it roll? sets limits, but there is damage to the {parts}, which limits do not answer for. Answer it again"
        )),
        roll if roll.reason.trim().is_empty() => Some(format!(
            "May it roll? has no words on what makes the unit fit to roll with damage to the {parts}. Answer it again"
        )),
        _ => None,
    }
}
