//! Every screen as it stands: what it says, that nothing is cut off at 360 px, and what a bad input says.

use crate::{job_in, signed_in};
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
/// labels of the drawing are text of a picture and stand in the list too), no button smaller than 48 px.
const HOUSE: &str = r"
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
