//! Reading a list of assemblies of 100,000 rows: delimited text, cells, checks of each row and of the whole list.
#![allow(clippy::unwrap_used)]

use brimwater::inventory::read_inventory;
use std::collections::BTreeMap;

const ROWS: usize = 100_000;

fn main() {
    divan::main();
}

/// The rows of the demonstration programme over and over, each with an id and a phone of its own, so that nothing is a duplicate that
/// was not one before.
fn list() -> Vec<u8> {
    let sample = std::fs::read_to_string("climate-samples/assemblies.csv").unwrap();
    let mut lines = sample.lines();
    let header = lines.next().unwrap();
    let at = |name: &str| header.split(',').position(|cell| cell == name).unwrap();
    let (id, phone) = (at("assembly_id"), at("phone"));
    // A row that a quoted comma would shift is left out: the list stays like the sample otherwise.
    let width = header.split(',').count();
    let rows: Vec<Vec<&str>> = lines
        .filter(|line| !line.contains('"'))
        .map(|line| line.split(',').collect::<Vec<_>>())
        .filter(|cells| cells.len() == width)
        .collect();
    let mut out = format!("{header}\n");
    for row in 0..ROWS {
        let own_id = format!("R-{row:06}");
        let own_phone = format!("(201) {:03}-{:04}", 200 + row / 10_000, row % 10_000);
        for (index, cell) in rows[row % rows.len()].iter().enumerate() {
            if index > 0 {
                out.push(',');
            }
            out.push_str(match index {
                _ if index == id => &own_id,
                _ if index == phone && !cell.is_empty() => &own_phone,
                _ => cell,
            });
        }
        out.push('\n');
    }
    out.into_bytes()
}

#[divan::bench(sample_count = 5, sample_size = 1)]
fn list_of_100_000_rows_read(bencher: divan::Bencher) {
    let bytes = list();
    bencher.counter(divan::counter::ItemsCount::new(ROWS)).bench(|| {
        let read = read_inventory(&bytes[..], "bench", &BTreeMap::new());
        assert_eq!(read.rows, ROWS);
        assert!(
            read.assemblies.len() > ROWS * 9 / 10,
            "{} of {ROWS}",
            read.assemblies.len()
        );
    });
}
