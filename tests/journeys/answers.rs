//! The way between technician and supervisor: what is asked, answered and what comes next, each said where the finger is.

use crate::{at_the_office, job_in, screens::HOUSE, signed_in};
use bowseam_tests::{Page, Program};
use serde_json::json;

/// What is said above the acts, if all of it is in sight.
const SAID: &str = "const told = document.querySelector('.told'), at = told.getBoundingClientRect(); \
    return told.textContent && at.height > 0 && at.top >= 0 && at.bottom <= innerHeight ? told.textContent : ''";
/// Main acts in sight or on the page: a screen has one.
const MAINS: &str = "return [...document.querySelectorAll('.main')].filter(e => e.checkVisibility() && !e.closest('details:not([open]) > :not(summary)')).map(e => e.innerText.replace(/\\s+/g, ' '))";

fn is_said(page: &Page, words: &str) {
    page.until(&format!("{words:?} is said in sight"), || {
        page.run(SAID).as_str().unwrap_or_default().contains(words)
    });
}

/// The one main act that is shown.
fn main_act(page: &Page) -> String {
    let mains = page.run(MAINS);
    assert_eq!(mains.as_array().unwrap().len(), 1, "{mains}");
    mains[0].as_str().unwrap().to_owned()
}

fn job_of(page: &Page, program: &Program, unit: &str) -> String {
    page.open(&format!("{}field/yard.html", program.base));
    page.tap(unit);
    page.until("a job", || page.address().contains("job="));
    job_in(&page.address())
}

#[test]
fn the_supervisor_sees_what_a_part_comes_to_gives_it_and_goes_on_to_the_next_that_waits() {
    let (program, page) = (Program::serve(), Page::phone());
    signed_in(&page, &program, "T. Marrow");
    let job = job_of(&page, &program, "4417");
    page.open(&format!("{}field/ways.html?job={job}", program.base));
    page.see("Whole job");
    assert!(main_act(&page).starts_with("Take these"), "{}", main_act(&page));
    // What is picked for one place is then the one main act.
    page.run("document.querySelector('input[name=way]').click()");
    page.until("a way is picked", || main_act(&page) == "Use this way");
    page.open(&format!("{}field/ways.html?job={job}", program.base));
    page.see("Whole job");
    page.tap_css(".tray .main");
    page.see("waits for: the go-ahead to be asked for");
    // Old damage that is left as it is needs no way.
    page.until("the figures are next", || main_act(&page) == "Figures");
    page.open(&format!("{}field/figures.html?job={job}", program.base));
    page.see("Ask for go-ahead");
    page.tap("Ask for go-ahead");
    is_said(&page, "The office is asked");

    // At the office the one that waited longest is first; its answer leads to the next.
    let office = at_the_office(&program);
    office.until("both wait", || {
        office
            .look(&format!("{}office/list.html", program.base))
            .contains("Waits for your answer\n2")
    });
    let first = "return document.querySelector('.rows-list .job-row .unit').innerText";
    assert_eq!(office.run(first), "2093");
    assert_eq!(office.run(HOUSE), json!([]));
    office.tap("2093");
    office.see("Next that waits: 4417");
    assert_eq!(office.run(HOUSE), json!([]));
    assert!(
        main_act(&office).starts_with("Give go-ahead: $"),
        "{}",
        main_act(&office)
    );
    office.tap_css(".tray .main");
    is_said(&office, "The go-ahead is given");
    office.until("the next one is the main act", || {
        main_act(&office) == "Next that waits: 4417"
    });
    office.tap_css(".tray .main");
    office.until("the next job", || office.address().contains(&job));
    office.tap("a part of it");
    office.see("Nothing is chosen yet");
    office.until("no sum is said yet", || main_act(&office) == "Give go-ahead");
    office.tap_css("[data-key^='group/']");
    office.see("The go-ahead would be for");
    let sum = office.run("return document.querySelector('fieldset .stand .money').innerText");
    let sum = sum.as_str().unwrap().to_owned();
    office.until("the act says what it is for", || {
        main_act(&office) == format!("Give go-ahead: {sum}")
    });
    // Up to a ceiling, in the same act: not below what the part comes to.
    office.tap("up to a ceiling that must not be exceeded");
    office.fill("Ceiling, dollars", "1");
    office.tap_css(".tray .main");
    office.see("A ceiling is not below what it is for");
    office.fill("Ceiling, dollars", "99000");
    assert_eq!(office.run(HOUSE), json!([]));
    office.tap_css(".tray .main");
    is_said(&office, "The go-ahead is given");
    office.see(&format!("Amount: {sum}"));
    office.see("Ceiling: $99,000.00");
    office.see("No other job waits for an answer.");
    // The figures are headed by what was given, with what waits beside it.
    let heads = "return document.querySelector('.estimate .total-row .money').innerText";
    assert_eq!(office.run(heads), sum.as_str());
    office.see("Without go-ahead, so nothing of it is bought or done");
}

#[test]
fn where_no_roof_comes_off_the_work_begins_at_its_steps() {
    let (program, page) = (Program::serve(), Page::phone());
    let office = at_the_office(&program);
    office.tap("2093");
    office.see("Give go-ahead");
    office.tap("Give go-ahead");
    is_said(&office, "The go-ahead is given");
    signed_in(&page, &program, "T. Marrow");
    page.until("the go-ahead has come", || {
        let words = page.look(&format!("{}field/yard.html", program.base));
        words
            .split("2093")
            .nth(1)
            .is_some_and(|rest| rest.trim_start().starts_with("Go-ahead"))
    });
    page.tap("2093");
    page.see("Is the material here?");
    assert!(page.address().contains("steps.html"), "{}", page.address());
    page.tap("Go to");
    page.see("Buying list");
    assert!(!page.words().contains("Roof-off check"), "{}", page.words());
}

#[test]
fn the_shop_book_finds_while_one_types_and_keeps_the_heads_of_what_it_finds() {
    let (program, page) = (Program::serve(), Page::phone());
    signed_in(&page, &program, "T. Marrow");
    page.open(&format!("{}field/shop_book.html", program.base));
    page.see("Find in the shop book");
    let heads = "return [...document.querySelectorAll('main summary, main h2')].map(e => e.innerText.split('\\n')[0])";
    let all = page.run(heads).as_array().unwrap().len();
    page.run("const find = document.querySelector('input[type=search]'); find.focus(); find.value = 'rivet'; find.dispatchEvent(new Event('input'))");
    page.see("Rivet, each");
    page.until("only what is found", || !page.words().contains("Label"));
    let found = page.run(heads);
    assert!(
        found.as_array().unwrap().len() < all && found.as_array().unwrap().contains(&json!("Prices")),
        "{found}"
    );
    let rows = "return [...document.querySelectorAll('main .book-row')].filter(e => e.getClientRects().length && !e.innerText.toLowerCase().includes('rivet')).length";
    assert_eq!(page.run(rows), 0);
    page.run("const find = document.querySelector('input[type=search]'); find.value = 'no such thing'; find.dispatchEvent(new Event('input'))");
    page.see("Nothing in the shop book is called so.");
}
