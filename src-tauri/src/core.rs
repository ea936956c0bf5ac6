//! The core of this device: opened once in a process, whoever comes first, the window or the worker that sends in the
//! background while there is no window. A second opening of the same folder would be refused.

use bowseam_app::{
    answer::Refusal,
    app::{App, Kind},
    sending,
};
use std::{
    path::Path,
    sync::{Arc, Mutex, PoisonError},
};

static OPENED: Mutex<Option<Arc<App>>> = Mutex::new(None);

/// The core on this folder, opened if it is not yet; it sends from then on.
///
/// # Errors
/// The folder cannot be written, or another program has it open.
pub fn opened(folder: &Path) -> Result<Arc<App>, Refusal> {
    let mut opened = OPENED.lock().unwrap_or_else(PoisonError::into_inner);
    if let Some(app) = opened.as_ref().filter(|app| app.folder() == folder) {
        return Ok(Arc::clone(app));
    }
    let app = Arc::new(App::open(folder, Kind::Phone)?);
    sending::start_phone(&app);
    *opened = Some(Arc::clone(&app));
    Ok(app)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn window_and_worker_share_one_core() {
        let folder = tempfile::TempDir::new().unwrap();
        let worker = opened(folder.path()).unwrap();
        let window = opened(folder.path()).unwrap();
        assert!(Arc::ptr_eq(&worker, &window));
        assert!(
            App::open(folder.path(), Kind::Phone).is_err(),
            "the folder is locked"
        );
    }
}
