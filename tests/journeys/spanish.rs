//! What the core says, as a phone that speaks Spanish shows it: every way of every part, and people's own words left alone.

use crate::{job_in, signed_in};
use bowseam_tests::{Page, Program};
use serde_json::Value;

/// Parts with a face each, and places there: from, to, low, high, so that small and large damage meet every way.
const PLACES: [(&str, &str, &[[u32; 4]]); 27] = [
    (
        "roof_sheet",
        "roof",
        &[
            [300, 306, 40, 46],
            [30, 60, 10, 90],
            [290, 330, 10, 90],
            [560, 600, 10, 90],
            [10, 630, 10, 90],
        ],
    ),
    ("roof_bow", "roof", &[[290, 294, 40, 46], [286, 320, 10, 90]]),
    ("front_roof_bow", "roof", &[[1, 6, 40, 46]]),
    (
        "side_sheet",
        "curbside",
        &[[108, 112, 40, 50], [108, 140, 20, 90], [200, 204, 4, 9]],
    ),
    ("nose_wall", "nose", &[[40, 46, 40, 50], [20, 80, 20, 90]]),
    ("nose_rail", "nose", &[[40, 46, 106, 110], [10, 90, 106, 110]]),
    ("corner_post", "nose", &[[0, 4, 40, 50]]),
    ("corner_cap", "nose", &[[0, 4, 100, 110]]),
    (
        "top_rail",
        "curbside",
        &[[200, 206, 104, 108], [0, 4, 104, 108], [200, 300, 104, 108]],
    ),
    ("bottom_rail", "curbside", &[[200, 206, 0, 3]]),
    ("rear_header", "rear", &[[40, 46, 100, 106]]),
    ("rear_frame", "rear", &[[0, 4, 40, 46]]),
    ("side_post", "curbside", &[[111, 113, 40, 50], [111, 113, 1, 3]]),
    ("scuff_band", "inside_curbside", &[[100, 140, 4, 10]]),
    (
        "lining",
        "inside_curbside",
        &[[110, 130, 30, 50], [110, 330, 10, 90]],
    ),
    ("floor", "floor", &[[100, 130, 20, 40]]),
    ("crossmember", "floor", &[[100, 104, 20, 40]]),
    ("kingpin", "floor", &[[30, 34, 48, 52]]),
    ("landing_gear", "curbside", &[[100, 104, 0, 4]]),
    ("mud_flap", "rear", &[[0, 20, 0, 10]]),
    ("rear_guard", "rear", &[[10, 90, 0, 4]]),
    ("door", "rear", &[[20, 26, 40, 50], [10, 45, 10, 90]]),
    ("hinge", "rear", &[[0, 3, 40, 50]]),
    ("lamp", "rear", &[[40, 44, 100, 104]]),
    ("harness", "curbside", &[[100, 110, 2, 4]]),
    ("reflective_sheeting", "curbside", &[[100, 130, 1, 4]]),
    ("decal", "curbside", &[[100, 130, 50, 70]]),
];

#[test]
fn whatever_is_repaired_its_steps_cautions_checks_and_waits_are_said_in_spanish() {
    let (program, page) = (Program::serve(), Page::phone());
    signed_in(&page, &program, "T. Marrow");
    let (mut steps, mut english) = (0, Vec::new());
    for (part, surface, places) in PLACES {
        for place in places {
            let head =
                format!("const [PART, SURFACE, PLACE] = ['{part}', '{surface}', {place:?}.map(String)];");
            let script = include_str!("spanish.js");
            let heard = page.run(&format!("return (async () => {{ {head} {script} }})()"));
            let of_part = heard["steps"].as_u64().unwrap();
            assert!(of_part > 0, "no steps of {part} at {place:?}");
            steps += of_part;
            english.extend(
                heard["english"]
                    .as_array()
                    .unwrap()
                    .iter()
                    .map(|pair| format!("{part}: {pair}")),
            );
        }
    }
    assert!(steps > 1000, "{steps} steps");
    assert!(english.is_empty(), "{}", english.join("\n"));
}

/// Sets the language of this browser.
const SPANISH: &str = "localStorage.setItem('bowseam-language', 'es')";

#[test]
fn what_people_wrote_stays_as_it_is_where_the_core_speaks_spanish() {
    let (program, page) = (Program::serve(), Page::phone());
    signed_in(&page, &program, "T. Marrow");
    page.tap("5026");
    page.until("a job", || page.address().contains("job="));
    let job = job_in(&page.address());
    page.run(SPANISH);
    // A note that the core's table has word for word, at a place where people write.
    let words = page.look(&format!("{}field/steps.html?job={job}", program.base));
    assert!(words.contains("Dejar curar"), "{words}");
    page.fill("Nota para el turno siguiente", "Leak test: dry");
    page.see("Leak test: dry");
    // The technician's way by hand and the office's note, beside words of the core.
    let words = page.look(&format!("{}field/figures.html?job={job}", program.base));
    for (own, said) in [
        (
            "Lapped patch over sound sheet.",
            "lámina lateral (lado chofer), tallón",
        ),
        ("Before Friday, please.", "S. Fennick dio el visto bueno."),
    ] {
        assert!(words.contains(own) && words.contains(said), "{words}");
    }
    // A choice goes to the core in its own words: it is kept, and said again in Spanish.
    let saved: Value = page.run(&format!(
        "return (async () => {{
            const {{ ask, askFor }} = await import('/parts/ask.js');
            const steps = (await askFor('steps', {{ kind: 'steps', job: '{job}' }})).steps;
            const [step, value] = steps.flatMap((step) => step.values.map((value) => [step, value])).find(([step, value]) => value.key === 'leak');
            await ask({{ kind: 'measure', job: '{job}', step: step.key, value: value.key, measured: value.otherwise + ': bow 7, Quinn looked', reason: 'rain', zone: null }});
            const again = (await askFor('steps', {{ kind: 'steps', job: '{job}' }})).steps.find((one) => one.key === step.key);
            return [again.values[0].what, again.values[0].measured.text];
        }})()"
    ));
    assert_eq!(
        saved,
        serde_json::json!([
            "Por dentro, bajo cada costura, riel y parche",
            "not dry: bow 7, Quinn looked"
        ])
    );
    let words = page.look(&format!(
        "{}field/steps.html?job={job}&step=leak_test",
        program.base
    ));
    assert!(
        words.contains("no está seco") && words.contains("seco"),
        "{words}"
    );
}

#[test]
fn a_refusal_is_said_in_spanish_beside_its_field() {
    let (program, page) = (Program::serve(), Page::phone());
    signed_in(&page, &program, "T. Marrow");
    page.tap("4417");
    page.until("a job", || page.address().contains("job="));
    let job = job_in(&page.address());
    page.run(SPANISH);
    let _ = page.look(&format!("{}field/fold_out.html?job={job}", program.base));
    page.tap("Medidas de la caja");
    page.fill("Largo exterior", "largo");
    page.see("“largo” no se entiende como medida. Se aceptan por ejemplo 63 3/8 in");
}
