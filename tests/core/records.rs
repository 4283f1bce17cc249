//! Every line of a table is accounted for, whatever marks stand in it.
#![allow(clippy::unwrap_used, clippy::panic)]

use brimwater::demo::{Wish, files};
use brimwater::faults::{Faults, Severity};
use brimwater::input::{Ledger, Record, Records};
use brimwater::inventory::read_inventory;
use brimwater::store::import::{SheetOptions, read_sheet};
use brimwater::weather::readers::spread;
use brimwater::weather::stations::read_stations;
use brimwater::weather::{ReadOptions, read_series};
use proptest::prelude::*;
use std::collections::BTreeMap;

fn all(text: &str) -> (Vec<Record>, Faults, Ledger) {
    let mut faults = Faults::new();
    let mut records = Records::open(text.as_bytes(), "list.csv", |cell| cell == "id").unwrap();
    let mut found = Vec::new();
    let mut record = Record::default();
    while records.read(&mut record, &mut faults).unwrap() {
        found.push(record.clone());
    }
    (found, faults, records.ledger())
}

fn codes(faults: &Faults) -> Vec<(&'static str, Option<u64>)> {
    faults.0.iter().map(|fault| (fault.code, fault.line)).collect()
}

/// X-Val: RFC 4180, section 2, rules 5 to 7: quoted fields, line breaks, commas and doubled marks inside them.
#[test]
fn quoted_cells_are_read_as_rfc_4180_has_them() {
    let (found, faults, ledger) = all("id,note,size\r\n\"aaa\",\"b\r\nbb\",\"c\"\"c, d\"\r\nzzz,yyy,xxx");
    assert_eq!(found[0].fields, ["aaa", "b\nbb", "c\"c, d"]);
    assert_eq!(
        (found[1].line, found[1].fields.as_slice()),
        (4, ["zzz", "yyy", "xxx"].map(String::from).as_slice())
    );
    assert!(faults.0.is_empty(), "{faults:?}");
    assert_eq!((ledger.lines, ledger.in_records, ledger.records), (4, 3, 2));
}

#[test]
fn a_note_of_several_lines_stays_one_cell() {
    let (found, faults, _) = all("id,note,size\nA,\"gate code\nring twice, then wait\n\nback door\",1\nB,,2\n");
    assert_eq!(found[0].fields[1], "gate code\nring twice, then wait\n\nback door");
    assert_eq!((found[1].fields[0].as_str(), found[1].line), ("B", 6));
    assert!(faults.0.is_empty());
}

#[test]
fn a_stray_mark_swallows_no_row_and_is_told_with_its_line() {
    // The mark is closed by another cell's marks far below, or by nothing.
    for tail in ["", "Z,\"quoted, well\",9\n"] {
        let rows: String = (0..100).map(|n| format!("R{n},note {n},1\n")).collect();
        let (found, faults, ledger) = all(&format!("id,note,size\n\"A,first,1\n{rows}{tail}"));
        assert_eq!(found.len(), 101 + usize::from(!tail.is_empty()));
        assert_eq!(found[0].fields, ["A", "first", "1"]);
        assert_eq!(codes(&faults), [("BW-I08", Some(2))]);
        assert!(ledger.balances() && ledger.lines == 2 + 100 + u64::from(!tail.is_empty()));
    }
}

#[test]
fn short_and_long_rows_are_told() {
    let (_, faults, _) = all("id,note,size\nA,x\nB,x,1,more\nC,x,1,\n\nD,x,1\n");
    assert_eq!(codes(&faults), [("BW-I09", Some(2)), ("BW-I10", Some(3))]);
}

/// The name of a row of every reader, with a stray mark put before one of its cells: nothing else may go missing.
#[test]
fn a_stray_mark_costs_no_reader_another_row() {
    let sample = |name: &str| {
        files(&Wish::default())
            .into_iter()
            .find(|(file, _)| *file == name)
            .unwrap()
            .1
    };
    let marked = |text: &str, line: usize, cell: usize| -> String {
        let mut lines: Vec<String> = text.lines().map(String::from).collect();
        let cells: Vec<&str> = lines[line].split(',').collect();
        let mut cells: Vec<String> = cells.into_iter().map(String::from).collect();
        cells[cell].insert(0, '"');
        lines[line] = cells.join(",");
        lines.join("\n")
    };
    let list = sample("assemblies.csv");
    for cell in [0, 1, 5] {
        let read = read_inventory(marked(&list, 20, cell).as_bytes(), "list.csv", &BTreeMap::new());
        assert_eq!(read.assemblies.len() + read.rejects.len(), 400, "cell {cell}");
        assert!(
            codes(&read.faults).contains(&("BW-I08", Some(21))),
            "{:?}",
            codes(&read.faults)
        );
        assert_eq!(read.faults.exit_status(), 1);
    }
    let series = sample("forecast.csv");
    let hours = |text: &str| {
        let (read, faults) = read_series(text.as_bytes(), "forecast.csv", &ReadOptions::default());
        (read.iter().map(|one| one.hours()).sum::<usize>(), faults)
    };
    let (before, _) = hours(&series);
    let (after, faults) = hours(&marked(&series, 30, 0));
    assert_eq!(after, before);
    assert!(codes(&faults).contains(&("BW-I08", Some(31))));
    let (stations, faults) = read_stations(marked(&sample("stations.csv"), 1, 0).as_bytes(), "stations.csv");
    assert_eq!(stations.zones.len(), 3, "{faults:?}");
    assert!(codes(&faults).contains(&("BW-I08", Some(2))));
    let calls: String = (0..50)
        .map(|n| format!("C-{n},no-answer,,Rosa,2027-01-18T09:00:00Z\n"))
        .collect();
    let sheet = format!("contact_id,outcome,note,by,at\n\"C-X,no-answer,,Rosa,2027-01-18T09:00:00Z\n{calls}");
    let options = SheetOptions {
        by: None,
        zone: chrono_tz::Tz::UTC,
        now: "2027-01-19T00:00:00Z".parse().unwrap(),
    };
    let read = read_sheet(sheet.as_bytes(), "sheet.csv", &options);
    assert_eq!(read.events.len(), 51, "{:?}", read.faults);
    let members: String = (0..20)
        .map(|n| format!("2027-01-18T{n:02}:00:00Z,20,25,30\n"))
        .collect();
    let text = format!("time,air_temp_f_p10,air_temp_f_p50,air_temp_f_p90\n\"2027-01-17T23:00:00Z,20,25,30\n{members}");
    let (_, faults) = spread::read(text.as_bytes(), "spread.csv", &ReadOptions::default());
    assert!(codes(&faults).contains(&("BW-I08", Some(2))) && faults.0.iter().all(|f| f.severity < Severity::Rejected));
}

proptest! {
    /// Whatever the text: lines = blank + header + in records, and no more records than lines.
    #[test]
    fn lines_are_accounted_for(body in "[a-c\",\n \r;]{0,400}") {
        let (found, _, ledger) = all(&format!("id,note,size\n{body}"));
        prop_assert!(ledger.balances(), "{ledger:?}");
        prop_assert_eq!(found.len() as u64, ledger.records);
        prop_assert!(ledger.records <= ledger.in_records);
        let text = format!("id,note,size\n{body}").replace("\r\n", "\n").replace('\r', "\n");
        prop_assert_eq!(ledger.lines, text.lines().count() as u64);
        // No character of a cell is lost but marks, blanks and separators.
        let letters = |text: &str| text.chars().filter(char::is_ascii_alphabetic).count();
        let kept: usize = found.iter().flat_map(|r| &r.fields).map(|f| letters(f)).sum();
        prop_assert_eq!(kept, letters(&body));
    }
}

/// The readers that look at plain comma-separated values get them from one place, which keeps each row on its line.
#[test]
fn a_plain_table_has_every_row_on_the_line_where_it_stood() {
    let text = "\u{feff}Title\r\n\r\nid;note;size\r\nA;\"two\nlines\";1,5\r\n\r\n\"B;open;2\r\nC;c;3\r\n";
    let (bytes, faults) =
        brimwater::input::plain(text.as_bytes(), "t.csv", &|cell| ["id", "note", "size"].contains(&cell)).unwrap();
    let plain = String::from_utf8(bytes).unwrap();
    assert_eq!(plain, "\n\nid,note,size\nA,\"two\nlines\",\"1,5\"\n\nB,open,2\nC,c,3\n");
    assert_eq!(codes(&faults), [("BW-I08", Some(7))]);
}

#[test]
fn a_stray_mark_costs_no_weather_record_another_hour() {
    // X-Val: the same records without the mark.
    for (name, line) in [
        ("asos_january_2013.csv", 40),
        ("daily_wide_2016.csv", 20),
        ("ghcnh_january_2013.psv", 30),
        ("tmy3_all_columns.csv", 12),
    ] {
        let text = std::fs::read_to_string(format!("tests/data/weather/{name}")).unwrap();
        let rows = |text: &str| {
            let (found, faults) = brimwater::weather::readers::read_reported(
                text.as_bytes(),
                name,
                &ReadOptions {
                    allow_gaps: true,
                    ..ReadOptions::default()
                },
            );
            let readings: usize = found
                .iter()
                .map(|one| one.report.readings + one.daily.as_ref().map_or(0, |daily| daily.days.len()))
                .sum();
            (readings, faults)
        };
        let (before, clean) = rows(&text);
        assert!(
            before > 20 && !codes(&clean).iter().any(|(code, _)| *code == "BW-I08"),
            "{name}"
        );
        let mut lines: Vec<String> = text.lines().map(String::from).collect();
        lines[line].insert(0, '"');
        let (after, faults) = rows(&(lines.join("\n") + "\n"));
        assert_eq!(after, before, "{name}");
        assert!(
            codes(&faults).contains(&("BW-I08", Some(line as u64 + 1))),
            "{name}: {:?}",
            codes(&faults)
        );
    }
}
