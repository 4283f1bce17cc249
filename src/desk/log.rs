//! The desk's view of the log of contacts: notes of calls, outcomes, call-backs.

use crate::faults::Fault;
use crate::outreach::outcome::{History, Outcome};
use crate::store::{self, Event, Filter, NewEvent};
use chrono::{DateTime, SecondsFormat, TimeDelta, Utc};
use std::collections::HashMap;
use std::path::Path;
use std::sync::{Mutex, MutexGuard, PoisonError};
use std::time::Duration;

/// How far back promised call-backs are sought, days: a spell and its thaw (judgement).
const CALL_BACK_DAYS: i64 = 21;
/// What a note that promises a call-back begins with; the log has no column for it.
const CALL_BACK: &str = "[call back by ";
/// Notes shown on one card.
const SHOWN: u32 = 20;

/// A note as the desk shows it.
#[derive(Debug, Clone, PartialEq)]
pub struct Note {
    /// When.
    pub at: DateTime<Utc>,
    /// Contact or assembly it is about.
    pub id: String,
    /// What came of it.
    pub outcome: Outcome,
    /// Text, without the mark of a call-back.
    pub text: String,
    /// By whom.
    pub by: String,
    /// When somebody promised to call back.
    pub call_back: Option<DateTime<Utc>>,
}

/// How long a page waits for its turn when another program holds the log: somebody is on the phone.
const WAIT: Duration = Duration::from_secs(4);

/// The log. One connection writes, another reads: a writer that waits for its turn keeps no page waiting.
pub struct Log {
    write: Mutex<store::Log>,
    read: Mutex<store::Log>,
}

fn note_of(event: Event) -> Note {
    let marked = event.note.strip_prefix(CALL_BACK).and_then(|rest| rest.split_once(']'));
    let call_back = marked
        .and_then(|(time, _)| DateTime::parse_from_rfc3339(time).ok())
        .map(|time| time.with_timezone(&Utc));
    let text = match (call_back, marked) {
        (Some(_), Some((_, text))) => text.trim().to_string(),
        _ => event.note.clone(),
    };
    Note {
        at: event.at,
        id: event.contact,
        outcome: event.outcome,
        text,
        by: event.by,
        call_back,
    }
}

impl Log {
    /// Opens the log, or begins one. What was told beside it (a damaged file set aside) comes second.
    ///
    /// # Errors
    /// As [`store::Log::open`].
    pub fn open(path: &Path, programme: Option<&str>) -> Result<(Self, Option<Fault>), Fault> {
        let (write, aside) = store::Log::open(path, programme)?;
        let (read, _) = store::Log::open(path, programme)?;
        for log in [&write, &read] {
            log.wait_at_most(WAIT)?;
        }
        let log = Self {
            write: Mutex::new(write),
            read: Mutex::new(read),
        };
        Ok((log, aside.map(|aside| aside.fault(path))))
    }

    fn read(&self) -> MutexGuard<'_, store::Log> {
        self.read.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Where everybody stands after the contacts since a time; after all of them when `None`.
    ///
    /// # Errors
    /// When the log cannot be read.
    pub fn history(&self, since: Option<DateTime<Utc>>) -> Result<History, Fault> {
        self.read().history(since)
    }

    /// Saves a note; it is on the disk when this returns. `once` makes a form that is sent twice count once.
    ///
    /// # Errors
    /// When the note cannot be kept or the log cannot be written.
    pub fn save(&self, note: &Note, once: &str) -> Result<(), Fault> {
        let text = match note.call_back {
            Some(at) => format!(
                "{CALL_BACK}{}] {}",
                at.to_rfc3339_opts(SecondsFormat::Secs, true),
                note.text
            ),
            None => note.text.clone(),
        };
        let event = NewEvent {
            contact: note.id.clone(),
            outcome: note.outcome,
            at: note.at,
            note: text.trim().to_string(),
            by: note.by.clone(),
            source: "desk",
            uid: Some(once)
                .filter(|once| !once.is_empty())
                .map(|once| NewEvent::uid_of(&["desk", once])),
        };
        let mut log = self.write.lock().unwrap_or_else(PoisonError::into_inner);
        log.add(&event).map(|_| ())
    }

    /// Notes about any of some identifiers, newest first.
    ///
    /// # Errors
    /// When the log cannot be read.
    pub fn about(&self, ids: &[&str]) -> Result<Vec<Note>, Fault> {
        let log = self.read();
        let mut notes = Vec::new();
        for id in ids {
            let filter = Filter {
                contact: Some((*id).to_string()),
                last: Some(SHOWN),
                ..Filter::default()
            };
            notes.extend(log.list(&filter)?.into_iter().map(note_of));
        }
        notes.sort_by_key(|note| std::cmp::Reverse(note.at));
        notes.truncate(SHOWN as usize);
        Ok(notes)
    }

    /// Call-backs promised for before `now` and the day after, earliest first; a later note about the same one settles it.
    ///
    /// # Errors
    /// When the log cannot be read.
    pub fn call_backs(&self, now: DateTime<Utc>) -> Result<Vec<Note>, Fault> {
        let filter = Filter {
            since: Some(now - TimeDelta::days(CALL_BACK_DAYS)),
            ..Filter::default()
        };
        // The last event about each decides whether a call-back is still owed.
        let mut last: HashMap<String, Note> = HashMap::new();
        self.read().walk(&filter, &mut |event| {
            let note = note_of(event);
            last.insert(note.id.clone(), note);
        })?;
        let mut due: Vec<Note> = last
            .into_values()
            .filter(|note| note.call_back.is_some_and(|at| at < now + TimeDelta::hours(24)))
            .collect();
        due.sort_by(|a, b| a.call_back.cmp(&b.call_back).then(a.id.cmp(&b.id)));
        Ok(due)
    }
}
