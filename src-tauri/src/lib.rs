//! The shell: the screens of `ui/` in a web view, and one command, `ask`, to the core. It holds no state and
//! no rule of its own, so that the phone does what the browser does.

use bowseam_app::{
    answer::{Answer, Refusal},
    app::{App, Asker, Kind},
    door, sending,
};
use std::{path::PathBuf, process::ExitCode, sync::Arc};
use tauri::{
    Manager,
    ipc::{InvokeBody, Request},
};

/// Answers an ask. A photo's bytes come raw, with the ask in the header `bowseam-ask`.
#[tauri::command]
async fn ask(app: tauri::State<'_, Arc<App>>, request: Request<'_>) -> Result<Answer, Refusal> {
    let app = Arc::clone(&app);
    let (ask, bytes) = match request.body() {
        InvokeBody::Json(body) => {
            let ask = body.get("ask").map(ToString::to_string).unwrap_or_default();
            (door::from_json(ask.as_bytes())?, None)
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

/// Opens the window on the data of this device; `BOWSEAM_DATA` names another folder (tests use it).
#[cfg_attr(mobile, tauri::mobile_entry_point)]
pub fn run() -> ExitCode {
    let built = tauri::Builder::default()
        .setup(|shell| {
            let folder = match std::env::var_os("BOWSEAM_DATA") {
                Some(folder) => PathBuf::from(folder),
                None => shell.path().app_local_data_dir()?,
            };
            let app = App::open(&folder, Kind::Phone)?;
            app.show_photo_files();
            shell
                .asset_protocol_scope()
                .allow_directory(app.photos().root(), true)?;
            sending::start_phone(&app);
            shell.manage(Arc::new(app));
            Ok(())
        })
        .invoke_handler(tauri::generate_handler![ask])
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
