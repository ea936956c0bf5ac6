//! Sending without being asked: a thread that makes a round when it is poked (after each save) and every so often.
//! No network is a normal state: it only waits longer between rounds, and a poke still tries at once.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{self, RecvTimeoutError};
use std::thread::{self, JoinHandle};
use std::time::Duration;

use bowseam_jobs::Store;
use bowseam_photos::Folder;

use crate::{Heard, Limits, Office, RoundReport, Sender};

/// With no answer the pause doubles up to this many times the usual one.
const LONGEST: u32 = 16;

/// The thread. Dropping it ends it after the request that is on its way; [`Background::stop`] waits for that.
#[derive(Debug)]
pub struct Background {
    pokes: mpsc::Sender<()>,
    ended: Arc<AtomicBool>,
    at_once: Arc<AtomicBool>,
    thread: Option<JoinHandle<()>>,
}

impl Background {
    /// Starts sending for this phone, with a pause of `every` between rounds. A phone that no office knows waits.
    /// `sender` may be shared with whoever else tries now and then: only one round runs at a time.
    pub fn start(store: Arc<Store>, folder: Folder, sender: Arc<Sender>, every: Duration) -> Self {
        Self::run(every, move |at_once| match Office::of(&store) {
            Ok(Some(office)) => {
                let limits = Limits {
                    at_once,
                    ..Limits::default()
                };
                sender
                    .round_within(&store, &folder, &office, limits)
                    .unwrap_or_default()
            }
            // Nothing to do yet, or a store in trouble, which the next save tells the person about.
            Ok(None) | Err(_) => RoundReport::default(),
        })
    }

    /// Starts a thread that calls `round`, with whether a person asked for it.
    fn run(every: Duration, mut round: impl FnMut(bool) -> RoundReport + Send + 'static) -> Self {
        let (pokes, poked) = mpsc::channel();
        let ended = Arc::new(AtomicBool::new(false));
        let end = Arc::clone(&ended);
        let at_once = Arc::new(AtomicBool::new(false));
        let now = Arc::clone(&at_once);
        let thread = thread::spawn(move || {
            let mut times: u32 = 1;
            while !end.load(Ordering::Acquire) {
                let report = round(now.swap(false, Ordering::AcqRel));
                times = match report.heard {
                    Heard::Answer => 1,
                    Heard::Nothing | Heard::Trouble => times.saturating_mul(2).min(LONGEST),
                };
                if report.more {
                    continue;
                }
                match poked.recv_timeout(every.saturating_mul(times)) {
                    Ok(()) => while poked.try_recv().is_ok() {},
                    Err(RecvTimeoutError::Timeout) => {}
                    Err(RecvTimeoutError::Disconnected) => break,
                }
            }
        });
        Self {
            pokes,
            ended,
            at_once,
            thread: Some(thread),
        }
    }

    /// Something new waits: tries now.
    pub fn poke(&self) {
        // The thread only ends when this is dropped.
        let _ = self.pokes.send(());
    }

    /// A person wants it tried now: also what waits for a later try.
    pub fn try_now(&self) {
        self.at_once.store(true, Ordering::Release);
        self.poke();
    }

    /// Ends the thread and waits until the request that is on its way is over.
    pub fn stop(mut self) {
        self.end();
        if let Some(thread) = self.thread.take() {
            // A panic in the thread is over already, and what it was sending still waits in the outbox.
            let _ = thread.join();
        }
    }

    fn end(&self) {
        self.ended.store(true, Ordering::Release);
        self.poke();
    }
}

impl Drop for Background {
    fn drop(&mut self) {
        self.end();
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use std::sync::atomic::AtomicU32;

    fn counted(every: Duration, report: RoundReport) -> (Background, Arc<AtomicU32>, mpsc::Receiver<bool>) {
        let count = Arc::new(AtomicU32::new(0));
        let (told, heard) = mpsc::channel();
        let counter = Arc::clone(&count);
        let background = Background::run(every, move |at_once| {
            counter.fetch_add(1, Ordering::SeqCst);
            told.send(at_once).unwrap();
            report.clone()
        });
        (background, count, heard)
    }

    const SOON: Duration = Duration::from_secs(10);
    const NEVER: Duration = Duration::from_secs(3600);

    #[test]
    fn a_poke_makes_a_round_at_once_and_stopping_ends_them() {
        let (background, count, heard) = counted(NEVER, RoundReport::default());
        heard.recv_timeout(SOON).unwrap();
        background.poke();
        assert!(!heard.recv_timeout(SOON).unwrap());
        background.try_now();
        assert!(heard.recv_timeout(SOON).unwrap(), "a person asked for it");
        background.stop();
        let made = count.load(Ordering::SeqCst);
        assert!(made >= 3);
        assert!(
            heard.recv_timeout(Duration::from_millis(50)).is_err(),
            "a round after stopping"
        );
    }

    #[test]
    fn rounds_follow_each_other_while_there_is_more_and_otherwise_after_the_pause() {
        let more = RoundReport {
            more: true,
            ..RoundReport::default()
        };
        let (background, _, heard) = counted(NEVER, more);
        for _ in 0..3 {
            heard.recv_timeout(SOON).unwrap();
        }
        background.stop();
        let (background, _, heard) = counted(Duration::from_millis(1), RoundReport::default());
        for _ in 0..3 {
            heard.recv_timeout(SOON).unwrap();
        }
        background.stop();
    }
}
