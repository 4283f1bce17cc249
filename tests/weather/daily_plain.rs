//! The plain daily table: values in the unit of their column, every line accounted for, faults with their place.

use approx::assert_abs_diff_eq;
use brimwater::faults::Severity;
use brimwater::weather::ReadOptions;
use brimwater::weather::extremes::winters;
use brimwater::weather::readers::daily_plain::{Lines, read_counted};
use brimwater::weather::readers::{Format, read_reported, recognise};
use proptest::prelude::*;

fn read(
    text: &str,
) -> (
    Vec<brimwater::weather::readers::Found>,
    Lines,
    brimwater::faults::Faults,
) {
    read_counted(text.as_bytes(), "days.csv", &ReadOptions::default())
}

fn sums(lines: Lines) -> bool {
    lines.used + lines.rejected + lines.blank + lines.header == lines.lines
}

#[test]
fn a_public_year_in_either_unit_is_the_same_year() {
    // X-Val: bokeh-sampledata 2026.1, lincoln_weather.csv (GHCN-Daily, US government work): 366 days of 2016 in whole °F, one without
    // a temperature, 115 below 32 °F, coldest −13 °F on 18 December; counted in Python beside the data.
    let wide = std::fs::read_to_string("tests/data/weather/daily_wide_2016.csv").unwrap();
    let mut rows = csv::Reader::from_reader(wide.as_bytes());
    let header = rows.headers().unwrap().clone();
    let at = |name: &str| header.iter().position(|cell| cell == name).unwrap();
    let (mut us, mut si) = (
        String::from("date,tmin_f,tmax_f\n"),
        String::from("Date;TMIN_C;TMAX_C\n"),
    );
    for row in rows.records().map(Result::unwrap) {
        let (low, high) = (&row[at("TMIN")], &row[at("TMAX")]);
        us.push_str(&format!("{},{low},{high}\n", &row[at("DATE")]));
        let c = |f: &str| {
            f.parse::<f64>()
                .map_or(String::new(), |f| format!("{:.4}", (f - 32.0) / 1.8))
        };
        si.push_str(&format!("{};{};{}\n", &row[at("DATE")], c(low), c(high)));
    }
    for text in [us, si] {
        assert_eq!(recognise(text.as_bytes()), Some(Format::DailyPlain));
        let (found, lines, faults) = read(&text);
        let record = found[0].daily.as_ref().unwrap();
        assert_eq!(record.days.iter().filter(|day| day.min_c.is_some()).count(), 365);
        // To a ten-thousandth of a degree, as the table in °C is written.
        assert_eq!(
            record
                .days
                .iter()
                .filter(|day| day.min_c.is_some_and(|c| c < -1e-4))
                .count(),
            115
        );
        let (date, coldest) = record.coldest().unwrap();
        assert_eq!(date.to_string(), "2016-12-18");
        assert_abs_diff_eq!(coldest, (-13.0 - 32.0) / 1.8, epsilon = 1e-4);
        assert!(
            sums(lines) && lines.lines == 367 && (lines.used, lines.rejected) == (365, 1),
            "{lines:?}"
        );
        assert_eq!(faults.exit_status(), 0, "{:?}", faults.0);
        assert!(!winters(&found).unwrap().is_empty());
    }
}

#[test]
fn every_line_is_used_rejected_or_blank_and_faults_tell_line_and_column() {
    let text = "\u{feff}date,tmin_f,tmax_f,station_id,note\n\
        2016-01-01,20,41,A,\n\
        ,,,,\n\
        1/2/2016,20,41,A,\n\
        20160103,x,40,A,only a maximum\n\
        2016-01-04,,,A,nothing\n\
        2016-01-05,500,40,A,\n\
        2016-01-06,M,M,A,\n\
        2016-01-07,18,,B,\n";
    let (found, lines, faults) = read(text);
    assert_eq!(
        lines,
        Lines {
            lines: 9,
            header: 1,
            blank: 1,
            used: 4,
            rejected: 3
        }
    );
    let told: Vec<(&str, u64, &str)> = faults
        .0
        .iter()
        .filter(|fault| fault.severity == Severity::Rejected)
        .map(|fault| (fault.code, fault.line.unwrap(), fault.column.as_deref().unwrap()))
        .collect();
    assert_eq!(
        told,
        [("BW-S04", 4, "date"), ("BW-S05", 5, "tmin_f"), ("BW-S06", 7, "tmin_f")]
    );
    assert_eq!(found.len(), 2);
    assert_eq!(found[0].station.station_id, "A");
    // 500 °F is listed among what was not used; its day keeps its maximum.
    assert_eq!(found[0].daily.as_ref().unwrap().set_aside.len(), 1);
    assert_eq!(faults.exit_status(), 1);
}

#[test]
fn without_a_minimum_it_is_not_this_table() {
    assert_ne!(recognise(b"date,tmax_f\n2016-01-01,40\n"), Some(Format::DailyPlain));
    // The archive's own columns have no unit in their names and stay its reader's.
    assert_eq!(
        recognise(b"STATION,DATE,TMAX,TMIN\nA,2014-01-01,10.5,1.5\n"),
        Some(Format::GhcnDailyWide)
    );
    let (found, faults) = read_reported(b"date,tmin_f,tmax_f\n", "empty.csv", &ReadOptions::default());
    assert!(found.is_empty() && faults.is_fatal());
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(256))]
    #[test]
    fn whatever_the_cells_no_line_vanishes(rows in proptest::collection::vec(
        ("[0-9/-]{0,11}|2016-0[1-9]-[0-2][1-8]", "[-0-9.a-z]{0,6}|-?[0-9]{1,2}", "[-0-9.]{0,6}"), 0..40)) {
        let mut text = String::from("date,tmin_c,tmax_c\n");
        for (date, low, high) in &rows {
            text.push_str(&format!("{date},{low},{high}\n"));
        }
        let (found, lines, _) = read(&text);
        prop_assert!(sums(lines), "{lines:?}");
        prop_assert_eq!(lines.lines, rows.len() as u64 + 1);
        for day in found.iter().filter_map(|one| one.daily.as_ref()).flat_map(|record| &record.days) {
            prop_assert!([day.min_c, day.max_c].into_iter().flatten().all(f64::is_finite));
        }
    }
}
