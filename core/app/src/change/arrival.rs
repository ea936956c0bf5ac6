//! Changes of Arrival, the body's measures and the walk round.

use super::Change;
use crate::{
    answer::{Answer, Refusal},
    app::App,
    roll, typed, words,
};
use bowseam_figures::{body::BodyType, mark::Surface};
use bowseam_jobs::{
    entry::{ArrivalField, PlanField, PlanValue, Roll, RollAnswer, What},
    people::Person,
};
use chrono::Utc;
use uuid::Uuid;

/// What the unit carries.
pub const LOADS: [&str; 3] = ["empty", "loaded", "sealed"];

/// Opens a job; the unit number is all it needs.
pub fn open_job(app: &App, person: &Person, unit: &str) -> Result<Answer, Refusal> {
    let unit = unit_number(unit, "unit")?;
    let (job, act) = (Uuid::now_v7(), Uuid::now_v7());
    app.store()
        .append(job, person.id, act, vec![What::Opened { unit }])?;
    app.send_now();
    Ok(Answer::Saved {
        act: Some(act),
        id: Some(job),
        at: Utc::now(),
        words: None,
    })
}

fn unit_number(typed: &str, field: &str) -> Result<String, Refusal> {
    let unit = typed::text(typed, field)?;
    if unit.is_empty() || unit.chars().count() > 40 {
        let sentence = "The unit number is missing or longer than 40 characters. Any number or name on the unit is accepted.";
        return Err(Refusal::at("unit_missing", field, sentence));
    }
    Ok(unit)
}

/// Sets a field of Arrival; an empty value takes it away.
pub fn set_arrival(change: &Change, field: ArrivalField, value: &str) -> Result<Answer, Refusal> {
    let value = typed::text(value, "value")?;
    let value = match field {
        ArrivalField::Unit => Some(unit_number(&value, "value")?),
        _ if value.is_empty() => None,
        ArrivalField::BodyType => Some(one_of(value, &BodyType::ALL.map(BodyType::key))?),
        ArrivalField::Load => Some(one_of(value, &LOADS)?),
        ArrivalField::Built => Some(typed::date(&value, true)?),
        ArrivalField::Inspected => Some(typed::date(&value, false)?),
        ArrivalField::FoundAt => Some(typed::date_and_time(&value)?),
        // A VIN is kept as it was read from the plate; what looks wrong about it stands beside it as a remark.
        ArrivalField::Vin => Some(value.to_uppercase()),
        ArrivalField::Value => Some(unit_value(&value)?),
        _ => Some(value),
    };
    change.one(What::Arrival { field, value })
}

fn unit_value(typed: &str) -> Result<String, Refusal> {
    let value = typed::decimal(typed, "the unit's value", "value")?;
    if value.is_zero() {
        let sentence =
            "The unit's value is an amount above 0, such as 14500; leave it empty if it is not known.";
        return Err(Refusal::at("unit_value", "value", sentence));
    }
    Ok(value.to_string())
}

fn one_of(value: String, choices: &[&str]) -> Result<String, Refusal> {
    if choices.contains(&value.as_str()) {
        return Ok(value);
    }
    let sentence = format!(
        "“{value}” is none of the choices. Accepted are {}.",
        words::list(choices)
    );
    Err(Refusal::at("choice_unknown", "value", sentence))
}

/// Answers *May it roll?*, with what the answer needs.
pub fn set_roll(change: &Change, answer: Option<Roll>) -> Result<Answer, Refusal> {
    let Some(given) = answer else {
        return change.one(What::Roll { answer: None });
    };
    if given.answer == RollAnswer::MayRoll
        && given.reason.trim().is_empty()
        && let Some(why) = roll::reason_needed(&change.now.job)
    {
        return Err(Refusal::at("roll_reason", "reason", why));
    }
    if given.answer == RollAnswer::WithLimits {
        if let Some(why) = roll::limits_refused(&change.now.job) {
            return Err(Refusal::at("limits_refused", "answer", why));
        }
        let limits = [&given.speed, &given.distance, &given.weather];
        for (field, value, what) in [
            ("reason", &given.reason, "the reason"),
            ("fix", &given.fix, "the temporary fix"),
        ] {
            if value.trim().is_empty() {
                return Err(Refusal::at(
                    "limits_need",
                    field,
                    format!("With limits, {what} is needed. Any words are accepted."),
                ));
            }
        }
        if limits.iter().all(|limit| limit.trim().is_empty()) {
            let sentence =
                "With limits, at least one limit is needed: speed, distance or weather, in any words.";
            return Err(Refusal::at("limits_need", "speed", sentence));
        }
    }
    let answer = Roll {
        answer: given.answer,
        reason: typed::text(&given.reason, "reason")?,
        fix: typed::text(&given.fix, "fix")?,
        speed: typed::text(&given.speed, "speed")?,
        distance: typed::text(&given.distance, "distance")?,
        weather: typed::text(&given.weather, "weather")?,
    };
    change.one(What::Roll { answer: Some(answer) })
}

/// Sets a measure of the body; an empty value takes it back to the body type's starting value.
pub fn set_plan(change: &Change, field: PlanField, value: &str) -> Result<Answer, Refusal> {
    let unit = change.now.unit;
    let typed = typed::text(value, "value")?;
    let value = if typed.is_empty() {
        None
    } else {
        Some(match field {
            PlanField::Bows | PlanField::Posts | PlanField::SideJoints | PlanField::RoofSeams => {
                PlanValue::Stations(typed::stations(&typed, unit)?)
            }
            PlanField::EarlierPatches => PlanValue::Places(typed::places(&typed, unit)?),
            PlanField::CompositeSides => PlanValue::YesNo(yes_no(&typed)?),
            _ => PlanValue::Length(typed::length(&typed, unit, "value")?),
        })
    };
    let mut plan = change.now.plan.clone();
    if let Some(value) = &value {
        crate::now::put_measure(&mut plan, field, value);
        plan.check().map_err(|e| Refusal::from(e).beside("value"))?;
    }
    change.one(What::Plan { field, value })
}

fn yes_no(typed: &str) -> Result<bool, Refusal> {
    match typed.to_lowercase().as_str() {
        "yes" | "true" => Ok(true),
        "no" | "false" => Ok(false),
        _ => Err(Refusal::at("choice_unknown", "value", "Accepted are yes and no.")),
    }
}

/// Surfaces were looked at, or not. The inside of a sealed unit cannot have been.
pub fn set_looked(
    change: &Change,
    surface: Surface,
    also: &[Surface],
    seen: bool,
) -> Result<Answer, Refusal> {
    let mut surfaces = also.to_vec();
    surfaces.insert(0, surface);
    surfaces.dedup();
    if seen && surfaces.iter().any(|surface| surface.is_inside()) && change.now.sealed().is_some() {
        let sentence =
            "This unit is sealed: its inside is not seen. Change the load on Arrival when the seal is off.";
        return Err(Refusal::at("not_seen", "surface", sentence));
    }
    change.save(
        None,
        surfaces
            .into_iter()
            .map(|surface| What::Looked { surface, seen })
            .collect(),
    )
}
