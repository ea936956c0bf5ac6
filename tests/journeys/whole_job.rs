//! One job from the first photo to the office and back, by three people: what the product is for.

use crate::{job_in, photo, signed_in, steps::do_step};
use bowseam_tests::{Page, Program};

#[test]
fn one_job_from_the_first_photo_to_the_packet() {
    let (program, page) = (Program::serve(), Page::phone());
    let field = |screen: &str, job: &str| format!("{}field/{screen}.html?job={job}", program.base);

    // The inspector, at the trailer.
    signed_in(&page, &program, "I. Quill");
    page.tap("Add a unit");
    page.fill("Unit number", "8801");
    page.tap("Open");
    page.see("May it roll?");
    let job = job_in(&page.address());
    page.tap("empty");
    page.fill("Yard slot", "bay 3");
    page.tap("Park it");
    page.fill(
        "Reason, if there is one to tell",
        "The roof sheet can lift in the wind.",
    );
    page.give_files(
        "input[type=file][multiple]",
        &[photo("4417-nose-roadside.jpg"), photo("4417-rear-curbside.jpg")],
    );
    page.see("2 photos of 2 kept");
    page.tap("dry van, 53 ft");
    page.fill("Built when", "2019-02-26");
    page.fill("VIN", "1ZZV53206KB004417");
    mark(
        &page,
        &field("mark", &job),
        "roof",
        ["3", "149", "7", "95"],
        "tear",
        "roof sheet",
        "4417-roof-tear.jpg",
    );
    mark(
        &page,
        &field("mark", &job),
        "nose",
        ["0", "102", "104", "110"],
        "bend",
        "nose rail",
        "4417-nose-rail.jpg",
    );

    // The technician: ways, figures, the ask.
    signed_in(&page, &program, "T. Marrow");
    page.open(&field("ways", &job));
    page.see("seam");
    page.tap("Use this way");
    page.see("chosen");
    page.open(&field("figures", &job));
    page.see("seam rivets");
    page.tap("Ask for go-ahead");
    page.see("asked the office");

    // The office gives its go-ahead.
    let office = Page::phone();
    office.open(&format!("{}office/", program.base));
    office.tap("S. Fennick");
    office.fill("PIN", "1234");
    office.tap("Sign in");
    office.until("the job has come in", || {
        office
            .look(&format!("{}office/list.html", program.base))
            .contains("8801")
    });
    office.tap("8801");
    office.see("Give go-ahead");
    office.fill("Note", "Go on, keep it dry.");
    office.tap("Give go-ahead");
    office.see("Go on, keep it dry.");

    // Back on the phone it is there without anybody doing anything but looking.
    page.until("the go-ahead has come", || {
        page.look(&field("figures", &job)).contains("Go on, keep it dry.")
    });

    // Roof-off check: a no-go says what is missing and does not open.
    page.open(&field("roof_off", &job));
    page.see("No go. Do not open the roof yet.");
    fill_roof_off(&page);
    page.see("Go. Everything is on hand");
    page.tap("Open the roof");
    page.see("The roof was opened");

    // The work; after the third step more is found, agreed on, and the work goes on.
    page.open(&field("steps", &job));
    for _ in 0..3 {
        assert!(do_step(&page));
    }
    found_more(&page, &office, &program, &job);
    page.open(&field("steps", &job));
    while do_step(&page) {}

    // Proof, with after photos at the same marks.
    prove(&page, &field("proof", &job));

    // Release by a person who may, and the packet.
    signed_in(&page, &program, "S. Fennick");
    page.open(&field("handover", &job));
    page.see("Nothing lacks.");
    page.tap("Release");
    page.tap("Hand over");
    page.see("Handed over");
    page.tap("Read and print");
    page.see("8801");
    for words in [
        "Park it",
        "The roof sheet can lift in the wind.",
        "seam rivets",
        "Go on, keep it dry.",
        "bow 8 is cracked",
        "SHA-256",
    ] {
        page.see(words);
    }
    // And the office has it all.
    office.until("the office has the handover", || {
        let words = office.look(&format!("{}office/list.html", program.base));
        words
            .split("8801")
            .nth(1)
            .is_some_and(|rest| rest.chars().take(80).collect::<String>().contains("Handed over"))
    });
}

fn mark(page: &Page, address: &str, surface: &str, place: [&str; 4], kind: &str, part: &str, file: &str) {
    page.open(&format!("{address}&surface={surface}"));
    let labels = match surface {
        "roof" => [
            "From station",
            "To station",
            "Nearer edge, from the roadside edge",
            "Farther edge, from the roadside edge",
        ],
        _ => [
            "From, from the roadside edge",
            "To, from the roadside edge",
            "Lower edge, above the bottom rail",
            "Upper edge, above the bottom rail",
        ],
    };
    for (label, text) in labels.into_iter().zip(place) {
        page.fill(label, text);
    }
    page.tap("Place it");
    page.see("What is wrong?");
    page.tap(kind);
    page.see("On which part?");
    page.tap(part);
    page.see("Old damage or new?");
    page.tap("new");
    page.see("Photos of it");
    page.give_files("input[type=file][multiple]", &[photo(file)]);
    page.see("1 photo of 1 kept");
}

fn fill_roof_off(page: &Page) {
    // Every thing on hand, with the place that stock offers or one that is typed; then the conditions of the day.
    let open = "return [...document.querySelectorAll('main [data-key]')].filter(e => e.dataset.key.endsWith('=yes') && !e.querySelector('input').checked).map(e => e.dataset.key)";
    page.until("rows to answer", || {
        !page.run(open).as_array().unwrap().is_empty()
    });
    while let Some(key) = page
        .run(open)
        .as_array()
        .unwrap()
        .first()
        .and_then(|k| k.as_str())
        .map(str::to_owned)
    {
        page.tap_css(&format!("[data-key={:?}]", key));
        page.until("the answer is kept", || {
            page.run(open).as_array().unwrap().iter().all(|k| k != &key)
        });
    }
    let empty = "return [...document.querySelectorAll('main input:not([type=radio])')].filter(i => i.getClientRects().length && !i.value).map(i => i.labels[0].innerText.trim())";
    while let Some(label) = page
        .run(empty)
        .as_array()
        .unwrap()
        .first()
        .and_then(|l| l.as_str())
        .map(str::to_owned)
    {
        let lower = label.to_lowercase();
        let text = if lower.contains("people") {
            "4"
        } else if lower.contains("dry") {
            "40"
        } else {
            "rack R"
        };
        page.fill(&label, text);
        std::thread::sleep(std::time::Duration::from_millis(300));
    }
}

fn found_more(page: &Page, office: &Page, program: &Program, job: &str) {
    page.tap("Found more");
    page.fill("What did you find?", "bow 8 is cracked at the curbside end");
    page.tap("Next: photo");
    page.until("the find is kept", || page.address().contains("found="));
    page.give_files("input[type=file][multiple]", &[photo("4417-bows-inside.jpg")]);
    page.see("1 photo");
    let found = page.address();
    page.tap("Mark it");
    page.until("the fold-out", || page.address().contains("fold_out"));
    let found_id: String = found.split("found=").nth(1).unwrap().chars().take(36).collect();
    page.open(&format!(
        "{}field/mark.html?job={job}&found={found_id}&surface=roof",
        program.base
    ));
    for (label, text) in [
        ("From station", "190"),
        ("To station", "194"),
        ("Nearer edge, from the roadside edge", "80"),
        ("Farther edge, from the roadside edge", "98"),
    ] {
        page.fill(label, text);
    }
    page.tap("Place it");
    page.see("What is wrong?");
    page.tap("crack");
    page.see("On which part?");
    page.tap("roof bow");
    page.tap("new");
    page.see("Photos of it");
    page.open(&found);
    page.tap("Ask");
    page.see("asked the office");
    office.until("the found more has come in, before all others", || {
        office
            .look(&format!("{}office/list.html", program.base))
            .contains("Found more, units open")
    });
    office.tap("8801");
    office.see("bow 8 is cracked");
    office.tap("Go-ahead for this");
    office.see_no("Go-ahead for this");
    page.until("the answer has come", || page.look(&found).contains("Go-ahead"));
}

fn prove(page: &Page, address: &str) {
    page.open(address);
    page.see("Before and after");
    let open = "return [...document.querySelectorAll('main [data-key$=\"=yes\"]')].filter(e => !e.querySelector('input').checked).map(e => e.dataset.key)";
    while let Some(key) = page
        .run(open)
        .as_array()
        .unwrap()
        .first()
        .and_then(|k| k.as_str())
        .map(str::to_owned)
    {
        page.tap_css(&format!("[data-key={:?}]", key));
        page.until("the answer is kept", || {
            page.run(open).as_array().unwrap().iter().all(|k| k != &key)
        });
    }
    let pairs = "return document.querySelectorAll('main .pair input[type=file][multiple], main .pairs input[type=file][multiple]').length";
    let count = page.run(pairs).as_u64().unwrap();
    for n in 0..count {
        page.run(&format!("document.querySelectorAll('main .pair input[type=file][multiple], main .pairs input[type=file][multiple]')[{n}].id = 'after-now'"));
        page.give_files(
            "#after-now",
            &[photo(
                [
                    "5026-roof-after.jpg",
                    "5026-side-after.jpg",
                    "4417-rear-roadside.jpg",
                    "6071-roof.jpg",
                ][usize::try_from(n).unwrap() % 4],
            )],
        );
        std::thread::sleep(std::time::Duration::from_millis(800));
    }
}
