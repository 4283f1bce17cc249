//! How the log is shown: events and calls as table, CSV and JSON.

use super::Done;
use super::common::{self, Common, Failure, Format};
use crate::output::defuse::defuse;
use crate::store::{Call, Event};
use chrono::{DateTime, SecondsFormat, Utc};
use chrono_tz::Tz;
use comfy_table::{Table, presets};
use serde::Serialize;

/// Text that came from elsewhere, without the marks that command a terminal.
fn shown(text: &str) -> String {
    text.chars()
        .map(|c| if c.is_control() { '\u{fffd}' } else { c })
        .collect()
}

/// Calls that came in.
pub(super) fn print_calls(calls: &[Call], common: &Common, zone: Tz) -> Done {
    let local = |at: DateTime<Utc>| at.with_timezone(&zone).to_rfc3339_opts(SecondsFormat::Secs, true);
    match common.format {
        Format::Json => {
            let answer = serde_json::json!({ "schema": "brimwater.log/1", "calls": calls });
            let text = serde_json::to_string_pretty(&answer).unwrap_or_default();
            common::print(&format!("{text}\n"))
        }
        Format::Csv => {
            let mut csv = csv::Writer::from_writer(Vec::new());
            let failed = |error: csv::Error| crate::output::plan::unwritten("standard output", error);
            csv.write_record([
                "id", "at", "about", "subject", "caller", "words", "answer", "told", "owner", "due", "by", "source",
                "tried", "ended",
            ])
            .map_err(failed)?;
            for call in calls {
                let about = serde_json::to_value(call.about).unwrap_or_default();
                let cells = [
                    call.id.to_string(),
                    local(call.at),
                    about.as_str().unwrap_or_default().to_owned(),
                    call.subject.clone(),
                    call.caller.clone(),
                    call.words.clone(),
                    call.answer.clone(),
                    call.told.to_string(),
                    call.owner.clone(),
                    call.due.map(local).unwrap_or_default(),
                    call.by.clone(),
                    call.source.clone(),
                    call.tried.to_string(),
                    call.ended.clone().unwrap_or_default(),
                ];
                csv.write_record(cells.iter().map(|cell| defuse(cell).into_owned()))
                    .map_err(failed)?;
            }
            let bytes = csv
                .into_inner()
                .map_err(|error| crate::output::plan::unwritten("standard output", error.error()))?;
            common::print(&String::from_utf8_lossy(&bytes))
        }
        Format::Table => {
            let mut table = Table::new();
            table.load_style(presets::NOTHING);
            table.set_header(["", "when", "about", "caller", "call back", "owner", "words or answer"]);
            for call in calls {
                let due = call.due.map_or_else(String::new, |due| {
                    let at = due.with_timezone(&zone).format("%a %b %-d %H:%M");
                    format!("{at} {}", call.ended.as_deref().unwrap_or("open"))
                });
                let said = if call.words.is_empty() {
                    &call.answer
                } else {
                    &call.words
                };
                table.add_row([
                    call.id.to_string(),
                    call.at.with_timezone(&zone).format("%a %b %-d %H:%M").to_string(),
                    shown(&call.subject),
                    shown(&call.caller),
                    due,
                    shown(&call.owner),
                    shown(&said.chars().take(60).collect::<String>()),
                ]);
            }
            common::print(&format!("{table}\n{} calls.\n", calls.len()))
        }
    }
}

/// Events.
pub(super) fn print_events(events: &[Event], common: &Common, zone: Tz) -> Done {
    common::print(&events_text(events, common, zone)?)
}

/// Events as text.
///
/// # Errors
/// When they cannot be written.
pub(super) fn events_text(events: &[Event], common: &Common, zone: Tz) -> Result<String, Failure> {
    let local = |at: DateTime<Utc>| at.with_timezone(&zone).to_rfc3339_opts(SecondsFormat::Secs, true);
    match common.format {
        Format::Json => {
            #[derive(Serialize)]
            struct Answer<'a> {
                schema: &'static str,
                events: &'a [Event],
            }
            let answer = Answer {
                schema: "brimwater.log/1",
                events,
            };
            let text = serde_json::to_string_pretty(&answer).unwrap_or_default();
            Ok(format!("{text}\n"))
        }
        Format::Csv => {
            let mut csv = csv::Writer::from_writer(Vec::new());
            let failed = |error: csv::Error| crate::output::plan::unwritten("standard output", error);
            csv.write_record(["id", "at", "contact_id", "outcome", "note", "by", "source", "noted_at"])
                .map_err(failed)?;
            for event in events {
                let cells = [
                    event.id.to_string(),
                    local(event.at),
                    event.contact.clone(),
                    event.outcome.word().to_owned(),
                    event.note.clone(),
                    event.by.clone(),
                    event.source.clone(),
                    local(event.noted_at),
                ];
                csv.write_record(cells.iter().map(|cell| defuse(cell).into_owned()))
                    .map_err(failed)?;
            }
            let bytes = csv
                .into_inner()
                .map_err(|error| crate::output::plan::unwritten("standard output", error.error()))?;
            Ok(String::from_utf8_lossy(&bytes).into_owned())
        }
        Format::Table => {
            let mut table = Table::new();
            table.load_style(presets::NOTHING);
            table.set_header(["", "when", "contact", "outcome", "by", "note"]);
            for event in events {
                table.add_row([
                    event.id.to_string(),
                    event.at.with_timezone(&zone).format("%a %b %-d %H:%M").to_string(),
                    shown(&event.contact),
                    event.outcome.word().to_owned(),
                    shown(&event.by),
                    shown(&event.note.chars().take(60).collect::<String>()),
                ]);
            }
            Ok(format!("{table}\n{} events.\n", events.len()))
        }
    }
}
