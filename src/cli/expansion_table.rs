//! Small tables by a plumber's own hand, whose headers name their unit: `volume_gal`, `gauge_psi`.

use super::common::Failure;
use super::expansion_lists::UNITS;
use crate::faults::{Fault, Faults, Severity};
use crate::input::{Record, Records, file};
use std::path::Path;

/// A column: its place, and the unit that its header tells; empty when it tells none.
pub(super) type Place = (usize, &'static str);

/// A table that is being read.
pub(super) struct UnitTable {
    /// Its file, for faults.
    pub(super) name: String,
    records: Records<'static>,
    header: Vec<String>,
    record: Record,
    /// What is wrong with its lines so far.
    pub(super) faults: Faults,
}

impl UnitTable {
    /// Opens a table whose header holds columns that begin with one of `bases`.
    pub(super) fn open(path: &Path, bases: &[&str]) -> Result<Self, Failure> {
        let name = file::shown(path);
        let known = |header: &str| {
            let header = header.trim().to_lowercase();
            bases.iter().any(|base| header.starts_with(base))
        };
        let records = Records::open(file::open(path)?, &name, known)?;
        let header = records.header().iter().map(|cell| cell.trim().to_lowercase()).collect();
        Ok(Self {
            name,
            records,
            header,
            record: Record::default(),
            faults: Faults::new(),
        })
    }

    /// The column of a base name, with or without a unit after it.
    pub(super) fn place(&self, base: &str) -> Option<Place> {
        self.header.iter().enumerate().find_map(|(at, cell)| {
            let suffix = cell.strip_prefix(base)?;
            if suffix.is_empty() {
                return Some((at, ""));
            }
            let suffix = suffix.strip_prefix('_')?;
            let unit = UNITS.iter().find(|(word, _)| *word == suffix)?.1;
            Some((at, unit))
        })
    }

    /// The fault of a header in which a needed column is missing.
    pub(super) fn lacks(&self, code: &'static str, what: &str, expected: &str) -> Failure {
        Fault::new(code, Severity::Fatal, what)
            .file(self.name.clone())
            .line(self.records.header_line())
            .expected(expected)
            .into()
    }

    /// Goes to the next line; false at the end.
    pub(super) fn next(&mut self) -> Result<bool, Failure> {
        Ok(self.records.read(&mut self.record, &mut self.faults)?)
    }

    /// Line of the file that is being read.
    pub(super) fn line(&self) -> u64 {
        self.record.line
    }

    /// A cell as it stands.
    pub(super) fn cell(&self, at: usize) -> &str {
        self.record.fields.get(at).map_or("", |text| text.trim())
    }

    /// A cell with the unit of its header, unless it is empty or has its own.
    pub(super) fn with_unit(&self, (at, unit): Place) -> String {
        let text = self.cell(at);
        if text.is_empty() || text.chars().any(char::is_alphabetic) {
            text.to_string()
        } else {
            format!("{text} {unit}")
        }
    }

    /// Tells a fault of the line that is being read; a table by the same hand is corrected, not guessed at.
    pub(super) fn wrong(&mut self, fault: Fault) {
        let (name, line) = (self.name.clone(), self.line());
        self.faults.push(fault.file(name).line(line));
    }

    /// What was read, when nothing was wrong with any line.
    pub(super) fn whole<T>(self, read: T) -> Result<T, Failure> {
        if self.faults.0.is_empty() {
            Ok(read)
        } else {
            Err(self.faults.into())
        }
    }
}
