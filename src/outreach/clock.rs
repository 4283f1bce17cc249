//! Shifts, quiet hours and daylight: local clock times turned into instants.

use super::config::{ShiftConfig, clock};
use chrono::{DateTime, Datelike, LocalResult, NaiveDate, NaiveTime, TimeDelta, TimeZone, Timelike, Utc, Weekday};
use chrono_tz::Tz;

/// The instant of a local date and time. Where the clock shows it twice the earlier one is meant; where the clock skips it, the
/// first instant after the skip.
pub fn instant(date: NaiveDate, time: NaiveTime, zone: Tz) -> DateTime<Utc> {
    let local = date.and_time(time);
    for quarter_hours in 0..=12 {
        match zone.from_local_datetime(&(local + TimeDelta::minutes(15 * quarter_hours))) {
            LocalResult::Single(at) | LocalResult::Ambiguous(at, _) => return at.with_timezone(&Utc),
            LocalResult::None => {}
        }
    }
    // No zone skips more than a day; UTC is then the least wrong.
    Utc.from_utc_datetime(&local)
}

/// A stretch of a shift in which all calls are taken to be alike.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Block {
    /// Start.
    pub start: DateTime<Utc>,
    /// End; a call of the block may end here.
    pub end: DateTime<Utc>,
    /// Local hour of its middle, 0 to 23.
    pub hour: usize,
    /// Whether it lies on Saturday or Sunday.
    pub weekend: bool,
}

/// Whether a date is Saturday or Sunday.
pub fn is_weekend(date: NaiveDate) -> bool {
    matches!(date.weekday(), Weekday::Sat | Weekday::Sun)
}

/// The blocks of the shifts from `now` to `until`: shift hours without quiet hours, cut into pieces of
/// `block_minutes`; a rest too short for one call is left out.
pub fn blocks(now: DateTime<Utc>, until: DateTime<Utc>, zone: Tz, shift: &ShiftConfig) -> Vec<Block> {
    let times = (
        clock(&shift.start),
        clock(&shift.end),
        clock(&shift.quiet_until),
        clock(&shift.quiet_from),
    );
    let (Some(start), Some(end), Some(quiet_until), Some(quiet_from)) = times else {
        return Vec::new();
    };
    let (from, to) = (start.max(quiet_until), end.min(quiet_from));
    let length = TimeDelta::minutes(i64::from(shift.block_minutes.max(1)));
    let shortest = minutes(shift.minutes_per_call);
    let today = now.with_timezone(&zone).date_naive();
    let mut blocks = Vec::new();
    for day in 0..shift.days {
        let Some(date) = today.checked_add_days(chrono::Days::new(u64::from(day))) else {
            break;
        };
        if from >= to || (is_weekend(date) && !shift.weekends) {
            continue;
        }
        let (mut at, close) = (instant(date, from, zone), instant(date, to, zone).min(until));
        while at < close {
            let next = (at + length).min(close);
            let begin = at.max(now);
            if next - begin >= shortest {
                let middle = (begin + (next - begin) / 2).with_timezone(&zone);
                blocks.push(Block {
                    start: begin,
                    end: next,
                    hour: middle.hour() as usize,
                    weekend: is_weekend(date),
                });
            }
            at = next;
        }
    }
    blocks
}

/// Minutes as a time difference, to the second.
pub fn minutes(minutes: f64) -> TimeDelta {
    TimeDelta::seconds((minutes.clamp(0.0, 1e6) * 60.0).round() as i64)
}

/// Hours as a time difference, to the second.
pub fn hours(hours: f64) -> TimeDelta {
    minutes(hours * 60.0)
}

/// The light of a day: first and last instant at which people can work outside.
pub type DayLight<'a> = dyn Fn(NaiveDate) -> (DateTime<Utc>, DateTime<Utc>) + Sync + 'a;

/// Daylight by the clock of the config, the same every day.
pub fn clock_daylight(zone: Tz, shift: &ShiftConfig) -> impl Fn(NaiveDate) -> (DateTime<Utc>, DateTime<Utc>) + Sync {
    let from = clock(&shift.daylight_from).unwrap_or(NaiveTime::MIN);
    let until = clock(&shift.daylight_until).unwrap_or(NaiveTime::MIN);
    move |date| (instant(date, from, zone), instant(date, until, zone))
}

/// The latest instant from which `needed_hours` of daylight are left before `ice`.
///
/// Walks back from `ice` through the light of each day, at most 14 days.
pub fn act_by(ice: DateTime<Utc>, needed_hours: f64, zone: Tz, daylight: &DayLight<'_>) -> DateTime<Utc> {
    let mut needed = hours(needed_hours);
    let mut date = ice.with_timezone(&zone).date_naive();
    for _ in 0..14 {
        let (from, until) = daylight(date);
        let until = until.min(ice);
        if until > from {
            if until - from >= needed {
                return until - needed;
            }
            needed -= until - from;
        }
        match date.pred_opt() {
            Some(before) => date = before,
            None => break,
        }
    }
    ice - TimeDelta::days(14)
}

/// The first instant from `now` on that lies outside the quiet hours.
pub fn after_quiet(now: DateTime<Utc>, zone: Tz, shift: &ShiftConfig) -> DateTime<Utc> {
    let (Some(until), Some(from)) = (clock(&shift.quiet_until), clock(&shift.quiet_from)) else {
        return now;
    };
    let local = now.with_timezone(&zone);
    let (date, time) = (local.date_naive(), local.time());
    if time < until {
        instant(date, until, zone)
    } else if time >= from {
        date.succ_opt().map_or(now, |next| instant(next, until, zone))
    } else {
        now
    }
}
