//! What every command shares: output format, units, quiet, printing, failing.

use crate::faults::{Fault, Faults, Severity};
use crate::units::UnitSystem;
use clap::{Args, ValueEnum};
use std::io::{self, IsTerminal, Write};

/// Options that every command takes.
#[derive(Args, Debug, Clone)]
pub struct Common {
    /// Form of the answer on standard output.
    #[arg(long, global = true, value_enum, default_value_t = Format::Table)]
    pub format: Format,
    /// Units that people read and that a bare number takes.
    #[arg(long, global = true, value_enum, default_value_t = Units::Us)]
    pub units: Units,
    /// No progress and no notes on standard error. What changes the answer's worth is told all the same.
    #[arg(long, short = 'q', global = true)]
    pub quiet: bool,
    /// Replace a file named for an answer though it exists and was not made by this command, or was edited since.
    #[arg(long, global = true)]
    pub force: bool,
}

/// Form of the answer.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Format {
    /// A table for people.
    Table,
    /// Comma-separated values.
    Csv,
    /// JSON, always SI.
    Json,
}

/// Units that people read.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Units {
    /// US customary: °F, psi, gal, in, mph.
    Us,
    /// SI: °C, kPa, L, mm, m/s.
    Si,
    /// SI with gauge pressures in bar.
    Bar,
}

impl From<Units> for UnitSystem {
    fn from(units: Units) -> Self {
        match units {
            Units::Us => Self::Us,
            Units::Si => Self::Si,
            Units::Bar => Self::Bar,
        }
    }
}

impl Common {
    /// The unit system that `--units` chose.
    pub fn system(&self) -> UnitSystem {
        self.units.into()
    }

    /// Tells faults on standard error. `--quiet` leaves out notes, and nothing that changes what the answer is worth.
    pub fn tell(&self, faults: &Faults) {
        if self.quiet {
            let loud = faults.0.iter().filter(|fault| fault.severity > Severity::Note);
            report(&Faults(loud.cloned().collect()));
        } else {
            report(faults);
        }
    }

    /// Whether progress may be shown on standard error.
    pub fn progress(&self) -> bool {
        !self.quiet && io::stderr().is_terminal()
    }
}

/// Why a command was not done: all faults at once.
#[derive(Debug, Clone)]
pub struct Failure(pub Faults);

impl Failure {
    /// A failure of one fault.
    pub fn one(fault: Fault) -> Self {
        let mut faults = Faults::new();
        faults.push(fault);
        Self(faults)
    }

    /// Tells the faults on standard error, at most 20 in full and the rest as a count.
    pub fn report(&self) {
        report(&self.0);
    }
}

impl From<Faults> for Failure {
    fn from(faults: Faults) -> Self {
        Self(faults)
    }
}

impl From<Fault> for Failure {
    fn from(fault: Fault) -> Self {
        Self::one(fault)
    }
}

/// Faults that are told in full, at most.
const MOST_TOLD: usize = 20;
/// Of these, faults of one code that stopped nothing.
const MOST_OF_A_CODE: usize = 3;

/// Tells faults on standard error, the gravest first and as found among equals: at most 20 in full, and of those that stopped
/// nothing at most three of a code; the rest as a count by code.
pub fn report(faults: &Faults) {
    let _ = io::stderr().lock().write_all(told(faults).as_bytes());
}

/// What [`report`] tells.
pub fn told(faults: &Faults) -> String {
    let mut order: Vec<&Fault> = faults.0.iter().collect();
    order.sort_by_key(|fault| std::cmp::Reverse(fault.severity));
    let mut of_code = std::collections::BTreeMap::new();
    let mut left = std::collections::BTreeMap::new();
    let mut text = String::new();
    let mut told = 0;
    for fault in order {
        let word = match fault.severity {
            Severity::Note => "note",
            Severity::Warning => "warning",
            Severity::Rejected => "rejected",
            Severity::Fatal => "error",
        };
        let seen = of_code.entry(fault.code).or_insert(0usize);
        if told < MOST_TOLD && (fault.severity == Severity::Fatal || *seen < MOST_OF_A_CODE) {
            *seen += 1;
            told += 1;
            text.push_str(&format!("{word}: {fault}\n"));
        } else {
            *left
                .entry((std::cmp::Reverse(fault.severity), fault.code))
                .or_insert(0usize) += 1;
        }
    }
    if !left.is_empty() {
        let counts: Vec<String> = left.iter().map(|((_, code), n)| format!("{code} × {n}")).collect();
        text.push_str(&format!(
            "and {} more: {}\n",
            left.values().sum::<usize>(),
            counts.join(", ")
        ));
    }
    text
}

/// Prints to standard output; a closed pipe is success.
pub fn print(text: &str) -> Result<u8, Failure> {
    let mut out = io::stdout().lock();
    match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
        Ok(()) => Ok(0),
        Err(error) if error.kind() == io::ErrorKind::BrokenPipe => Ok(0),
        Err(error) => Err(Fault::new(
            "BW-O01",
            Severity::Fatal,
            format!("standard output cannot be written: {error}"),
        )
        .remedy("Write to a file or another terminal.")
        .into()),
    }
}
