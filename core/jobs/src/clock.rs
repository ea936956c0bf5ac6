//! Hybrid logical time, so that changes on devices whose clocks disagree still have one order.
//!
//! `at` is 16 lower-case hexadecimal digits: seconds since 1970 in the first eight, fractions of a second in
//! the rest (the last digit counts within one tick). Text in that form sorts as the times do, and the wall
//! time can be read from it. Times from elsewhere push our clock forward, but only by up to [`AHEAD`]: one
//! phone that is a year ahead must not drag everybody with it. A change that replaces one from the future is
//! written just after it instead ([`Clock::after`]).

use chrono::{DateTime, Utc};
use std::time::{Duration, SystemTime, UNIX_EPOCH};
use uhlc::{HLC, HLCBuilder, ID, NTP64, Timestamp};

/// How far ahead of our own clock a time from elsewhere may be and still push it.
const AHEAD: Duration = Duration::from_secs(300);
/// Times at or beyond this (the year 2097) are no times: nothing could be written after them.
const END: u64 = 0xF000_0000_0000_0000;

pub(crate) struct Clock(HLC);

impl Clock {
    pub(crate) fn new() -> Self {
        Self(
            HLCBuilder::new()
                .with_clock(wall_clock)
                .with_max_delta(AHEAD)
                .build(),
        )
    }

    /// A time later than every one given out before.
    pub(crate) fn now(&self) -> String {
        text(self.0.new_timestamp().get_time().as_u64())
    }

    /// A time of ours for a change that replaces one of time `held`: now, or just after `held` if that lies
    /// in the future. Our clock does not move for it.
    pub(crate) fn after(&self, held: Option<&str>) -> String {
        let now = self.now();
        match held.and_then(ticks) {
            Some(ticks) if text(ticks) >= now => text(ticks.saturating_add(1)),
            _ => now,
        }
    }

    /// Takes note of a time from elsewhere.
    pub(crate) fn saw(&self, at: &str) {
        if let Some(ticks) = ticks(at) {
            let id = ID::try_from([1u8]).unwrap_or_else(|_| ID::rand());
            // Refused when too far ahead: on purpose, see the module's head.
            let _ = self.0.update_with_timestamp(&Timestamp::new(NTP64(ticks), id));
        }
    }
}

/// A phone whose clock fell back before 1970 counts from there.
fn wall_clock() -> NTP64 {
    let since = SystemTime::now().duration_since(UNIX_EPOCH).unwrap_or_default();
    // NTP64 ends in 2106 and panics beyond.
    NTP64::from(since.min(Duration::from_secs(u64::from(u32::MAX))))
}

fn text(ticks: u64) -> String {
    format!("{ticks:016x}")
}

fn ticks(at: &str) -> Option<u64> {
    let plain = at.len() == 16 && at.bytes().all(|b| matches!(b, b'0'..=b'9' | b'a'..=b'f'));
    u64::from_str_radix(at, 16)
        .ok()
        .filter(|ticks| plain && *ticks < END)
}

/// The wall time of an entry's `at`; `None` if it is not such a time.
#[must_use]
pub fn wall(at: &str) -> Option<DateTime<Utc>> {
    UNIX_EPOCH
        .checked_add(NTP64(ticks(at)?).to_duration())
        .map(DateTime::from)
}

/// The `at` of a wall time, for history that is written after the fact (demo data, tests); `None` outside
/// 1970 to 2096.
#[must_use]
pub fn at(wall: DateTime<Utc>) -> Option<String> {
    let since = Duration::new(
        u64::try_from(wall.timestamp()).ok()?,
        wall.timestamp_subsec_nanos(),
    );
    let ticks = (since.as_secs() <= u64::from(u32::MAX)).then(|| NTP64::from(since).as_u64())?;
    (ticks < END).then(|| text(ticks))
}

#[cfg(test)]
#[allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing
)]
mod tests {
    use super::*;

    #[test]
    fn times_given_out_rise_and_can_be_read_as_wall_time() {
        let clock = Clock::new();
        let times: Vec<String> = (0..1000).map(|_| clock.now()).collect();
        assert!(times.is_sorted_by(|a, b| a < b));
        let off = Utc::now() - wall(&times[999]).unwrap();
        assert!(off.num_milliseconds().abs() < 1000, "{off}");
        let noon: DateTime<Utc> = "2026-03-01T12:00:00.25Z".parse().unwrap();
        assert!(
            (wall(&at(noon).unwrap()).unwrap() - noon)
                .num_microseconds()
                .unwrap()
                .abs()
                < 2
        );
    }

    #[test]
    fn a_clock_a_little_ahead_is_followed_and_one_a_year_ahead_is_not() {
        let clock = Clock::new();
        let minute = at(Utc::now() + chrono::TimeDelta::minutes(1)).unwrap();
        clock.saw(&minute);
        assert!(clock.now() > minute);
        let year = at(Utc::now() + chrono::TimeDelta::days(365)).unwrap();
        clock.saw(&year);
        assert!(clock.now() < year);
        assert!(
            clock.after(Some(&year)) > year,
            "what replaces it is still written after it"
        );
        assert!(clock.now() < year);
    }

    #[test]
    fn what_is_not_a_time_is_told_from_one() {
        for not in [
            "",
            "2026-03-01T12:00:00Z",
            "000000000000000G",
            "00000000000000AB",
            "ffffffffffffffff",
            "+00000000000000f",
        ] {
            assert_eq!(wall(not), None, "{not}");
        }
    }
}
