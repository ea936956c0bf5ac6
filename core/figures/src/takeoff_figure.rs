//! `bowseam figure roof-section`: the takeoff of a roof section, JSON in, JSON out.

use crate::basis::{Amount, Given, Line};
use crate::error::Error;
use crate::input::{Fields, count, json};
use crate::measure::{Length, Unit};
use crate::rules::RoofRules;
use crate::steps::{RoofWork, Step, Tolerances, Work};
use crate::takeoff::{Damage, MOST, RoofBody, RoofTakeoff, RoofWay, roof_section};
use rust_decimal::Decimal;
use rust_decimal::prelude::FromStr;
use serde_json::{Value, json};

const KNOWN: &[&str] = &["unit", "section", "body", "damage", "sound_bows", "shop"];
const BODY: &[&str] = &[
    "length",
    "width",
    "rail_width_outside",
    "bows",
    "rail_hole_pitch",
    "roof_sheet",
    "density_lb_in3",
    "roof_seams",
    "earlier_patches",
];
const SHOP: &[&str] = &[
    "seam_margin",
    "seam_lap",
    "seam_clear",
    "seam_strip",
    "seam_freed",
    "stretch_extra",
    "edge",
    "front_edge",
    "tape_rows",
    "seam_rivets_a_side",
    "seam_sealant_on_rail",
    "rivet_diameter",
    "large_section_from",
    "seal_edges",
    "bead",
    "waste",
    "cartridge_fl_oz",
    "sheet_widths",
];

/// Works out a roof section from JSON; names and meaning as documented for the command.
///
/// # Errors
/// What is missing, unknown or cannot be, with its JSON pointer.
pub fn figure(input: &Value) -> Result<Value, Error> {
    let fields = Fields::whole(input, KNOWN)?;
    let body = body(&fields.needed_object("body", BODY)?)?;
    let damage = fields.needed_object("damage", &["from", "to"])?;
    let (from, to) = (damage.needed_length("from")?, damage.needed_length("to")?);
    let most = u32::try_from(MOST).unwrap_or(u32::MAX);
    let sound = fields.list("sound_bows", |value, at| count(value, most).map_err(|e| e.at(at)))?;
    let rules = match fields.object("shop", SHOP)? {
        Some(shop) => rules(&shop)?,
        None => RoofRules::default(),
    };
    let way = match fields.word("section", &["front", "middle", "rear"])? {
        Some("middle") => RoofWay::MiddleSection,
        Some("rear") => RoofWay::RearSection,
        _ => RoofWay::Section,
    };
    let damage = Damage {
        from,
        to,
        sound: sound.as_deref(),
        scattered: false,
    };
    let taken = roof_section(&body, &damage, way, &rules, fields.unit)?;
    Ok(output(&taken, &rules, fields.unit))
}

fn body(fields: &Fields<'_>) -> Result<RoofBody, Error> {
    // The outside width is part of the plan; the sheet is measured over the rails.
    fields.length("width")?;
    let density = fields.number("density_lb_in3", 2)?;
    let patches = fields.list("earlier_patches", |value, at| {
        let patch = fields.entry(value, at, &["from", "to"])?;
        Ok([patch.needed_length("from")?, patch.needed_length("to")?])
    })?;
    Ok(RoofBody {
        length: fields.some_length("length")?,
        rail_width_outside: fields.some_length("rail_width_outside")?,
        bows: bows(fields)?,
        rail_hole_pitch: fields.some_length("rail_hole_pitch")?,
        roof_sheet: fields.some_length("roof_sheet")?,
        density: density.map_or_else(RoofBody::aluminium, |number| Given::shop(Amount(number))),
        seams: fields.lengths("roof_seams")?.unwrap_or_default(),
        patches: patches.unwrap_or_default(),
    })
}

fn bows(body: &Fields<'_>) -> Result<Vec<Length>, Error> {
    let bows = body.needed_object("bows", &["first", "spacing", "count", "stations"])?;
    if let Some(stations) = bows.lengths("stations")? {
        return Ok(stations);
    }
    let (first, spacing) = (bows.needed_length("first")?, bows.needed_length("spacing")?);
    let most = u32::try_from(MOST).unwrap_or(u32::MAX);
    let many = bows.count("count", most)?;
    let many = many.ok_or_else(|| bows.wrong("count", "input_missing", "The number of bows is missing."))?;
    Ok((0..i64::from(many))
        .map(|i| first.plus(spacing.times(i)))
        .collect())
}

fn rules(shop: &Fields<'_>) -> Result<RoofRules, Error> {
    let mut rules = RoofRules::default();
    rules.seam_margin.set(shop.length("seam_margin")?);
    rules.seam_lap.set(shop.length("seam_lap")?);
    rules.seam_clear.set(shop.length("seam_clear")?);
    rules.seam_strip.set(shop.length("seam_strip")?);
    rules.seam_freed.set(shop.length("seam_freed")?);
    rules.stretch_extra.set(shop.length("stretch_extra")?);
    rules.edge.set(shop.length("edge")?);
    rules.front_edge.set(shop.length("front_edge")?);
    rules.tape_rows.set(shop.count("tape_rows", 20)?);
    rules
        .seam_rivets_a_side
        .set(shop.count("seam_rivets_a_side", 100)?);
    rules
        .seam_sealant_on_rail
        .set(shop.length("seam_sealant_on_rail")?);
    rules.rivet_diameter.set(shop.length("rivet_diameter")?);
    rules.large_section_from.set(shop.length("large_section_from")?);
    rules.seal_edges.set(shop.flag("seal_edges")?);
    if let Some(bead) = shop.lengths("bead")? {
        let pair: Result<[Length; 2], _> = bead.try_into();
        let pair =
            pair.map_err(|_| shop.wrong("bead", "input_list", "A bead has two lengths: width and height."))?;
        rules.bead.set(Some(pair));
    }
    rules.waste.set(shop.number("waste", 10)?.map(Amount));
    rules
        .cartridge_fl_oz
        .set(shop.number("cartridge_fl_oz", 1_000)?.map(Amount));
    rules.sheet_widths.set(shop.lengths("sheet_widths")?);
    Ok(rules)
}

fn output(taken: &RoofTakeoff, rules: &RoofRules, unit: Unit) -> Value {
    let number = |length: Length| json(length.to_decimal(unit));
    let optional = |length: Option<Length>| length.map_or(Value::Null, number);
    let way = match taken.way {
        RoofWay::Section => "section",
        RoofWay::MiddleSection => "middle_section",
        RoofWay::RearSection => "rear_section",
        RoofWay::WholeRoof => "whole_roof",
    };
    json!({
        "way": way,
        "why": taken.why,
        "seam_bow": taken.seam_bow,
        "seam_station": optional(taken.seam_station),
        "front_seam_bow": taken.front_seam_bow,
        "front_seam_station": optional(taken.front_seam_station),
        "bows_hit": taken.bows_hit,
        "bows_opened": taken.bows_opened,
        "rough_length": number(taken.rough_length),
        "rough_width": optional(taken.rough_width),
        "finished_length": number(taken.finished_length),
        "finished_width": number(taken.finished_width),
        "weight_rough_lb": json(taken.weight_rough_lb.0),
        "weight_finished_lb": json(taken.weight_finished_lb.0),
        "lines": taken.lines.iter().map(line).collect::<Vec<_>>(),
        "steps": steps(taken, rules, unit),
        "warnings": taken.warnings,
    })
}

/// The work in order, each step with its cautions before it.
fn steps(taken: &RoofTakeoff, rules: &RoofRules, unit: Unit) -> Vec<Value> {
    let roof = RoofWork::of(taken, rules, false, false);
    let work = Work {
        unit,
        roof: Some(roof),
        others: Vec::new(),
        sealed: false,
        wiring_seen: false,
        cure: None,
        wind_limit: None,
        tolerances: Tolerances::default(),
    };
    let step = |step: Step| {
        json!({
            "key": step.key, "title": step.title, "cautions": step.cautions, "text": step.text,
            "stop_and_check": step.stop_and_check,
        })
    };
    crate::steps::steps(&work).into_iter().map(step).collect()
}

/// A takeoff line with its quantity as a number.
fn line(line: &Line) -> Value {
    let quantity = Decimal::from_str(&line.quantity).map_or(Value::Null, json);
    let mut value = json!({
        "item": line.item, "quantity": quantity, "unit": line.unit, "basis": line.basis, "standing": line.standing,
    });
    if let (Some(map), Some(more)) = (value.as_object_mut(), &line.more) {
        map.insert("more".to_owned(), Value::from(more.as_str()));
    }
    value
}
