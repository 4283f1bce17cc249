//! What is wrong with the input, told all at once.
//!
//! Readers never stop at the first fault: they push a [`Fault`] for each and go on, and the caller
//! decides what the collected [`Faults`] mean for the exit status.

use serde::Serialize;
use std::fmt;

/// How much a fault costs the run.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Severity {
    /// Told for information: a default was taken, a value was read in another unit.
    Note,
    /// The data was used but is stale, gappy or suspect: exit status 1.
    Warning,
    /// The row or value was set aside: exit status 1, and it goes to the rejects file.
    Rejected,
    /// Nothing can be computed: exit status 2.
    Fatal,
}

/// One fault: what, where, what was expected, what to do.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Fault {
    /// Stable code that staff can quote, such as `BW-A07` (A assemblies, S series, C config, X expansion, P plan, L log, D desk).
    pub code: &'static str,
    /// What it costs the run.
    pub severity: Severity,
    /// File name as the user gave it, or empty when the fault is not about a file.
    pub file: String,
    /// One-based line in the file, if known.
    pub line: Option<u64>,
    /// Column or key, if known.
    pub column: Option<String>,
    /// The value as it was read, cut to 80 characters.
    pub value: Option<String>,
    /// What is wrong, in one plain sentence.
    pub what: String,
    /// What was expected.
    pub expected: String,
    /// What the user should do.
    pub remedy: String,
}

impl Fault {
    /// A fault with its code, severity and sentence; the place and remedy follow by the builder methods.
    pub fn new(code: &'static str, severity: Severity, what: impl Into<String>) -> Self {
        Self {
            code,
            severity,
            file: String::new(),
            line: None,
            column: None,
            value: None,
            what: what.into(),
            expected: String::new(),
            remedy: String::new(),
        }
    }

    /// Sets the file.
    pub fn file(mut self, file: impl Into<String>) -> Self {
        self.file = file.into();
        self
    }

    /// Sets the one-based line.
    pub fn line(mut self, line: u64) -> Self {
        self.line = Some(line);
        self
    }

    /// Sets the column or key.
    pub fn column(mut self, column: impl Into<String>) -> Self {
        self.column = Some(column.into());
        self
    }

    /// Sets the value as read; longer than 80 characters is cut.
    pub fn value(mut self, value: &str) -> Self {
        let mut cut: String = value.chars().take(80).collect();
        if cut.len() < value.len() {
            cut.push('…');
        }
        self.value = Some(cut);
        self
    }

    /// Says what was expected.
    pub fn expected(mut self, expected: impl Into<String>) -> Self {
        self.expected = expected.into();
        self
    }

    /// Says what to do.
    pub fn remedy(mut self, remedy: impl Into<String>) -> Self {
        self.remedy = remedy.into();
        self
    }
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.code)?;
        if !self.file.is_empty() {
            write!(f, " {}", self.file)?;
            if let Some(line) = self.line {
                write!(f, ":{line}")?;
            }
        }
        if let Some(column) = &self.column {
            write!(f, " [{column}]")?;
        }
        write!(f, ": {}", self.what)?;
        if let Some(value) = &self.value {
            write!(f, " (read: {value:?})")?;
        }
        if !self.expected.is_empty() {
            write!(f, "; expected {}", self.expected)?;
        }
        if !self.remedy.is_empty() {
            write!(f, ". {}", self.remedy)?;
        }
        Ok(())
    }
}

/// All faults of a run, in the order found.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct Faults(pub Vec<Fault>);

impl Faults {
    /// No faults yet.
    pub fn new() -> Self {
        Self::default()
    }

    /// Adds one.
    pub fn push(&mut self, fault: Fault) {
        self.0.push(fault);
    }

    /// Takes over all of another collection.
    pub fn append(&mut self, mut other: Faults) {
        self.0.append(&mut other.0);
    }

    /// The worst severity, or `None` when there is no fault.
    pub fn worst(&self) -> Option<Severity> {
        self.0.iter().map(|fault| fault.severity).max()
    }

    /// Whether nothing can be computed.
    pub fn is_fatal(&self) -> bool {
        self.worst() == Some(Severity::Fatal)
    }

    /// How many faults have this severity.
    pub fn count(&self, severity: Severity) -> usize {
        self.0.iter().filter(|fault| fault.severity == severity).count()
    }

    /// The exit status that these faults mean: 0 all used, 1 rejected rows or stale or gappy data, 2 not done.
    pub fn exit_status(&self) -> u8 {
        match self.worst() {
            Some(Severity::Fatal) => 2,
            Some(Severity::Warning | Severity::Rejected) => 1,
            _ => 0,
        }
    }
}

impl From<Fault> for Faults {
    fn from(fault: Fault) -> Self {
        Self(vec![fault])
    }
}
