//! What became of offers: accepted, refused, fitted. A plain table, so that a crew's own sheet will do.

use super::config::Measures;
use super::measures::{Kind, fitted, forbidden};
use crate::faults::{Fault, Faults, Severity};
use crate::freeze::config::FreezeConfig;
use crate::inventory::{Assembly, WinterUse};
use crate::text::Text;
use std::collections::BTreeMap;

/// What became of an offer.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Fate {
    /// Taken, not yet fitted: its money is spoken for.
    Accepted,
    /// Not wanted: not offered again.
    Refused,
    /// In place.
    Fitted,
}

impl Fate {
    /// The word that files use.
    pub fn word(self) -> &'static str {
        match self {
            Fate::Accepted => "accepted",
            Fate::Refused => "refused",
            Fate::Fitted => "fitted",
        }
    }

    fn read(word: &str) -> Option<Fate> {
        let word = word.trim().to_lowercase();
        [Fate::Accepted, Fate::Refused, Fate::Fitted]
            .into_iter()
            .find(|fate| fate.word() == word)
    }
}

/// One line of the log.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Entry {
    /// Line in the file.
    pub line: u64,
    /// The assembly.
    pub assembly_id: String,
    /// The measure.
    pub measure: Kind,
    /// What became of it.
    pub fate: Fate,
}

/// The last word on each offer: a later line goes before an earlier one.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct OffersLog {
    /// By assembly and measure.
    pub entries: BTreeMap<(String, Kind), Entry>,
}

/// Columns that are needed.
pub const COLUMNS: [&str; 3] = ["assembly_id", "measure", "outcome"];

/// Reads the log: `assembly_id`, `measure`, `outcome` (accepted, refused, fitted; blank is an offer still open); other columns are left.
///
/// Faults: `BW-B20` a column is missing (fatal), `BW-B21` a cell cannot be read (its row was set aside).
pub fn read(bytes: &[u8], file: &str) -> (OffersLog, Faults) {
    let mut faults = Faults::new();
    let mut log = OffersLog::default();
    let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    let mut reader = csv::ReaderBuilder::new()
        .flexible(true)
        .trim(csv::Trim::All)
        .from_reader(bytes);
    let header: Vec<String> = reader.byte_headers().map_or(Vec::new(), |header| {
        header
            .iter()
            .map(|cell| String::from_utf8_lossy(cell).trim().to_lowercase())
            .collect()
    });
    let at = COLUMNS.map(|name| header.iter().position(|cell| cell == name));
    for (name, at) in COLUMNS.iter().zip(&at) {
        if at.is_none() {
            faults.push(
                Fault::new("BW-B20", Severity::Fatal, "a column of the offer log is missing")
                    .file(file)
                    .line(1)
                    .column(*name)
                    .expected("assembly_id, measure, outcome")
                    .remedy("Add the column; offers.csv of a season has the first two."),
            );
        }
    }
    let [Some(id), Some(measure), Some(outcome)] = at else {
        return (log, faults);
    };
    let mut record = csv::ByteRecord::new();
    loop {
        let line = reader.position().line();
        match reader.read_byte_record(&mut record) {
            Ok(false) => break,
            Ok(true) => {}
            Err(_) => {
                faults.push(cell_fault(file, line, "row", "", "a row of comma-separated cells"));
                continue;
            }
        }
        let line = record.position().map_or(line, csv::Position::line);
        let cell = |at: usize| {
            let text = String::from_utf8_lossy(record.get(at).unwrap_or_default())
                .trim()
                .to_owned();
            // The apostrophe that keeps a spreadsheet from running a cell.
            match text.strip_prefix('\'') {
                Some(rest) if rest.starts_with(['=', '+', '-', '@']) => rest.to_owned(),
                _ => text,
            }
        };
        let (id, measure, outcome) = (cell(id), cell(measure), cell(outcome));
        if outcome.is_empty() {
            continue;
        }
        let before = faults.0.len();
        let kind = Kind::read(&measure);
        let fate = Fate::read(&outcome);
        if id.is_empty() {
            faults.push(cell_fault(file, line, "assembly_id", &id, "an identifier"));
        }
        if kind.is_none() {
            let words: Vec<&str> = Kind::ALL.iter().map(|kind| kind.word()).collect();
            faults.push(cell_fault(file, line, "measure", &measure, &words.join(", ")));
        }
        if fate.is_none() {
            faults.push(cell_fault(
                file,
                line,
                "outcome",
                &outcome,
                "accepted, refused or fitted",
            ));
        }
        if let (Some(measure), Some(fate), true) = (kind, fate, faults.0.len() == before) {
            let entry = Entry {
                line,
                assembly_id: id.clone(),
                measure,
                fate,
            };
            log.entries.insert((id, measure), entry);
        }
    }
    (log, faults)
}

fn cell_fault(file: &str, line: u64, column: &str, value: &str, expected: &str) -> Fault {
    Fault::new(
        "BW-B21",
        Severity::Rejected,
        "this cell of the offer log cannot be read; the row was set aside",
    )
    .file(file)
    .line(line)
    .column(column)
    .value(value)
    .expected(expected)
    .remedy("Correct the cell.")
}

impl OffersLog {
    /// What became of one offer.
    pub fn fate(&self, assembly_id: &str, measure: Kind) -> Option<Fate> {
        self.entries
            .get(&(assembly_id.to_owned(), measure))
            .map(|entry| entry.fate)
    }

    /// Puts what was fitted into the list, and tells how many were.
    ///
    /// Faults: `BW-B22` an assembly that the list does not hold (rejected), `BW-B23` a fitted measure that must not stand there, such as a
    /// drained fire line (rejected: the list stays as it was), `BW-B25` drain kits, which leave it to people to drain (note).
    pub fn apply(
        &self,
        assemblies: &mut [Assembly],
        measures: &Measures,
        freeze: &FreezeConfig,
        file: &str,
    ) -> (usize, Faults) {
        let mut faults = Faults::new();
        let at: BTreeMap<Text, usize> = assemblies
            .iter()
            .enumerate()
            .map(|(at, assembly)| (assembly.assembly_id.clone(), at))
            .collect();
        let (mut count, mut kits) = (0, 0);
        for entry in self.entries.values() {
            let told = |code, what: &str| {
                Fault::new(code, Severity::Rejected, what)
                    .file(file)
                    .line(entry.line)
                    .column("assembly_id")
                    .value(&entry.assembly_id)
            };
            let Some(&place) = at.get(entry.assembly_id.as_str()) else {
                faults.push(
                    told(
                        "BW-B22",
                        "the list holds no such assembly; this line of the offer log was set aside",
                    )
                    .expected("an assembly_id of the list")
                    .remedy("Correct the identifier, or give the list that it belongs to."),
                );
                continue;
            };
            if entry.fate != Fate::Fitted {
                continue;
            }
            let assembly = &mut assemblies[place];
            if assembly.winter_use == WinterUse::Drained {
                continue;
            }
            // Whatever is on offer and wherever it stands: what is in place already may still stand there, what must not be may not.
            if let Some(why) = forbidden(entry.measure, assembly) {
                faults.push(
                    told(
                        "BW-B23",
                        "this measure must not stand on this line, so the list was left as it is",
                    )
                    .expected(format!("a measure that may be offered for it (not: {})", why.word()))
                    .remedy("Look at the assembly; correct its service or the log."),
                );
            } else if entry.measure == Kind::DrainKit {
                kits += 1;
                count += 1;
            } else {
                *assembly = fitted(entry.measure, assembly, measures, freeze);
                count += 1;
            }
        }
        if kits > 0 {
            faults.push(
                Fault::new(
                    "BW-B25",
                    Severity::Note,
                    "fittings to drain an assembly drain nothing by themselves: these stand full as the list says",
                )
                .file(file)
                .value(&kits.to_string())
                .expected("winter_use drained in the list, once somebody has emptied it this autumn"),
            );
        }
        (count, faults)
    }
}
