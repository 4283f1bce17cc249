//! Taking in what was filled on paper or in a spreadsheet: call sheets become events, record forms become reports of how assemblies stand.

use super::Done;
use super::common::{self, Common, Failure, Format};
use super::log::{Args, SAVED};
use crate::faults::{Fault, Faults, Severity};
use crate::freeze::{Report, Seen};
use crate::input::{Record, Records, file, plain};
use crate::output::defuse::defuse;
use crate::output::safe::target::{Make, Target};
use crate::outreach::clock;
use crate::review::State;
use crate::review::record::{Filled, NEEDED, read};
use crate::store::import::{self, SheetOptions};
use crate::store::{NewEvent, NewReport, Store};
use chrono::{DateTime, NaiveTime, TimeDelta, Utc};
use chrono_tz::Tz;
use serde::Serialize;
use std::collections::HashMap;
use std::path::{Path, PathBuf};

/// The middle of a working day: when somebody looked who did not say when (judgement).
const NOON: NaiveTime = match NaiveTime::from_hms_opt(12, 0, 0) {
    Some(noon) => noon,
    None => NaiveTime::MIN,
};

/// Takes in a filled call sheet, or a filled record form, which its columns tell.
pub fn import(log: &mut dyn Store, path: &Path, args: &Args, zone: Tz, common: &Common, faults: &mut Faults) -> Done {
    let options = SheetOptions {
        by: args.by.clone(),
        zone,
        now: Utc::now(),
    };
    let bytes = file::read_whole(path)?;
    if let Some(form) = Form::of(&bytes, path) {
        return form?.import(log, path, args, &options, common, faults);
    }
    let sheet = import::read_sheet(bytes.as_slice(), &file::shown(path), &options);
    if sheet.faults.is_fatal() {
        return Err(sheet.faults.into());
    }
    let added = log.add_all(&sheet.events)?;
    faults.append(sheet.faults.clone());
    let mut told = format!(
        "{} events added, {} known already, {} rows without an outcome, {} rows rejected.\n",
        added.added,
        added.known,
        sheet.blank,
        sheet.rejected.len()
    );
    if !sheet.rejected.is_empty() {
        let rows = sheet.rejected.iter();
        let rows: Vec<_> = rows
            .map(|row| (row.line, row.fields.clone(), row.fault.to_string()))
            .collect();
        told.push_str(&set_aside(path, args, &sheet.header, &rows)?);
    }
    if common.format == Format::Json {
        #[derive(Serialize)]
        struct Answer {
            schema: &'static str,
            added: usize,
            known: usize,
            blank: usize,
            rejected: usize,
        }
        let answer = Answer {
            schema: "brimwater.log/1",
            added: added.added,
            known: added.known,
            blank: sheet.blank,
            rejected: sheet.rejected.len(),
        };
        told = format!("{}\n", serde_json::to_string(&answer).unwrap_or_default());
    }
    Ok(common::print_done(&told, SAVED))
}

/// A name beside the sheet that is not taken: rejected rows are corrected by hand, and a second import must not take that work away.
fn free_name(sheet: &Path) -> PathBuf {
    let names = std::iter::once(sheet.with_extension("rejects.csv"))
        .chain((2..1_000).map(|n| sheet.with_extension(format!("rejects-{n}.csv"))));
    let mut free = names.filter(|name| std::fs::symlink_metadata(name).is_err());
    free.next().unwrap_or_else(|| sheet.with_extension("rejects.csv"))
}

/// Writes the rejected rows beside the sheet, and says so.
fn set_aside(
    path: &Path,
    args: &Args,
    header: &[String],
    rows: &[(u64, Vec<String>, String)],
) -> Result<String, Fault> {
    let place = args.rejects.clone().unwrap_or_else(|| free_name(path));
    Target::private("--rejects", &place, Make::New).write(&rejects(header, rows)?)?;
    Ok(format!(
        "Rejected rows are in {} with the reason: correct them there and import that file.\n",
        place.display()
    ))
}

/// The rejected rows with the reason behind their own columns.
fn rejects(header: &[String], rows: &[(u64, Vec<String>, String)]) -> Result<Vec<u8>, Fault> {
    let failed = |error: csv::Error| crate::output::plan::unwritten("rejects", error);
    let mut csv = csv::WriterBuilder::new().flexible(true).from_writer(Vec::new());
    let mut titles = header.to_vec();
    titles.extend(["line".to_owned(), "reason".to_owned()]);
    csv.write_record(&titles).map_err(failed)?;
    for (line, fields, reason) in rows {
        let mut fields = fields.clone();
        fields.resize(header.len(), String::new());
        fields.extend([line.to_string(), reason.clone()]);
        csv.write_record(fields.iter().map(|cell| defuse(cell).into_owned()))
            .map_err(failed)?;
    }
    csv.into_inner()
        .map_err(|error| crate::output::plan::unwritten("rejects", error.error()))
}

/// A filled record form.
struct Form {
    header: Vec<String>,
    cells: HashMap<u64, Vec<String>>,
    rows: Vec<Filled>,
    faults: Faults,
}

impl Form {
    /// The form, or why it cannot be read; `None` of a table that is none.
    fn of(bytes: &[u8], path: &Path) -> Option<Result<Self, Failure>> {
        let name = file::shown(path);
        let known = |cell: &str| NEEDED.contains(&cell);
        let mut records = Records::open(bytes, &name, |cell| known(&cell.trim().to_lowercase())).ok()?;
        let header = records.header().to_vec();
        let has = |wanted: &str| header.iter().any(|cell| cell.trim().eq_ignore_ascii_case(wanted));
        if !NEEDED.iter().all(|needed| has(needed)) || has("contact_id") {
            return None;
        }
        Some((|| {
            let (mut cells, mut record) = (HashMap::new(), Record::default());
            while records.read(&mut record, &mut Faults::new())? {
                cells.insert(record.line, record.fields.clone());
            }
            let (clean, mut faults) = plain(bytes, &name, &known)?;
            let (rows, told) = read(&String::from_utf8_lossy(&clean), &name);
            faults.append(told);
            Ok(Self {
                header,
                cells,
                rows,
                faults,
            })
        })())
    }

    /// Keeps what the rows say as reports, each once.
    fn import(
        self,
        log: &mut dyn Store,
        path: &Path,
        args: &Args,
        options: &SheetOptions,
        common: &Common,
        faults: &mut Faults,
    ) -> Done {
        let (mut counts, mut blank) = ([0_usize; Seen::ALL.len()], 0);
        let (mut added, mut known, mut no_hour) = (0, 0, 0);
        let mut told = self.faults;
        for row in &self.rows {
            let Some(seen) = seen(row) else {
                blank += 1;
                continue;
            };
            let report = report(row, seen, options).and_then(|report| {
                let call = report.call();
                call.check().map(|()| call)
            });
            match report {
                Ok(call) => {
                    no_hour += usize::from(row.hour.trim().is_empty());
                    counts[Seen::ALL.iter().position(|one| *one == seen).unwrap_or_default()] += 1;
                    match log.record(&call)? {
                        0 => known += 1,
                        _ => added += 1,
                    }
                }
                Err(mut fault) => {
                    fault.severity = Severity::Rejected;
                    told.push(fault.file(file::shown(path)).line(row.line));
                }
            }
        }
        if no_hour > 0 {
            let what =
                format!("{no_hour} looks have no hour: they count as at noon, or as now where that is still to come");
            told.push(
                Fault::new("BW-L23", Severity::Note, what)
                    .file(file::shown(path))
                    .column("hour")
                    .expected("an hour such as 9 or 14:30")
                    .remedy("Fill in the hour: in a night of frost it decides which histories agree."),
            );
        }
        let of_line = |fault: &Fault| Some((fault.line?, self.cells.get(&fault.line?)?.clone(), fault.to_string()));
        let bad = told.0.iter().filter(|fault| fault.severity == Severity::Rejected);
        let mut rejected: Vec<(u64, Vec<String>, String)> = bad.filter_map(of_line).collect();
        rejected.dedup_by_key(|row| row.0);
        faults.append(told);
        let of_seen = Seen::ALL.iter().zip(counts).filter(|(_, count)| *count > 0);
        let of_seen: Vec<String> = of_seen
            .map(|(seen, count)| format!("{count} {}", seen.word()))
            .collect();
        let mut text = format!(
            "{added} reports added{}, {known} known already, {blank} rows that say nothing of ice or damage, {} rows rejected.\n",
            if of_seen.is_empty() {
                String::new()
            } else {
                format!(" ({} in the form)", of_seen.join(", "))
            },
            rejected.len()
        );
        if !rejected.is_empty() {
            text.push_str(&set_aside(path, args, &self.header, &rejected)?);
        }
        if common.format == Format::Json {
            text = format!(
                "{}\n",
                serde_json::json!({
                    "schema": "brimwater.log/1",
                    "added": added,
                    "known": known,
                    "blank": blank,
                    "rejected": rejected.len(),
                })
            );
        }
        Ok(common::print_done(&text, SAVED))
    }
}

/// What a row says of ice and damage; `None` where nobody could tell.
fn seen(row: &Filled) -> Option<Seen> {
    match (row.state, row.ice) {
        (State::Damaged | State::Reported, _) => Some(Seen::Broken),
        (State::Whole | State::CannotTell, Some(true)) => Some(Seen::Ice),
        (State::Whole, Some(false)) => Some(Seen::Fine),
        (State::Whole, None) => Some(Seen::Whole),
        (State::CannotTell | State::NotLooked | State::NotExposed, _) => None,
    }
}

/// The report of a row.
fn report(row: &Filled, seen: Seen, options: &SheetOptions) -> Result<NewReport, Fault> {
    let at = moment(row, options)?;
    let by = match options.by.as_deref().map(str::trim) {
        Some(by) if !by.is_empty() => by,
        _ => row.inspector.as_str(),
    };
    let date = row.date.map(|date| date.to_string()).unwrap_or_default();
    Ok(NewReport {
        assembly_id: row.assembly_id.clone(),
        report: Report { at, seen },
        seen_by: row.inspector.clone(),
        note: row.found.clone(),
        by: by.to_owned(),
        uid: Some(NewEvent::uid_of(&[
            "record",
            &row.event,
            &row.assembly_id,
            &date,
            &row.hour,
            seen.word(),
            &row.found,
        ])),
    })
}

/// When a row was looked at.
fn moment(row: &Filled, options: &SheetOptions) -> Result<DateTime<Utc>, Fault> {
    let wrong = |column: &str, value: &str, what: &str, expected: &str| {
        Fault::new("BW-L14", Severity::Rejected, what)
            .column(column)
            .value(value)
            .expected(expected)
            .remedy("Correct the cell: a report counts from the hour in which it was seen.")
    };
    let date = row
        .date
        .ok_or_else(|| wrong("date", "", "the day of the visit is blank", "a date such as 2031-01-12"))?;
    let time = match row.hour.trim() {
        "" => None,
        hour => Some(hour_of(hour).ok_or_else(|| {
            wrong(
                "hour",
                hour,
                "this hour cannot be read",
                "an hour such as 9, 14:30 or 2 pm",
            )
        })?),
    };
    let at = clock::instant(date, time.unwrap_or(NOON), options.zone);
    let today = options.now.with_timezone(&options.zone).date_naive() == date;
    if time.is_none() && today {
        return Ok(at.min(options.now));
    }
    // Clocks differ by a little.
    if at > options.now + TimeDelta::minutes(10) {
        let told = format!("{date} {}", row.hour.trim());
        return Err(wrong(
            "date",
            told.trim(),
            "the visit lies in the future",
            "a time that has passed",
        ));
    }
    Ok(at)
}

/// An hour as people and spreadsheets write it: `9`, `14:30`, `2 pm`, `2:30 PM`, `14:30:00`.
fn hour_of(text: &str) -> Option<NaiveTime> {
    let folded = text.to_lowercase().replace([' ', '.'], "");
    let (clock, half) = match (folded.strip_suffix("am"), folded.strip_suffix("pm")) {
        (Some(clock), _) => (clock, Some(0)),
        (_, Some(clock)) => (clock, Some(12)),
        _ => (folded.as_str(), None),
    };
    let (hour, minute) = clock.split_once(':').unwrap_or((clock, "0"));
    // Seconds say nothing of a look.
    let minute = match minute.split_once(':') {
        Some((minute, seconds)) if seconds.parse::<f64>().is_ok() => minute,
        Some(_) => return None,
        None => minute,
    };
    let (hour, minute): (u32, u32) = (hour.parse().ok()?, minute.parse().ok()?);
    let hour = match half {
        Some(half) if (1..=12).contains(&hour) => hour % 12 + half,
        Some(_) => return None,
        None => hour,
    };
    NaiveTime::from_hms_opt(hour, minute, 0)
}
