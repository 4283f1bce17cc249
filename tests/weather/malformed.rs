//! Damaged files of every format: no panic, no number that is not one, and a message with its place.
#![allow(clippy::unwrap_used, clippy::panic)]

use brimwater::faults::Severity;
use brimwater::weather::ReadOptions;
use brimwater::weather::extremes::extremes;
use brimwater::weather::inlet::inlet_of;
use brimwater::weather::readers::read_reported;
use proptest::prelude::*;
use std::sync::OnceLock;

/// The head of a real file of each format, small enough to be damaged many times.
fn seeds() -> &'static [Vec<u8>] {
    static SEEDS: OnceLock<Vec<Vec<u8>>> = OnceLock::new();
    SEEDS.get_or_init(|| {
        let mut all = Vec::new();
        for name in [
            "725300-99999-2013.isdlite",
            "asos_january_2013.csv",
            "ghcnh_january_2013.psv",
            "tmy3_all_columns.csv",
            "epw_no_design_conditions.epw",
            "daily_fixed_2012_2015.dly",
            "daily_long_2014.csv",
            "daily_wide_2016.csv",
        ] {
            let mut bytes = std::fs::read(format!("tests/data/weather/{name}")).unwrap();
            bytes.truncate(4000);
            all.push(bytes);
        }
        for name in ["nws-gridpoint", "nws-hourly", "nws-observations"] {
            all.push(std::fs::read(format!("tests/data/weather-service/{name}.json")).unwrap());
        }
        all.push(b"STATION,DATE,LONGITUDE,REPORT_TYPE,HourlyDryBulbTemperature,HourlyWindSpeed\n72530094846,2021-07-01T00:53:00,-90,FM-15,50s,10\n72530094846,2021-07-01T01:53:00,-90,FM-15,51,VRB\n".to_vec());
        all.push(b"STATION,DATE,TMP,WND\n1,2021-02-15T06:00:00,\"-0056,1\",\"360,1,N,0062,1\"\n1,2021-02-15T07:00:00,\"+9999,9\",\"\"\n".to_vec());
        all.push(b"time,air_temp_f,kind\n2026-01-01T00:00:00Z,30,observed\n2026-01-01T01:00:00-06:00,29,forecast\n".to_vec());
        all
    })
}

fn reads_without_harm(bytes: &[u8]) {
    for options in [
        ReadOptions::default(),
        ReadOptions {
            allow_gaps: true,
            zone: Some(chrono_tz::America::Chicago),
            ..ReadOptions::default()
        },
    ] {
        let (found, faults) = read_reported(bytes, "damaged", &options);
        for one in &found {
            if let Some(series) = &one.series {
                assert!(series.air_c.iter().all(|air| air.is_finite()));
                assert!(
                    series
                        .wind_m_s
                        .iter()
                        .flatten()
                        .all(|wind| wind.is_finite() && *wind >= 0.0)
                );
                assert!(
                    series
                        .sky_cover
                        .iter()
                        .flatten()
                        .all(|cover| (0.0..=1.0).contains(cover))
                );
                assert!(series.hours() > 0);
            }
            if let Some(record) = &one.daily {
                assert!(
                    record
                        .days
                        .iter()
                        .flat_map(|day| [day.min_c, day.max_c])
                        .flatten()
                        .all(f64::is_finite)
                );
                assert!(record.days.windows(2).all(|pair| pair[0].date < pair[1].date));
            }
            let _ = inlet_of(one);
        }
        let usable = found.iter().any(|one| one.series.is_some() || one.daily.is_some());
        assert!(
            usable || faults.worst() == Some(Severity::Fatal),
            "nothing read and nothing said: {faults:?}"
        );
        let _ = extremes(&found);
    }
}

/// Cases of each property: BRIMWATER_MUTATIONS makes a long run of it.
fn cases() -> u32 {
    std::env::var("BRIMWATER_MUTATIONS")
        .ok()
        .and_then(|text| text.parse().ok())
        .unwrap_or(400)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(cases()))]
    #[test]
    fn any_bytes(bytes in proptest::collection::vec(any::<u8>(), 0..600)) {
        reads_without_harm(&bytes);
    }

    #[test]
    fn damaged_real_files(seed in 0..14_usize, cuts in proptest::collection::vec((any::<prop::sample::Index>(), any::<u8>(), 0..6_u8), 1..12)) {
        let mut bytes = seeds()[seed].clone();
        for (at, byte, how) in cuts {
            if bytes.is_empty() { break; }
            let at = at.index(bytes.len());
            match how {
                0 => bytes[at] = byte,
                1 => { bytes.remove(at); }
                2 => bytes.insert(at, byte),
                3 => bytes.truncate(at.max(1)),
                4 => { let copy = bytes[at..(at + 40).min(bytes.len())].to_vec(); bytes.splice(at..at, copy); }
                _ => bytes[at] = b"0123456789-.,|\n\"eE"[usize::from(byte) % 18],
            }
        }
        reads_without_harm(&bytes);
    }
}

#[test]
fn bad_rows_of_every_table_are_told_with_line_and_expectation() {
    for (name, text, line) in [
        (
            "isd-lite",
            "2013 01 01 06  50 40 -9999 -9999 30 -9999 -9999 -9999\n2013 13 01 06  50 40 -9999 -9999 30 -9999 -9999 -9999\n",
            2,
        ),
        (
            "asos",
            "#x\nstation,valid,tmpf\nA,2021-02-15 06:53,20\nA,yesterday,20\n",
            4,
        ),
        (
            "ghcnh",
            "STATION|DATE|temperature\nA|2021-02-15T06:00:00|1.0\nA|soon|1.0\n",
            3,
        ),
        (
            "epw",
            "LOCATION,X,-,X,S,1,50,4,1.0,2\nDESIGN CONDITIONS,0\n1995,1,1,1,60,f,5.0,1,79\n1995,1,1,25,60,f,5.0,1,79\n",
            4,
        ),
        (
            "tmy3",
            "1,\"X\",XX,-5.0,36,-79,273\nDate (MM/DD/YYYY),Time (HH:MM),Dry-bulb (C)\n01/01/1988,01:00,10\n01/41/1988,02:00,10\n",
            4,
        ),
        (
            "lcd",
            "STATION,DATE,LONGITUDE,REPORT_TYPE,HourlyDryBulbTemperature\n1,2021-07-01T00:53:00,-90,FM-15,50\n1,2021-07-41T00:53:00,-90,FM-15,50\n",
            3,
        ),
        (
            "long",
            "USX00000001,20140101,TMIN,10,,,X,\nUSX00000001,20141301,TMIN,10,,,X,\n",
            2,
        ),
        (
            "wide",
            "STATION,DATE,TMAX,TMIN\nA,2014-01-01,10.5,1.5\nA,2014-01-41,10.5,1.5\n",
            3,
        ),
    ] {
        let (found, faults) = read_reported(text.as_bytes(), "made", &ReadOptions::default());
        assert!(!found.is_empty(), "{name}: the good row is used");
        let bad: Vec<_> = faults
            .0
            .iter()
            .filter(|fault| fault.severity == Severity::Rejected)
            .collect();
        assert_eq!(bad.len(), 1, "{name}: {:?}", faults.0);
        assert_eq!(bad[0].line, Some(line), "{name}");
        assert!(!bad[0].expected.is_empty() && bad[0].value.is_some(), "{name}");
    }
}

#[test]
fn thousands_of_bad_rows_are_told_as_a_count() {
    let mut text = String::from("2013 01 01 06  50 40 -9999 -9999 30 -9999 -9999 -9999\n");
    for _ in 0..10_000 {
        text.push_str("no row\n");
    }
    let (_, faults) = read_reported(text.as_bytes(), "made", &ReadOptions::default());
    assert!(faults.0.len() < 60);
    assert!(faults.0.iter().any(|fault| fault.what.contains("9950 more")));
}

#[test]
fn absurd_durations_and_years_do_not_ask_for_all_the_memory() {
    let grid = r#"{"properties":{"temperature":{"uom":"wmoUnit:degC","values":[{"validTime":"2026-01-01T00:00:00+00:00/P366D","value":1},{"validTime":"0001-01-01T00:00:00+00:00/PT1H","value":1},{"validTime":"9999-12-31T23:00:00+00:00/PT1H","value":1}]}}}"#;
    reads_without_harm(grid.as_bytes());
    reads_without_harm(
        b"1800 01 01 06 50 40 -9999 -9999 30 -9999 -9999 -9999\n2200 01 01 06 50 40 -9999 -9999 30 -9999 -9999 -9999\n",
    );
    let deep = format!("{{\"properties\":{}1{}", "[".repeat(100_000), "]".repeat(100_000));
    reads_without_harm(deep.as_bytes());
}
