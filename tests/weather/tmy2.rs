//! TMY2: the columns of the manual, on rows of a published file and on a public typical year put into the shape.

use approx::assert_abs_diff_eq;
use brimwater::faults::Severity;
use brimwater::weather::ReadOptions;
use brimwater::weather::readers::{Format, Nature, read_reported, recognise, tmy2};

/// X-Val: the head and rows of a file that the US National Renewable Energy Laboratory published (public domain), as its own text; the
/// place's name is left out. Columns by table 3-2 of the User's Manual for TMY2s: dry bulb 68-71, dew point 74-77 and wind 96-98 in tenths,
/// total sky cover 60-61 in tenths.
const PUBLISHED: &str = "\
\u{20}12839 PLACE                  FL  -5 N 25 48 W  80 16     2
 62010101000000000000?00000?00000?00000?00000?00000?00000?007A703A70200A70150A7073A71017A7158A7067A70161A777777A70999999999013F8062F8000A788E7
 62010122000000000000?00000?00000?00000?00000?00000?00000?000A700A70156A70117A7078A71017A7293A7041A70193A777777A70999999999025F8062F8000A788E7
 62010311079014150594C40957E40056E50631I40956I40098I50151I502A702A70133A7-011A7037A71025A7000A7052A70129A777777A70999999999014F8062F8000A788E7
";

#[test]
fn published_rows_give_the_values_of_their_columns() {
    assert_eq!(recognise(PUBLISHED.as_bytes()), Some(Format::Tmy2));
    let options = ReadOptions {
        allow_gaps: true,
        ..ReadOptions::default()
    };
    let (found, faults) = tmy2::read(PUBLISHED.as_bytes(), "12839.tm2", &options);
    let series = found[0].series.as_ref().unwrap();
    let station = &series.station;
    assert_eq!(station.station_id, "12839");
    assert_abs_diff_eq!(station.latitude_deg.unwrap(), 25.8, epsilon = 1e-9);
    assert_abs_diff_eq!(station.longitude_deg.unwrap(), -80.0 - 16.0 / 60.0, epsilon = 1e-9);
    assert_eq!(station.elevation_m, Some(2.0));
    // Hour 1 of 1 January five hours behind UTC, hour-ending.
    assert_eq!(series.start.to_rfc3339(), "2001-01-01T06:00:00+00:00");
    let hour = |at: usize| {
        (
            series.air_c[at],
            series.dew_point_c[at],
            series.wind_m_s[at],
            series.sky_cover[at],
        )
    };
    assert_eq!(hour(0), (20.0, Some(15.0), Some(6.7), Some(0.7)));
    assert_eq!(hour(21), (15.6, Some(11.7), Some(4.1), Some(0.0)));
    // A dew point below freezing has its sign in the field.
    assert_eq!(hour(58), (13.3, Some(-1.1), Some(5.2), Some(0.2)));
    assert_eq!(found[0].nature, Nature::TypicalYear);
    assert!(faults.0.iter().any(|fault| fault.code == "BW-S34"));
}

fn file() -> Vec<u8> {
    std::fs::read("tests/data/weather/tmy2_45_days.tm2").unwrap()
}

#[test]
fn forty_five_days_hold_what_their_source_holds() {
    let (found, faults) = read_reported(&file(), "tmy2_45_days.tm2", &ReadOptions::default());
    let series = found[0].series.as_ref().unwrap();
    // X-Val: `make_tmy2.py` counts in its source: 1080 hours, 515 below 0 °C, coldest −16.7 °C in hour 5 of 5 February, five hours behind UTC.
    assert_eq!((series.format, series.hours()), ("tmy2", 1080));
    assert_eq!(series.air_c.iter().filter(|air| **air < 0.0).count(), 515);
    let (hour, coldest) = series.coldest().unwrap();
    assert_abs_diff_eq!(coldest, -16.7, epsilon = 1e-9);
    assert_eq!(series.time(hour).to_rfc3339(), "2001-02-05T10:00:00+00:00");
    // What is written as all nines is missing: the hour between is filled from those beside it.
    let between = |values: &[Option<f64>], at: usize| {
        let (before, here, after) = (values[at - 1].unwrap(), values[at].unwrap(), values[at + 1].unwrap());
        (before.min(after)..=before.max(after)).contains(&here)
    };
    assert!(between(&series.dew_point_c, 30) && between(&series.sky_cover, 31));
    assert!(found[0].report.set_aside.is_empty(), "{:?}", found[0].report.set_aside);
    assert_eq!(faults.exit_status(), 0);
    // The same place's TMY3 tells the same hours.
    let (other, _) = read_reported(
        &std::fs::read("tests/data/weather/tmy3_whole_year.csv").unwrap(),
        "tmy3",
        &ReadOptions::default(),
    );
    let other = other[0].series.as_ref().unwrap();
    assert_eq!(series.air_c[..], other.air_c[..1080]);
    assert_eq!(series.wind_m_s[..], other.wind_m_s[..1080]);
}

#[test]
fn every_line_is_used_told_or_blank_and_a_bad_one_is_told_with_its_columns() {
    let text = String::from_utf8(file()).unwrap();
    let mut lines: Vec<String> = text.lines().take(60).map(str::to_owned).collect();
    lines[5].replace_range(3..5, "13");
    lines[9].replace_range(67..71, "+1x2");
    lines[12].replace_range(7..9, "25");
    lines[20].truncate(80);
    lines[30] = "   ".into();
    let (found, faults) = read_reported(lines.join("\n").as_bytes(), "made.tm2", &ReadOptions::default());
    let told: Vec<(u64, &str)> = faults
        .0
        .iter()
        .filter(|fault| fault.severity == Severity::Rejected)
        .map(|fault| (fault.line.unwrap(), fault.column.as_deref().unwrap()))
        .collect();
    assert_eq!(told, [(6, "4-7"), (10, "68-71"), (13, "8-9"), (21, "whole line")]);
    // Used, rejected, blank and the line of facts are all lines.
    assert_eq!(found[0].report.readings + told.len() + 1 + 1, lines.len());
    assert_eq!(faults.exit_status(), 1);
}

#[test]
fn a_head_that_tells_no_place_is_refused_with_what_it_should_be() {
    let bad = PUBLISHED.replacen("N 25 48", "Q 25 48", 1);
    let (found, faults) = tmy2::read(bad.as_bytes(), "bad.tm2", &ReadOptions::default());
    assert!(found.is_empty());
    assert_eq!((faults.0[0].code, faults.0[0].line), ("BW-S31", Some(1)));
    assert!(faults.0[0].expected.contains("columns"));
}
