//! Quality control: what cannot be is set aside, told and listed; nothing is corrected and nothing vanishes.
//!
//! The checks are few and wide on purpose. A value that is set aside wrongly may be the cold that breaks a pipe, so every
//! limit is far outside what weather does, and every value set aside is listed with its reason. All limits are judgement,
//! chosen against the real records in `tests/data`; none of those loses a value that its own source calls good.

use super::assemble::{RawReading, SetAside};
use super::daily::DailyDay;
use super::neighbours;
use super::series::Kind;
use chrono::{DateTime, Datelike, TimeDelta, Utc};
use std::collections::BTreeMap;

/// Largest distance of an hour from the median of the 30 days around it, K (judgement: the fastest swings on record are near 55 K
/// within a day or two, but from extreme to extreme, so about half of that from the median).
pub const FAR_FROM_SEASON_K: f64 = 45.0;
/// Largest distance of an hour from the median of the 7 hours around it, K (judgement: a front is a step, which the median follows).
pub const SPIKE_K: f64 = 12.0;
/// Most readings from which the median around an hour is taken (judgement: 7 hours of readings every two minutes).
const MOST_AROUND: usize = 210;
/// Hours of exactly the same observed air temperature that count as a stuck sensor (judgement: fog and melting snow hold a
/// whole degree for half a day).
pub const STUCK_HOURS: i64 = 24;
/// Dew point above the air temperature that rounding cannot explain, K (judgement: two readings in whole °F).
pub const DEW_POINT_ABOVE_AIR_K: f64 = 1.2;
/// Days of exactly the same pair of minimum and maximum that count as a stuck record (judgement).
pub const STUCK_DAYS: usize = 5;
/// Distance of a daily value from the median of its calendar month in all years, K, below which it is never questioned (judgement).
pub const FAR_FROM_MONTH_K: f64 = 30.0;
/// The same as a multiple of the robust standard deviation of that month (judgement).
pub const FAR_FROM_MONTH_SDS: f64 = 8.0;

fn median(values: &mut [f64]) -> Option<f64> {
    if values.is_empty() {
        return None;
    }
    let middle = values.len() / 2;
    let (_, value, _) = values.select_nth_unstable_by(middle, f64::total_cmp);
    Some(*value)
}

/// Marks readings whose air temperature cannot be used, by their `set_aside`; clears impossible dew points and returns them.
///
/// `readings` in any order. Checks: far from the season, a fall and a rise no night makes both, spikes, stuck values and repeated days (the last two for
/// observations only: a forecast may well stand still), dew point above the air.
pub fn screen(readings: &mut [RawReading]) -> Vec<SetAside> {
    let dew_points = screen_dew_points(readings);
    let mut order: Vec<(usize, DateTime<Utc>, f64)> = readings
        .iter()
        .enumerate()
        .filter(|(_, reading)| reading.set_aside.is_none())
        .filter_map(|(at, reading)| Some((at, reading.time_utc, reading.air_c.filter(|air| air.is_finite())?)))
        .collect();
    order.sort_by(|a, b| a.1.cmp(&b.1).then(a.2.total_cmp(&b.2)));
    let mut verdicts: BTreeMap<usize, String> = BTreeMap::new();
    far_from_season(&order, &mut verdicts);
    order.retain(|(at, _, _)| !verdicts.contains_key(at));
    verdicts.append(&mut neighbours::notches(&order));
    order.retain(|(at, _, _)| !verdicts.contains_key(at));
    spikes(&order, &mut verdicts);
    order.retain(|(at, _, _)| !verdicts.contains_key(at));
    order.retain(|(at, _, _)| readings.get(*at).is_some_and(|reading| reading.kind == Kind::Observed));
    stuck(&order, &mut verdicts);
    repeated_days(&order, &mut verdicts);
    for (at, why) in verdicts {
        if let Some(reading) = readings.get_mut(at) {
            reading.set_aside = Some(why);
        }
    }
    dew_points
}

fn screen_dew_points(readings: &mut [RawReading]) -> Vec<SetAside> {
    let mut found = Vec::new();
    for reading in readings {
        if let (Some(air), Some(dew)) = (reading.air_c, reading.dew_point_c)
            && dew > air + DEW_POINT_ABOVE_AIR_K
        {
            reading.dew_point_c = None;
            found.push(SetAside {
                time: reading.time_utc,
                value_c: dew,
                why: format!("dew point above the air temperature of {air:.1} °C; the air temperature was kept"),
            });
        }
    }
    found
}

fn far_from_season(order: &[(usize, DateTime<Utc>, f64)], verdicts: &mut BTreeMap<usize, String>) {
    let mut days: BTreeMap<i64, Vec<f64>> = BTreeMap::new();
    for (_, time, air) in order {
        days.entry(time.timestamp().div_euclid(86_400)).or_default().push(*air);
    }
    let medians: BTreeMap<i64, f64> = days
        .iter_mut()
        .filter_map(|(day, values)| Some((*day, median(values)?)))
        .collect();
    // Two days or less have no season to be far from.
    if medians.len() < 3 {
        return;
    }
    let around: BTreeMap<i64, f64> = medians
        .keys()
        .filter_map(|day| {
            let mut near: Vec<f64> = medians.range(day - 15..=day + 15).map(|(_, value)| *value).collect();
            Some((*day, median(&mut near)?))
        })
        .collect();
    for (at, time, air) in order {
        if let Some(usual) = around.get(&time.timestamp().div_euclid(86_400))
            && (air - usual).abs() > FAR_FROM_SEASON_K
        {
            verdicts.insert(
                *at,
                format!(
                    "{:.0} K away from the median of the days around it",
                    (air - usual).abs()
                ),
            );
        }
    }
}

fn spikes(order: &[(usize, DateTime<Utc>, f64)], verdicts: &mut BTreeMap<usize, String>) {
    let window = TimeDelta::minutes(200);
    let (mut low, mut high) = (0, 0);
    let mut near = Vec::with_capacity(16);
    let (mut window_of, mut usual_there) = (None, None);
    for (here, (at, time, air)) in order.iter().enumerate() {
        while order.get(low).is_some_and(|(_, other, _)| *time - *other > window) {
            low += 1;
        }
        while order.get(high).is_some_and(|(_, other, _)| *other - *time <= window) {
            high += 1;
        }
        // Needs company on both sides: at an edge or beside a gap a front cannot be told from a spike.
        if here < low + 2 || high < here + 3 {
            continue;
        }
        let rough = |other: f64| (air - other).abs() > SPIKE_K;
        // Cheap look first: a spike differs from at least one direct neighbour.
        let neighbours =
            [here.wrapping_sub(1), here + 1].map(|index| order.get(index).is_some_and(|other| rough(other.2)));
        if !neighbours.contains(&true) && high - low < 16 {
            let span = order.get(low).map_or(0.0, |other| (air - other.2).abs());
            let ahead = order.get(high - 1).map_or(0.0, |other| (air - other.2).abs());
            if span <= SPIKE_K || ahead <= SPIKE_K {
                continue;
            }
        }
        // Rows of one time share their window.
        if window_of != Some((low, high)) {
            near.clear();
            let around = order.get(low..high).unwrap_or_default();
            // Of a crowd in time a sample tells the median well enough, and keeps a file of one time told a million times quick.
            let every = around.len().div_ceil(MOST_AROUND).max(1);
            near.extend(around.iter().step_by(every).map(|other| other.2));
            usual_there = median(&mut near);
            window_of = Some((low, high));
        }
        if let Some(usual) = usual_there
            && rough(usual)
        {
            verdicts.insert(
                *at,
                format!("a spike: {:.0} K away from the hours around it", (air - usual).abs()),
            );
        }
    }
}

fn stuck(order: &[(usize, DateTime<Utc>, f64)], verdicts: &mut BTreeMap<usize, String>) {
    for run in order.chunk_by(|a, b| (a.2 - b.2).abs() < 0.005) {
        let (Some(first), Some(last)) = (run.first(), run.last()) else {
            continue;
        };
        let hours = (last.1 - first.1).num_hours();
        // A few readings far apart in time are no stuck sensor.
        if hours >= STUCK_HOURS && run.len() as i64 * 3 > hours {
            for (at, _, _) in run.iter().skip(1) {
                verdicts.insert(*at, format!("stuck: the same value for {hours} h"));
            }
        }
    }
}

fn repeated_days(order: &[(usize, DateTime<Utc>, f64)], verdicts: &mut BTreeMap<usize, String>) {
    let by_time: BTreeMap<i64, (usize, f64)> = order
        .iter()
        .filter(|(at, _, _)| !verdicts.contains_key(at))
        .map(|(at, time, air)| (time.timestamp(), (*at, *air)))
        .collect();
    // Runs of readings that equal those of 24 h before.
    let mut run: Vec<(usize, f64)> = Vec::new();
    let mut previous_time = i64::MIN;
    let mut finish = |run: &mut Vec<(usize, f64)>| {
        let mut values: Vec<i64> = run.iter().map(|(_, air)| (air * 100.0).round() as i64).collect();
        values.sort_unstable();
        values.dedup();
        // A whole day, and one with a shape: a few equal hours or a flat day mean nothing.
        if run.len() >= 24 && values.len() >= 6 {
            for (at, _) in run.iter() {
                verdicts.insert(*at, "a day that repeats the day before, hour by hour".into());
            }
        }
        run.clear();
    };
    for (time, (at, air)) in &by_time {
        let same = by_time
            .get(&(time - 86_400))
            .is_some_and(|(_, before)| (before - air).abs() < 0.005);
        if !same || time - previous_time > 3_700 {
            finish(&mut run);
        }
        if same {
            run.push((*at, *air));
        }
        previous_time = *time;
    }
    finish(&mut run);
}

/// Marks what cannot be in a daily record: clears the value in the day and returns it with the reason.
///
/// `days` sorted by date, one a date. Checks: minimum above maximum; far from both neighbours on a day of impossible range; far from the calendar month's median in all years; stuck
/// pairs; and one cold night that a morning observer told twice.
pub fn screen_days(days: &mut [DailyDay]) -> Vec<SetAside> {
    let mut found = Vec::new();
    for day in days.iter_mut() {
        if let (Some(min_c), Some(max_c)) = (day.min_c, day.max_c)
            && min_c > max_c + 0.05
        {
            day.min_c = None;
            day.max_c = None;
            for value_c in [min_c, max_c] {
                found.push(set_aside(day, value_c, "the minimum is above the maximum".into()));
            }
        }
    }
    far_from_month(days, &mut found, |day| &mut day.min_c);
    far_from_month(days, &mut found, |day| &mut day.max_c);
    found.append(&mut neighbours::screen(days));
    stuck_days(days, &mut found);
    nights_told_twice(days, &mut found);
    found.sort_by(|a, b| a.time.cmp(&b.time).then(a.value_c.total_cmp(&b.value_c)));
    found
}

fn set_aside(day: &DailyDay, value_c: f64, why: String) -> SetAside {
    SetAside {
        time: day.date.and_time(chrono::NaiveTime::MIN).and_utc(),
        value_c,
        why,
    }
}

fn far_from_month(days: &mut [DailyDay], found: &mut Vec<SetAside>, value: impl Fn(&mut DailyDay) -> &mut Option<f64>) {
    let mut months: [Vec<f64>; 12] = std::array::from_fn(|_| Vec::new());
    for day in days.iter_mut() {
        let month = day.date.month0() as usize;
        if let (Some(number), Some(values)) = (*value(day), months.get_mut(month)) {
            values.push(number);
        }
    }
    let limits = months.map(|mut values| {
        values.sort_by(f64::total_cmp);
        let at = |share: f64| super::gev::sorted_quantile(&values, share);
        // A quarter of a month tells no median that may judge.
        (values.len() >= 8).then(|| {
            let sd = (at(0.75) - at(0.25)) / 1.349;
            (
                at(0.5),
                (FAR_FROM_MONTH_SDS * sd).clamp(FAR_FROM_MONTH_K, 2.0 * FAR_FROM_MONTH_K),
            )
        })
    });
    for day in days {
        let Some(Some((usual, far))) = limits.get(day.date.month0() as usize).copied() else {
            continue;
        };
        if let Some(number) = *value(day)
            && (number - usual).abs() > far
        {
            *value(day) = None;
            found.push(set_aside(
                day,
                number,
                format!(
                    "{:.0} K away from the median of its month in all years",
                    (number - usual).abs()
                ),
            ));
        }
    }
}

fn stuck_days(days: &mut [DailyDay], found: &mut Vec<SetAside>) {
    let same = |a: &DailyDay, b: &DailyDay| {
        a.min_c.is_some()
            && a.max_c.is_some()
            && a.min_c == b.min_c
            && a.max_c == b.max_c
            && (b.date - a.date).num_days() == 1
    };
    for run in days.chunk_by_mut(same) {
        if run.len() < STUCK_DAYS {
            continue;
        }
        let length = run.len();
        for day in run.iter_mut().skip(1) {
            for value_c in [day.min_c.take(), day.max_c.take()].into_iter().flatten() {
                found.push(set_aside(
                    day,
                    value_c,
                    format!("stuck: the same pair of readings for {length} days"),
                ));
            }
        }
    }
}

/// A freezing minimum that equals the day before's, when the observer reads in the morning or the maximum is the same too: the
/// instrument was reset in the cold of the first morning and told that cold again at the next.
fn nights_told_twice(days: &mut [DailyDay], found: &mut Vec<SetAside>) {
    let mut previous: Option<DailyDay> = None;
    for day in days {
        let original = day.clone();
        if let (Some(before), Some(min_c)) = (&previous, day.min_c)
            && min_c <= 0.0
            && before.min_c == Some(min_c)
            && (day.date - before.date).num_days() == 1
        {
            let morning = day.observed_at_h.is_some_and(|hour| (3.0..=11.0).contains(&hour));
            let known_otherwise = day.observed_at_h.is_some() && !morning;
            let pair = day.max_c.is_some() && day.max_c == before.max_c;
            if morning || (pair && !known_otherwise) {
                day.min_c = None;
                found.push(set_aside(
                    day,
                    min_c,
                    "the same minimum as the day before, read in the morning: most likely one night told twice".into(),
                ));
            }
        }
        previous = Some(original);
    }
}
