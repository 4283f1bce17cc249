//! The hours that all series cover, the time from which a plan looks ahead, and whether the forecast is stale.

use super::series::{Kind, Series};
use crate::faults::{Fault, Faults, Severity};
use chrono::{DateTime, DurationRound, TimeDelta, Utc};

/// Shortest window that a plan is made for, hours (judgement: less holds no night).
pub const LEAST_HOURS: i64 = 6;
/// Age of a forecast above which it is called stale, hours (common practice: forecasts are renewed every 6 to 12 h).
pub const STALE_HOURS: i64 = 12;

/// Cuts all series to the hours that every one of them covers.
///
/// Faults: `BW-P05` there are no such hours, or fewer than [`LEAST_HOURS`] (fatal, the series are left as they are); `BW-P06` hours
/// were cut off (a note up to 3 h, a warning above).
pub fn cut_to_common(series: &mut [Series]) -> Faults {
    let mut faults = Faults::new();
    let (Some(start), Some(end)) = (
        series.iter().map(|one| one.start).max(),
        series.iter().map(Series::end).min(),
    ) else {
        return faults;
    };
    if (end - start).num_hours() < LEAST_HOURS {
        faults.push(
            Fault::new(
                "BW-P05",
                Severity::Fatal,
                if series.len() > 1 {
                    "the series share too few hours to plan for"
                } else {
                    "the series is too short to plan for"
                },
            )
            .value(&spans(series))
            .expected(format!("at least {LEAST_HOURS} hours that every series covers"))
            .remedy("Give series of the same days."),
        );
        return faults;
    }
    let before: i64 = series
        .iter()
        .map(|one| (one.end() - one.start).num_hours())
        .max()
        .unwrap_or(0);
    keep_between(series, start, end);
    let lost = before - (end - start).num_hours();
    if lost > 0 {
        let severity = if lost > 3 { Severity::Warning } else { Severity::Note };
        faults.push(
            Fault::new(
                "BW-P06",
                severity,
                format!("the series do not cover the same hours: {lost} h of the longest are not used"),
            )
            .remedy("Give series of the same days to plan for all of them."),
        );
    }
    faults
}

fn spans(series: &[Series]) -> String {
    let one = |s: &Series| {
        let name = if s.station.station_id.is_empty() {
            "series"
        } else {
            &s.station.station_id
        };
        format!(
            "{name} {} to {}",
            s.start.format("%Y-%m-%d %H:%M"),
            s.end().format("%Y-%m-%d %H:%M UTC")
        )
    };
    series.iter().take(3).map(one).collect::<Vec<_>>().join(", ")
}

/// Cuts every series to the hours between two of its own.
pub(super) fn keep_between(series: &mut [Series], start: DateTime<Utc>, end: DateTime<Utc>) {
    for one in series {
        cut(one, start, end);
    }
}

fn cut(series: &mut Series, start: DateTime<Utc>, end: DateTime<Utc>) {
    let from = (start - series.start).num_hours().max(0) as usize;
    let keep = (end - start).num_hours().max(0) as usize + 1;
    fn slice<T>(values: &mut Vec<T>, from: usize, keep: usize) {
        values.truncate(from.saturating_add(keep));
        values.drain(..from.min(values.len()));
    }
    slice(&mut series.air_c, from, keep);
    slice(&mut series.wind_m_s, from, keep);
    slice(&mut series.dew_point_c, from, keep);
    slice(&mut series.sky_cover, from, keep);
    slice(&mut series.kind, from, keep);
    slice(&mut series.interpolated, from, keep);
    series.start += TimeDelta::hours(from as i64);
}

/// From when a plan looks ahead.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Stand {
    /// The time: hours from here on are forecast.
    pub now: DateTime<Utc>,
    /// Until when what was reported from the sites counts: to the minute also where `now` is the full hour of the clock.
    pub reported_until: DateTime<Utc>,
    /// When the newest forecast was issued, if told.
    pub issued: Option<DateTime<Utc>>,
    /// Whether the spell is over: no hour is forecast, or the time given lies at or after the end.
    pub over: bool,
}

/// Decides from when a plan looks ahead and whether its weather is stale.
///
/// `given` is what the user said, `clock` what the clock says. Without a word from the user the clock counts, to the full hour, so
/// that two runs in the same hour agree; before the forecast begins and after it has ended, the time of its issue (or its first
/// forecast hour) counts. A record without forecast hours is looked at from its end.
///
/// Faults, all warnings: `BW-P03` the window has ended, `BW-P04` the forecast is older than [`STALE_HOURS`], or says that it comes from the future.
pub fn stand(given: Option<DateTime<Utc>>, clock: DateTime<Utc>, series: &[Series]) -> (Stand, Faults) {
    let mut faults = Faults::new();
    let issued = series.iter().filter_map(|one| one.issued).max();
    let first_forecast = series
        .iter()
        .filter_map(|one| {
            let hour = one.kind.iter().position(|kind| *kind == Kind::Forecast)?;
            Some(one.time(hour))
        })
        .min();
    let end = series.iter().map(Series::end).min().unwrap_or(clock);
    let Some(first_forecast) = first_forecast else {
        return (
            Stand {
                now: given.unwrap_or(end),
                reported_until: given.unwrap_or(end),
                issued,
                over: true,
            },
            faults,
        );
    };
    let base = issued.unwrap_or(first_forecast).min(end);
    let hour = |time: DateTime<Utc>| time.duration_trunc(TimeDelta::hours(1)).unwrap_or(time);
    let read_at = given.unwrap_or(clock);
    let now = match given {
        Some(now) => now,
        None if clock < base || clock > end => base,
        None => hour(clock).max(base),
    };
    if read_at > end {
        faults.push(
            Fault::new(
                "BW-P03",
                Severity::Warning,
                format!("the forecast ended {} ago", age(read_at - end)),
            )
            .value(&end.format("%Y-%m-%d %H:%M UTC").to_string())
            .expected("a forecast that reaches into the future")
            .remedy("Get a new forecast; this plan tells what its time held, not what comes."),
        );
    } else if let Some(told) = issued
        && read_at - told > TimeDelta::hours(STALE_HOURS)
    {
        faults.push(
            Fault::new(
                "BW-P04",
                Severity::Warning,
                format!("the forecast was issued {} ago", age(read_at - told)),
            )
            .expected(format!("one that is at most {STALE_HOURS} h old"))
            .remedy("Get a newer one before calling anybody."),
        );
    }
    // A forecast that is told to come from the future tells nothing of its age.
    if let Some(told) = issued.filter(|told| *told - read_at > TimeDelta::hours(STALE_HOURS)) {
        faults.push(
            Fault::new(
                "BW-P04",
                Severity::Warning,
                format!(
                    "the forecast says that it was issued {} in the future: its age is not known",
                    age(told - read_at)
                ),
            )
            .expected(format!("one that is at most {STALE_HOURS} h old"))
            .remedy("Look at the weather service's own page before calling anybody, and at this computer's clock."),
        );
    }
    let over = given.is_some_and(|given| given >= end);
    let reported_until = match given {
        None if (base..=end).contains(&clock) => clock.max(now),
        _ => now,
    };
    let stand = Stand {
        now,
        reported_until,
        issued,
        over,
    };
    (stand, faults)
}

fn age(age: TimeDelta) -> String {
    match age.num_hours() {
        0 => "less than an hour".into(),
        hours @ 1..=71 => format!("{hours} h"),
        hours => format!("{} days", hours / 24),
    }
}
