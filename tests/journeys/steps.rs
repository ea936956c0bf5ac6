//! Working through steps as a person does: each value as wanted, each photo, then done.

use crate::new_photo;
use bowseam_tests::Page;

/// Fills what the step on the page wants, gives it a photo if it wants one, and says done. False when all are done.
pub fn do_step(page: &Page) -> bool {
    page.until("a step or their end", || {
        let words = page.words();
        words.contains("All steps are done.") || words.contains("Start time") || words.contains("Pause")
    });
    let over = ["All steps are done.", "a leak test before says nothing"];
    if over.iter().any(|words| page.words().contains(words)) {
        return false;
    }
    let title = heading(page);
    look(page);
    let wanted = page.run(
        "return [...document.querySelectorAll('.value')].filter(v => !v.querySelector('.choice')).map(v => [v.querySelector('label').innerText.trim(), \
         /emperature/.test(v.innerText) ? '72 F' : (/Wanted (.+?)(, fits| · from)/.exec(v.querySelector('.hint').innerText) || [])[1] || '', v.querySelector('input, textarea').value, v.querySelector('input, textarea').inputMode])",
    );
    for row in wanted.as_array().unwrap() {
        let cell = |i: usize| row[i].as_str().unwrap_or_default();
        if cell(2).is_empty() {
            let value = match cell(0).starts_with("Cure started") {
                true => "72 F".to_owned(),
                false => typed(cell(1), cell(3) == "decimal"),
            };
            page.fill(cell(0), &value);
        }
    }
    let lacking = "const h = document.querySelector('.photos-part'); if (!h) return 0; \
                   const n = /Photos: (\\d+) of (\\d+)/.exec(h.innerText); return n ? Math.max(0, n[2] - n[1]) : 0";
    while page.run(lacking).as_u64().unwrap() > 0 {
        let before = page.run(lacking);
        page.give_files(".photos-part input[type=file]", &[new_photo()]);
        page.until("the photo is kept", || page.run(lacking) != before);
    }
    let main = page
        .run("return document.querySelector('.tray .main, .main').innerText")
        .as_str()
        .unwrap()
        .trim()
        .to_owned();
    // A tap while the step before is still being saved is not taken, so that nothing is done twice: tap again.
    page.until("the next step", || {
        let moved = || heading(page) != title || over.iter().any(|words| page.words().contains(words));
        if !moved() {
            page.tap(&main);
            std::thread::sleep(std::time::Duration::from_millis(700));
        }
        moved()
    });
    // Where it cures, the step waits.
    heading(page) != title
}

/// Taps what is looked at as it is wanted.
fn look(page: &Page) {
    const OPEN: &str = "const open = [...document.querySelectorAll('.value .choice')].find(c => !c.querySelector('input:checked')); \
        return open ? `[data-key=${JSON.stringify(open.dataset.key)}] .option` : ''";
    loop {
        let open = page.run(OPEN);
        match open.as_str() {
            Some("") | None => return,
            Some(option) => page.tap_css(option),
        }
        page.until("the choice is kept", || page.run(OPEN) != open);
    }
}

/// What a person writes where this is wanted: a length without the words behind it, a diagonal of a 53 ft body where
/// it is only recorded.
fn typed(wanted: &str, length: bool) -> String {
    match wanted
        .split(',')
        .next()
        .filter(|w| !length || w.starts_with(|c: char| c.is_ascii_digit()))
    {
        Some(number) if length => number.to_owned(),
        None => "27' 3-1/2".to_owned(),
        Some(_) if wanted.is_empty() => "as it should be".to_owned(),
        Some(_) => wanted.to_owned(),
    }
}

fn heading(page: &Page) -> String {
    page.run("return (document.querySelector('h1') || {}).innerText + '/' + (document.querySelector('main h2') || {}).innerText")
        .as_str()
        .unwrap_or_default()
        .to_owned()
}
