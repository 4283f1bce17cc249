//! The common window of several series, the time a plan looks ahead from, and staleness.
#![allow(clippy::unwrap_used, clippy::panic)]

use brimwater::faults::Severity;
use brimwater::weather::window::{cut_to_common, stand};
use brimwater::weather::{Kind, Series, Station};
use chrono::{DateTime, TimeDelta, Utc};

fn at(text: &str) -> DateTime<Utc> {
    text.parse().unwrap()
}

fn series(start: &str, hours: usize, kind: Kind) -> Series {
    Series {
        format: "test",
        station: Station::default(),
        start: at(start),
        air_c: (0..hours).map(|h| h as f64).collect(),
        wind_m_s: vec![None; hours],
        dew_point_c: vec![None; hours],
        sky_cover: vec![None; hours],
        kind: vec![kind; hours],
        interpolated: vec![false; hours],
        issued: None,
    }
}

#[test]
fn series_are_cut_to_the_hours_they_share() {
    let mut both = [
        series("2031-01-06T00:00:00Z", 48, Kind::Forecast),
        series("2031-01-06T10:00:00Z", 30, Kind::Forecast),
    ];
    let faults = cut_to_common(&mut both);
    for one in &both {
        assert_eq!(one.start, at("2031-01-06T10:00:00Z"));
        assert_eq!(one.end(), at("2031-01-07T15:00:00Z"));
        assert_eq!((one.hours(), one.kind.len(), one.wind_m_s.len()), (30, 30, 30));
    }
    // Hour 10 of the first series carried the value 10.
    assert_eq!(both[0].air_c[0], 10.0);
    assert_eq!(faults.0[0].code, "BW-P06");
    assert_eq!(faults.worst(), Some(Severity::Warning));
}

#[test]
fn series_that_share_nothing_are_refused_whole() {
    let mut both = [
        series("2031-01-06T00:00:00Z", 48, Kind::Forecast),
        series("2031-03-06T00:00:00Z", 48, Kind::Forecast),
    ];
    assert!(cut_to_common(&mut both).is_fatal());
    assert_eq!(both[0].hours(), 48);
}

#[test]
fn the_clock_counts_to_the_full_hour_inside_the_forecast() {
    let s = [series("2031-01-06T00:00:00Z", 48, Kind::Forecast)];
    let (stand, faults) = stand(None, at("2031-01-06T09:47:12Z"), &s);
    assert_eq!(stand.now, at("2031-01-06T09:00:00Z"));
    // What somebody saw ten minutes ago is known.
    assert_eq!(stand.reported_until, at("2031-01-06T09:47:12Z"));
    assert!(faults.0.is_empty());
}

#[test]
fn before_the_forecast_begins_its_issue_counts() {
    let mut s = [series("2031-01-06T06:00:00Z", 48, Kind::Forecast)];
    assert_eq!(
        stand(None, at("2030-05-01T00:00:00Z"), &s).0.now,
        at("2031-01-06T06:00:00Z")
    );
    s[0].issued = Some(at("2031-01-06T04:30:00Z"));
    assert_eq!(
        stand(None, at("2030-05-01T00:00:00Z"), &s).0.now,
        at("2031-01-06T04:30:00Z")
    );
}

#[test]
fn a_forecast_that_ended_is_stale_and_seen_from_its_issue() {
    let s = [series("2031-01-06T00:00:00Z", 48, Kind::Forecast)];
    let (stand, faults) = stand(None, at("2031-01-20T00:00:00Z"), &s);
    assert_eq!(stand.now, at("2031-01-06T00:00:00Z"));
    assert_eq!(faults.0[0].code, "BW-P03");
    assert_eq!(faults.exit_status(), 1);
}

#[test]
fn an_issue_of_thirteen_hours_ago_is_stale_and_of_eleven_is_not() {
    let mut s = [series("2031-01-06T00:00:00Z", 100, Kind::Forecast)];
    s[0].issued = Some(at("2031-01-06T00:00:00Z"));
    assert!(stand(Some(at("2031-01-06T11:00:00Z")), Utc::now(), &s).1.0.is_empty());
    let (_, faults) = stand(Some(at("2031-01-06T13:00:00Z")), Utc::now(), &s);
    assert_eq!(faults.0[0].code, "BW-P04");
}

#[test]
fn a_record_without_forecast_hours_is_never_stale() {
    let s = [series("2013-01-01T00:00:00Z", 744, Kind::Observed)];
    let (stand, faults) = stand(None, Utc::now(), &s);
    assert!(faults.0.is_empty());
    assert_eq!(stand.now, at("2013-01-01T00:00:00Z") + TimeDelta::hours(743));
}
