//! `log --next`: the next call with the number to dial.
//!
//! The log holds no telephone numbers. They are read from the `contacts.csv` that the queue was loaded from: a file beside the log
//! remembers where that is.

use super::Done;
use super::common::{self, Common, Format};
use crate::faults::{Fault, Faults, Severity};
use crate::input::file;
use crate::output::safe::write_file_atomically;
use crate::store::{Ask, QueueItem, Store};
use chrono::{DateTime, Utc};
use chrono_tz::Tz;
use serde::{Deserialize, Serialize};
use std::path::{Path, PathBuf};

/// What a caller needs of a line of `contacts.csv`.
#[derive(Debug, Clone, Default, Deserialize, Serialize)]
#[serde(default)]
struct Line {
    contact_id: String,
    channel: String,
    name: String,
    /// The number to dial.
    reach_at: String,
    need: String,
    critical: String,
    assemblies: String,
    site_address: String,
    reason: String,
}

/// The file beside the log that says where the queue came from; a log on a server has none.
fn pointer(db: &Path) -> Option<PathBuf> {
    if db.to_string_lossy().contains("://") {
        return None;
    }
    let mut name = db.file_name()?.to_owned();
    name.push(".contacts");
    Some(db.with_file_name(name))
}

/// Remembers where the queue came from.
///
/// Faults: `BW-L24` it cannot be remembered (a note: `--next --contacts FILE` gives the numbers all the same).
pub fn remember(db: Option<&Path>, contacts: &Path, faults: &mut Faults) {
    let Some(place) = db.and_then(pointer) else { return };
    let whole = std::path::absolute(contacts).unwrap_or_else(|_| contacts.to_path_buf());
    if let Err(fault) = write_file_atomically(&place, format!("{}\n", whole.display()).as_bytes()) {
        faults.push(
            Fault::new(
                "BW-L24",
                Severity::Note,
                format!("where the numbers are cannot be remembered: {}", fault.what),
            )
            .file(file::shown(&place))
            .remedy("Give `--contacts` with `--next`."),
        );
    }
}

/// The line of a call in the plan's contacts, if the file is there and knows it.
fn line_of(item: &QueueItem, (db, given): (Option<&Path>, Option<&Path>)) -> Option<Line> {
    let place = match given {
        Some(given) => given.to_path_buf(),
        None => PathBuf::from(std::fs::read_to_string(pointer(db?)?).ok()?.trim_end()),
    };
    let mut reader = csv::Reader::from_path(place).ok()?;
    reader
        .deserialize::<Line>()
        .filter_map(Result::ok)
        .find(|line| line.channel == "call" && line.contact_id == item.contact)
}

/// Text that came from elsewhere, without the marks that command a terminal.
fn shown(text: &str) -> String {
    text.strip_prefix('\'')
        .unwrap_or(text)
        .chars()
        .map(|c| if c.is_control() { '\u{fffd}' } else { c })
        .collect()
}

/// Gives out the next call: whom, at which number, by when, why.
pub fn next(log: &mut dyn Store, ask: &Ask, places: (Option<&Path>, Option<&Path>), common: &Common, zone: Tz) -> Done {
    let item = log.next_call(ask)?;
    let line = item.as_ref().and_then(|item| line_of(item, places));
    if common.format == Format::Json {
        #[derive(Serialize)]
        struct Answer<'a> {
            schema: &'static str,
            next: &'a Option<QueueItem>,
            contact: &'a Option<Line>,
        }
        let answer = Answer {
            schema: "brimwater.log/1",
            next: &item,
            contact: &line,
        };
        return common::print(&format!(
            "{}\n",
            serde_json::to_string_pretty(&answer).unwrap_or_default()
        ));
    }
    match item {
        None => common::print("No call is open for you now.\n"),
        Some(item) => common::print(&told(&item, line.as_ref(), zone)),
    }
}

fn told(item: &QueueItem, line: Option<&Line>, zone: Tz) -> String {
    let clock = |at: DateTime<Utc>| at.with_timezone(&zone).format("%a %-I:%M %p").to_string();
    let by = item
        .act_by
        .map(|by| format!(", to act by {}", clock(by)))
        .unwrap_or_default();
    let language = if item.language == "es" { ", in Spanish" } else { "" };
    let Some(line) = line else {
        return format!(
            "{}: attempt {}{language}{by}. The number is on the call sheet, line {} of the plan; `--contacts FILE` with the plan's \
             contacts.csv gives it here.\n",
            item.contact, item.attempt, item.position
        );
    };
    let mut text = format!("{}  {}\n", shown(&line.reach_at), shown(&line.name));
    text.push_str(&format!("{}: attempt {}{language}{by}\n", item.contact, item.attempt));
    for (name, value) in [
        ("critical", &line.critical),
        ("needs", &line.need),
        ("where", &line.site_address),
        ("assemblies", &line.assemblies),
        ("why", &line.reason),
    ] {
        if !value.is_empty() {
            text.push_str(&format!("{name}: {}\n", shown(value)));
        }
    }
    text.push_str("What to say is on the call sheet.\n");
    text
}
