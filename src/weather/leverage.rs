//! What hangs on single values: how far the return level moves with each value that was set aside or is doubted.

use super::daily::DailyRecord;
use super::gev::fit_minima;
use super::neighbours::date_of;
use super::readers::Found;
use super::winters::{Winter, season_of};
use chrono::{DateTime, Datelike, NaiveDate, Utc};
use std::collections::BTreeMap;

/// Return period for which it is told, years: the one that plans are made by.
pub const YEARS: f64 = 50.0;
/// Movement of the level from which a value is named, K (judgement: what is told in tenths).
const LEAST_K: f64 = 0.05;
/// Values that are named (judgement).
const MOST: usize = 12;

/// One value and what hangs on it.
#[derive(Debug, Clone, PartialEq)]
pub struct Leverage {
    /// Its instant, or midnight of its day.
    pub time: DateTime<Utc>,
    /// The value, °C.
    pub value_c: f64,
    /// Whether it was used.
    pub used: bool,
    /// Why it is doubted or was set aside.
    pub why: String,
    /// Level once in [`YEARS`] with the value, °C.
    pub with_c: f64,
    /// The same without it, °C.
    pub without_c: f64,
}

/// The values of a record that move its level, the one that moves it farthest first. `winters` are those that the levels come from.
pub fn leverages(found: &[Found], winters: &[&Winter], southern: bool) -> Vec<Leverage> {
    let minima: BTreeMap<i32, f64> = winters.iter().map(|winter| (winter.season, winter.min_c)).collect();
    let level = |change: Option<(i32, f64)>| {
        let mut all = minima.clone();
        if let Some((season, min_c)) = change {
            all.insert(season, min_c);
        }
        let values: Vec<f64> = all.into_values().collect();
        fit_minima(&values).map(|gev| gev.minimum_c(YEARS))
    };
    let Some(as_used_c) = level(None) else {
        return Vec::new();
    };
    let mut all = Vec::new();
    let aside = found.iter().flat_map(|one| &one.report.set_aside);
    for one in aside {
        let season = season_of(date_of(one), southern);
        // Nothing hangs on a value that is warmer than what was used, or of a winter that does not count.
        if let Some(held) = minima.get(&season)
            && one.value_c < *held
            && let Some(with_c) = level(Some((season, one.value_c)))
        {
            all.push(Leverage {
                time: one.time,
                value_c: one.value_c,
                used: false,
                why: one.why.clone(),
                with_c,
                without_c: as_used_c,
            });
        }
    }
    for record in found.iter().filter_map(|one| one.daily.as_ref()) {
        for one in &record.doubtful {
            let season = season_of(date_of(one), southern);
            if minima.get(&season) == Some(&one.value_c)
                && let Some(next_c) = coldest_but(record, season, southern, date_of(one))
                && let Some(without_c) = level(Some((season, next_c)))
            {
                all.push(Leverage {
                    time: one.time,
                    value_c: one.value_c,
                    used: true,
                    why: one.why.clone(),
                    with_c: as_used_c,
                    without_c,
                });
            }
        }
    }
    let size = |one: &Leverage| (one.with_c - one.without_c).abs();
    all.retain(|one| size(one) >= LEAST_K);
    all.sort_by(|a, b| size(b).total_cmp(&size(a)).then(a.time.cmp(&b.time)));
    all.truncate(MOST);
    all
}

/// Coldest minimum of a season without one day.
fn coldest_but(record: &DailyRecord, season: i32, southern: bool, without: NaiveDate) -> Option<f64> {
    let days = record.days.iter();
    days.filter(|day| day.date != without && season_of(day.date, southern) == season)
        // Cheap guard against days far from the winter in question.
        .filter(|day| (day.date.year() - season).abs() <= 1)
        .filter_map(|day| day.min_c)
        .min_by(f64::total_cmp)
}
