//! The winters of a station's record, each with the cold spells that could freeze something.
//!
//! Of each winter the severest are kept, by three orders, for what freezes a thin bonnet in a night is not what freezes an 8 in body in a
//! week.

use crate::weather::Series;
use crate::weather::spells::{COLD_C, runs};
pub use crate::weather::spells::{Cut, Severity, series_of};
use crate::weather::winters::{of_hours, season_of};
use chrono::TimeDelta;
use std::collections::BTreeMap;

/// One winter of a record.
#[derive(Debug, Clone, PartialEq)]
pub struct RecordWinter {
    /// The year that it ends in.
    pub season: i32,
    /// Coldest air, °C.
    pub min_c: f64,
    /// Share of the cold months that the record has.
    pub coverage: f64,
    /// Whether that is enough to count.
    pub complete: bool,
    /// The spells looked at, the one with the lowest air first.
    pub spells: Vec<Cut>,
}

/// The winters of an hourly series. `most` spells are kept by lowest air and by cold, a third as many by wind; `coldest_offset_k` is the
/// correction of the highest site, never above 0.
pub fn winters(series: &Series, most: usize, coldest_offset_k: f64) -> Vec<RecordWinter> {
    let southern = series.station.latitude_deg.is_some_and(|latitude| latitude < 0.0);
    let mut cuts = cuts_by_season(series, southern, COLD_C - coldest_offset_k.min(0.0));
    of_hours(&[series], southern)
        .into_iter()
        .map(|winter| RecordWinter {
            season: winter.season,
            min_c: winter.min_c,
            coverage: winter.coverage,
            complete: winter.is_complete(),
            spells: severest(cuts.remove(&winter.season).unwrap_or_default(), most.max(1)),
        })
        .collect()
}

fn cuts_by_season(series: &Series, southern: bool, cold_c: f64) -> BTreeMap<i32, Vec<Cut>> {
    let shift = TimeDelta::minutes((series.station.longitude_deg.unwrap_or(0.0) * 4.0) as i64);
    let mut found: BTreeMap<i32, Vec<Cut>> = BTreeMap::new();
    for (last, cuts) in runs(series, cold_c) {
        let season = season_of((series.time(last) + shift).date_naive(), southern);
        found.entry(season).or_default().extend(cuts);
    }
    found
}

fn severest(cuts: Vec<Cut>, most: usize) -> Vec<Cut> {
    let mut kept: Vec<Cut> = Vec::new();
    let mut take = |order: &dyn Fn(&Cut) -> f64, most: usize| {
        let mut sorted = cuts.clone();
        sorted.sort_by(|a, b| order(a).total_cmp(&order(b)).then(a.from.cmp(&b.from)));
        for cut in sorted.into_iter().take(most) {
            if !kept.contains(&cut) {
                kept.push(cut);
            }
        }
    };
    take(&|cut| cut.severity.min_c, most);
    take(&|cut| -cut.severity.cold_k_h, most);
    take(&|cut| -cut.severity.wind_k_h, most.div_ceil(3));
    kept
}
