//! What only a phone can do: its camera, its gallery, its screen kept awake. The Kotlin beside it
//! (`gen/android/.../PhonePlugin.kt`) does it and answers with a sentence where it cannot; here the photos that come of
//! it are handed to the core as files, since bytes do not pass raw from a page to Rust on Android.

use bowseam_app::{
    answer::Refusal,
    app::{App, Asker},
    ask::Ask,
    camera,
    phone::{Given, PhoneState, Want},
};
use serde::{Deserialize, Serialize, de::DeserializeOwned};
use serde_json::{Value, json};
use std::{
    fs, io,
    path::{Path, PathBuf},
    sync::Arc,
};
use tauri::{
    AppHandle, Manager, Runtime,
    plugin::{Builder, PluginHandle, TauriPlugin, mobile::PluginInvokeError},
};

/// Where the Kotlin side is, and its class.
const PACKAGE: &str = "app.bowseam.field";
const CLASS: &str = "PhonePlugin";
/// Most photos at a time from the gallery: the phone's own picker takes no more.
const MOST: u32 = 50;
/// Longer side of a picture that the phone decodes for us: that of our large copies.
const LONGEST: u32 = bowseam_photos::LARGE;

/// The Kotlin side.
struct Phone<R: Runtime>(PluginHandle<R>);

/// The plugin: it only makes the Kotlin side known; pages ask it by the command `phone` alone.
pub fn plugin<R: Runtime>() -> TauriPlugin<R> {
    Builder::new("phone")
        .setup(|shell, api| {
            shell.manage(Phone(api.register_android_plugin(PACKAGE, CLASS)?));
            Ok(())
        })
        .build()
}

/// Asks the phone whether its network costs money; for the core's own threads, never the window's.
pub fn network<R: Runtime>(shell: AppHandle<R>) -> bowseam_app::app::Watch {
    Box::new(move || {
        let phone = shell.state::<Phone<R>>();
        let state = tauri::async_runtime::block_on(phone.ask::<PhoneState>("state", json!({})));
        state.ok().map(|state| state.metered)
    })
}

#[derive(Deserialize)]
struct Taken {
    taken: bool,
}

#[derive(Deserialize)]
struct Picked {
    files: Vec<PickedFile>,
    wrong: Vec<String>,
}

#[derive(Deserialize)]
struct PickedFile {
    path: PathBuf,
    name: String,
}

#[derive(Deserialize)]
struct Place {
    latitude: f64,
    longitude: f64,
    within: f64,
}

#[derive(Deserialize)]
struct Read {
    text: String,
}

impl<R: Runtime> Phone<R> {
    /// Asks the Kotlin side; its refusals are sentences already.
    async fn ask<T: DeserializeOwned>(&self, command: &str, with: impl Serialize) -> Result<T, Refusal> {
        self.0
            .run_mobile_plugin_async(command, with)
            .await
            .map_err(|error| match error {
                PluginInvokeError::InvokeRejected(said) => Refusal::new(
                    &said.code.unwrap_or_else(|| "phone".to_owned()),
                    said.message
                        .unwrap_or_else(|| "The phone refused this.".to_owned()),
                ),
                other => Refusal::new("phone", format!("The phone did not answer: {other}. Try again.")),
            })
    }
}

/// Does what a page wants of the phone.
///
/// # Errors
/// A sentence: refused by the person or the system, not there, or no room.
pub async fn phone<R: Runtime>(shell: &AppHandle<R>, app: &Arc<App>, want: Want) -> Result<Given, Refusal> {
    let phone = shell.state::<Phone<R>>();
    match want {
        Want::Camera { ask } => take(&phone, app, ask).await,
        Want::Gallery { ask } => pick(&phone, app, ask).await,
        Want::State {} => Ok(Given::State(phone.ask::<PhoneState>("state", json!({})).await?)),
        Want::Awake { on } => phone
            .ask::<Value>("keepAwake", json!({"on": on}))
            .await
            .map(|_| Given::Done {}),
        Want::SharePacket { name } => share_packet(&phone, app, &name).await,
        Want::Share { name, media, text } => share(&phone, app, &name, &media, &text).await,
        Want::Position {} => {
            let at: Place = phone.ask("position", json!({})).await?;
            Ok(Given::Position {
                latitude: at.latitude,
                longitude: at.longitude,
                within: at.within,
            })
        }
        Want::Barcode {} => {
            let read: Read = phone.ask("scan", json!({})).await?;
            Ok(Given::Text { text: read.text })
        }
    }
}

/// The camera: what the photo is of is written down first, so that a photo whose app was ended behind the camera is
/// found at the next start.
async fn take<R: Runtime>(phone: &Phone<R>, app: &Arc<App>, ask: Ask) -> Result<Given, Refusal> {
    let photo = camera::expect(app, &Asker::default(), &ask)?;
    let taken: Result<Taken, Refusal> = phone.ask("takePicture", json!({"path": photo})).await;
    match taken {
        Ok(Taken { taken: true }) => keep(phone, app, vec![(photo, None)], Vec::new()).await,
        Ok(Taken { taken: false }) => {
            camera::forget(&photo);
            Ok(Given::Photos {
                kept: 0,
                wrong: Vec::new(),
            })
        }
        Err(refusal) => {
            camera::forget(&photo);
            Err(refusal)
        }
    }
}

/// The gallery: each photo is copied out of it, then kept as one from the camera is.
async fn pick<R: Runtime>(phone: &Phone<R>, app: &Arc<App>, ask: Ask) -> Result<Given, Refusal> {
    let folder = app.folder().join("gallery");
    fs::create_dir_all(&folder).map_err(|e| no_file(&e))?;
    let picked: Picked = phone
        .ask("pickPictures", json!({"folder": folder, "most": MOST}))
        .await?;
    let mut photos = Vec::new();
    let mut wrong = picked.wrong;
    for PickedFile { path, name } in picked.files {
        let expected = camera::expect(app, &Asker::default(), &ask)
            .and_then(|photo| fs::rename(&path, &photo).map_err(|e| no_file(&e)).map(|()| photo));
        match expected {
            Ok(photo) => photos.push((photo, Some(name))),
            Err(refusal) => wrong.push(format!("{name}: {}", refusal.sentence)),
        }
    }
    keep(phone, app, photos, wrong).await
}

async fn keep<R: Runtime>(
    phone: &Phone<R>,
    app: &Arc<App>,
    photos: Vec<(PathBuf, Option<String>)>,
    mut wrong: Vec<String>,
) -> Result<Given, Refusal> {
    let mut kept = 0_u32;
    for (photo, name) in photos {
        let (core, file, called) = (Arc::clone(app), photo, name.clone());
        // Off the window's thread: a photo of 12 MP takes a moment.
        let adopted =
            tauri::async_runtime::spawn_blocking(move || camera::adopt(&core, &file, called.as_deref()))
                .await
                .unwrap_or_else(|e| Err(Refusal::new("stopped", format!("The program was stopped: {e}."))));
        match adopted {
            Ok(adopted) => {
                kept = kept.saturating_add(1);
                if adopted.unseen
                    && let Err(refusal) = show(phone, app, &adopted.sha256).await
                {
                    wrong.push(refusal.sentence);
                }
            }
            Err(refusal) => wrong.push(match name {
                Some(name) => format!("{name}: {}", refusal.sentence),
                None => refusal.sentence,
            }),
        }
    }
    Ok(Given::Photos { kept, wrong })
}

/// A photo that the core cannot decode (HEIC) is decoded by the phone; its copies are laid beside the original.
async fn show<R: Runtime>(phone: &Phone<R>, app: &Arc<App>, sha256: &str) -> Result<(), Refusal> {
    let from = app.photos().original(sha256)?;
    let to = app
        .photos()
        .root()
        .join("temp")
        .join(format!("decoded-{sha256}.jpg"));
    phone
        .ask::<Value>("decode", json!({"from": from, "to": to, "longest": LONGEST}))
        .await?;
    let decoded = fs::read(&to).map_err(|e| no_file(&e));
    // A leftover is swept at a later opening.
    let _ = fs::remove_file(&to);
    Ok(app.photos().lay_copies(sha256, &decoded?)?)
}

/// A packet as it was made: a file of that folder and of no other.
async fn share_packet<R: Runtime>(phone: &Phone<R>, app: &Arc<App>, name: &str) -> Result<Given, Refusal> {
    let file = app.packets().join(name);
    if file.parent() != Some(app.packets().as_path()) || !file.is_file() {
        return Err(Refusal::new(
            "no_packet",
            "This packet is not on the phone any more. Make it again.",
        ));
    }
    let media = match file.extension().and_then(|end| end.to_str()) {
        Some("pdf") => "application/pdf",
        Some("xlsx") => "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
        Some("csv") => "text/csv",
        Some("html") => "text/html",
        _ => "application/json",
    };
    hand_over(phone, &file, media).await
}

async fn hand_over<R: Runtime>(phone: &Phone<R>, file: &Path, media: &str) -> Result<Given, Refusal> {
    phone
        .ask::<Value>("share", json!({"path": file, "media": media}))
        .await
        .map(|_| Given::Done {})
}

/// A text as a file that another app of the phone may read, this one and no other.
async fn share<R: Runtime>(
    phone: &Phone<R>,
    app: &Arc<App>,
    name: &str,
    media: &str,
    text: &str,
) -> Result<Given, Refusal> {
    let folder = app.folder().join("share");
    let plain = |c: char| {
        if c.is_alphanumeric() || "._- ".contains(c) {
            c
        } else {
            '-'
        }
    };
    let file = folder.join(
        name.trim_start_matches('.')
            .chars()
            .map(plain)
            .collect::<String>(),
    );
    written(&folder, &file, text.as_bytes()).map_err(|e| no_file(&e))?;
    hand_over(phone, &file, media).await
}

/// One text at a time lies there: the ones before it go.
fn written(folder: &Path, file: &Path, bytes: &[u8]) -> io::Result<()> {
    if folder.is_dir() {
        fs::remove_dir_all(folder)?;
    }
    fs::create_dir_all(folder)?;
    fs::write(file, bytes)
}

fn no_file(e: &io::Error) -> Refusal {
    Refusal::new(
        "phone_file",
        format!("A file on this phone cannot be written or read: {e}. Free some room, then try again."),
    )
}
