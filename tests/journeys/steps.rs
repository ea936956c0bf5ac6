//! Working through steps as a person does: each value as wanted, each photo, then done.

use crate::photo;
use bowseam_tests::Page;

/// Fills what the step on the page wants, gives it a photo if it wants one, and says done. False when all are done.
pub fn do_step(page: &Page) -> bool {
    page.until("a step or their end", || {
        let words = page.words();
        words.contains("All steps are done.") || words.contains("Start time") || words.contains("Pause")
    });
    if page.words().contains("All steps are done.") {
        return false;
    }
    let title = heading(page);
    let wanted = page.run(
        "return [...document.querySelectorAll('.value')].map(v => [v.querySelector('label').innerText.trim(), \
         (/Wanted (.+?)(, fits| · from)/.exec(v.querySelector('.hint').innerText) || [])[1] || '', v.querySelector('input, textarea').value])",
    );
    for row in wanted.as_array().unwrap() {
        let cell = |i: usize| row[i].as_str().unwrap_or_default();
        if cell(2).is_empty() {
            page.fill(
                cell(0),
                if cell(1).is_empty() {
                    "as it should be"
                } else {
                    cell(1)
                },
            );
        }
    }
    let lacking = "const h = document.querySelector('.photos-part h3'); if (!h) return 0; \
                   const n = /: (\\d+) of (\\d+)/.exec(h.innerText); return n ? Math.max(0, n[2] - n[1]) : 0";
    while page.run(lacking).as_u64().unwrap() > 0 {
        let before = page.run(lacking);
        page.give_files(".photos-part input[type=file]", &[photo("5026-side-after.jpg")]);
        page.until("the photo is kept", || page.run(lacking) != before);
    }
    let main = page
        .run("return document.querySelector('.tray .main, .main').innerText")
        .as_str()
        .unwrap()
        .trim()
        .to_owned();
    page.tap(&main);
    page.until("the next step", || {
        heading(page) != title || page.words().contains("All steps are done.")
    });
    true
}

fn heading(page: &Page) -> String {
    page.run("return (document.querySelector('h1') || {}).innerText + '/' + (document.querySelector('main h2') || {}).innerText")
        .as_str()
        .unwrap_or_default()
        .to_owned()
}
