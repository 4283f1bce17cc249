//! Quality control: what cannot be is set aside and listed, what is merely rare is kept.
#![allow(clippy::unwrap_used, clippy::panic)]

use brimwater::weather::readers::read_reported;
use brimwater::weather::{
    AssembleOptions, DailyDay, DailyRecord, Kind, RawReading, ReadOptions, Report, Series, Station, assemble,
};
use chrono::{DateTime, Days, NaiveDate, TimeDelta, Utc};
use proptest::prelude::*;

/// Hours of a made summer or winter: a daily swing around `mean_c` and a slow wander.
fn hours(mean_c: f64, count: i64, kind: Kind) -> Vec<RawReading> {
    let start: DateTime<Utc> = "2025-07-01T00:00:00Z".parse().unwrap();
    (0..count)
        .map(|hour| {
            let angle = (hour % 24) as f64 / 24.0 * std::f64::consts::TAU;
            let wander = ((hour / 24) * 13 % 7) as f64 * 0.6 + (hour * 31 % 17) as f64 * 0.05;
            RawReading::of_air(
                start + TimeDelta::hours(hour),
                mean_c - 6.0 * angle.cos() + wander,
                kind,
            )
        })
        .collect()
}

fn make(readings: Vec<RawReading>) -> (Option<Series>, Report) {
    let mut options = AssembleOptions::new("made", "made");
    options.allow_gaps = true;
    let (series, report, _) = assemble(Station::default(), readings, &options);
    (series, report)
}

#[test]
fn minus_seventy_two_fahrenheit_in_july_is_set_aside_and_listed() {
    let mut readings = hours(27.0, 24 * 20, Kind::Observed);
    readings[200].air_c = Some(-57.8);
    let (series, report) = make(readings);
    assert_eq!(report.set_aside.len(), 1);
    assert_eq!(report.set_aside[0].value_c, -57.8);
    assert!(report.set_aside[0].why.contains("K away"));
    assert!(series.unwrap().coldest().unwrap().1 > 15.0, "it is not used");
}

#[test]
fn a_run_of_impossible_values_is_no_weather_either() {
    let mut readings = hours(27.0, 24 * 20, Kind::Observed);
    for reading in &mut readings[200..210] {
        reading.air_c = Some(-57.8);
    }
    assert_eq!(make(readings).1.set_aside.len(), 10);
}

#[test]
fn a_spike_is_set_aside_and_a_front_is_kept() {
    let mut readings = hours(5.0, 24 * 10, Kind::Forecast);
    readings[100].air_c = Some(-14.0);
    let (_, report) = make(readings.clone());
    assert_eq!(report.set_aside.len(), 1);
    assert!(report.set_aside[0].why.contains("spike"));
    // A norther: 22 K lower from one hour to the next, and it stays.
    readings = hours(12.0, 24 * 10, Kind::Observed);
    for reading in &mut readings[100..] {
        reading.air_c = reading.air_c.map(|air| air - 22.0);
    }
    assert!(make(readings).1.set_aside.is_empty());
}

#[test]
fn a_stuck_sensor_is_set_aside_and_a_flat_forecast_is_not() {
    let mut readings = hours(3.0, 24 * 10, Kind::Observed);
    for reading in &mut readings[50..90] {
        reading.air_c = Some(0.6);
    }
    let (_, report) = make(readings.clone());
    assert_eq!(report.set_aside.len(), 39, "all but the first");
    assert!(report.set_aside[0].why.contains("stuck"));
    for reading in &mut readings {
        reading.kind = Kind::Forecast;
    }
    assert!(make(readings).1.set_aside.is_empty(), "forecasts merge equal hours");
    // Half a day of fog at one whole degree is weather.
    let mut readings = hours(3.0, 24 * 10, Kind::Observed);
    for reading in &mut readings[50..64] {
        reading.air_c = Some(0.6);
    }
    assert!(make(readings).1.set_aside.is_empty());
}

#[test]
fn a_day_copied_over_the_next_is_set_aside() {
    let mut readings = hours(3.0, 24 * 10, Kind::Observed);
    for hour in 120..144 {
        readings[hour].air_c = readings[hour - 24].air_c;
    }
    let (_, report) = make(readings);
    assert_eq!(report.set_aside.len(), 24);
    assert!(report.set_aside[0].why.contains("repeats the day before"));
}

#[test]
fn an_impossible_dew_point_goes_and_its_air_temperature_stays() {
    let mut readings = hours(3.0, 48, Kind::Observed);
    readings[10].dew_point_c = readings[10].air_c.map(|air| air + 5.0);
    readings[11].dew_point_c = readings[11].air_c.map(|air| air + 0.6);
    let air = readings[10].air_c;
    let (series, report) = make(readings);
    let series = series.unwrap();
    assert_eq!(report.set_aside.len(), 1);
    assert!(report.set_aside[0].why.contains("dew point"));
    assert_eq!((Some(series.air_c[10]), series.interpolated[10]), (air, false));
    assert!(series.dew_point_c[11].is_some(), "rounding is no fault");
}

#[test]
fn the_real_records_of_the_test_data_lose_nothing() {
    for name in [
        "725300-99999-2013.isdlite",
        "asos_january_2013.csv",
        "ghcnh_january_2013.psv",
        "tmy3_whole_year.csv",
        "epw_january.epw",
    ] {
        let bytes = std::fs::read(format!("tests/data/weather/{name}")).unwrap();
        let (found, _) = read_reported(&bytes, name, &ReadOptions::default());
        assert!(
            found[0].report.set_aside.is_empty(),
            "{name}: {:?}",
            found[0].report.set_aside
        );
    }
}

fn days(values: &[(f64, f64)], observed_at_h: Option<f64>) -> DailyRecord {
    let start = NaiveDate::from_ymd_opt(2014, 1, 1).unwrap();
    let days = values
        .iter()
        .enumerate()
        .map(|(at, (min, max))| DailyDay {
            date: start + Days::new(at as u64),
            min_c: Some(*min),
            max_c: Some(*max),
            observed_at_h,
        })
        .collect();
    DailyRecord::new("made", Station::default(), days, Vec::new())
}

#[test]
fn one_cold_night_told_on_two_mornings_counts_once() {
    let pairs = [(1.0, 9.0), (-9.4, 4.0), (-9.4, 6.0), (-1.0, 11.0), (2.0, 12.0)];
    // A morning observer: the second −9.4 is the first, told again.
    let record = days(&pairs, Some(7.0));
    assert_eq!(record.set_aside.len(), 1);
    assert!(record.set_aside[0].why.contains("one night told twice"));
    assert_eq!(record.days.iter().filter(|day| day.min_c == Some(-9.4)).count(), 1);
    // An observer at midnight: two nights.
    assert_eq!(days(&pairs, Some(24.0)).set_aside.len(), 0);
    // Unknown hour: only when the whole pair repeats.
    assert_eq!(days(&pairs, None).set_aside.len(), 0);
    let mut same = pairs;
    same[2] = same[1];
    assert_eq!(days(&same, None).set_aside.len(), 1);
    // Warm nights repeat all the time in the south.
    assert_eq!(
        days(&[(21.0, 30.0), (21.0, 31.0), (21.0, 32.0)], Some(7.0))
            .set_aside
            .len(),
        0
    );
}

#[test]
fn daily_values_that_cannot_be_are_set_aside() {
    let start = NaiveDate::from_ymd_opt(2010, 1, 1).unwrap();
    let mut all: Vec<DailyDay> = (0..1461_u64)
        .map(|day| {
            let angle = day as f64 / 365.25 * std::f64::consts::TAU;
            let mean = 15.0 - 11.0 * angle.cos() + (day * 7919 % 101) as f64 / 20.0;
            DailyDay {
                date: start + Days::new(day),
                min_c: Some(mean - 5.0),
                max_c: Some(mean + 5.0),
                observed_at_h: None,
            }
        })
        .collect();
    let clean = DailyRecord::new("made", Station::default(), all.clone(), Vec::new());
    assert!(clean.set_aside.is_empty());
    // −72 °F in July; a minimum above its maximum; six days of one pair.
    let july = 195;
    all[july].min_c = Some(-57.8);
    all[400].min_c = all[400].max_c.map(|max| max + 4.0);
    for day in &mut all[700..706] {
        (day.min_c, day.max_c) = (Some(3.3), Some(11.1));
    }
    let record = DailyRecord::new("made", Station::default(), all, Vec::new());
    let count = |words: &str| record.set_aside.iter().filter(|one| one.why.contains(words)).count();
    assert_eq!(count("median of its month"), 1);
    assert_eq!(count("above the maximum"), 2);
    assert_eq!(count("stuck"), 10);
    assert_eq!(record.set_aside.len(), 13);
}

#[test]
fn the_order_of_readings_never_matters() {
    let mut readings = hours(3.0, 24 * 6, Kind::Observed);
    readings[70].air_c = Some(-40.0);
    readings[20].dew_point_c = Some(30.0);
    let forward = make(readings.clone());
    readings.reverse();
    assert_eq!(forward.0, make(readings.clone()).0);
    assert_eq!(forward.1.set_aside, make(readings).1.set_aside);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]
    #[test]
    fn nothing_vanishes(values in proptest::collection::vec(prop_oneof![Just(f64::NAN), -120.0..80.0_f64], 1..200)) {
        let start: DateTime<Utc> = "2025-07-01T00:00:00Z".parse().unwrap();
        let readings: Vec<RawReading> = values.iter().enumerate()
            .map(|(hour, air)| RawReading::of_air(start + TimeDelta::hours(hour as i64), *air, Kind::Observed)).collect();
        let finite = values.iter().filter(|value| value.is_finite()).count();
        let (series, report) = make(readings);
        if let Some(series) = series {
            let used = series.interpolated.iter().filter(|filled| !**filled).count();
            prop_assert_eq!(used + report.set_aside.len(), finite);
            prop_assert!(series.air_c.iter().all(|air| air.is_finite()));
        } else {
            prop_assert_eq!(report.set_aside.len(), finite);
        }
    }
}

#[test]
fn one_time_told_half_a_million_times_takes_seconds() {
    // Quadratic work over these rows would take the better part of an hour.
    let start = chrono::DateTime::parse_from_rfc3339("2026-01-10T00:00:00Z")
        .unwrap()
        .to_utc();
    let mut readings = Vec::new();
    for day in 0..5 {
        for row in 0..100_000 {
            let time = start + TimeDelta::hours(24 * day + i64::from(row % 2));
            let mut one = RawReading::of_air(time, f64::from(row % 7), Kind::Observed);
            // Every tenth stands far from its neighbours: the careful look, not the cheap one.
            if row % 10 == 0 {
                one.air_c = Some(30.0);
            }
            readings.push(one);
        }
    }
    let began = std::time::Instant::now();
    let aside = brimwater::weather::quality::screen(&mut readings);
    assert!(began.elapsed().as_secs() < 60, "{:?}", began.elapsed());
    assert!(aside.is_empty());
    let spikes = readings
        .iter()
        .filter(|one| one.set_aside.as_deref().is_some_and(|why| why.contains("spike")));
    assert_eq!(spikes.count(), 50_000);
}

/// Winters of ordinary weather: a swing of the year, a wander of some days, ranges of 8 to 14 K.
fn ordinary(years: u64) -> Vec<DailyDay> {
    let start = NaiveDate::from_ymd_opt(1990, 1, 1).unwrap();
    (0..years * 1461 / 4)
        .map(|day| {
            let angle = day as f64 / 365.25 * std::f64::consts::TAU;
            let wander = 9.0 * (day as f64 / 5.3).sin() + 6.0 * (day as f64 / 2.9).cos();
            let mean = 14.0 - 12.0 * angle.cos() + wander;
            let half = 4.0 + (day * 7919 % 31) as f64 / 10.0;
            DailyDay {
                date: start + Days::new(day),
                min_c: Some(mean - half),
                max_c: Some(mean + half),
                observed_at_h: None,
            }
        })
        .collect()
}

#[test]
fn a_gross_error_in_winter_is_known_by_its_days_range_and_its_neighbours() {
    // X-Val: the widest daily range on record is near 56 K (102 °F within a day; from memory of the world's extremes), on a day on which a
    // front came; −40 °C on a day of 18 °C would be wider, between nights that know nothing of it.
    let mut days = ordinary(12);
    let at = 14;
    (days[at].min_c, days[at].max_c) = (Some(-40.0), Some(18.0));
    let record = DailyRecord::new("made", Station::default(), days, Vec::new());
    assert_eq!(record.set_aside.len(), 1, "{:?}", record.set_aside);
    let one = &record.set_aside[0];
    assert_eq!(one.value_c, -40.0);
    assert!(
        one.why.contains("range would be 58 K") && one.why.contains("before and after"),
        "{}",
        one.why
    );
    // The maximum of that day stays: it is like those around it.
    assert_eq!(record.days[at].max_c, Some(18.0));
    // The same fall with a front, whose cold stays for two more nights, is weather.
    let mut days = ordinary(12);
    (days[at].min_c, days[at].max_c) = (Some(-30.0), Some(18.0));
    (days[at + 1].min_c, days[at + 1].max_c) = (Some(-31.0), Some(-20.0));
    (days[at + 2].min_c, days[at + 2].max_c) = (Some(-29.0), Some(-18.0));
    let record = DailyRecord::new("made", Station::default(), days, Vec::new());
    assert!(record.set_aside.is_empty(), "{:?}", record.set_aside);
}

#[test]
fn what_is_hardly_to_be_believed_is_used_and_named() {
    let mut days = ordinary(12);
    days[14].min_c = Some(-19.0);
    days[14].max_c = Some(14.0);
    let record = DailyRecord::new("made", Station::default(), days, Vec::new());
    assert!(record.set_aside.is_empty());
    assert_eq!(record.days[14].min_c, Some(-19.0), "it is used");
    assert_eq!(record.doubtful.len(), 1, "{:?}", record.doubtful);
    assert!(record.doubtful[0].why.contains("33 K"), "{}", record.doubtful[0].why);
    assert!(
        DailyRecord::new("made", Station::default(), ordinary(12), Vec::new())
            .doubtful
            .is_empty()
    );
}

#[test]
fn the_real_daily_records_of_the_test_data_hold_no_doubt() {
    for name in [
        "daily_fixed_2012_2015.dly",
        "daily_long_2014.csv",
        "daily_wide_2016.csv",
    ] {
        let bytes = std::fs::read(format!("tests/data/weather/{name}")).unwrap();
        let (found, _) = read_reported(&bytes, name, &ReadOptions::default());
        let record = found[0].daily.as_ref().unwrap();
        assert!(record.doubtful.is_empty(), "{name}: {:?}", record.doubtful);
        assert!(
            !record.set_aside.iter().any(|one| one.why.contains("range would be")),
            "{name}"
        );
    }
}

#[test]
fn a_night_of_hours_between_a_fall_and_a_rise_that_no_weather_makes_is_set_aside() {
    let mut readings = hours(5.0, 24 * 10, Kind::Observed);
    for reading in &mut readings[100..108] {
        reading.air_c = Some(-30.0);
    }
    let (_, report) = make(readings);
    assert_eq!(report.set_aside.len(), 8, "{:?}", report.set_aside);
    assert!(report.set_aside.iter().all(|one| one.why.contains("risen")));
    // X-Val: a warm wind that came and went, 27 K up within minutes and 32 K down again after two hours (published for 22 January 1943,
    // from memory), is weather: the cold before and after it is the same.
    let mut readings = hours(-15.0, 24 * 10, Kind::Observed);
    for reading in &mut readings[100..103] {
        reading.air_c = Some(10.0);
    }
    let kept = make(readings).1.set_aside;
    assert!(
        kept.iter().all(|one| one.value_c > 0.0),
        "no cold hour is lost: {kept:?}"
    );
}
