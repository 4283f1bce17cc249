//! Reading and judging long records. Aims: 40 years of ISD-Lite in under 2 s, a 90-year daily record with extremes in under 1 s.
#![allow(clippy::unwrap_used)]

use brimwater::weather::ReadOptions;
use brimwater::weather::extremes::extremes;
use brimwater::weather::readers::read_reported;
use chrono::{Datelike, Days, NaiveDate, TimeDelta, Timelike};
use std::collections::BTreeMap;
use std::fmt::Write;

fn main() {
    divan::main();
}

/// Weather-like noise that needs no generator: two incommensurable swings and a scrambled remainder.
fn air_c(hour: i64) -> f64 {
    let season = (hour as f64 / 8766.0 * std::f64::consts::TAU).cos();
    let day = (hour as f64 / 24.0 * std::f64::consts::TAU).cos();
    let weather = (hour as f64 / 97.3).sin() * 4.0 + (hour as f64 / 411.7).sin() * 4.0;
    14.0 - 11.0 * season - 5.0 * day + weather + (hour * 7919 % 31) as f64 / 10.0
}

/// Forty years of hours.
fn isd_lite() -> Vec<u8> {
    let start = NaiveDate::from_ymd_opt(1980, 1, 1)
        .unwrap()
        .and_hms_opt(0, 0, 0)
        .unwrap();
    let mut text = String::new();
    for hour in 0..40 * 8766 {
        let time = start + TimeDelta::hours(hour);
        let tenths = (air_c(hour) * 10.0).round() as i64;
        writeln!(
            text,
            "{} {:02} {:02} {:02}{tenths:6}{:6} -9999   270    31     0 -9999 -9999",
            time.year(),
            time.month(),
            time.day(),
            time.hour(),
            tenths - 50
        )
        .unwrap();
    }
    text.into_bytes()
}

/// Ninety years of days in the fixed-width shape.
fn daily() -> Vec<u8> {
    let start = NaiveDate::from_ymd_opt(1930, 1, 1).unwrap();
    let mut lines: BTreeMap<(i32, u32, &str), String> = BTreeMap::new();
    for day in 0..90 * 365_u64 {
        let date = start + Days::new(day);
        let mean = air_c(day as i64 * 24 + 6);
        for (element, value) in [("TMIN", mean - 5.0), ("TMAX", mean + 5.0)] {
            let line = lines
                .entry((date.year(), date.month(), element))
                .or_insert_with(|| format!("USX00000001{}{:02}{element}", date.year(), date.month()));
            write!(line, "{:5}   ", (value * 10.0).round() as i64).unwrap();
        }
    }
    let mut text = String::new();
    for line in lines.values() {
        text.push_str(line);
        for _ in (line.len() - 21) / 8..31 {
            text.push_str("-9999   ");
        }
        text.push('\n');
    }
    text.into_bytes()
}

#[divan::bench(sample_count = 5, sample_size = 1)]
fn forty_years_of_isd_lite_read(bencher: divan::Bencher) {
    let bytes = isd_lite();
    bencher.bench(|| {
        let (found, _) = read_reported(&bytes, "bench", &ReadOptions::default());
        assert!(found[0].series.as_ref().unwrap().hours() > 350_000);
    });
}

#[divan::bench(sample_count = 5, sample_size = 1)]
fn ninety_years_of_days_with_extremes(bencher: divan::Bencher) {
    let bytes = daily();
    bencher.bench(|| {
        let (found, _) = read_reported(&bytes, "bench", &ReadOptions::default());
        assert!(extremes(&found).unwrap().seasons > 80);
    });
}

#[divan::bench(sample_count = 5, sample_size = 1)]
fn extremes_of_forty_years_of_hours(bencher: divan::Bencher) {
    let (found, _) = read_reported(&isd_lite(), "bench", &ReadOptions::default());
    bencher.bench(|| extremes(&found).unwrap());
}
