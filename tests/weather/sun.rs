//! Sunrise and sunset against an independent solar position algorithm.
#![allow(clippy::unwrap_used, clippy::panic)]

use approx::assert_abs_diff_eq;
use brimwater::weather::sun::{Daylight, daylight, last_sunset_next_sunrise, sunrise_sunset};
use chrono::{DateTime, Datelike, NaiveDate, Utc};

#[test]
fn sunrise_matches_the_nrel_algorithm_within_five_minutes() {
    let text = std::fs::read_to_string("tests/data/weather/sun_reference.csv").unwrap();
    let mut rows = 0;
    for line in text.lines().skip(1) {
        let cells: Vec<&str> = line.split(',').collect();
        let number = |at: usize| cells[at].parse::<f64>().unwrap();
        let date: NaiveDate = cells[2].parse().unwrap();
        let Daylight::RisesAndSets { sunrise_h, sunset_h } =
            daylight(number(0), number(1), f64::from(date.ordinal()), 0.0)
        else {
            panic!("the sun rises and sets at {line}");
        };
        // X-Val: NREL solar position algorithm (Reda and Andreas 2004) as run by pvlib, sun_reference.csv. The Fourier series
        // is taken at noon of Greenwich for all longitudes and forgets leap years: up to 0.3 degrees of declination, 3 to 4 minutes.
        assert_abs_diff_eq!(sunrise_h, number(3), epsilon = 0.075);
        assert_abs_diff_eq!(sunset_h, number(4), epsilon = 0.075);
        rows += 1;
    }
    assert_eq!(rows, 64);
}

#[test]
fn sunrise_matches_the_check_hours() {
    // X-Val: NOAA solar calculation worked for three stations (weather notes section 5), printed to four decimals.
    for (latitude, longitude, offset, day, rise, set) in [
        (36.1, -79.95, -5.0, 36.0, 7.2998, 17.8181),
        (32.78, -96.8, -6.0, 46.0, 7.1902, 18.1915),
        (33.64, -84.43, -5.0, 358.0, 7.6566, 17.5750),
    ] {
        let Daylight::RisesAndSets { sunrise_h, sunset_h } = daylight(latitude, longitude, day, offset) else {
            panic!("mid latitudes have sunrise");
        };
        assert_abs_diff_eq!(sunrise_h, rise, epsilon = 1e-4);
        assert_abs_diff_eq!(sunset_h, set, epsilon = 1e-4);
    }
}

#[test]
fn polar_day_and_night_are_said() {
    // Fact of astronomy: north of the polar circle the sun stays up at midsummer and down at midwinter.
    assert_eq!(daylight(78.0, 15.0, 172.0, 0.0), Daylight::AlwaysUp);
    assert_eq!(daylight(78.0, 15.0, 355.0, 0.0), Daylight::AlwaysDown);
    assert_eq!(daylight(-78.0, 15.0, 355.0, 0.0), Daylight::AlwaysUp);
    let midwinter = NaiveDate::from_ymd_opt(2026, 12, 21).unwrap();
    assert!(sunrise_sunset(78.0, 15.0, midwinter).is_none());
}

#[test]
fn the_night_around_midnight_lies_between_sunset_and_sunrise() {
    let midnight: DateTime<Utc> = "2026-01-24T06:00:00Z".parse().unwrap();
    let (sunset, sunrise) = last_sunset_next_sunrise(32.8, -96.8, midnight).unwrap();
    assert!(sunset < midnight && midnight < sunrise);
    // A January night at 33 degrees north lasts between 13 and 14 hours (common knowledge of almanacs, no source).
    let hours = (sunrise - sunset).num_minutes() as f64 / 60.0;
    assert!((13.0..14.5).contains(&hours), "{hours}");
}

#[test]
fn nonsense_places_give_a_number_and_no_panic() {
    for value in [f64::NAN, f64::INFINITY, -1e300, 90.0, -90.0] {
        if let Daylight::RisesAndSets { sunrise_h, sunset_h } = daylight(value, value, value, value) {
            assert!(sunrise_h.is_finite() && sunset_h.is_finite());
        }
    }
}
