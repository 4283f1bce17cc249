//! The desk's view of the log of contacts: notes of calls, outcomes, call-backs.

use crate::faults::Fault;
use crate::outreach::outcome::{History, Outcome};
use chrono::{DateTime, TimeDelta, Utc};
use std::path::Path;
use std::sync::{Mutex, PoisonError};

/// A note as the log keeps it.
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

/// The log.
pub struct Log(Mutex<Vec<Note>>);

impl Log {
    /// Opens it.
    pub fn open(_path: &Path) -> Result<Self, Fault> {
        Ok(Self(Mutex::new(Vec::new())))
    }
    /// Standing of all.
    pub fn history(&self) -> Result<History, Fault> {
        let mut history = History::default();
        for note in self.0.lock().unwrap_or_else(PoisonError::into_inner).iter() {
            history.add(&note.id, note.outcome, note.at);
        }
        Ok(history)
    }
    /// Saves one.
    pub fn save(&self, note: Note, _once: &str) -> Result<(), Fault> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner).push(note);
        Ok(())
    }
    /// Notes about one of some identifiers, newest first.
    pub fn about(&self, ids: &[&str]) -> Result<Vec<Note>, Fault> {
        let all = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        Ok(all.iter().rev().filter(|note| ids.contains(&note.id.as_str())).take(20).cloned().collect())
    }
    /// Call-backs due before the end of the day after `now`, earliest first, unless a later note settled them.
    pub fn call_backs(&self, now: DateTime<Utc>) -> Result<Vec<Note>, Fault> {
        let all = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        let mut due: Vec<Note> = all
            .iter()
            .filter(|note| note.call_back.is_some_and(|at| at < now + TimeDelta::hours(24)))
            .filter(|note| !all.iter().any(|later| later.id == note.id && later.at > note.at))
            .cloned()
            .collect();
        due.sort_by_key(|note| note.call_back);
        Ok(due)
    }
}
