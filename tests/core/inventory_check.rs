//! What only several cells or several rows tell: coordinates, bypasses, telephones, safety.
#![allow(clippy::unwrap_used, clippy::panic, clippy::indexing_slicing)]

use brimwater::faults::{Fault, Severity};
use brimwater::inventory::{Inventory, read_inventory};
use proptest::prelude::*;
use std::collections::BTreeMap;

fn read(text: &str) -> Inventory {
    read_inventory(text.as_bytes(), "list.csv", &BTreeMap::new())
}

fn told<'i>(list: &'i Inventory, code: &str) -> Vec<&'i Fault> {
    list.faults.0.iter().filter(|fault| fault.code == code).collect()
}

/// Six good sites around 33 north, 97 west, and the row under test.
fn among_others(row: &str) -> Inventory {
    let mut text = String::from("assembly_id,device_type,nominal_size_in,latitude,longitude\n");
    for n in 0..6 {
        text.push_str(&format!("S{n},RP,1,33.0{n},-97.0{n}\n"));
    }
    text.push_str(&format!("X,RP,1,{row}\n"));
    read(&text)
}

#[test]
fn coordinates_that_are_swapped_or_lack_a_sign_are_repaired_with_a_note() {
    for row in ["-97.01,33.02", "33.02,97.01", "-33.02,-97.01", "97.01,33.02"] {
        let list = among_others(row);
        let x = list.assemblies.last().unwrap();
        assert_eq!((x.latitude_deg, x.longitude_deg), (Some(33.02), Some(-97.01)), "{row}");
        let notes = told(&list, "BW-A10");
        assert_eq!(
            (notes.len(), notes[0].line, notes[0].severity),
            (1, Some(8), Severity::Note)
        );
        assert_eq!(list.faults.exit_status(), 0);
    }
}

#[test]
fn a_swap_inside_ninety_degrees_is_seen_by_the_other_rows() {
    // Both numbers could be a latitude, so the row alone does not tell.
    let mut text = String::from("assembly_id,device_type,nominal_size_in,latitude,longitude\n");
    for n in 0..6 {
        text.push_str(&format!("S{n},RP,1,36.0{n},-79.9{n}\n"));
    }
    text.push_str("X,RP,1,-79.91,36.01\n");
    let list = read(&text);
    let x = list.assemblies.last().unwrap();
    assert_eq!((x.latitude_deg, x.longitude_deg), (Some(36.01), Some(-79.91)));
}

#[test]
fn coordinates_that_cannot_be_repaired_are_set_aside_and_the_row_is_kept() {
    for row in ["233,-97", "12.5,-40", "0,0", "33.02,", ",-97.01"] {
        let list = among_others(row);
        let x = list.assemblies.last().unwrap();
        assert_eq!((x.latitude_deg, x.longitude_deg), (None, None), "{row}");
        assert_eq!(
            (told(&list, "BW-A11").len(), list.faults.exit_status()),
            (1, 1),
            "{row}"
        );
    }
}

#[test]
fn a_lone_row_is_repaired_only_when_the_pair_is_impossible() {
    let header = "assembly_id,device_type,nominal_size_in,latitude,longitude\n";
    let swapped = read(&format!("{header}X,RP,1,-97.01,33.02\n"));
    assert_eq!(swapped.assemblies[0].latitude_deg, Some(33.02));
    let possible = read(&format!("{header}X,RP,1,-79.9,36.1\n"));
    assert_eq!(possible.assemblies[0].latitude_deg, Some(-79.9));
    assert!(possible.faults.0.is_empty());
}

#[test]
fn a_bypass_listed_apart_is_told_with_its_detector_assembly() {
    let list = read(
        "assembly_id,device_type,nominal_size_in,service,account_id,site_address\n\
         F1,DCDA,6,fire,77,1 Kiln Rd\nF1-BP,DC,3/4,fire,77,1 Kiln Rd\n\
         F2,RPDA,8,fire,78,2 Kiln Rd\nq9,RP,0.75,fire,,2 kiln rd\n\
         F3,DCDA,4,fire,79,3 Kiln Rd\nD3,RP,3/4,domestic,79,3 Kiln Rd\n\
         L4,DC bypass,3/4,,80,4 Kiln Rd\n",
    );
    let notes: Vec<_> = told(&list, "BW-A19")
        .iter()
        .map(|fault| {
            (
                fault.line.unwrap(),
                fault.what.contains("F1"),
                fault.what.contains("F2"),
            )
        })
        .collect();
    // The domestic assembly at a site with a fire line is no bypass; the last one's detector assembly is not listed.
    assert_eq!(notes, [(3, true, false), (5, false, true), (8, false, false)]);
    assert_eq!(list.assemblies.len(), 7);
    assert_eq!(list.faults.exit_status(), 0);
}

#[test]
fn one_number_on_many_rows_is_told_once_however_it_is_written() {
    let mut text = String::from("assembly_id,device_type,nominal_size_in,phone\n");
    for n in 0..300 {
        let phone = ["(201) 555-0111", "201.555.0111", "+1 201 555 0111", "2015550111"][n % 4];
        text.push_str(&format!("S{n},RP,1,{phone}\n"));
    }
    text.push_str("Y,RP,1,(201) 555-0112\n");
    let list = read(&text);
    let notes = told(&list, "BW-A18");
    assert_eq!(notes.len(), 1);
    assert!(notes[0].what.starts_with("300 "), "{}", notes[0].what);
}

#[test]
fn what_contradicts_itself_or_endangers_is_told() {
    let list = read(
        "assembly_id,device_type,nominal_size_in,service,placement,wrap_r_us,heat_trace_w,winter_use,freeze_drip\n\
         A,RP,1,domestic,indoors,4,,in_use,no\n\
         B,DC,4,fire,open,,,drained,no\n\
         C,RP,2,domestic,heated_enclosure,,0,in_use,no\n\
         D,RP,2,domestic,vault,,,in_use,no\n\
         E,DCDA,6,irrigation,open,,,idle,no\n\
         F,PVB,1,irrigation,open,,,drained,yes\n\
         G,RP,2,domestic,heated_enclosure,,,in_use,no\n\
         H,DC,4,fire,open,,,idle,no\n",
    );
    let seen: Vec<_> = list
        .faults
        .0
        .iter()
        .map(|fault| (fault.code, fault.line.unwrap(), fault.severity))
        .collect();
    assert_eq!(
        seen,
        [
            ("BW-A15", 2, Severity::Note),
            ("BW-A16", 3, Severity::Warning),
            ("BW-A17", 4, Severity::Warning),
            ("BW-A24", 5, Severity::Warning),
            ("BW-A25", 6, Severity::Note),
            ("BW-A26", 7, Severity::Note),
        ]
    );
    assert_eq!(list.assemblies.len(), 8, "all are used as listed");
    let fire = told(&list, "BW-A16")[0];
    assert!(fire.remedy.contains("Never shut or drain a fire line"), "{fire}");
}

#[test]
fn types_that_are_not_made_in_a_size_are_rejected() {
    // common practice, no source: vacuum breakers end at 2 in; detector assemblies stand on fire mains.
    for (row, used) in [
        ("SVB,6", false),
        ("PVB,2", true),
        ("AVB,3", false),
        ("DCDA,3/4", false),
        ("DCDA,4", true),
        ("RP,10", true),
        ("DC,1/2", true),
    ] {
        let list = read(&format!("assembly_id,device_type,nominal_size_in\nX,{row}\n"));
        assert_eq!(list.assemblies.len() == 1, used, "{row}");
        assert_eq!(told(&list, "BW-A13").len() == 1, !used, "{row}");
    }
}

#[test]
fn dates_that_can_be_read_two_ways_follow_the_ones_that_cannot() {
    let list = |other: &str| {
        read(&format!(
            "assembly_id,device_type,nominal_size_in,last_test\nA,RP,1,3/4/2025\nB,RP,1,{other}\n"
        ))
    };
    let first = |list: &Inventory| list.assemblies[0].last_test.unwrap().to_string();
    let (day, month, none) = (list("14/3/2025"), list("3/14/2025"), list("2025-03-14"));
    assert_eq!(
        (first(&day), first(&month), first(&none)),
        ("2025-04-03".into(), "2025-03-04".into(), "2025-03-04".into())
    );
    for one in [day, month, none] {
        assert_eq!((told(&one, "BW-A14").len(), one.faults.exit_status()), (1, 0));
    }
}

#[test]
fn a_column_named_twice_or_nearly_is_told() {
    let list = read("assembly_id,device_type,nominal_size_in,type,plcement\nA,RP,1,PVB,open\n");
    assert_eq!(list.assemblies[0].device_type.word(), "RP");
    assert_eq!((told(&list, "BW-A22").len(), told(&list, "BW-A20").len()), (1, 1));
    assert!(told(&list, "BW-A20")[0].what.contains("placement"));
}

fn row() -> impl Strategy<Value = String> {
    (
        prop::sample::select(vec!["RP", "pvb", "DCVA", "DCDA", "svb", "??", "x"]),
        prop::sample::select(vec!["3/4", "1", "2.00", "50 mm", "4", "5", ""]),
        prop::sample::select(vec!["33.1,-97.2", "-97.1,33.0", "33.2,97.1", "0,0", ",", "abc,1"]),
        prop::sample::select(vec!["open", "outside", "vault", "opne", ""]),
        prop::sample::select(vec!["3/4/2025", "2025-01-02", "14-Mar-25", "x", ""]),
    )
        .prop_map(|(device, size, place, placement, date)| format!("{device},{size},{place},{placement},{date}"))
}

proptest! {
    #[test]
    fn the_order_of_rows_never_matters_for_what_is_read(rows in prop::collection::vec(row(), 1..25), turn in 0usize..25) {
        let header = "assembly_id,device_type,nominal_size_in,latitude,longitude,placement,last_test\n";
        let named: Vec<String> = rows.iter().enumerate().map(|(n, row)| format!("R{n},{row}\n")).collect();
        let mut other = named.clone();
        let by = turn % other.len();
        other.rotate_left(by);
        other.reverse();
        let sorted = |text: String| {
            let list = read(&text);
            let mut used: Vec<_> = list.assemblies.into_iter().map(|mut one| { one.line = 0; format!("{one:?}") }).collect();
            let mut refused: Vec<_> = list.rejects.into_iter().map(|one| one.record).collect();
            used.sort();
            refused.sort();
            (used, refused, list.rows)
        };
        prop_assert_eq!(sorted(format!("{header}{}", named.concat())), sorted(format!("{header}{}", other.concat())));
    }

    #[test]
    fn nothing_vanishes(rows in prop::collection::vec(row(), 1..25)) {
        let body: String = rows.iter().enumerate().map(|(n, row)| format!("R{},{row}\n", n % 7)).collect();
        let list = read(&format!("assembly_id,device_type,nominal_size_in,latitude,longitude,placement,last_test\n{body}"));
        prop_assert_eq!(list.rows, rows.len());
        prop_assert_eq!(list.assemblies.len() + list.rejects.len(), rows.len());
        prop_assert!(list.rejects.iter().all(|reject| !reject.faults.is_empty()));
    }

    #[test]
    fn arbitrary_bytes_never_panic(bytes in prop::collection::vec(any::<u8>(), 0..600)) {
        let list = read_inventory(bytes.as_slice(), "x", &BTreeMap::new());
        prop_assert!(!list.assemblies.is_empty() || list.faults.is_fatal());
    }

    #[test]
    fn arbitrary_cells_under_a_good_header_never_panic(rows in prop::collection::vec(prop::collection::vec("\\PC{0,12}", 27), 0..6)) {
        let header: Vec<&str> = brimwater::inventory::columns::Column::ALL.iter().map(|column| column.name()).collect();
        let mut out = csv::Writer::from_writer(Vec::new());
        out.write_record(&header).unwrap();
        for (n, row) in rows.iter().enumerate() {
            let mut row = row.clone();
            row[0] = format!("R{n}");
            row[1] = "RP".into();
            row[2] = "1".into();
            out.write_record(&row).unwrap();
        }
        let list = read_inventory(out.into_inner().unwrap().as_slice(), "x", &BTreeMap::new());
        prop_assert_eq!(list.assemblies.len(), rows.len());
        for one in &list.assemblies {
            prop_assert!(one.riser_height_m.is_finite() && one.wrap_m2k_per_w.is_finite() && one.heat_trace_w.is_finite());
            prop_assert!(one.latitude_deg.is_none_or(|degrees| degrees.abs() <= 90.0));
        }
    }
}
