//! ISO 8601 durations and intervals as weather services write them: `PT6H`, `P1DT6H`, `2026-01-24T01:00:00+00:00/PT14H`.

use chrono::{DateTime, TimeDelta, Utc};

/// Longest duration that is taken, days; a forecast interval is never longer and arithmetic stays safe.
const MAX_DAYS: i64 = 366;

/// Parses `P[nW][nD][T[nH][nM][nS]]` with whole numbers; `None` for anything else, for an empty or zero duration and for
/// one longer than 366 days. Years and months have no fixed length and are not taken.
///
/// ```
/// use brimwater::weather::duration::parse_duration;
/// assert_eq!(parse_duration("P1DT6H").unwrap().num_hours(), 30);
/// assert!(parse_duration("P1M").is_none());
/// ```
pub fn parse_duration(text: &str) -> Option<TimeDelta> {
    let rest = text.strip_prefix('P')?;
    let (date, time) = match rest.split_once('T') {
        Some((_, "")) => return None,
        Some((date, time)) => (date, time),
        None => (rest, ""),
    };
    let seconds = units(date, &[('W', 604_800), ('D', 86_400)])?
        .checked_add(units(time, &[('H', 3_600), ('M', 60), ('S', 1)])?)?;
    if seconds == 0 || seconds > MAX_DAYS * 86_400 {
        return None;
    }
    Some(TimeDelta::seconds(seconds))
}

/// Sum of `n<unit>` terms in the given order, each at most once, in seconds.
fn units(mut text: &str, allowed: &[(char, i64)]) -> Option<i64> {
    let mut allowed = allowed.iter();
    let mut total = 0_i64;
    while !text.is_empty() {
        let end = text.find(|c: char| !c.is_ascii_digit())?;
        let number: i64 = text.get(..end)?.parse().ok()?;
        let unit = text.get(end..)?.chars().next()?;
        let (_, seconds) = allowed.by_ref().find(|(name, _)| *name == unit)?;
        total = total.checked_add(number.checked_mul(*seconds)?)?;
        text = text.get(end + unit.len_utf8()..)?;
    }
    Some(total)
}

/// Parses `start/duration` or `start/end` into a half-open interval `[start, end)`.
pub fn parse_interval(text: &str) -> Option<(DateTime<Utc>, DateTime<Utc>)> {
    let (start, rest) = text.split_once('/')?;
    let start = DateTime::parse_from_rfc3339(start).ok()?.to_utc();
    let end = if rest.starts_with('P') {
        start.checked_add_signed(parse_duration(rest)?)?
    } else {
        DateTime::parse_from_rfc3339(rest).ok()?.to_utc()
    };
    (end > start && end - start <= TimeDelta::days(MAX_DAYS)).then_some((start, end))
}
