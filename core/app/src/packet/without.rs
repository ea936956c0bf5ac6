//! The packet without prices: everything that says what something costs is left out, the rest stays as it is.

use serde_json::Value;

/// Keys that hold money, wherever they stand below the figures and what was found.
const MONEY: [&str; 18] = [
    "agreed_total",
    "added_total",
    "allowance",
    "amount",
    "ceiling",
    "changed",
    "labour",
    "material",
    "old_damage",
    "over",
    "range",
    "rate",
    "supplies",
    "supplies_basis",
    "tax",
    "tax_basis",
    "total",
    "unit_price",
];

/// The packet's JSON without prices.
pub fn prices(mut packet: Value) -> Value {
    for part in ["figures", "found"] {
        if let Some(part) = packet.get_mut(part) {
            strip(part);
        }
    }
    // What a found more adds stands in its row as an amount, beside its own figures.
    for found in packet
        .get_mut("found")
        .and_then(Value::as_array_mut)
        .into_iter()
        .flatten()
    {
        if let Some(row) = found.get_mut("row").and_then(Value::as_object_mut) {
            row.remove("added");
        }
    }
    packet
}

fn strip(value: &mut Value) {
    match value {
        Value::Object(fields) => {
            fields.retain(|key, _| !MONEY.contains(&key.as_str()));
            fields.values_mut().for_each(strip);
        }
        Value::Array(items) => items.iter_mut().for_each(strip),
        _ => {}
    }
}
