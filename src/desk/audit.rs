//! Who looked at what: one JSON line an event, appended to a file of its own.
//!
//! Events name the assembly by its identifier and the person at the desk by the name signed in with; they hold no customer's
//! name, number or address, and no text that was searched for.

use crate::faults::{Fault, Severity};
use chrono::{DateTime, SecondsFormat, Utc};
use std::fs::{File, OpenOptions};
use std::io::Write;
use std::path::Path;
use std::sync::Mutex;

/// Something done at the desk.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Event {
    /// Signed in.
    SignIn,
    /// Tried to sign in and was refused.
    SignInRefused,
    /// Asked for a page that its role does not open.
    NotAllowed,
    /// Ended somebody's sessions.
    SessionsEnded,
    /// Signed out.
    SignOut,
    /// Searched; the count of hits is kept, the text is not.
    Search,
    /// Opened an assembly's card.
    Card,
    /// Answered a drip question.
    Drip,
    /// Saved a note or an outcome.
    Note,
    /// Opened the list of who is called next.
    CallList,
    /// Opened the ranking.
    Ranking,
}

/// The audit trail; without a file, events are counted only.
#[derive(Default)]
pub struct Audit {
    file: Option<Mutex<File>>,
}

#[derive(serde::Serialize)]
struct Entry<'a> {
    time: String,
    who: &'a str,
    event: Event,
    #[serde(skip_serializing_if = "Option::is_none")]
    assembly_id: Option<&'a str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    count: Option<usize>,
    #[serde(skip_serializing_if = "Option::is_none")]
    address: Option<&'a str>,
}

impl Audit {
    /// Opens the file for appending.
    ///
    /// # Errors
    /// When it cannot be opened.
    pub fn open(path: &Path) -> Result<Self, Fault> {
        let mut options = OpenOptions::new();
        options.create(true).append(true);
        #[cfg(unix)]
        std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
        if std::fs::symlink_metadata(path).is_ok_and(|meta| meta.file_type().is_symlink()) {
            return Err(
                Fault::new("BW-D31", Severity::Fatal, "the audit file is a link to another place")
                    .file(path.display().to_string())
                    .expected("a file of its own")
                    .remedy("Name the file itself with --audit."),
            );
        }
        let file = options.open(path).map_err(|error| {
            Fault::new(
                "BW-D30",
                Severity::Fatal,
                format!("the audit file cannot be opened: {error}"),
            )
            .file(path.display().to_string())
            .remedy("Name a place that you may write to with --audit.")
        })?;
        Ok(Self {
            file: Some(Mutex::new(file)),
        })
    }

    /// Writes one event; `false` when the file did not take it.
    pub fn note(
        &self,
        now: DateTime<Utc>,
        who: &str,
        event: Event,
        assembly_id: Option<&str>,
        count: Option<usize>,
    ) -> bool {
        let entry = Entry {
            time: now.to_rfc3339_opts(SecondsFormat::Secs, true),
            who,
            event,
            assembly_id,
            count,
            address: None,
        };
        self.write(&entry)
    }

    /// Writes one event with the address that it came from; `false` when the file did not take it.
    pub fn note_at(&self, now: DateTime<Utc>, who: &str, event: Event, address: &str) -> bool {
        self.write(&Entry {
            time: now.to_rfc3339_opts(SecondsFormat::Secs, true),
            who,
            event,
            assembly_id: None,
            count: None,
            address: Some(address),
        })
    }

    fn write(&self, entry: &Entry<'_>) -> bool {
        let Some(file) = &self.file else { return true };
        let Ok(mut line) = serde_json::to_string(entry) else {
            return false;
        };
        line.push('\n');
        // One write a line: lines of several writers do not mix.
        let mut file = file.lock().unwrap_or_else(std::sync::PoisonError::into_inner);
        file.write_all(line.as_bytes()).is_ok()
    }
}
