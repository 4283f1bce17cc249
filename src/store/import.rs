//! Reading a filled call sheet into events, and `contacts.csv` into the queue.

use super::events::NewEvent;
use super::queue::QueueItem;
use crate::faults::{Fault, Faults, Severity};
use crate::input::records::{Record, Records};
use crate::outreach::clock;
use crate::outreach::outcome::Outcome;
use crate::weather::local_time::{self, Written};
use chrono::{DateTime, TimeDelta, Utc};
use chrono_tz::Tz;
use std::collections::HashMap;
use std::io::Read;

/// A row that was not taken.
#[derive(Debug, Clone, PartialEq)]
pub struct RejectedRow {
    /// Line in the file.
    pub line: u64,
    /// Its cells.
    pub fields: Vec<String>,
    /// Why.
    pub fault: Fault,
}

/// What a filled call sheet holds.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Sheet {
    /// Header cells.
    pub header: Vec<String>,
    /// Events, in the order of the rows.
    pub events: Vec<NewEvent>,
    /// Rows without an outcome: calls that were not made.
    pub blank: usize,
    /// Rows that were not taken.
    pub rejected: Vec<RejectedRow>,
    /// Faults of the file, and of each rejected row.
    pub faults: Faults,
}

/// How a sheet is read.
#[derive(Debug, Clone)]
pub struct SheetOptions {
    /// Who made the calls, where the row does not say.
    pub by: Option<String>,
    /// Zone of times without an offset.
    pub zone: Tz,
    /// The time of reading; taken for rows that do not say when, and later times are refused.
    pub now: DateTime<Utc>,
}

const COLUMNS: [&str; 7] = ["contact_id", "outcome", "note", "by", "at", "planned_for", "attempt"];

/// Reads a filled call sheet: `contact_id` and `outcome`, and if they are there `note`, `by` and `at`.
///
/// A row may be read twice (the sheet is imported again after more calls): each event carries an identifier made of what the row says, with
/// the planned time and the attempt that the sheet names, so that the log keeps it once, also when the rows were sorted in between.
/// Of rows that say the very same each counts.
pub fn read_sheet(source: impl Read, file: &str, options: &SheetOptions) -> Sheet {
    let mut sheet = Sheet::default();
    let known = |cell: &str| COLUMNS.contains(&normal(cell).as_str());
    let mut records = match Records::open(source, file, known) {
        Ok(records) => records,
        Err(fault) => {
            sheet.faults.push(fault);
            return sheet;
        }
    };
    sheet.header = records.header().to_vec();
    let place = |name: &str| sheet.header.iter().position(|cell| normal(cell) == name);
    let places = COLUMNS.map(place);
    for (name, at) in COLUMNS.iter().zip(&places).take(2) {
        if at.is_none() {
            sheet.faults.push(
                Fault::new("BW-L20", Severity::Fatal, format!("the column `{name}` is missing"))
                    .file(file)
                    .line(records.header_line())
                    .value(&sheet.header.join(", "))
                    .expected("a call sheet that the plan wrote, with its header line")
                    .remedy("Keep the header line of the call sheet, and fill the columns outcome, note, by and at."),
            );
        }
    }
    if sheet.faults.is_fatal() {
        return sheet;
    }
    let mut record = Record::default();
    let mut alike: HashMap<String, usize> = HashMap::new();
    loop {
        match records.read(&mut record, &mut sheet.faults) {
            Ok(true) => {}
            Ok(false) => break,
            Err(fault) => {
                sheet.faults.push(fault);
                break;
            }
        }
        let cell = |at: usize| {
            places[at]
                .and_then(|at| record.fields.get(at))
                .map(|text| fused(text))
                .unwrap_or_default()
        };
        if cell(1).is_empty() {
            sheet.blank += 1;
            continue;
        }
        let same = alike
            .entry((0..COLUMNS.len()).map(cell).collect::<Vec<_>>().join("\u{1f}"))
            .or_insert(0);
        *same += 1;
        match event(cell, *same, options) {
            Ok(event) => sheet.events.push(event),
            Err(fault) => {
                let fault = fault.file(file).line(record.line);
                sheet.faults.push(fault.clone());
                sheet.rejected.push(RejectedRow {
                    line: record.line,
                    fields: record.fields.clone(),
                    fault,
                });
            }
        }
    }
    sheet
}

fn event<'r>(cell: impl Fn(usize) -> &'r str, nth: usize, options: &SheetOptions) -> Result<NewEvent, Fault> {
    let outcome = Outcome::parse(cell(1)).ok_or_else(|| {
        Fault::new("BW-L13", Severity::Rejected, "the outcome cannot be read")
            .column("outcome")
            .value(cell(1))
            .expected(Outcome::ALL.map(Outcome::word).join(", "))
            .remedy("Write one of these words; leave the cell empty for a call that was not made.")
    })?;
    let told = cell(4);
    let at = if told.is_empty() {
        options.now
    } else {
        time(told, options.zone)?
    };
    // Clocks differ by a little; a day ahead is a slip.
    if at > options.now + TimeDelta::minutes(10) {
        return Err(Fault::new("BW-L14", Severity::Rejected, "the call lies in the future")
            .column("at")
            .value(told)
            .expected("a time that has passed")
            .remedy("Correct the time."));
    }
    let by = match cell(3) {
        "" => options.by.as_deref().unwrap_or_default(),
        by => by,
    };
    let event = NewEvent {
        contact: cell(0).to_owned(),
        outcome,
        at,
        note: cell(2).to_owned(),
        by: by.to_owned(),
        source: "import",
        uid: Some(NewEvent::uid_of(&[
            cell(0),
            outcome.word(),
            cell(2),
            by,
            told,
            cell(5),
            cell(6),
            &nth.to_string(),
        ])),
    };
    event.check()?;
    Ok(event)
}

/// Reads a time with or without an offset.
///
/// # Errors
/// `BW-L14` when it cannot be read.
pub fn time(text: &str, zone: Tz) -> Result<DateTime<Utc>, Fault> {
    match local_time::parse(text) {
        Some(Written::Instant(at)) => Ok(at),
        Some(Written::Local(local)) => Ok(clock::instant(local.date(), local.time(), zone)),
        None => Err(Fault::new("BW-L14", Severity::Rejected, "the time cannot be read")
            .column("at")
            .value(text)
            .expected("a time such as 2031-01-10 14:30 or 2031-01-10T14:30:00-06:00")
            .remedy("Correct the time, or leave it empty for the time of the import.")),
    }
}

/// Reads the calls of `contacts.csv` in the order of the file.
///
/// # Errors
/// Faults of the file, or the missing columns.
pub fn read_queue(source: impl Read, file: &str) -> Result<Vec<QueueItem>, Faults> {
    const NEEDED: [&str; 7] = [
        "contact_id",
        "channel",
        "attempt",
        "caller",
        "slot_start",
        "act_by",
        "language",
    ];
    let known = |cell: &str| NEEDED.contains(&normal(cell).as_str());
    let mut records = Records::open(source, file, known)?;
    let places = NEEDED.map(|name| records.header().iter().position(|cell| normal(cell) == name));
    let mut faults = Faults::new();
    for (name, at) in NEEDED.iter().zip(&places) {
        if at.is_none() {
            faults.push(
                Fault::new("BW-L20", Severity::Fatal, format!("the column `{name}` is missing"))
                    .file(file)
                    .expected("contacts.csv of a plan")
                    .remedy("Name the contacts.csv that `brimwater plan` wrote."),
            );
        }
    }
    if faults.is_fatal() {
        return Err(faults);
    }
    let mut items = Vec::new();
    let mut record = Record::default();
    while records.read(&mut record, &mut faults)? {
        let cell = |at: usize| {
            places[at]
                .and_then(|at| record.fields.get(at))
                .map(|text| fused(text))
                .unwrap_or_default()
        };
        let time = |text: &str| DateTime::parse_from_rfc3339(text).ok().map(|at| at.with_timezone(&Utc));
        if cell(1) != "call" || cell(0).is_empty() {
            continue;
        }
        items.push(QueueItem {
            position: 0,
            contact: cell(0).to_owned(),
            attempt: cell(2).parse().unwrap_or(1),
            caller: cell(3).parse().ok(),
            slot_start: time(cell(4)),
            act_by: time(cell(5)),
            language: cell(6).to_owned(),
        });
    }
    // The program wrote this file: one that cannot be read as it was written would give the wrong calls.
    if faults.0.is_empty() { Ok(items) } else { Err(faults) }
}

/// A cell without the apostrophe that keeps a spreadsheet from running it.
fn fused(cell: &str) -> &str {
    match cell.strip_prefix('\'') {
        Some(rest) if rest.starts_with(['=', '+', '-', '@']) => rest,
        _ => cell,
    }
}

/// A header cell in our spelling.
fn normal(cell: &str) -> String {
    cell.trim().to_lowercase().replace([' ', '-'], "_")
}
