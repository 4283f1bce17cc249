//! Reads the numeric reference tables of `tests/data` for the tests that use them.

use std::collections::HashMap;
use std::path::Path;

/// One row of a table: value by column name; an empty cell is absent.
pub struct Row(HashMap<String, f64>);

impl Row {
    /// The value of a column that must be there.
    pub fn get(&self, column: &str) -> f64 {
        self.0
            .get(column)
            .copied()
            .unwrap_or_else(|| panic!("no column {column}"))
    }

    /// The value of a column, if the cell is filled.
    #[allow(dead_code)]
    pub fn find(&self, column: &str) -> Option<f64> {
        self.0.get(column).copied()
    }
}

/// The rows of `tests/data/<name>`; lines that begin with `#` are comments. Never empty.
pub fn table(name: &str) -> Vec<Row> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data").join(name);
    let mut reader = csv::ReaderBuilder::new().comment(Some(b'#')).from_path(&path).unwrap();
    let header: Vec<String> = reader.headers().unwrap().iter().map(String::from).collect();
    let rows: Vec<Row> = reader
        .records()
        .map(|record| {
            let record = record.unwrap();
            let cells = header.iter().cloned().zip(record.iter());
            Row(cells
                .filter(|(_, cell)| !cell.is_empty())
                .map(|(h, cell)| (h, cell.parse().unwrap()))
                .collect())
        })
        .collect();
    assert!(!rows.is_empty(), "{name} has no rows");
    rows
}
