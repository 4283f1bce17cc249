//! A year is not planned as one spell: the coldest stretches are found, named and planned.
#![allow(clippy::indexing_slicing)]

use assert_cmd::Command;
use brimwater::weather::stretch::{LONGEST_DAYS, Pick, choose, stretches};
use brimwater::weather::{Kind, ReadOptions, Series, readers::read_reported};
use chrono::{TimeDelta, TimeZone, Utc};
use serde_json::Value;

const YEAR: &str = "tests/data/weather/tmy3_whole_year.csv";

fn year() -> Series {
    let (found, _) = read_reported(&std::fs::read(YEAR).unwrap(), YEAR, &ReadOptions::default());
    found[0].series.clone().unwrap()
}

/// The first hours of the year.
fn first_hours(count: usize) -> Series {
    Series {
        kind: vec![Kind::Observed; count],
        air_c: year().air_c[..count].to_vec(),
        wind_m_s: vec![None; count],
        dew_point_c: vec![None; count],
        sky_cover: vec![None; count],
        interpolated: vec![false; count],
        ..year()
    }
}

fn pick(text: &str) -> Pick {
    Pick::read(text).unwrap()
}

#[test]
fn the_coldest_stretch_of_a_public_year_holds_its_coldest_hour() {
    let mut series = vec![year()];
    let (found, faults) = choose(&mut series, Some(pick("coldest")), false, chrono_tz::UTC);
    let found = found.unwrap();
    assert!(!faults.is_fatal());
    // X-Val: the file counted in Python: coldest −16.7 °C at 05:00 to 07:00 of 5 February, five hours behind UTC.
    let coldest = Utc.with_ymd_and_hms(2001, 2, 5, 10, 0, 0).unwrap();
    assert_eq!(found.min_c, -16.7);
    assert!(found.start < coldest && coldest < found.end);
    assert_eq!((series[0].start, series[0].end()), (found.start, found.end));
    assert!(found.end - found.start <= TimeDelta::days(LONGEST_DAYS));
    // The next is as cold or warmer, lies elsewhere, and is the one that --spell 2 plans.
    let all = stretches(&[year()]);
    assert!(all.windows(2).all(|pair| pair[0].min_c <= pair[1].min_c));
    assert!(all[1].end < found.start || all[1].start > found.end);
    let mut series = vec![year()];
    let (second, _) = choose(&mut series, Some(pick("2")), false, chrono_tz::UTC);
    assert_eq!(second, Some(all[1]));
}

#[test]
fn of_several_stations_the_coldest_decides_for_all() {
    let (one, mut other) = (year(), year());
    // A night in December colder at the second station than anything at the first.
    let at = 8_400;
    for air in &mut other.air_c[at..at + 8] {
        *air = -25.0;
    }
    let when = other.time(at);
    let mut both = vec![one, other];
    let (found, _) = choose(&mut both, Some(pick("coldest")), false, chrono_tz::UTC);
    let found = found.unwrap();
    assert!(found.min_c == -25.0 && found.start < when && when < found.end);
    assert_eq!(both[0].start, both[1].start);
    assert_eq!(both[0].hours(), both[1].hours());
}

#[test]
fn a_long_series_is_asked_about_with_the_stretches_to_choose_from_and_a_forecast_is_not() {
    let mut series = vec![year()];
    let (found, faults) = choose(&mut series, None, false, chrono_tz::UTC);
    assert!(found.is_none() && faults.is_fatal());
    let fault = &faults.0[0];
    assert_eq!(fault.code, "BW-P16");
    assert!(
        fault.remedy.contains("--spell coldest") && fault.remedy.contains("-16.7 °C"),
        "{}",
        fault.remedy
    );
    assert_eq!(series[0].hours(), 8760, "nothing is cut behind the user's back");
    // A month of a typical year is no spell either; a month of a record is planned as it came, and that is told.
    for (typical, fatal) in [(true, true), (false, false)] {
        let mut month = vec![first_hours(24 * 31)];
        let (found, faults) = choose(&mut month, None, typical, chrono_tz::UTC);
        assert!(found.is_none() && faults.0.len() == 1);
        assert_eq!((faults.0[0].code, faults.is_fatal()), ("BW-P16", fatal));
        assert_eq!(month[0].hours(), 24 * 31);
    }
    let mut week = vec![first_hours(168)];
    assert_eq!(
        choose(&mut week, None, false, chrono_tz::UTC),
        (None, Default::default())
    );
}

#[test]
fn dates_are_days_of_the_zone_and_what_is_not_there_is_told() {
    let zone = chrono_tz::America::New_York;
    let mut series = vec![year()];
    let (found, _) = choose(&mut series, Some(pick("2001-02-03/2001-02-06")), false, zone);
    let found = found.unwrap();
    // X-Val: New York is five hours behind UTC in February (IANA): midnight is 05:00 UTC, and the last hour of the 6th is 04:00 UTC of the 7th.
    assert_eq!(found.start, Utc.with_ymd_and_hms(2001, 2, 3, 5, 0, 0).unwrap());
    assert_eq!(found.end, Utc.with_ymd_and_hms(2001, 2, 7, 4, 0, 0).unwrap());
    assert_eq!(found.min_c, -16.7);
    for (text, code) in [
        ("1999-02-03/1999-02-06", "BW-P17"),
        ("2001-02-06/2001-02-03", "BW-P17"),
        ("2001-01-01/2001-10-01", "BW-P16"),
        ("9999", "BW-P17"),
    ] {
        let mut series = vec![year()];
        let (found, faults) = choose(&mut series, Some(pick(text)), false, zone);
        assert!(found.is_none(), "{text}");
        assert_eq!(faults.0[0].code, code, "{text}");
        assert_eq!(series[0].hours(), 8760);
    }
    for text in ["", "0", "warmest", "2001-02-03", "2001-02-03/", "-1"] {
        let fault = Pick::read(text).unwrap_err();
        assert!(fault.code == "BW-C11" && !fault.expected.is_empty(), "{text}");
    }
}

#[test]
fn plan_and_show_ask_and_then_plan_the_stretch_as_if_it_lay_ahead() {
    let dir = tempfile::tempdir().unwrap();
    let year = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join(YEAR);
    let list = "assembly_id,device_type,nominal_size_in,latitude,longitude,placement,contact_name,phone,channels\n\
        A-1,PVB,1,36.1,-79.9,open,Ann,202-555-0101,call\n";
    std::fs::write(dir.path().join("list.csv"), list).unwrap();
    let run = |words: &[&str]| {
        let mut command = Command::cargo_bin("brimwater").unwrap();
        command.current_dir(dir.path()).args(words).args([
            "--assemblies",
            "list.csv",
            "--zone",
            "America/New_York",
            "--series",
        ]);
        command.arg(&year).args(["--members", "16"]);
        let done = command.output().unwrap();
        let told = String::from_utf8_lossy(&done.stderr).into_owned();
        (done.status.code(), told, done.stdout)
    };
    for words in [&["plan", "--out", "out"][..], &["show", "A-1"][..]] {
        let (code, told, _) = run(words);
        assert_eq!(code, Some(2), "{told}");
        assert!(told.contains("BW-P16") && told.contains("--spell coldest"), "{told}");
    }
    let (code, told, _) = run(&["plan", "--out", "out", "--advice-cases", "0", "--spell", "coldest"]);
    assert!(code < Some(2), "{told}");
    assert!(told.contains("BW-P18"), "{told}");
    let plan: Value = serde_json::from_slice(&std::fs::read(dir.path().join("out/plan.json")).unwrap()).unwrap();
    let record: Value = serde_json::from_slice(&std::fs::read(dir.path().join("out/run.json")).unwrap()).unwrap();
    assert_eq!(record["options"]["spell"], "coldest");
    assert_eq!(record["over"], false);
    let hours = |at: &str| {
        plan["window"][at]
            .as_str()
            .unwrap()
            .parse::<chrono::DateTime<Utc>>()
            .unwrap()
    };
    assert!(hours("end") - hours("start") < TimeDelta::days(LONGEST_DAYS));
    // −16.7 °C over a bare vacuum breaker: at risk, and called before it comes.
    assert_eq!(plan["assemblies"][0]["min_air_c"], -16.7);
    assert!(plan["assemblies"][0]["p_ice"].as_f64().unwrap() > 0.9);
    let (code, told, out) = run(&["show", "A-1", "--spell", "coldest", "--format", "json"]);
    assert!(code < Some(2), "{told}");
    let shown: Value = serde_json::from_slice(&out).unwrap();
    assert_eq!(
        shown["assembly"]["p_damage"].as_f64().or(shown["p_damage"].as_f64()),
        plan["assemblies"][0]["p_damage"].as_f64()
    );
}
