//! Copying a log into another, from file to server and back, checked row by row.

use super::Log;
use super::rows::{Counts, Marks, Rows, Sum};
use super::server::Server;
use crate::faults::{Fault, Severity};

/// Rows that travel at once.
const CHUNK: usize = 2_000;

/// A log whose rows can be copied.
pub trait Carries {
    /// Where it is, as it may be shown.
    fn place(&self) -> String;

    /// The next rows after the marks, at most so many of each table, and the marks after them.
    ///
    /// # Errors
    /// A fault when the log cannot be read.
    fn give(&self, marks: &Marks, most: usize) -> Result<(Rows, Marks), Fault>;

    /// The rows here that have the `uid`s of these.
    ///
    /// # Errors
    /// A fault when the log cannot be read.
    fn held(&self, rows: &Rows) -> Result<Rows, Fault>;

    /// Takes rows, all or none; those that are known are left. Returns how many were new.
    ///
    /// # Errors
    /// A fault when the log cannot be written.
    fn take(&mut self, rows: &Rows) -> Result<Counts, Fault>;
}

impl Carries for Log {
    fn place(&self) -> String {
        self.path().display().to_string()
    }

    fn give(&self, marks: &Marks, most: usize) -> Result<(Rows, Marks), Fault> {
        Log::give(self, marks, most)
    }

    fn held(&self, rows: &Rows) -> Result<Rows, Fault> {
        Log::held(self, rows)
    }

    fn take(&mut self, rows: &Rows) -> Result<Counts, Fault> {
        Log::take(self, rows)
    }
}

impl Carries for Server {
    fn place(&self) -> String {
        self.address().shown()
    }

    fn give(&self, marks: &Marks, most: usize) -> Result<(Rows, Marks), Fault> {
        Server::give(self, marks, most)
    }

    fn held(&self, rows: &Rows) -> Result<Rows, Fault> {
        Server::held(self, rows)
    }

    fn take(&mut self, rows: &Rows) -> Result<Counts, Fault> {
        Server::take(self, rows)
    }
}

/// What a copy came to.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Copied {
    /// Rows that the source gave.
    pub given: Counts,
    /// Rows that the other log did not have.
    pub new: Counts,
    /// The digest of the source's rows, and of the same rows as the other log now holds them.
    pub digest: String,
}

/// Copies all rows, and reads them back from the other log. Copying again adds nothing twice.
///
/// # Errors
/// `BW-L41` when the other log does not hold what was given; a fault of either log.
pub fn copy(from: &dyn Carries, to: &mut dyn Carries) -> Result<Copied, Fault> {
    let mut copied = Copied::default();
    // Events first, because a call may name one; steps last, because each names its call.
    let kinds: [fn(Rows) -> Rows; 3] = [
        |rows| Rows {
            events: rows.events,
            ..Rows::default()
        },
        |rows| Rows {
            calls: rows.calls,
            ..Rows::default()
        },
        |rows| Rows {
            steps: rows.steps,
            ..Rows::default()
        },
    ];
    for kind in kinds {
        pages(from, kind, &mut |rows| {
            add(&mut copied.new, to.take(&rows)?);
            Ok(())
        })?;
    }
    // Only now do both say the same of an event that a call took the place of.
    let (mut given, mut found) = (Sum::default(), Sum::default());
    for kind in kinds {
        pages(from, kind, &mut |rows| {
            check(to, rows, &mut given, &mut found, &mut copied.given)
        })?;
    }
    copied.digest = given.shown();
    if given != found {
        return Err(differs(to, "the digests are not the same"));
    }
    Ok(copied)
}

/// Hands all rows of a kind on, so many at a time.
fn pages(
    from: &dyn Carries,
    kind: fn(Rows) -> Rows,
    each: &mut dyn FnMut(Rows) -> Result<(), Fault>,
) -> Result<(), Fault> {
    let mut marks = Marks::default();
    loop {
        let (rows, after) = from.give(&marks, CHUNK)?;
        let mut rows = kind(rows);
        if rows.is_empty() {
            return Ok(());
        }
        rows.clean();
        each(rows)?;
        marks = after;
    }
}

fn add(sum: &mut Counts, more: Counts) {
    sum.events += more.events;
    sum.calls += more.calls;
    sum.steps += more.steps;
}

fn check(to: &dyn Carries, mut rows: Rows, given: &mut Sum, found: &mut Sum, counts: &mut Counts) -> Result<(), Fault> {
    let mut held = to.held(&rows)?;
    rows.sort();
    held.sort();
    rows.add_to(given);
    held.add_to(found);
    add(counts, rows.counts());
    if held.counts() != rows.counts() {
        return Err(differs(to, "rows are missing"));
    }
    let differing = rows
        .events
        .iter()
        .zip(&held.events)
        .find(|(a, b)| a != b)
        .map(|(a, _)| &a.uid);
    let differing = differing.or_else(|| {
        rows.calls
            .iter()
            .zip(&held.calls)
            .find(|(a, b)| a != b)
            .map(|(a, _)| &a.uid)
    });
    let differing = differing.or_else(|| {
        rows.steps
            .iter()
            .zip(&held.steps)
            .find(|(a, b)| a != b)
            .map(|(a, _)| &a.uid)
    });
    match differing {
        Some(uid) => Err(differs(to, &format!("the row {uid} says something else there"))),
        None => Ok(()),
    }
}

fn differs(to: &dyn Carries, what: &str) -> Fault {
    Fault::new(
        "BW-L41",
        Severity::Fatal,
        format!("the copy is not the same as the log: {what}"),
    )
    .file(to.place())
    .expected("the same rows in both")
    .remedy("Copy into an empty log, or look at both with --list; the log that was copied was only read.")
}
