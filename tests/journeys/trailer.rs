//! At the trailer: a value that does not fit and its reason, what comes from somebody else while a page is open, a slow act.

use crate::{job_in, signed_in};
use bowseam_tests::{Page, Program};

/// A page of unit 5026, whose roof is being worked on.
fn at_5026(screen: &str) -> (Program, Page, String) {
    let (program, page) = (Program::serve(), Page::phone());
    signed_in(&page, &program, "T. Marrow");
    let find = "const row = [...document.querySelectorAll('main li a')].find(a => a.innerText.trim().startsWith('5026')); return row ? row.href : ''";
    page.until("unit 5026", || page.run(find) != "");
    let job = job_in(page.run(find).as_str().unwrap());
    page.open(&format!("{}field/{screen}.html?job={job}", program.base));
    (program, page, job)
}

#[test]
fn a_reason_is_gone_with_its_value_and_a_done_step_takes_no_typing() {
    let (program, page, job) = at_5026("steps");
    page.open(&format!(
        "{}field/steps.html?job={job}&step=old_sheet",
        program.base
    ));
    page.see("Old sheet off");
    let fields = "return document.querySelectorAll('.value input, .value textarea').length";
    assert_eq!(page.run(fields), 0, "done: its values are told");
    page.tap("Open again");
    page.until("the fields", || page.run(fields) != 0);
    let reasons = "return [...document.querySelectorAll('[data-key$=\"/reason\"]')].filter(f => f.getClientRects().length).length";
    assert_eq!(page.run(reasons), 0);
    page.fill("Cut from the nose, roadside", "3000 in");
    page.see("outside the tolerance");
    page.until("the reason is asked for", || page.run(reasons) == 1);
    page.fill("Why it stays so", "the tape was caught");
    page.see("Outside: ");
    page.see_no("say the reason beside it");
    page.fill("Cut from the nose, roadside", "96");
    page.until("the reason is gone", || page.run(reasons) == 0);
    assert!(
        page.run("return [...document.querySelectorAll('input, textarea')].every(i => i.value !== 'the tape was caught')")
            == true
    );
}

#[test]
fn an_open_page_takes_in_what_came_from_somebody_else() {
    let (_program, page, job) = at_5026("steps");
    page.see("Found more");
    // Past the page's own way to save, as an entry that arrives comes past it.
    page.run(&format!(
        "fetch('/ask', {{ method: 'POST', headers: {{ bowseam: '1', 'content-type': 'application/json' }}, \
         body: JSON.stringify({{ kind: 'set_hold', job: '{job}', hold: {{ why: 'parts', note: 'bows come on Friday' }} }}) }})"
    ));
    page.see("bows come on Friday");
}

#[test]
fn an_act_that_takes_long_says_so_at_once_and_is_done_once() {
    let (_program, page, _) = at_5026("buying");
    page.tap("Something else to buy");
    page.fill("What", "wheel nuts");
    let rows = "return [...document.querySelectorAll('.check-row summary')].filter(r => r.innerText.includes('wheel nuts')).length";
    page.run(
        "const fast = window.fetch; window.fetch = async (...all) => { await new Promise(d => setTimeout(d, 600)); return fast(...all); }; \
         const go = document.querySelector('[data-key=\"add/go\"]'); go.click(); window.runs = go.classList.contains('runs'); setTimeout(() => go.click(), 100)",
    );
    assert_eq!(page.run("return window.runs"), true);
    page.until("the line", || page.run(rows) != 0);
    std::thread::sleep(std::time::Duration::from_secs(3));
    assert_eq!(page.run(rows), 1);
}
