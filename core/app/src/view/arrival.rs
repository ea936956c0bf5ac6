//! Arrival: the unit as it came in. Nothing but the unit number is demanded; what is missing is listed with
//! where it will be needed.

use crate::{
    answer::{Arrival, Field, Photo, Refusal},
    now::Now,
    roll,
    view::{head, photos, yard},
    words,
};
use bowseam_figures::{body::BodyType, proof};
use bowseam_jobs::entry::{ArrivalField, PhotoOf};
use chrono::{Months, NaiveDate};
use serde_json::json;

/// The fields in the order of the form: what is asked in the yard comes first.
const FIELDS: [ArrivalField; 18] = [
    ArrivalField::Unit,
    ArrivalField::Load,
    ArrivalField::Seal,
    ArrivalField::SealOpened,
    ArrivalField::Slot,
    ArrivalField::Placards,
    ArrivalField::Wiring,
    ArrivalField::BodyType,
    ArrivalField::FoundBy,
    ArrivalField::FoundAt,
    ArrivalField::Vin,
    ArrivalField::Plate,
    ArrivalField::Built,
    ArrivalField::Inspected,
    ArrivalField::Account,
    ArrivalField::Order,
    ArrivalField::Payer,
    ArrivalField::Value,
];

/// What is missing, and where it will be needed.
const NEEDED: [(ArrivalField, &str); 9] = [
    (
        ArrivalField::BodyType,
        "for the Fold-out: without it the measures are those of a 53 ft dry van",
    ),
    (ArrivalField::Load, "before anyone goes inside or opens the roof"),
    (
        ArrivalField::Placards,
        "before anyone goes inside or cuts: cargo residue can hurt",
    ),
    (
        ArrivalField::Wiring,
        "before cutting: antennas, panels and harness are located first",
    ),
    (ArrivalField::Vin, "for the packet"),
    (ArrivalField::Plate, "for the packet"),
    (
        ArrivalField::Built,
        "for Proof: the rule for reflective sheeting depends on the date",
    ),
    (ArrivalField::Inspected, "for Proof (49 CFR 396.17)"),
    (ArrivalField::Payer, "for the go-ahead"),
];

/// The screen.
///
/// # Errors
/// The store cannot be read, or the figures cannot be worked out.
pub fn arrival(now: &Now) -> Result<Arrival, Refusal> {
    let unit_photos: Vec<Photo> = photos::of(now, &PhotoOf::Unit);
    Ok(Arrival {
        head: head::head(now)?,
        fields: FIELDS.iter().map(|field| one(now, *field)).collect(),
        photos: unit_photos,
        wanted: photos::wanted(now),
        roll_by: now.job.roll.as_ref().map(|kept| now.name(kept.by)),
        roll_at: now.job.roll.as_ref().map(|kept| kept.at),
        limits_refused: roll::limits_refused(&now.job),
        reason_needed: roll::reason_needed(&now.job),
        missing: missing(now),
        history: history(now)?,
    })
}

/// One field as it is entered.
pub(super) fn one(now: &Now, field: ArrivalField) -> Field<ArrivalField> {
    let kept = now.job.arrival.get(&field);
    let value = match (kept, field) {
        (Some(kept), _) => kept.value.clone(),
        (None, ArrivalField::Unit) => now.job.unit.clone(),
        (None, _) => String::new(),
    };
    Field {
        field,
        by: kept.map(|kept| now.name(kept.by)),
        choices: match field {
            ArrivalField::BodyType => BodyType::ALL.map(|body| body.key().to_owned()).to_vec(),
            ArrivalField::Load => crate::change::LOADS.map(str::to_owned).to_vec(),
            _ => Vec::new(),
        },
        remark: remark(now, field, &value),
        value,
    }
}

/// What looks wrong about a value; it is kept all the same.
fn remark(now: &Now, field: ArrivalField, value: &str) -> Option<String> {
    if value.is_empty() {
        return None;
    }
    match field {
        ArrivalField::Vin => match proof::vin(&json!({"vin": value})) {
            Err(error) => Some(error.sentence),
            Ok(found) => {
                let warnings = found.get("warnings")?.as_array()?;
                let said: Vec<&str> = warnings.iter().filter_map(serde_json::Value::as_str).collect();
                (!said.is_empty()).then(|| said.join(" "))
            }
        },
        ArrivalField::Inspected => {
            let day = NaiveDate::parse_from_str(value, "%Y-%m-%d").ok()?;
            let until = day.checked_add_months(Months::new(12))?;
            // Held against the day on which the unit came in, so that the record says the same later on.
            let came = now.job.opened.as_ref()?.at.date_naive();
            (until < came).then(|| {
                format!("This was over 12 months before it came in (49 CFR 396.17): the next one was due by {until}.")
            })
        }
        _ => None,
    }
}

/// What is not entered of the unit, each with what it is needed for.
pub fn not_entered(now: &Now) -> Vec<String> {
    NEEDED
        .iter()
        .filter(|(field, _)| now.arrival(*field).is_none())
        .map(|(field, needed)| format!("{}: needed {needed}", words::arrival(*field)))
        .collect()
}

fn missing(now: &Now) -> Vec<String> {
    let mut missing = not_entered(now);
    let vin = now.arrival(ArrivalField::Vin).unwrap_or_default();
    if remark(now, ArrivalField::Vin, vin).is_some() {
        missing.push("VIN: look at it again, what is entered does not fit itself".to_owned());
    }
    if now.arrival(ArrivalField::Load) == Some("sealed") && now.arrival(ArrivalField::Seal).is_none() {
        missing.push(
            "seal number: needed beside “inside not seen”, on every screen and in the packet".to_owned(),
        );
    }
    if now.seal_opened_by_nobody() {
        missing.push(format!(
            "{}: needed in the packet, who owns the load asks for it",
            words::arrival(ArrivalField::SealOpened)
        ));
    }
    if now.job.roll.is_none() {
        missing.push("May it roll?: needed before the unit is moved".to_owned());
    }
    missing.extend(roll::doubt(&now.job));
    missing
}

/// Earlier jobs of the same unit on this phone.
fn history(now: &Now) -> Result<Vec<crate::answer::YardRow>, Refusal> {
    let mut found = now.app.store().of_unit(&now.job.unit)?;
    found.retain(|job| job.id != now.job.id);
    yard::rows(now.app, &found)
}
