//! The Tauri window: a piece of a job, closed, opened again, everything there.

use bowseam_tests::{Page, Program};

#[test]
fn a_job_begun_in_the_window_is_there_when_it_is_opened_again() {
    let folder = tempfile::tempdir().unwrap();
    // A phone with people and jobs on it; the program lets go of it before the window opens it.
    Program::serve_on(folder.path()).kill();
    let data = folder.path().join("phone");

    let page = Page::window(&data);
    page.see("Who is here?");
    page.tap("I. Quill");
    page.fill("PIN", "1234");
    page.tap_css(".tray .main, .main");
    page.see("4417");
    // Photos come through the asset protocol, from the data folder and nowhere else.
    page.until("a photo of the yard is drawn", || {
        page.run("return [...document.images].some(i => i.src.startsWith('asset:') && i.complete && i.naturalWidth > 0)") == true
    });
    page.tap("Add a unit");
    page.fill("Unit number", "9002");
    page.tap("Open");
    page.see("May it roll?");
    page.tap("Park it");
    page.fill("Yard slot", "row W, 9");
    page.see("saved on this phone");
    drop(page);

    let page = Page::window(&data);
    page.see("9002");
    page.tap("9002");
    page.until("the slot is there", || {
        page.run("return [...document.querySelectorAll('input')].some(i => i.value === 'row W, 9')") == true
    });
    page.see("by I. Quill");
}
