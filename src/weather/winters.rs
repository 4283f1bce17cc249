//! A record winter by winter: coldest night, hours and degree-hours below thresholds, longest spells, completeness.
//!
//! A season runs from July to June and is named after the year it ends in; in the south it is the calendar year. Hours come
//! from an hourly record, or are made from a daily one with the uncertainty that this carries.

use super::daily::DailyRecord;
use super::diurnal::{HOURS_BELOW_UNCERTAINTY_H, Shape};
use super::series::Series;
use chrono::{DateTime, Datelike, NaiveDate, TimeDelta, Utc};
use std::collections::BTreeMap;

/// Thresholds of the counts, °C: 32, 28, 24 and 20 °F.
pub const THRESHOLDS_C: [f64; 4] = [0.0, -20.0 / 9.0, -40.0 / 9.0, -60.0 / 9.0];
/// The same in °F, for people.
pub const THRESHOLDS_F: [f64; 4] = [32.0, 28.0, 24.0, 20.0];
/// Share of the cold months' hours or days that a season must have to count as complete (judgement).
pub const COMPLETE_SHARE: f64 = 0.9;
/// Air temperatures are compared with thresholds to this precision, K: whole °F written as °C must not fall on either side by rounding.
pub const PRECISION_K: f64 = 0.005;
/// Longest run of interpolated hours whose values are used.
const MAX_FILLED_HOURS: usize = 3;

/// Whether air is below a threshold, to the precision that records have.
pub fn is_below(air_c: f64, threshold_c: f64) -> bool {
    air_c < threshold_c - PRECISION_K
}

/// One season.
#[derive(Debug, Clone, PartialEq)]
pub struct Winter {
    /// The year that the season ends in.
    pub season: i32,
    /// Coldest air, °C.
    pub min_c: f64,
    /// When: the hour, or midnight of the day.
    pub min_time: DateTime<Utc>,
    /// Hours below each of [`THRESHOLDS_C`].
    pub hours_below: [f64; 4],
    /// Degree-hours below each of [`THRESHOLDS_C`], K·h.
    pub degree_hours_below: [f64; 4],
    /// Longest unbroken spell below each of [`THRESHOLDS_C`], h.
    pub longest_spell_h: [f64; 4],
    /// Uncertainty of the hours, h: 0 for an hourly record.
    pub hours_uncertainty: f64,
    /// Share of the cold months (November to March; May to September in the south) that the record has.
    pub coverage: f64,
}

impl Winter {
    /// Whether the record has enough of the cold months.
    pub fn is_complete(&self) -> bool {
        self.coverage >= COMPLETE_SHARE
    }

    fn new(season: i32, time: DateTime<Utc>) -> Self {
        Self {
            season,
            min_c: f64::INFINITY,
            min_time: time,
            hours_below: [0.0; 4],
            degree_hours_below: [0.0; 4],
            longest_spell_h: [0.0; 4],
            hours_uncertainty: 0.0,
            coverage: 0.0,
        }
    }

    fn reached(&mut self, air_c: f64, time: DateTime<Utc>) {
        if air_c < self.min_c {
            self.min_c = air_c;
            self.min_time = time;
        }
    }
}

/// Season of a date.
pub fn season_of(date: NaiveDate, southern: bool) -> i32 {
    if southern || date.month() < 7 {
        date.year()
    } else {
        date.year() + 1
    }
}

fn is_cold_month(month: u32, southern: bool) -> bool {
    if southern {
        (5..=9).contains(&month)
    } else {
        !(4..=10).contains(&month)
    }
}

/// Days of a season's cold months.
fn cold_days(season: i32, southern: bool) -> f64 {
    if southern {
        return 153.0;
    }
    let leap = NaiveDate::from_ymd_opt(season, 2, 29).is_some();
    if leap { 152.0 } else { 151.0 }
}

/// Counts hours one after the other; a spell ends at a gap and at the end of its season.
struct Counter {
    winters: BTreeMap<i32, Winter>,
    covered_h: BTreeMap<i32, f64>,
    spell_h: [f64; 4],
    season: Option<i32>,
    southern: bool,
}

impl Counter {
    fn new(southern: bool) -> Self {
        Self {
            winters: BTreeMap::new(),
            covered_h: BTreeMap::new(),
            spell_h: [0.0; 4],
            season: None,
            southern,
        }
    }

    fn gap(&mut self) {
        self.spell_h = [0.0; 4];
    }

    fn hour(&mut self, date: NaiveDate, time: DateTime<Utc>, air_c: f64) {
        let season = season_of(date, self.southern);
        if self.season != Some(season) {
            self.season = Some(season);
            self.gap();
        }
        let winter = self.winters.entry(season).or_insert_with(|| Winter::new(season, time));
        winter.reached(air_c, time);
        if is_cold_month(date.month(), self.southern) {
            *self.covered_h.entry(season).or_insert(0.0) += 1.0;
        }
        let counts = winter
            .hours_below
            .iter_mut()
            .zip(winter.degree_hours_below.iter_mut())
            .zip(winter.longest_spell_h.iter_mut().zip(self.spell_h.iter_mut()));
        for (((hours, degree_hours), (longest, spell)), threshold) in counts.zip(THRESHOLDS_C) {
            if is_below(air_c, threshold) {
                *hours += 1.0;
                *degree_hours += threshold - air_c;
                *spell += 1.0;
                *longest = longest.max(*spell);
            } else {
                *spell = 0.0;
            }
        }
    }

    fn finish(mut self) -> Vec<Winter> {
        for (season, winter) in &mut self.winters {
            let hours = self.covered_h.get(season).copied().unwrap_or(0.0);
            winter.coverage = (hours / (24.0 * cold_days(*season, self.southern))).min(1.0);
        }
        self.winters
            .into_values()
            .filter(|winter| winter.min_c.is_finite())
            .collect()
    }
}

/// Hours of an hourly series that may be counted: measured ones, and those of short gaps.
pub fn countable(series: &Series) -> Vec<bool> {
    let mut out = Vec::with_capacity(series.hours());
    for run in series.interpolated.chunk_by(|a, b| a == b) {
        let good = run.first() == Some(&false) || run.len() <= MAX_FILLED_HOURS;
        out.extend(std::iter::repeat_n(good, run.len()));
    }
    out
}

/// Winters of hourly series, which may be several files of one station; hours that two files share count once.
pub fn of_hours(series: &[&Series], southern: bool) -> Vec<Winter> {
    let mut parts: Vec<&&Series> = series.iter().collect();
    parts.sort_by_key(|one| one.start);
    let mut counter = Counter::new(southern);
    let mut next: Option<DateTime<Utc>> = None;
    for one in parts {
        let shift = TimeDelta::minutes((one.station.longitude_deg.unwrap_or(0.0) * 4.0) as i64);
        for (hour, (air, good)) in one.air_c.iter().zip(countable(one)).enumerate() {
            let time = one.time(hour);
            if next.is_some_and(|next| time < next) {
                continue;
            }
            if !good || next.is_some_and(|next| time != next) {
                counter.gap();
            }
            next = Some(time + TimeDelta::hours(1));
            if good {
                counter.hour((time + shift).date_naive(), time, *air);
            }
        }
    }
    counter.finish()
}

/// Winters of daily records; the coldest is the measured minimum, the hours are made from minimum and maximum.
///
/// The uncertainty of a winter's hours is that of a day times the root of the days that pass the threshold of freezing: errors of
/// single days are taken as independent (judgement).
pub fn of_days(records: &[&DailyRecord], southern: bool) -> Vec<Winter> {
    let mut counter = Counter::new(southern);
    let mut freezing_days: BTreeMap<i32, f64> = BTreeMap::new();
    let mut seen: BTreeMap<NaiveDate, ()> = BTreeMap::new();
    let mut parts: Vec<&&DailyRecord> = records.iter().collect();
    parts.sort_by_key(|one| one.span());
    let mut previous: Option<NaiveDate> = None;
    for record in &parts {
        for (date, hours) in record.hours_by_day(Shape::PartonLogan) {
            if seen.insert(date, ()).is_some() {
                continue;
            }
            if previous.is_none_or(|previous| (date - previous).num_days() != 1) {
                counter.gap();
            }
            previous = Some(date);
            let midnight = date.and_time(chrono::NaiveTime::MIN).and_utc();
            for (hour, air) in hours.iter().enumerate() {
                counter.hour(date, midnight + TimeDelta::hours(hour as i64), *air);
            }
            if hours.iter().any(|air| is_below(*air, 0.0)) {
                *freezing_days.entry(season_of(date, southern)).or_insert(0.0) += 1.0;
            }
        }
    }
    let mut winters: BTreeMap<i32, Winter> = counter
        .finish()
        .into_iter()
        .map(|winter| (winter.season, winter))
        .collect();
    // The coldest and the coverage are of the minima themselves: a day without a maximum still has its night.
    let mut minima: BTreeMap<i32, (f64, NaiveDate, f64)> = BTreeMap::new();
    let mut counted: BTreeMap<NaiveDate, ()> = BTreeMap::new();
    for day in parts.iter().flat_map(|record| &record.days) {
        let Some(min_c) = day.min_c else { continue };
        if counted.insert(day.date, ()).is_some() {
            continue;
        }
        let slot = minima
            .entry(season_of(day.date, southern))
            .or_insert((f64::INFINITY, day.date, 0.0));
        if min_c < slot.0 {
            (slot.0, slot.1) = (min_c, day.date);
        }
        if is_cold_month(day.date.month(), southern) {
            slot.2 += 1.0;
        }
    }
    for (season, (min_c, date, days)) in minima {
        let time = date.and_time(chrono::NaiveTime::MIN).and_utc();
        let winter = winters.entry(season).or_insert_with(|| Winter::new(season, time));
        winter.min_c = min_c;
        winter.min_time = time;
        winter.coverage = (days / cold_days(season, southern)).min(1.0);
        winter.hours_uncertainty =
            HOURS_BELOW_UNCERTAINTY_H * freezing_days.get(&season).copied().unwrap_or(0.0).sqrt();
    }
    winters
        .into_values()
        .filter(|winter| winter.min_c.is_finite())
        .collect()
}
