//! Supply water from a climate series, against the published formula worked outside.
#![allow(clippy::unwrap_used, clippy::panic)]

use approx::assert_abs_diff_eq;
use brimwater::weather::inlet::{inlet, inlet_of};
use brimwater::weather::readers::{Found, read_reported};
use brimwater::weather::{DailyDay, DailyRecord, Kind, ReadOptions, Series, Station};
use chrono::{Days, NaiveDate};
use std::collections::BTreeMap;

fn found(path: &str) -> Vec<Found> {
    let bytes = std::fs::read(format!("tests/data/weather/{path}")).unwrap();
    read_reported(&bytes, path, &ReadOptions::default()).0
}

#[test]
fn supply_water_of_a_real_typical_year_matches_the_formula_worked_apart() {
    let answer = inlet_of(&found("tmy3_whole_year.csv")[0]).unwrap();
    let text = std::fs::read_to_string("tests/data/weather/inlet_reference.csv").unwrap();
    let expected: BTreeMap<&str, f64> = text
        .lines()
        .skip(1)
        .map(|line| line.split_once(',').unwrap())
        .map(|(what, value)| (what, value.parse().unwrap()))
        .collect();
    // X-Val: Burch and Christensen 2007 in °F, worked in Python (make_climate.py). Days are cut at the sun's midnight here and at the
    // clock's there, and the month weighs a leap day: 0.05 K covers both.
    assert_abs_diff_eq!(answer.annual_mean_air_c, expected["annual_mean_air_c"], epsilon = 0.05);
    assert_abs_diff_eq!(answer.monthly_range_k, expected["monthly_range_k"], epsilon = 0.05);
    assert_abs_diff_eq!(answer.coldest_c, expected["coldest_c"], epsilon = 0.05);
    assert_abs_diff_eq!(answer.warmest_c, expected["warmest_c"], epsilon = 0.05);
    assert_abs_diff_eq!(f64::from(answer.coldest_day), expected["coldest_day"], epsilon = 1.0);
    for (month, water) in answer.by_month_c.iter().enumerate() {
        assert_abs_diff_eq!(
            *water,
            expected[format!("month_{}", month + 1).as_str()],
            epsilon = 0.05
        );
    }
    assert!(answer.cautions.iter().any(|caution| caution.contains("typical year")));
}

/// A daily record of one year whose months have the given means exactly (°F), days all alike.
fn record(monthly_f: [f64; 12], days: u64) -> DailyRecord {
    let start = NaiveDate::from_ymd_opt(2001, 1, 1).unwrap();
    let days = (0..days)
        .map(|day| {
            let date = start + Days::new(day);
            let mean_c = (monthly_f[chrono::Datelike::month0(&date) as usize] - 32.0) / 1.8;
            // The range varies from day to day so that nothing looks stuck.
            let half = 3.0 + (day % 5) as f64;
            DailyDay {
                date,
                min_c: Some(mean_c - half),
                max_c: Some(mean_c + half),
                observed_at_h: Some(24.0),
            }
        })
        .collect();
    DailyRecord::new("made", Station::default(), days, Vec::new())
}

#[test]
fn northern_texas_norm_matches_the_check_table() {
    // X-Val: freeze notes section 5, row "66, 40 °F": coldest 59.60 °F, warmest 84.40 °F, coldest about day 28.
    // Months: a cosine of 40 °F range around 66 °F, the annual mean weighed by days.
    let mut months =
        std::array::from_fn(|month| 66.0 - 20.0 * (2.0 * std::f64::consts::PI * month as f64 / 12.0).cos());
    let days = [31.0, 28.25, 31.0, 30.0, 31.0, 30.0, 31.0, 31.0, 30.0, 31.0, 30.0, 31.0];
    let mean: f64 = months.iter().zip(days).map(|(m, d)| m * d).sum::<f64>() / 365.25;
    for month in &mut months {
        *month += 66.0 - mean;
    }
    let answer = inlet(&record(months, 365)).unwrap();
    let f = |c: f64| c * 1.8 + 32.0;
    assert_abs_diff_eq!(f(answer.annual_mean_air_c), 66.0, epsilon = 1e-6);
    assert_abs_diff_eq!(f(answer.coldest_c), 59.60, epsilon = 0.01);
    assert_abs_diff_eq!(f(answer.warmest_c), 84.40, epsilon = 0.01);
    assert_eq!(answer.coldest_day, 28);
    assert!(!answer.southern);
}

#[test]
fn a_southern_year_is_coldest_half_a_year_later() {
    let north: [f64; 12] =
        std::array::from_fn(|month| 60.0 - 15.0 * (2.0 * std::f64::consts::PI * month as f64 / 12.0).cos());
    let south = std::array::from_fn(|month| north[(month + 6) % 12]);
    let (north, south) = (inlet(&record(north, 365)).unwrap(), inlet(&record(south, 365)).unwrap());
    assert!(south.southern && !north.southern);
    // Half a year is 182 or 183 days; the formula's day has 0.986 degrees, so a year of it is 365.1 days.
    let apart = i32::from(south.coldest_day) - i32::from(north.coldest_day);
    assert!((181..=184).contains(&apart), "{apart}");
}

#[test]
fn less_than_a_year_is_refused_in_words() {
    let fault = inlet(&record([50.0; 12], 200)).unwrap_err();
    assert_eq!(fault.code, "BW-S50");
    assert!(fault.what.contains("December") && fault.expected.contains("one whole year"));
    let short = found("725300-99999-2013.isdlite");
    assert_eq!(inlet_of(&short[0]).unwrap_err().code, "BW-S50");
}

#[test]
fn an_empty_series_is_refused() {
    let empty = Series {
        format: "made",
        station: Station::default(),
        start: chrono::DateTime::UNIX_EPOCH,
        air_c: vec![],
        wind_m_s: vec![],
        dew_point_c: vec![],
        sky_cover: vec![],
        kind: Vec::<Kind>::new(),
        interpolated: vec![],
        issued: None,
    };
    assert_eq!(inlet(&empty).unwrap_err().code, "BW-S50");
}
