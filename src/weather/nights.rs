//! The cold nights of a window: which, how cold, from when to when. People plan by nights, not by the hours of a file.

use super::series::Series;
use chrono::{DateTime, NaiveDate, TimeDelta, Utc};
use chrono_tz::Tz;
use std::collections::BTreeMap;

/// Air below which water can freeze, °C.
const FREEZING_C: f64 = 0.0;

/// A night with frost at one station or more, from noon to noon of the local clock.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Night {
    /// The day on whose evening it begins.
    pub evening: NaiveDate,
    /// Coldest air at any station, °C.
    pub min_air_c: f64,
    /// When that is.
    pub coldest: DateTime<Utc>,
    /// First hour below freezing at any station.
    pub from: DateTime<Utc>,
    /// End of the last hour below freezing at any station.
    pub to: DateTime<Utc>,
    /// Hours below freezing at the station that has most of them.
    pub hours: usize,
}

/// The nights with frost, in order.
pub fn cold_nights(series: &[Series], zone: Tz) -> Vec<Night> {
    let mut nights: BTreeMap<NaiveDate, Night> = BTreeMap::new();
    for one in series {
        let mut hours: BTreeMap<NaiveDate, usize> = BTreeMap::new();
        for (hour, air_c) in one.air_c.iter().enumerate().filter(|(_, air_c)| **air_c < FREEZING_C) {
            let time = one.time(hour);
            let evening = (time.with_timezone(&zone).naive_local() - TimeDelta::hours(12)).date();
            let end = time + TimeDelta::hours(1);
            let night = nights.entry(evening).or_insert(Night {
                evening,
                min_air_c: *air_c,
                coldest: time,
                from: time,
                to: end,
                hours: 0,
            });
            if *air_c < night.min_air_c {
                (night.min_air_c, night.coldest) = (*air_c, time);
            }
            night.from = night.from.min(time);
            night.to = night.to.max(end);
            let count = hours.entry(evening).or_default();
            *count += 1;
            night.hours = night.hours.max(*count);
        }
    }
    nights.into_values().collect()
}
