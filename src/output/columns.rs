//! One table of columns for each list: the CSV and the Parquet file of a list are written from the same table.
//!
//! To add a column, add one line to the list's table (`ranking_columns` and its neighbours).

use super::defuse::defuse;
use super::plan::{rounded, stamp};
use chrono::{DateTime, SecondsFormat, Utc};
use chrono_tz::Tz;
use std::borrow::Cow;
use std::io::{self, Write};

/// What a column holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// Text.
    Text,
    /// A whole number.
    Whole,
    /// A number, told with so many decimals.
    Number(i32),
    /// A moment, in CSV in the list's own zone with its offset.
    Local,
    /// A moment, in CSV in UTC.
    Utc,
}

/// What a cell holds. An absent value is an empty cell in CSV and a null in Parquet.
#[derive(Debug, Clone, PartialEq)]
pub enum Cell<'a> {
    /// Nothing.
    Absent,
    /// Text, as it came: a writer for spreadsheets defuses it.
    Text(Cow<'a, str>),
    /// A whole number.
    Whole(i64),
    /// A number.
    Number(f64),
    /// A moment.
    Time(DateTime<Utc>),
}

/// One column of a list whose rows are `R`.
pub struct Column<'p, R> {
    /// Its name, as the header has it.
    pub name: Cow<'p, str>,
    /// What it holds.
    pub kind: Kind,
    /// Unit as an analyst writes it (`1` for a chance, `degF`, `USD`, `h`); empty where there is none.
    pub unit: &'static str,
    /// The cell of a row.
    pub cell: Box<dyn Fn(&R) -> Cell<'p> + 'p>,
}

impl<'p, R> Column<'p, R> {
    /// A column.
    pub fn new(name: &'static str, kind: Kind, unit: &'static str, cell: impl Fn(&R) -> Cell<'p> + 'p) -> Self {
        Self {
            name: Cow::Borrowed(name),
            kind,
            unit,
            cell: Box::new(cell),
        }
    }

    /// A column of text.
    pub fn text<T: Into<Cow<'p, str>>>(name: &'static str, cell: impl Fn(&R) -> T + 'p) -> Self {
        Self::new(name, Kind::Text, "", move |row| Cell::Text(cell(row).into()))
    }
}

impl From<Option<f64>> for Cell<'_> {
    fn from(value: Option<f64>) -> Self {
        value.map_or(Cell::Absent, Cell::Number)
    }
}

impl From<Option<DateTime<Utc>>> for Cell<'_> {
    fn from(value: Option<DateTime<Utc>>) -> Self {
        value.map_or(Cell::Absent, Cell::Time)
    }
}

/// A cell as CSV has it.
fn csv_text(cell: Cell<'_>, kind: Kind, zone: Tz) -> String {
    match (cell, kind) {
        (Cell::Absent, _) => String::new(),
        (Cell::Text(text), _) => defuse(&text).into_owned(),
        (Cell::Whole(value), _) => value.to_string(),
        (Cell::Number(value), Kind::Number(decimals)) => {
            format!("{:.*}", decimals.max(0) as usize, rounded(value, decimals))
        }
        (Cell::Number(value), _) => value.to_string(),
        (Cell::Time(time), Kind::Utc) => stamp(time),
        (Cell::Time(time), _) => time.with_timezone(&zone).to_rfc3339_opts(SecondsFormat::Secs, false),
    }
}

/// Writes the list as CSV. Cells that a spreadsheet would run are defused; local times are in `zone`.
///
/// # Errors
/// When the writer fails.
pub fn write_csv<R>(
    columns: &[Column<'_, R>],
    rows: impl Iterator<Item = R>,
    zone: Tz,
    out: &mut dyn Write,
) -> io::Result<()> {
    let mut csv = csv::Writer::from_writer(out);
    csv.write_record(columns.iter().map(|column| defuse(&column.name).into_owned()))?;
    let mut cells: Vec<String> = Vec::with_capacity(columns.len());
    for row in rows {
        cells.clear();
        cells.extend(
            columns
                .iter()
                .map(|column| csv_text((column.cell)(&row), column.kind, zone)),
        );
        csv.write_record(&cells)?;
    }
    csv.flush()
}
