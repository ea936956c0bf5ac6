//! One job from the first photo to the office and back, by three people: what the product is for.

use crate::{at_the_office, job_in, new_photo, photo, signed_in, steps::do_step};
use bowseam_jobs::Store;
use bowseam_tests::{Page, Program};
use std::path::Path;

#[test]
fn one_job_from_the_first_photo_to_the_packet() {
    let folder = tempfile::tempdir().unwrap();
    let (program, page) = (Program::serve_on(folder.path()), Page::phone());
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
    // The one that came last is asked for first; what lacks is then named.
    page.see("What does this photo show?");
    page.tap("Curbside corner, rear");
    page.see("the roadside corner at the rear, the roof and the inside of the unit");
    page.see("(1 photo of it there, not said what of)");
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
    page.see("Take the choice away");
    page.open(&field("figures", &job));
    page.see("seam rivets");
    page.tap("Ask for go-ahead");
    page.see("asked the office");

    // The office gives its go-ahead.
    let office = at_the_office(&program);
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
    page.tap("Give the go");
    page.see("Go was given");

    // The work; after the third step more is found, agreed on, and the work goes on.
    page.open(&field("steps", &job));
    page.tap("Start time");
    page.see("Pause");
    for _ in 0..3 {
        assert!(do_step(&page));
        // Whose time ran works on: it runs at the next step.
        page.see("Pause");
    }
    found_more(&page, &office, &program, &job);
    page.open(&field("steps", &job));
    while do_step(&page) {}
    page.see("a leak test before says nothing");

    // Proof, by another person than the one who did the work, with after photos at the same marks. The leak test
    // waits for the cure of the label, and the unit is not released before it.
    signed_in(&page, &program, "D. Sorrel");
    prove(&page, &field("proof", &job));
    assert_eq!(leak(&page), "waits");
    signed_in(&page, &program, "S. Fennick");
    page.open(&field("handover", &job));
    page.see("Leak test");
    let data = program.data().to_owned();
    drop(office);
    program.kill();
    cures_at_once(&data);
    let program = Program::serve_on(&data);
    let field = |screen: &str, job: &str| format!("{}field/{screen}.html?job={job}", program.base);
    signed_in(&page, &program, "D. Sorrel");
    page.until("the book has come from the office", || {
        page.open(&field("proof", &job));
        page.until("the leak row", || !leak(&page).is_empty());
        leak(&page) == "open"
    });
    signed_in(&page, &program, "T. Marrow");
    page.open(&field("steps", &job));
    while do_step(&page) {}
    page.see("All steps are done.");
    signed_in(&page, &program, "D. Sorrel");
    prove(&page, &field("proof", &job));

    // Release by a person who may, and the packet.
    signed_in(&page, &program, "S. Fennick");
    page.open(&field("handover", &job));
    page.see("May it roll? still says Park it");
    page.open(&field("arrival", &job));
    page.see("Answered by");
    page.tap("May roll");
    page.see("Answered by S. Fennick");
    page.open(&field("handover", &job));
    page.see("Nothing lacks.");
    page.tap("Release");
    page.tap("Hand over");
    page.see("Handed over");
    page.tap("Read and print");
    for words in [
        "8801",
        "May roll",
        "The roof sheet can lift in the wind.",
        "seam rivets",
        "Go on, keep it dry.",
        "bow 8 is cracked",
        "SHA-256",
    ] {
        page.see(words);
    }
    let office = at_the_office(&program);
    office.see("1 left");
    // And the office has it all.
    office.until("the office has the handover", || {
        let words = office.look(&format!("{}office/list.html?show=left", program.base));
        words
            .split("8801")
            .nth(1)
            .is_some_and(|rest| rest.chars().take(80).collect::<String>().contains("Handed over"))
    });
}

fn mark(page: &Page, address: &str, surface: &str, place: [&str; 4], kind: &str, part: &str, file: &str) {
    put_mark(page, address, surface, place, kind, part);
    page.give_files("input[type=file][multiple]", &[photo(file)]);
    page.see("1 photo of 1 kept");
}

/// Puts a new damage on the body, its place typed, up to the question for photos.
fn put_mark(page: &Page, address: &str, surface: &str, place: [&str; 4], kind: &str, part: &str) {
    page.open(&format!("{address}&surface={surface}"));
    let labels = match surface {
        "roof" => [
            "From station, back from the nose",
            "To station, back from the nose",
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
}

/// Answers what is missing, shelf by shelf: all that stock has at a place with one tap, what has no place yet with one
/// typed place, what is still to be bought by itself; then the conditions of the day.
fn fill_roof_off(page: &Page) {
    let next = "const shown = (e) => e.getClientRects().length > 0; \
        const all = [...document.querySelectorAll('button[data-key$=\"/all\"]')].find(shown); if (all) return ['tap', all.dataset.key]; \
        const field = [...document.querySelectorAll('.shelf > .field input')].find(shown); if (field) return ['fill', field.labels[0].innerText.trim()]; \
        const row = document.querySelector('.check-row:not(.ok)'); if (!row) return ['done', '']; \
        const radio = row.querySelector('input[value=have]'); if (radio && !radio.checked) return ['tap', radio.closest('[data-key]').dataset.key]; \
        for (const details of row.querySelectorAll('details')) details.open = true; \
        const input = row.querySelector('input:not([type=radio])'); return input ? ['fill', input.labels[0].innerText.trim()] : ['wait', '']";
    page.until("rows to answer", || {
        page.run("return document.querySelectorAll('.check-row:not(.ok)').length > 0") == true
    });
    for _ in 0..60 {
        let act = page.run(next);
        let what = act[1].as_str().unwrap().to_owned();
        match act[0].as_str().unwrap() {
            "done" => return,
            "tap" => page.tap_css(&format!("[data-key={what:?}]")),
            "fill" => {
                let lower = what.to_lowercase();
                let text = if lower.starts_with("people") {
                    "4"
                } else if lower.starts_with("dry") {
                    "40"
                } else {
                    "rack R"
                };
                page.fill(&what, text);
            }
            _ => {}
        }
        page.until("it is taken in", || page.run(next) != act);
    }
    panic!("the Roof-off check is never complete");
}

fn found_more(page: &Page, office: &Page, program: &Program, job: &str) {
    page.tap("Found more");
    page.fill("What did you find?", "bow 8 is cracked at the curbside end");
    // The line is saved when the field is left; the rest of the find follows at once.
    page.until("the find is kept", || page.address().contains("found="));
    page.give_files("input[type=file][multiple]", &[photo("4417-bows-inside.jpg")]);
    // Once it is drawn: what is tapped while the page moves under the finger is tapped beside.
    page.until("the photo is shown", || {
        page.run("return document.querySelectorAll('main button.thumb').length") == 1
    });
    let found = page.address();
    page.tap("Mark it");
    page.until("the fold-out", || page.address().contains("fold_out"));
    let found_id: String = found.split("found=").nth(1).unwrap().chars().take(36).collect();
    let address = format!("{}field/mark.html?job={job}&found={found_id}", program.base);
    put_mark(
        page,
        &address,
        "roof",
        ["190", "194", "80", "98"],
        "crack",
        "roof bow",
    );
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
    page.until("the answer has come", || {
        page.look(&found).contains("gave the go-ahead")
    });
}

/// Answers every row of Proof that can be answered now, and gives each pair its after photo.
fn prove(page: &Page, address: &str) {
    page.open(address);
    page.see("Before and after");
    let open = "return [...document.querySelectorAll('details.check-row:not(.ok)')].filter(e => e.querySelector('[data-key$=\"=yes\"]')).map(e => e.dataset.key)";
    while let Some(row) = first(page, open) {
        let inside = format!("[data-key={row:?}]");
        page.run(&format!("document.querySelector({inside:?}).open = true"));
        if page.run(&format!(
            "return !!document.querySelector({inside:?} + ' [data-key$=\"/value\"] input')"
        )) == true
        {
            page.run(&format!("document.querySelector({inside:?} + ' [data-key$=\"/value\"] input').setAttribute('aria-label', 'now: measured')"));
            page.fill("now: measured", "102 in");
        }
        page.tap_css(&format!("{inside} [data-key$='=yes']"));
        page.until("the answer is kept", || {
            page.run(open).as_array().unwrap().iter().all(|k| k != &row)
        });
    }
    let wanted = "return [...document.querySelectorAll('main section')].filter(s => s.innerText.includes('No after photo yet.') && s.querySelector('input[type=file][multiple]') && !s.querySelector('section section')).length";
    while page.run(wanted).as_u64().unwrap() > 0 {
        let before = page.run(wanted);
        page.run("[...document.querySelectorAll('main section')].filter(s => s.innerText.includes('No after photo yet.') && s.querySelector('input[type=file][multiple]')).pop().querySelector('input[type=file][multiple]').id = 'after-now'");
        page.give_files("#after-now", &[new_photo()]);
        page.until("the after photo is there", || page.run(wanted) != before);
    }
}

/// The first of the texts that a script lists.
fn first(page: &Page, script: &str) -> Option<String> {
    let all = page.run(script);
    all.as_array()
        .unwrap()
        .first()
        .and_then(|k| k.as_str())
        .map(str::to_owned)
}

/// Where the leak test stands on Proof.
fn leak(page: &Page) -> String {
    let state = "const row = document.querySelector('[data-key^=\"row/leak\"] .state'); return row ? row.innerText.trim() : ''";
    page.run(state).as_str().unwrap_or_default().to_owned()
}

/// The supervisor corrects the label's hours of cure in the office's book: this one cures at once.
fn cures_at_once(data: &Path) {
    let store = Store::open(&data.join("office")).unwrap().store;
    let mut book: serde_json::Value = store.setting("shop_book").unwrap().unwrap();
    for line in book["cure"].as_array_mut().unwrap() {
        line["hours"] = "0".into();
    }
    store.set_setting("shop_book", &book).unwrap();
}
