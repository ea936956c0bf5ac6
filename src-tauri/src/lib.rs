//! The shell: the screens of `ui/` in a web view, one command, `ask`, to the core, and one, `phone`, to what only a
//! phone can do. It holds no state and no rule of its own, so that the phone does what the browser does.

mod core;
#[cfg(target_os = "android")]
mod phone;
#[cfg(target_os = "android")]
mod worker;

use base64::{Engine, engine::general_purpose::STANDARD};
use bowseam_app::{
    answer::{Answer, Refusal},
    app::{App, Asker},
    door,
    phone::{Given, Want},
};
use std::{path::PathBuf, process::ExitCode, sync::Arc};
use tauri::{
    Manager,
    ipc::{InvokeBody, Request},
};

/// Answers an ask. A photo's bytes come raw, with the ask in the header `bowseam-ask`; on Android, where nothing passes
/// raw from a page to Rust, as base64 beside it.
#[tauri::command]
async fn ask(app: tauri::State<'_, Arc<App>>, request: Request<'_>) -> Result<Answer, Refusal> {
    let app = Arc::clone(&app);
    let (ask, bytes) = match request.body() {
        InvokeBody::Json(body) => {
            let ask = body.get("ask").map(ToString::to_string).unwrap_or_default();
            (door::from_json(ask.as_bytes())?, beside(body)?)
        }
        InvokeBody::Raw(bytes) => {
            let header = request
                .headers()
                .get("bowseam-ask")
                .map(|h| h.as_bytes().to_vec())
                .unwrap_or_default();
            (door::from_header(&header)?, Some(bytes.clone()))
        }
    };
    // Off the window's thread: a photo of 12 MP takes a moment.
    tauri::async_runtime::spawn_blocking(move || app.ask(&Asker::default(), ask, bytes.as_deref()))
        .await
        .unwrap_or_else(|e| {
            Err(Refusal {
                code: "stopped".into(),
                sentence: format!("The program was stopped: {e}."),
                field: None,
            })
        })
}

/// The bytes beside an ask in JSON, if there are any.
fn beside(body: &serde_json::Value) -> Result<Option<Vec<u8>>, Refusal> {
    let Some(text) = body.get("bytes").and_then(serde_json::Value::as_str) else {
        return Ok(None);
    };
    let bytes = STANDARD.decode(text);
    Ok(Some(bytes.map_err(|_| {
        Refusal::new("not_an_ask", "The bytes beside an ask are base64.")
    })?))
}

/// Does what a page wants of the phone itself. Anywhere but on a phone the page does it in the browser's own ways.
#[tauri::command]
async fn phone(
    shell: tauri::AppHandle,
    app: tauri::State<'_, Arc<App>>,
    want: Want,
) -> Result<Given, Refusal> {
    #[cfg(target_os = "android")]
    return phone::phone(&shell, &app, want).await;
    #[cfg(not(target_os = "android"))]
    {
        let _ = (shell, app, want);
        let sentence = "This device is no phone: use its own camera and files.";
        Err(Refusal::new("no_phone", sentence))
    }
}

/// The folder with the data of this device; `BOWSEAM_DATA` names another (tests use it). On a phone it lies where files
/// can be handed out one by one (`gen/android/.../file_paths.xml`), and where `SendWorker.kt` looks.
fn folder(shell: &tauri::App) -> tauri::Result<PathBuf> {
    if let Some(folder) = std::env::var_os("BOWSEAM_DATA") {
        return Ok(PathBuf::from(folder));
    }
    let folder = shell.path().app_local_data_dir()?;
    Ok(if cfg!(target_os = "android") {
        folder.join("files/bowseam")
    } else {
        folder
    })
}

/// Opens the window on the data of this device.
#[cfg_attr(mobile, tauri::mobile_entry_point)]
pub fn run() -> ExitCode {
    let builder = tauri::Builder::default();
    #[cfg(target_os = "android")]
    let builder = builder.plugin(phone::plugin());
    let built = builder
        .setup(|shell| {
            let app = core::opened(&folder(shell)?)?;
            bowseam_app::camera::adopt_orphans(&app);
            app.show_photo_files();
            #[cfg(target_os = "android")]
            app.watch_network(phone::network(shell.handle().clone()));
            // A window puts a packet where a person looks for files; a phone hands it to another app.
            #[cfg(not(target_os = "android"))]
            if let Ok(folder) = shell.path().download_dir() {
                app.save_files_to(folder);
            }
            shell
                .asset_protocol_scope()
                .allow_directory(app.photos().root(), true)?;
            shell.manage(app);
            Ok(())
        })
        .invoke_handler(tauri::generate_handler![ask, phone])
        .build(tauri::generate_context!());
    match built {
        Ok(shell) => {
            shell.run(|_, _| {});
            ExitCode::SUCCESS
        }
        Err(e) => {
            eprintln!("Bowseam cannot open: {e}");
            ExitCode::FAILURE
        }
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use serde_json::json;

    #[test]
    fn bytes_beside_an_ask_come_as_base64_or_not_at_all() {
        let ask = json!({"ask": {"kind": "hello"}});
        assert_eq!(beside(&ask).unwrap(), None);
        let with = json!({"ask": {"kind": "hello"}, "bytes": "/9j/4A=="});
        assert_eq!(beside(&with).unwrap().unwrap(), [0xFF, 0xD8, 0xFF, 0xE0]);
        let wrong = json!({"ask": {"kind": "hello"}, "bytes": "not base64"});
        assert_eq!(beside(&wrong).unwrap_err().code, "not_an_ask");
    }
}
