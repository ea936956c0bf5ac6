//! The demo yard: a phone and an office in one program, on loopback.

use crate::{
    Ended, Serve, baked, pages,
    serve::{At, folder, office_pages, run},
};
use bowseam_app::sending;
use bowseam_office::Office;
use std::sync::Arc;

/// What the demo's office calls itself.
const OFFICE_NAME: &str = "Demo yard office";

/// The demo yard: a phone's screens at `/field/`, an office at `/office/`.
pub fn demo(serve: &Serve) -> Result<(), Ended> {
    let (data, _temporary) = folder(serve.data.as_deref())?;
    let (phone, office) = baked::open(&data)?;
    let (phone, office) = (Arc::new(phone), Arc::new(office));
    sending::start_phone(&phone);
    sending::start_office(&office);
    let at_office = office_pages(Office::new(Arc::clone(&office), OFFICE_NAME));
    let router = pages::phone(Arc::clone(&phone)).merge(at_office);
    run(&At::loopback(serve), router, move |address| {
        // The demo's phone is known to the demo's office; on a kept folder the port may be another one than last time.
        let url = format!("http://{address}/office");
        eprintln!("The demo yard's office: {url}/");
        std::thread::spawn(move || {
            let code = bowseam_send::codes::new_code(&office.store(), chrono::Utc::now());
            if let Ok((code, _)) = code
                && let Err(e) = bowseam_send::enrol(&phone.store(), &url, &code, "demo phone")
            {
                eprintln!("The demo's phone is not known to its office: {e}");
            }
            phone.send_now();
        });
    })
}
