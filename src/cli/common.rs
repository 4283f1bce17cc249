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
        self.tell_both(&Faults::new(), faults);
    }

    /// [`Common::tell`] of two lists, the first ahead where both are as grave.
    pub fn tell_both(&self, first: &Faults, then: &Faults) {
        let loud = |fault: &&Fault| !self.quiet || fault.severity > Severity::Note;
        report_each(first.0.iter().chain(&then.0).filter(loud).collect());
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

/// Text without what commands a terminal: rows, notes and the words of a service come from elsewhere.
pub fn calm(text: &str) -> String {
    let harmless = |c: char| match c {
        '\n' | '\t' => c,
        // Marks that turn the direction of writing around hide what a line says.
        '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}' => '\u{fffd}',
        c if c.is_control() => '\u{fffd}',
        c => c,
    };
    text.chars().map(harmless).collect()
}

/// Tells faults on standard error, the gravest first and as found among equals: at most 20 in full, and of those that stopped
/// nothing at most three of a code; the rest as a count by code.
pub fn report(faults: &Faults) {
    report_each(faults.0.iter().collect());
}

fn report_each(faults: Vec<&Fault>) {
    let _ = io::stderr().lock().write_all(told_of(faults).as_bytes());
}

/// What [`report`] tells.
pub fn told(faults: &Faults) -> String {
    told_of(faults.0.iter().collect())
}

fn told_of(mut order: Vec<&Fault>) -> String {
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
            // A fault is one line: what is told in it may come from anywhere.
            let line = calm(&fault.to_string()).replace('\n', " ");
            text.push_str(&format!("{word}: {line}\n"));
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

/// Prints the answer of a command that has done its work: where the answer cannot be printed, what was done stands, and that is told.
pub fn print_done(text: &str, done: &str) -> u8 {
    let Err(failure) = print(text) else { return 0 };
    let told = failure.0.0.into_iter().map(|mut fault| {
        fault.severity = Severity::Warning;
        fault.remedy(format!(
            "{done}; only the answer could not be shown. Do not enter it again."
        ))
    });
    report(&Faults(told.collect()));
    1
}

/// Prints to standard output; a closed pipe is success. A terminal gets nothing that commands it.
pub fn print(text: &str) -> Result<u8, Failure> {
    let calmed;
    let mut out = io::stdout().lock();
    let text = if out.is_terminal() {
        calmed = calm(text);
        &calmed
    } else {
        text
    };
    printed(out.write_all(text.as_bytes()).and_then(|()| out.flush()))
}

/// As [`print()`], of what was set aside in pieces because the whole is large.
pub fn print_spooled(mut spool: tempfile::SpooledTempFile) -> Result<u8, Failure> {
    use std::io::{Read, Seek};
    let mut out = io::stdout().lock();
    let mut copy = || -> io::Result<()> {
        spool.rewind()?;
        if out.is_terminal() {
            let mut text = String::new();
            spool.read_to_string(&mut text)?;
            out.write_all(calm(&text).as_bytes())?;
        } else {
            io::copy(&mut spool, &mut out)?;
        }
        out.flush()
    };
    printed(copy())
}

fn printed(result: io::Result<()>) -> Result<u8, Failure> {
    match result {
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
