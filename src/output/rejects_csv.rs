//! `rejects.csv`: the rows that were set aside, each with why, and its cells as they were read.

use super::defuse::defuse;
use crate::faults::{Fault, Severity};
use crate::inventory::read::Reject;
use std::io::{self, Write};

/// Columns before the row's own.
pub const COLUMNS: [&str; 8] = ["line", "code", "column", "value", "what", "expected", "remedy", "also"];

/// Writes one line for each row that was set aside; `also` carries what else was wrong with it.
///
/// The row's own cells follow under the header of its file, so that the row can be mended and given again.
///
/// # Errors
/// When the writer fails.
pub fn write(rejects: &[Reject], out: &mut dyn Write) -> io::Result<()> {
    let mut csv = csv::WriterBuilder::new().flexible(true).from_writer(out);
    // Rows of one file share a header; a row that was set aside later may carry fewer cells, placed by name.
    let own: &[String] = rejects
        .iter()
        .map(|reject| reject.header.as_slice())
        .max_by_key(|header| header.len())
        .unwrap_or(&[]);
    let headers = COLUMNS
        .iter()
        .map(|name| (*name).to_owned())
        .chain(own.iter().map(|name| {
            if COLUMNS.contains(&name.as_str()) {
                format!("listed_{name}")
            } else {
                defuse(name).into_owned()
            }
        }));
    csv.write_record(headers)?;
    for reject in rejects {
        let main = reject
            .faults
            .iter()
            .position(|fault| fault.severity >= Severity::Rejected)
            .unwrap_or(0);
        let also: Vec<String> = reject
            .faults
            .iter()
            .enumerate()
            .filter(|(i, _)| *i != main)
            .map(|(_, fault)| brief(fault))
            .collect();
        let text = |pick: fn(&Fault) -> &str| {
            reject
                .faults
                .get(main)
                .map_or(String::new(), |fault| defuse(pick(fault)).into_owned())
        };
        let mut cells = vec![
            reject.line.to_string(),
            text(|fault| fault.code),
            text(|fault| fault.column.as_deref().unwrap_or("")),
            text(|fault| fault.value.as_deref().unwrap_or("")),
            text(|fault| &fault.what),
            text(|fault| &fault.expected),
            text(|fault| &fault.remedy),
            defuse(&also.join("; ")).into_owned(),
        ];
        if reject.header.as_slice() == own {
            cells.extend(reject.record.iter().map(|cell| defuse(cell).into_owned()));
        } else {
            let mut left: Vec<Option<&String>> = reject.record.iter().map(Some).collect();
            for name in own {
                let at = reject.header.iter().position(|header| header == name);
                let cell = at.and_then(|at| left.get_mut(at)).and_then(Option::take);
                cells.push(cell.map_or(String::new(), |cell| defuse(cell).into_owned()));
            }
            cells.extend(left.into_iter().flatten().map(|cell| defuse(cell).into_owned()));
        }
        // Rows shorter than the header are filled up; longer ones keep their surplus cells.
        while cells.len() < COLUMNS.len() + own.len() {
            cells.push(String::new());
        }
        csv.write_record(&cells)?;
    }
    csv.flush()
}

fn brief(fault: &Fault) -> String {
    let column = fault
        .column
        .as_deref()
        .map_or(String::new(), |column| format!(" [{column}]"));
    format!("{}{column}: {}", fault.code, fault.what)
}
