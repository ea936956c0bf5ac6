//! Every screen as it stands: what it says, that nothing is cut off at 360 px, and what a bad input says.

use crate::{at_the_office, job_in, signed_in};
use bowseam_tests::{Page, Program};

// The packet is a paper to print; its small print may be small.
const SCREENS: [&str; 10] = [
    "arrival",
    "fold_out",
    "ways",
    "figures",
    "cut_list",
    "roof_off",
    "steps",
    "found_more",
    "proof",
    "handover",
];

/// Screen rules of the house, read off the page itself: nothing wider than the screen, no text under 16 px (the
/// labels of the drawing are text of a picture and stand in the list too, but are whole), no button smaller than 48 px,
/// holes of a line that can be told apart.
pub const HOUSE: &str = r"
    const bad = [];
    if (document.documentElement.scrollWidth > innerWidth) bad.push('wider than the screen: ' + document.documentElement.scrollWidth);
    const shown = e => e.getClientRects().length && getComputedStyle(e).visibility !== 'hidden' && !e.closest('.skip, [class*=hidden], svg');
    for (const e of document.querySelectorAll('button, a.button, summary, label.option, input:not([type=radio]):not([type=file]):not([type=checkbox]), select, textarea')) {
        if (!shown(e)) continue;
        const r = e.getBoundingClientRect();
        if (r.height < 47.5) bad.push('low: ' + e.tagName + ' ' + (e.innerText || e.name) + ' ' + r.height);
    }
    for (const e of document.querySelectorAll('main p, main li, main td, main span, main b, main label, main button')) {
        if (!shown(e) || !e.innerText || !e.innerText.trim()) continue;
        const size = parseFloat(getComputedStyle(e).fontSize);
        if (size < 15.9) bad.push('small: ' + size + ' ' + e.innerText.slice(0, 40));
    }
    for (const e of document.querySelectorAll('.fold svg text')) {
        const [r, all] = [e.getBoundingClientRect(), e.ownerSVGElement.getBoundingClientRect()];
        if (r.left < all.left - 2 || r.right > all.right + 2) bad.push('drawn words cut off: ' + e.textContent);
    }
    for (const svg of document.querySelectorAll('.holes')) {
        const at = [...svg.querySelectorAll('.hole')].map(e => e.getBoundingClientRect());
        const gaps = at.slice(1).map((r, i) => r.top === at[i].top ? r.left - at[i].left : 99);
        const near = gaps.filter(gap => gap < 8).length;
        if (near > gaps.length / 10) bad.push(`${near} of ${at.length} holes run together`);
    }
    return [...new Set(bad)].slice(0, 8);";

#[test]
fn every_screen_opens_on_every_unit_and_keeps_the_rules_of_the_house() {
    let (program, page) = (Program::serve(), Page::phone());
    signed_in(&page, &program, "T. Marrow");
    let jobs = page.run("return [...document.querySelectorAll('main li a')].map(a => a.href)");
    let jobs: Vec<String> = jobs
        .as_array()
        .unwrap()
        .iter()
        .map(|a| job_in(a.as_str().unwrap()))
        .collect();
    assert!(jobs.len() >= 7, "{jobs:?}");
    let mut bad = Vec::new();
    for job in &jobs {
        for screen in SCREENS {
            let address = format!("{}field/{screen}.html?job={job}", program.base);
            page.open(&address);
            page.until(&format!("{screen} is drawn"), || page.run("const main = document.querySelector('main'); return !!main && main.innerText.trim().length > 0") == true);
            for fault in page.run(HOUSE).as_array().unwrap() {
                bad.push(format!("{screen} {job}: {fault}"));
            }
        }
    }
    for screen in ["yard", "outbox", "shop_book"] {
        page.open(&format!("{}field/{screen}.html", program.base));
        page.until(&format!("{screen} is drawn"), || {
            page.run("const main = document.querySelector('main'); return !!main && main.innerText.trim().length > 0") == true
        });
        for fault in page.run(HOUSE).as_array().unwrap() {
            bad.push(format!("{screen}: {fault}"));
        }
    }
    bad.sort();
    bad.dedup();
    assert!(bad.is_empty(), "{}", bad.join("\n"));
}

#[test]
fn a_phone_speaks_spanish_once_it_is_chosen_and_its_screens_keep_the_rules_of_the_house() {
    let (program, page) = (Program::serve(), Page::phone());
    page.open(&format!("{}field/signin.html", program.base));
    page.tap("Español");
    page.see("¿Quién está aquí?");
    page.tap("T. Marrow");
    page.fill("PIN", "1234");
    page.tap("Entrar");
    page.see("Agregar unidad");
    page.tap("4417");
    page.until("a job", || page.address().contains("job="));
    let job = job_in(&page.address());
    let mut bad = Vec::new();
    for screen in SCREENS {
        let words = page.look(&format!("{}field/{screen}.html?job={job}", program.base));
        assert!(words.contains("Ir a"), "{screen}: {words}");
        for fault in page.run(HOUSE).as_array().unwrap() {
            bad.push(format!("{screen}: {fault}"));
        }
    }
    assert!(bad.is_empty(), "{}", bad.join("\n"));
    // Back again, where it stands on Yard.
    page.open(&format!("{}field/yard.html", program.base));
    page.tap("English");
    page.see("Add a unit");
}

#[test]
fn a_bad_length_says_beside_the_field_what_is_accepted_and_keeps_what_was_typed() {
    let (program, page) = (Program::serve(), Page::phone());
    signed_in(&page, &program, "T. Marrow");
    page.tap("4417");
    page.until("a job", || page.address().contains("job="));
    let job = job_in(&page.address());
    page.open(&format!("{}field/fold_out.html?job={job}", program.base));
    page.tap("Body measures");
    page.fill("Outside length", "long");
    page.see("Accepted are for example");
    assert_eq!(
        page.run("return [...document.querySelectorAll('input')].some(i => i.value === 'long')"),
        true
    );
    page.fill("Outside length", "52' 11-1/2");
    page.see_no("Accepted are for example");
    page.see("by T. Marrow");
}

/// Brings in so many photos of a new job through the door; each is a picture of its own.
const MANY_PHOTOS: &str = r"
    const many = 300;
    window.many = null;
    (async () => {
        const { ask } = await import('/parts/ask.js');
        const { id } = await ask({ kind: 'open_job', unit: '3000' });
        const canvas = new OffscreenCanvas(320, 240);
        const pen = canvas.getContext('2d');
        for (let n = 0; n < many; n += 1) {
            pen.fillStyle = `hsl(${n * 37 % 360} 60% ${30 + n % 40}%)`;
            pen.fillRect(0, 0, 320, 240);
            pen.fillStyle = '#fff';
            pen.font = '90px sans-serif';
            pen.fillText(String(n), 60, 150);
            const photo = await canvas.convertToBlob({ type: 'image/jpeg', quality: 0.8 });
            await ask({ kind: 'add_photo', job: id, of: { of: 'unit' }, when: 'before', name: `${n}.jpg` }, photo);
        }
        window.many = id;
    })().catch((error) => { window.many = String(error); });";

/// What a page with many photos holds: elements, cells that are drawn, pictures that were loaded.
const HELD: &str = r"
    const cells = [...document.querySelectorAll('.grid li')];
    return [document.querySelectorAll('*').length,
        cells.filter((cell) => cell.firstElementChild.checkVisibility({ contentVisibilityAuto: true })).length,
        [...document.images].filter((image) => image.complete && image.naturalWidth > 0).length];";

#[test]
fn of_several_hundred_photos_only_those_in_view_are_drawn_and_only_those_near_it_loaded() {
    let (program, page) = (Program::serve(), Page::phone());
    signed_in(&page, &program, "T. Marrow");
    page.run(MANY_PHOTOS);
    // Longer than other waits: three hundred photos are kept one by one, each on the disk.
    let begun = std::time::Instant::now();
    let job = loop {
        let job = page.run("return window.many");
        if let Some(job) = job.as_str() {
            break job.to_owned();
        }
        assert!(begun.elapsed().as_secs() < 180, "the photos are not in yet");
        std::thread::sleep(std::time::Duration::from_millis(300));
    };
    assert_eq!(job.len(), 36, "{job}");
    page.open(&format!("{}field/photos.html?job={job}", program.base));
    page.see("300 of 300 photos");
    let held = |least: u64| {
        page.until("pictures are loaded", || {
            page.run(HELD)[2].as_u64().unwrap() >= least
        });
        let held: Vec<u64> = serde_json::from_value(page.run(HELD)).unwrap();
        held
    };
    let top = held(12);
    assert!(top[0] < 300 * 5 + 300, "{top:?} elements");
    assert!((9..=60).contains(&top[1]), "{top:?} cells drawn");
    assert!(top[2] <= 120, "{top:?} pictures loaded");
    // The end is reached, its pictures come, and most between were never loaded.
    page.run("scrollTo(0, document.documentElement.scrollHeight)");
    page.until("the last picture is loaded", || {
        page.run("scrollTo(0, document.documentElement.scrollHeight); const last = [...document.images].pop(); return last.complete && last.naturalWidth > 0") == true
    });
    let end = held(12);
    assert!(end[1] <= 60 && end[2] <= 240, "{end:?}");
}

#[test]
fn the_office_sets_a_rate_and_counts_the_stock_for_all_phones() {
    let program = Program::serve();
    let office = at_the_office(&program);
    office.open(&format!("{}office/shop_book.html", program.base));
    office.tap("Money");
    office.fill("Labour, an hour", "a lot");
    office.see("Accepted is a number from 0 to 1000000");
    office.fill("Labour, an hour", "123.75");
    office.see("The program starts with");
    office.tap("roof bow: roof bow 102, steel");
    office.fill("Lies there now, counted", "7");
    office.see("What was changed");
    assert_eq!(office.run(HOUSE), serde_json::json!([]));
    office.tap("What was changed");
    office.see("Labour, an hour: 112 → 123.75 (S. Fennick");
    office.see("stock: roof bow 102, steel");

    let phone = Page::phone();
    signed_in(&phone, &program, "T. Marrow");
    phone.open(&format!("{}field/shop_book.html", program.base));
    phone.see("Only a supervisor changes the shop book");
    phone.tap("Money");
    phone.until("the phone has the office's rate", || {
        phone
            .look(&format!("{}field/shop_book.html", program.base))
            .contains("roof bow 102, steel")
            && phone.run("return document.body.textContent.includes('123.75')") == true
    });
}
