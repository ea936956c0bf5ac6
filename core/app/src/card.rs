//! Sending by a memory card, as the phone's screens ask for it: the archive is written where a person finds it, and the
//! office's answer is read back.

use crate::{
    answer::{Answer, CardBack, CardWritten, Refusal},
    app::{App, Asker},
    view::yard::small,
};
use bowseam_send::{Office, card};
use std::fs::{self, File};
use std::io::BufWriter;

fn office(app: &App) -> Result<Office, Refusal> {
    Office::of(&app.store())?.ok_or_else(|| {
        let sentence =
            "A card is written for the office that this phone is known to: make the phone known first.";
        Refusal::new("no_office", sentence)
    })
}

/// Writes what waits.
///
/// # Errors
/// Nobody is signed in, no office knows this phone, or the file cannot be written.
pub fn write(app: &App, asker: &Asker) -> Result<Answer, Refusal> {
    app.signed_in(asker)?;
    let office = office(app)?;
    let wrong = |e: std::io::Error| Refusal::new("card", format!("The card cannot be written: {e}."));
    let folder = app
        .files()
        .map_or_else(|| app.packets(), std::path::Path::to_owned);
    fs::create_dir_all(&folder).map_err(wrong)?;
    let device = app.store().device().simple().to_string();
    let name = format!("card {}.tar", device.get(24..).unwrap_or_default());
    // Whole or not at all; the last one stays until this one is.
    let part = folder.join(format!(".{name}.part"));
    let mut file = BufWriter::new(File::create(&part).map_err(wrong)?);
    let written = card::write(&app.store(), app.photos(), &office, &mut file, &mut |_, _| ())?;
    file.into_inner()
        .map_err(|e| wrong(e.into_error()))?
        .sync_all()
        .map_err(wrong)?;
    fs::rename(&part, folder.join(&name)).map_err(wrong)?;
    Ok(Answer::CardWritten(CardWritten {
        entries: small(written.entries),
        photos: small(written.photos),
        bytes: written.bytes,
        lacks: written.lacks,
        saved: app.files().map(|folder| folder.join(&name).display().to_string()),
        name,
    }))
}

/// Reads the office's answer.
///
/// # Errors
/// Nobody is signed in, no office knows this phone, or it is no answer to this phone.
pub fn read(app: &App, asker: &Asker, bytes: Option<&[u8]>) -> Result<Answer, Refusal> {
    app.signed_in(asker)?;
    let text = String::from_utf8_lossy(bytes.unwrap_or_default());
    let taken = card::take_back(&app.store(), &office(app)?, &text)?;
    Ok(Answer::CardBack(CardBack {
        arrived: small(taken.arrived),
        stuck: small(taken.stuck),
        received: small(taken.received),
    }))
}
