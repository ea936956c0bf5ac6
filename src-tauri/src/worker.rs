//! The way in for the phone's background worker (`SendWorker.kt`): no window, no web view, only the core. The name of
//! the function that the system looks for is made by `android_fn!`, so that there is no unsafe code of ours;
//! `tests/android/check` compares it with the Kotlin side.

use crate::core;
use bowseam_app::app::Round;
use std::{path::Path, time::Duration};
use tauri::tao::platform::android::prelude::{JClass, JNIEnv, JString, android_fn};

android_fn!(app_bowseam, field, Core, sendRound, [JString<'local>, i32, i32], i32);

/// All that could be sent is sent.
const DONE: i32 = 0;
/// There is more to send at once.
const MORE: i32 = 1;
/// Not now: no network, an office that is off, or a store in trouble, which the next save tells the person about.
const LATER: i32 = 2;

/// One round of sending from the data in `folder`; no new request is begun after so many seconds. `metered` is not 0
/// where the network costs money.
#[allow(non_snake_case, reason = "named as in Kotlin")]
fn sendRound(mut env: JNIEnv, _: JClass, folder: JString, seconds: i32, metered: i32) -> i32 {
    let Ok(folder) = env.get_string(&folder) else {
        return LATER;
    };
    let folder = String::from(folder);
    let time = Duration::from_secs(u64::try_from(seconds).unwrap_or_default());
    let round = core::opened(Path::new(&folder)).and_then(|app| {
        app.network_is(metered != 0);
        app.send_round(time)
    });
    match round {
        Ok(Round::Done) => DONE,
        Ok(Round::More) => MORE,
        Ok(Round::Later) | Err(_) => LATER,
    }
}
