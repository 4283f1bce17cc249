//! One flat table of rows, as a spreadsheet writes it.
//!
//! Only `p_issued` and `found` are needed. Free text in a column of words is a fault of its row, never a guess.

use super::row::{Contact, Row, State, Traits};
use crate::faults::{Fault, Faults, Severity};

/// Columns that may be there, in the contract's order; then what simple rules look at.
pub const COLUMNS: [&str; 15] = [
    "spell",
    "assembly_id",
    "p_issued",
    "p_hindcast",
    "p_protected",
    "loss_usd",
    "rank",
    "contact",
    "protected",
    "inclusion_probability",
    "found",
    "how_found",
    "size_in",
    "wrap",
    "site_k",
];

struct Sheet<'a> {
    at: [Option<usize>; COLUMNS.len()],
    file: &'a str,
}

impl Sheet<'_> {
    fn cell<'r>(&self, record: &'r csv::StringRecord, name: &str) -> &'r str {
        COLUMNS
            .iter()
            .position(|column| *column == name)
            .and_then(|at| self.at[at])
            .and_then(|at| record.get(at))
            .unwrap_or("")
            .trim()
    }

    fn has(&self, name: &str) -> bool {
        COLUMNS
            .iter()
            .position(|column| *column == name)
            .is_some_and(|at| self.at[at].is_some())
    }

    fn fault(&self, line: u64, column: &str, value: &str, what: &str, expected: &str) -> Fault {
        Fault::new("BW-R03", Severity::Rejected, what)
            .file(self.file)
            .line(line)
            .column(column)
            .value(value)
            .expected(expected)
            .remedy("Correct the cell; the row was set aside.")
    }
}

/// The rows of a table, and its faults.
///
/// Faults: `BW-R01` it is no table, `BW-R02` a needed column is missing (both fatal), `BW-R03` a cell cannot be read and its row was set
/// aside.
pub fn rows(text: &str, file: &str) -> (Vec<Row>, Faults) {
    let mut faults = Faults::new();
    let mut reader = csv::ReaderBuilder::new()
        .flexible(true)
        .from_reader(text.trim_start_matches('\u{feff}').as_bytes());
    let header = match reader.headers() {
        Ok(header) => header.clone(),
        Err(error) => {
            faults.push(
                Fault::new("BW-R01", Severity::Fatal, format!("this is no table: {error}"))
                    .file(file)
                    .expected("comma-separated values with a header line")
                    .remedy("Save the sheet as CSV."),
            );
            return (Vec::new(), faults);
        }
    };
    let sheet = Sheet {
        at: COLUMNS.map(|name| {
            header
                .iter()
                .position(|column| column.trim().eq_ignore_ascii_case(name))
        }),
        file,
    };
    for needed in ["p_issued", "found"] {
        if !sheet.has(needed) {
            faults.push(
                Fault::new("BW-R02", Severity::Fatal, "a needed column is missing")
                    .file(file)
                    .column(needed)
                    .expected("columns p_issued and found at the least")
                    .remedy("Add the column, or name the plan's folder with --plan and the filled form with --record."),
            );
        }
    }
    if !faults.0.is_empty() {
        return (Vec::new(), faults);
    }
    let mut found = Vec::new();
    for (index, record) in reader.records().enumerate() {
        match record {
            Ok(record) => {
                let line = record.position().map_or(index as u64 + 2, csv::Position::line);
                let before = faults.0.len();
                let row = row(&sheet, &record, line, &mut faults);
                if faults.0.len() == before {
                    found.push(row);
                }
            }
            Err(error) => {
                faults.push(
                    Fault::new(
                        "BW-R03",
                        Severity::Rejected,
                        format!("this line cannot be read: {error}"),
                    )
                    .file(file)
                    .line(index as u64 + 2)
                    .remedy("Correct the line; it was set aside."),
                );
            }
        }
    }
    (found, faults)
}

fn row(sheet: &Sheet<'_>, record: &csv::StringRecord, line: u64, faults: &mut Faults) -> Row {
    let mut number = |name: &str, low: f64, high: f64, expected: &str| -> Option<f64> {
        let cell = sheet.cell(record, name);
        if cell.is_empty() {
            return None;
        }
        match cell.parse::<f64>() {
            Ok(value) if value.is_finite() && (low..=high).contains(&value) => Some(value),
            _ => {
                faults.push(sheet.fault(line, name, cell, "this is not a number that can stand here", expected));
                None
            }
        }
    };
    let chance = "a number from 0 to 1";
    let p_issued = number("p_issued", 0.0, 1.0, chance);
    let p_hindcast = number("p_hindcast", 0.0, 1.0, chance);
    let p_protected = number("p_protected", 0.0, 1.0, chance);
    let loss_usd = number("loss_usd", 0.0, 1e12, "US dollars, not negative");
    let rank = number("rank", 1.0, 1e9, "a place on the list, 1 first");
    let inclusion = number(
        "inclusion_probability",
        f64::MIN_POSITIVE,
        1.0,
        "a number above 0, to 1",
    );
    let size_m = number("size_in", 0.0, 100.0, "inches").map(|inches| inches * crate::units::M_PER_IN);
    let wrap = number("wrap", 0.0, 1_000.0, "0 for none");
    let site_k = number("site_k", -50.0, 50.0, "kelvin");
    if p_issued.is_none() && sheet.cell(record, "p_issued").is_empty() {
        faults.push(sheet.fault(line, "p_issued", "", "the chance is blank", chance));
    }
    let contact = word(
        sheet,
        record,
        line,
        "contact",
        faults,
        Contact::read,
        "none, reached, no-answer or another word of the log",
    );
    let protected = match sheet.cell(record, "protected").to_lowercase().as_str() {
        "" => None,
        "1" | "yes" | "true" => Some(true),
        "0" | "no" | "false" => Some(false),
        other => {
            faults.push(sheet.fault(line, "protected", other, "this is neither yes nor no", "1 or 0"));
            None
        }
    };
    Row {
        spell: sheet.cell(record, "spell").to_owned(),
        assembly_id: sheet.cell(record, "assembly_id").to_owned(),
        p_issued: p_issued.unwrap_or(0.0),
        p_hindcast,
        p_protected,
        loss_usd,
        rank,
        contact: contact.unwrap_or(Contact::None),
        protected,
        inclusion: inclusion.unwrap_or(1.0),
        by_design: true,
        told_how: inclusion.is_some() || !sheet.cell(record, "how_found").is_empty(),
        state: state(sheet, record, line, faults),
        traits: Traits {
            size_m,
            bare: wrap.map(|wrap| wrap == 0.0),
            site_k,
        },
        case: None,
    }
}

fn word<T>(
    sheet: &Sheet<'_>,
    record: &csv::StringRecord,
    line: u64,
    name: &str,
    faults: &mut Faults,
    read: fn(&str) -> Option<T>,
    expected: &str,
) -> Option<T> {
    let cell = sheet.cell(record, name);
    let value = read(cell);
    if value.is_none() {
        faults.push(sheet.fault(line, name, cell, "this word is not known here", expected));
    }
    value
}

/// `found` with `how_found`; taken as inspected where the latter is absent.
fn state(sheet: &Sheet<'_>, record: &csv::StringRecord, line: u64, faults: &mut Faults) -> State {
    let found = sheet.cell(record, "found").to_lowercase();
    let how = sheet.cell(record, "how_found").to_lowercase();
    let how_known = matches!(how.as_str(), "" | "inspected" | "reported" | "not looked at");
    if !how_known {
        faults.push(sheet.fault(
            line,
            "how_found",
            &how,
            "this word is not known here",
            "inspected, reported or not looked at",
        ));
    }
    match (found.as_str(), how.as_str()) {
        ("damaged", "reported") => State::Reported,
        ("damaged" | "no damage", "not looked at") => {
            faults.push(sheet.fault(
                line,
                "found",
                &found,
                "something was found, yet it was not looked at",
                "found unknown, or how_found inspected or reported",
            ));
            State::NotLooked
        }
        ("damaged", _) => State::Damaged,
        ("no damage", "reported") => State::NotLooked,
        ("no damage", _) => State::Whole,
        ("unknown", "inspected") => State::CannotTell,
        ("unknown", _) => State::NotLooked,
        (other, _) => State::read(other).unwrap_or_else(|| {
            faults.push(sheet.fault(
                line,
                "found",
                other,
                "this is not one of the findings",
                "damaged, no damage or unknown",
            ));
            State::NotLooked
        }),
    }
}
