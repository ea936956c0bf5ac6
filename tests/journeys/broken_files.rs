//! Photos that come in as a batch with broken files among them, by each way of a desk: chosen, dropped, pasted.

use crate::{job_in, signed_in};
use bowseam_tests::{Page, Program};
use serde_json::Value;

/// Hands a batch to the strip of photos by this way: two photos of their own among a text, nothing, half a JPEG, and a
/// folder's entry, which no page can read.
const BATCH: &str = r"
    window.handed = null;
    (async () => {
        const way = 'WAY';
        const canvas = new OffscreenCanvas(320, 240);
        const pen = canvas.getContext('2d');
        const photo = async (hue) => {
            pen.fillStyle = `hsl(${hue} 60% 40%)`;
            pen.fillRect(0, 0, 320, 240);
            pen.fillStyle = '#fff';
            pen.fillText(way, 20 + hue, 100);
            return canvas.convertToBlob({ type: 'image/jpeg', quality: 0.8 });
        };
        const [first, half, last] = [await photo(HUE), await photo(HUE + 20), await photo(HUE + 40)];
        const gone = new File(['x'], 'gone.jpg', { type: 'image/jpeg' });
        Object.defineProperty(gone, 'slice', { value: () => ({ arrayBuffer: () => Promise.reject(new DOMException('gone', 'NotFoundError')) }) });
        const files = [new File([first], 'first.jpg'), new File(['no photo'], 'text.jpg'), new File([], 'nothing.jpg'),
            new File([half.slice(0, half.size / 2)], 'half.jpg'), gone, new File([last], 'last.jpg')];
        const data = { files };
        const strip = document.querySelector('section.photos');
        if (way === 'chosen') {
            const input = strip.querySelector('input[multiple]');
            Object.defineProperty(input, 'files', { value: files, configurable: true });
            input.dispatchEvent(new Event('change', { bubbles: true }));
        } else {
            const event = new Event(way === 'dropped' ? 'drop' : 'paste', { bubbles: true, cancelable: true });
            Object.defineProperty(event, way === 'dropped' ? 'dataTransfer' : 'clipboardData', { value: data });
            (way === 'dropped' ? strip : document).dispatchEvent(event);
            if (!event.defaultPrevented) throw new Error('the page left it to the browser');
        }
        window.handed = 'handed';
    })().catch((error) => { window.handed = String(error); });";

#[test]
fn of_a_batch_with_broken_files_the_others_go_on_by_every_way_into_the_page() {
    let (program, page) = (Program::serve(), Page::phone());
    signed_in(&page, &program, "T. Marrow");
    page.tap("Add a unit");
    page.fill("Unit number", "9907");
    page.tap("Open");
    page.see("May it roll?");
    let job = job_in(&page.address());
    for (n, way) in ["chosen", "dropped", "pasted"].into_iter().enumerate() {
        page.open(&format!("{}field/arrival.html?job={job}", program.base));
        page.see("May it roll?");
        let hue = (n * 100 + 10).to_string();
        page.run(&BATCH.replace("WAY", way).replace("HUE", &hue));
        page.until("the batch is handed over", || {
            page.run("return window.handed") != Value::Null
        });
        assert_eq!(page.run("return window.handed"), "handed", "{way}");
        page.see("3 photos of 6 kept");
        for said in [
            "text.jpg: There is no photo in this file.",
            "nothing.jpg: This file is empty.",
            "gone.jpg: It cannot be read from here.",
        ] {
            page.see(said);
        }
        let kept = (n + 1) * 3;
        page.open(&format!("{}field/photos.html?job={job}", program.base));
        page.see(&format!("{kept} of {kept} photos"));
    }
}
