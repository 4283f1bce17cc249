//! The reference data: invented instances and winters, with what independent solvers say of them.

use brimwater::season::choice::{Item, Offer};
use std::path::{Path, PathBuf};

pub fn place(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("tests/data/season")
        .join(name)
}

pub fn expected(name: &str) -> serde_json::Value {
    serde_json::from_slice(&std::fs::read(place(name)).unwrap()).unwrap()
}

/// Words of the four measures, in the order of the columns.
pub const MEASURES: [&str; 4] = ["wrap", "heat_trace", "cover", "relocate"];

pub fn instance(n: usize) -> Vec<Item> {
    let mut reader = csv::Reader::from_path(place(&format!("instance_{n}.csv"))).unwrap();
    let head = reader.headers().unwrap().clone();
    let at = |name: &str| head.iter().position(|column| column == name).unwrap();
    reader
        .records()
        .map(|row| {
            let row = row.unwrap();
            Item {
                id: row[at("assembly_id")].to_owned(),
                district: row[at("district")].to_owned(),
                class: String::new(),
                critical: &row[at("critical")] == "1",
                offers: MEASURES
                    .iter()
                    .enumerate()
                    .map(|(measure, word)| Offer {
                        measure,
                        cost_usd: row[at(&format!("cost_{word}"))].parse().unwrap(),
                        benefit_usd: row[at(&format!("benefit_{word}"))].parse().unwrap(),
                    })
                    .collect(),
            }
        })
        .collect()
}

/// Season and minimum, °C.
pub fn winters() -> Vec<(i32, f64)> {
    let mut reader = csv::Reader::from_path(place("winters.csv")).unwrap();
    reader
        .records()
        .map(|row| {
            let row = row.unwrap();
            (row[0].parse().unwrap(), row[1].parse().unwrap())
        })
        .collect()
}
