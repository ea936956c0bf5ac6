//! A go-ahead for a part up to a ceiling: what it holds, and what happens above it.

use crate::{
    door::Yard,
    office::{asked, figures, money, refused},
};
use serde_json::{Value, json};

/// A part has a ceiling too: the part alone is held against it, its sum is what is agreed, and above it the whole asks anew.
pub fn a_part_up_to_a_ceiling() {
    let yard = Yard::new();
    let (job, [curbside, roadside]) = asked(&yard, "3302");
    let hash = figures(&yard, &job)["hash"].clone();
    let sum = yard.get_office(json!({"kind": "part_sum", "job": job, "hash": hash, "groups": [curbside]}));
    let sum = money(&sum["amount"]);
    let go = |ceiling: f64| {
        json!({"kind": "go_ahead", "job": job, "hash": hash, "amount": "5", "note": "", "groups": [curbside],
            "ceiling": format!("{ceiling:.2}")})
    };
    let said = refused(&yard, "ceiling_low", go(sum - 0.01));
    assert!(said.contains(&format!("{sum:.2}")), "{said}");
    yard.get_office(go(sum + 10.0));

    let given = figures(&yard, &job);
    assert_eq!(
        money(&given["agreed_total"]),
        sum,
        "as figured, whatever amount was typed beside it"
    );
    let stand = &given["go_ahead"];
    assert_eq!(
        (
            money(&stand["ceiling"]),
            money(&given["given"]["under_ceiling"]),
            stand["over"].clone()
        ),
        (sum + 10.0, 10.0, Value::Null)
    );
    let said = stand["words"].as_str().unwrap();
    assert!(
        said.contains("for a part up to a ceiling") && said.contains("Not for:"),
        "{said}"
    );

    let set = |mark: &str, side: &str, to: &str| {
        let place = json!({"surface": side, "from": "120", "to": to, "low": "40", "high": "52"});
        yard.get_office(json!({"kind": "set_mark", "job": job, "mark": mark, "place": place}));
        figures(&yard, &job)
    };
    // What was left out may grow: it is not what the ceiling is of.
    let rest = set(&roadside, "roadside", "140");
    assert_eq!(
        (rest["go_ahead"]["state"].clone(), money(&rest["agreed_total"])),
        (json!("go_ahead"), sum)
    );
    // The part grows below its ceiling: it stays a part, at what it comes to now.
    let more = set(&curbside, "curbside", "131.5");
    assert_ne!(more["hash"], hash);
    let agreed = money(&more["agreed_total"]);
    assert_eq!(
        more["go_ahead"]["state"], "go_ahead",
        "{}",
        more["go_ahead"]["words"]
    );
    assert_eq!(more["go_ahead"]["groups"], json!([curbside]));
    assert!(agreed > sum && agreed <= sum + 10.0, "{agreed} of {sum}");
    assert_eq!(money(&more["given"]["amount"]), agreed);
    assert!((money(&more["given"]["under_ceiling"]) - (sum + 10.0 - agreed)).abs() < 0.005);
    let steps = || yard.get_office(json!({"kind": "steps", "job": job}));
    assert!(steps()["shut"].is_null());
    // The packet says the ceiling; without prices it says only that there is one.
    let packet = |prices: bool| {
        yard.get_office(json!({"kind": "packet", "job": job, "prices": prices, "form": "json"}))
            .to_string()
    };
    let ceiling = format!("{:.2}", sum + 10.0);
    assert!(packet(true).contains(&ceiling));
    assert!(!packet(false).contains(&ceiling) && packet(false).contains("up to a ceiling"));
    // Above it nothing is agreed: it is asked again, and how far it is above is said.
    let over = set(&curbside, "curbside", "133");
    let stand = &over["go_ahead"];
    assert_eq!(stand["state"], "stale");
    let said = stand["words"].as_str().unwrap();
    assert!(said.contains("that part comes to more now"), "{said}");
    assert!(
        money(&stand["over"]) > 0.0 && money(&stand["ceiling"]) == sum + 10.0,
        "{stand}"
    );
    assert_eq!(
        (over["agreed_total"].clone(), over["given"].clone()),
        (Value::Null, Value::Null)
    );
    assert!(!steps()["shut"].is_null());
}
