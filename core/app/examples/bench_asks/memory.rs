//! How much memory the core takes with all these jobs: the store that was filled is opened anew by a program of its own,
//! which looks at the lists and at every screen of some jobs, as a phone does in a shift.

use bowseam_app::{App, Asker, Kind, door};
use serde_json::{Value, json};
use std::{path::Path, process::Command, thread::sleep, time::Duration};

/// Jobs whose screens are looked at.
const LOOKED_AT: usize = 40;

/// In the program that filled the store, once it let go of it.
pub fn measure(phone: &Path, jobs: usize) {
    let told = Command::new(std::env::current_exe().unwrap())
        .arg("--look")
        .arg(phone)
        .output()
        .unwrap();
    assert!(told.status.success(), "{}", String::from_utf8_lossy(&told.stderr));
    let told = String::from_utf8(told.stdout).unwrap();
    print!("{told}");
    let most = told.lines().last().unwrap().rsplit(' ').next().unwrap();
    println!(
        "memory: {most} = most memory in MB of the core with {jobs} jobs in its store: opened, all lists and every screen of {LOOKED_AT} jobs looked at"
    );
}

/// In a program of its own.
pub fn look(phone: &Path) {
    println!("before it is opened {}", megabytes("VmRSS"));
    let app = (0..50)
        .find_map(|_| {
            let opened = App::open(phone, Kind::Phone).ok();
            if opened.is_none() {
                // The sending thread of the program that filled it is ending.
                sleep(Duration::from_millis(200));
            }
            opened
        })
        .unwrap();
    println!("opened {}", megabytes("VmRSS"));
    let get = |ask: Value| -> Value {
        let ask = door::from_json(ask.to_string().as_bytes()).unwrap();
        serde_json::to_value(app.ask(&Asker::default(), ask, None).unwrap()).unwrap()
    };
    for kind in ["hello", "outbox", "shop_book", "room"] {
        get(json!({"kind": kind}));
    }
    let yard = get(json!({"kind": "yard", "find": ""}));
    println!("lists looked at {}", megabytes("VmRSS"));
    for row in yard["rows"].as_array().unwrap().iter().take(LOOKED_AT) {
        for kind in [
            "arrival",
            "fold_out",
            "ways",
            "figures",
            "cut_list",
            "roof_off",
            "steps",
            "proof",
            "hand_over",
            "photos",
        ] {
            get(json!({"kind": kind, "job": row["job"]}));
        }
        get(json!({"kind": "packet", "job": row["job"], "form": "json"}));
    }
    println!("screens looked at {}", megabytes("VmRSS"));
    println!("most {}", megabytes("VmHWM"));
}

/// Megabytes of this process, as the system counts them; 0 where it does not say.
fn megabytes(what: &str) -> u64 {
    let said = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = said
        .lines()
        .find_map(|line| line.strip_prefix(what)?.strip_prefix(':'));
    let kilobytes = line.and_then(|line| line.split_whitespace().next()?.parse::<u64>().ok());
    kilobytes.unwrap_or(0) / 1000
}
