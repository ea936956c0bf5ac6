//! `bowseam figure side-patch`: JSON in, JSON out.

use crate::basis::{Amount, Line};
use crate::error::Error;
use crate::input::{Fields, json};
use crate::joint::table_of;
use crate::measure::{Length, Unit};
use crate::side_patch::{MOST_ROWS, Rect, SideBody, SideRules, SideTakeoff, SideWay, side_patch};
use rust_decimal::Decimal;
use rust_decimal::prelude::FromStr;
use serde_json::{Value, json};

const KNOWN: &[&str] = &[
    "unit",
    "way",
    "body",
    "side",
    "damage",
    "sheet",
    "diameter",
    "table",
    "posts",
    "sheet_joints",
    "earlier_patches",
    "shop",
];
const RECT: &[&str] = &["from", "to", "low", "high"];
const SHOP: &[&str] = &[
    "clean_margin",
    "rows",
    "pitch",
    "edge_d",
    "corner_radius",
    "rail_gap",
    "patch_gap",
    "section_strip",
    "film",
    "sheet_lap",
    "joint_pitch",
    "post_pitch",
];

/// Works out a side patch from JSON; names and meaning as documented for the command.
///
/// # Errors
/// What is missing, unknown or cannot be, with its JSON pointer.
pub fn figure(input: &Value) -> Result<Value, Error> {
    let fields = Fields::whole(input, KNOWN)?;
    let body = fields.needed_object("body", &["length", "side_height"])?;
    if fields.word("side", &["curbside", "roadside"])?.is_none() {
        let sentence = "“side” is missing: \"curbside\" or \"roadside\" is expected.";
        return Err(fields.wrong("side", "input_missing", sentence));
    }
    let damage = rect(&fields.needed_object("damage", RECT)?)?;
    let earlier = fields.list("earlier_patches", |value, at| {
        rect(&fields.entry(value, at, RECT)?)
    })?;
    let body = SideBody {
        length: body.some_length("length")?,
        side_height: body.some_length("side_height")?,
        posts: fields.lengths("posts")?.unwrap_or_default(),
        sheet_joints: fields.lengths("sheet_joints")?.unwrap_or_default(),
        earlier_patches: earlier.unwrap_or_default(),
        sheet: fields.some_length("sheet")?,
    };
    let mut rules = match fields.object("shop", SHOP)? {
        Some(shop) => rules(&shop)?,
        None => SideRules::default(),
    };
    let way = match fields.word("way", &["patch", "section", "whole_sheet"])? {
        Some("section") => SideWay::Section,
        Some("whole_sheet") => SideWay::WholeSheet,
        _ => SideWay::Patch,
    };
    rules.diameter.set(Some(fields.some_length("diameter")?));
    rules.table.set(Some(table_of(&fields)?));
    let taken = side_patch(&body, damage, &rules, way, fields.unit)?;
    Ok(output(&taken, fields.unit))
}

fn rect(fields: &Fields<'_>) -> Result<Rect, Error> {
    Ok(Rect {
        from: fields.needed_length("from")?,
        to: fields.needed_length("to")?,
        low: fields.needed_length("low")?,
        high: fields.needed_length("high")?,
    })
}

fn rules(shop: &Fields<'_>) -> Result<SideRules, Error> {
    let mut rules = SideRules::default();
    rules.clean_margin.set(shop.length("clean_margin")?);
    rules.rows.set(shop.count("rows", MOST_ROWS)?.map(Some));
    rules.pitch.set(shop.length("pitch")?.map(Some));
    rules.edge_d.set(shop.number("edge_d", 20)?.map(Amount));
    rules.corner_radius.set(shop.length("corner_radius")?);
    rules.rail_gap.set(shop.length("rail_gap")?);
    rules.patch_gap.set(shop.length("patch_gap")?);
    rules.section_strip.set(shop.length("section_strip")?);
    rules.film.set(shop.length("film")?);
    rules.sheet_lap.set(shop.length("sheet_lap")?);
    rules.joint_pitch.set(shop.length("joint_pitch")?);
    rules.post_pitch.set(shop.length("post_pitch")?);
    Ok(rules)
}

fn output(taken: &SideTakeoff, unit: Unit) -> Value {
    let number = |length: Length| json(length.to_decimal(unit));
    let rect = |rect: Rect| json!({"from": number(rect.from), "to": number(rect.to), "low": number(rect.low), "high": number(rect.high)});
    let way = match taken.way {
        SideWay::Patch => "patch",
        SideWay::Section => "section",
        SideWay::WholeSheet => "whole_sheet",
    };
    json!({
        "way": way,
        "cut_out": rect(taken.cut_out),
        "patch": rect(taken.patch),
        "sheet": rect(taken.sheet),
        "sheets": taken.sheets,
        "cuts": taken.cuts.iter().map(|at| number(*at)).collect::<Vec<_>>(),
        "overlap": number(taken.overlap),
        "rows": taken.rows,
        "pitch": number(taken.pitch),
        "edge": number(taken.edge),
        "corner_radius": number(taken.corner_radius),
        "rivets": taken.rivets,
        "rivet_length": taken.rivet_length.map(number),
        "posts": taken.posts,
        "why": taken.why,
        "lines": taken.lines.iter().map(line).collect::<Vec<_>>(),
        "warnings": taken.warnings,
    })
}

/// A takeoff line with its quantity as a number.
fn line(line: &Line) -> Value {
    let quantity = Decimal::from_str(&line.quantity).map_or(Value::Null, json);
    json!({
        "item": line.item, "quantity": quantity, "unit": line.unit, "basis": line.basis,
        "standing": line.standing, "more": line.more,
    })
}
