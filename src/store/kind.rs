//! What a log does, whatever keeps it: the embedded file or a server.

use super::{Added, Ask, BadRow, Call, CallFilter, Event, Filter, Log, NewCall, NewEvent, QueueItem, Step};
use crate::faults::Fault;
use crate::freeze::Reports;
use crate::outreach::outcome::History;
use chrono::{DateTime, Utc};
use std::path::Path;

/// A log of contacts. What its methods do is the same for every kind, and one suite of tests holds all kinds to it.
pub trait Store: Send {
    /// Where the log is, as it may be shown: a file's name, or a server's address without secrets.
    fn shown(&self) -> String;

    /// The name of the contact programme that the log is kept for.
    ///
    /// # Errors
    /// A fault when the log cannot be read.
    fn programme(&self) -> Result<String, Fault>;

    /// Adds events, all or none. Events with a `uid` that the log holds already are counted and left. They are kept when this returns.
    ///
    /// # Errors
    /// As [`NewEvent::check`] for the first that cannot be kept, or when the log cannot be written.
    fn add_all(&mut self, events: &[NewEvent]) -> Result<Added, Fault>;

    /// Adds one event and returns its number, or 0 when it was known.
    ///
    /// # Errors
    /// As [`Store::add_all`].
    fn add(&mut self, event: &NewEvent) -> Result<i64, Fault> {
        Ok(self.add_all(std::slice::from_ref(event))?.last_id)
    }

    /// Hands each event to `each`, oldest first.
    ///
    /// # Errors
    /// A fault when the log cannot be read.
    fn walk(&self, filter: &Filter, each: &mut dyn FnMut(Event)) -> Result<(), Fault>;

    /// Lists events, oldest first.
    ///
    /// # Errors
    /// A fault when the log cannot be read.
    fn list(&self, filter: &Filter) -> Result<Vec<Event>, Fault> {
        let mut events = Vec::new();
        self.walk(filter, &mut |event| events.push(event))?;
        Ok(events)
    }

    /// How many events the log holds.
    ///
    /// # Errors
    /// A fault when the log cannot be read.
    fn count(&self) -> Result<u64, Fault>;

    /// Where everybody stands, from the events that happened at or after `since`, in the order in which they happened.
    ///
    /// # Errors
    /// A fault when the log cannot be read.
    fn history(&self, since: Option<DateTime<Utc>>) -> Result<History, Fault>;

    /// Keeps a call that came in and returns its number, or 0 when it was known.
    ///
    /// # Errors
    /// As [`NewCall::check`], or when the log cannot be written.
    fn record(&mut self, call: &NewCall) -> Result<i64, Fault>;

    /// Notes what became of a call-back.
    ///
    /// # Errors
    /// `BW-L18` when there is no such call, `BW-L11` without a name, or when the log cannot be written.
    fn step(&mut self, call: i64, step: Step, note: &str, by: &str, uid: Option<String>) -> Result<(), Fault>;

    /// Lists calls, oldest first; call-backs that are owed by the time they are due.
    ///
    /// # Errors
    /// A fault when the log cannot be read.
    fn calls(&self, filter: &CallFilter) -> Result<Vec<Call>, Fault>;

    /// What was reported of assemblies at or after `since`.
    ///
    /// # Errors
    /// A fault when the log cannot be read.
    fn reports(&self, since: Option<DateTime<Utc>>) -> Result<Reports, Fault> {
        let filter = CallFilter {
            since,
            ..CallFilter::default()
        };
        Ok(super::reports::of_calls(&self.calls(&filter)?))
    }

    /// Replaces the queue, and returns how many of its calls are open after the events since `since`.
    ///
    /// # Errors
    /// A fault when the log cannot be written.
    fn load_queue(&mut self, items: &[QueueItem], since: DateTime<Utc>) -> Result<usize, Fault>;

    /// Gives out the next call; to nobody else for [`super::queue::CLAIM_MINUTES`].
    ///
    /// # Errors
    /// A fault when the log cannot be written.
    fn next_call(&mut self, ask: &Ask) -> Result<Option<QueueItem>, Fault>;

    /// How many calls of the queue are open.
    ///
    /// # Errors
    /// A fault when the log cannot be read.
    fn open_calls(&self) -> Result<usize, Fault>;

    /// Whether the queue knows this contact.
    ///
    /// # Errors
    /// A fault when the log cannot be read.
    fn is_queued(&self, contact: &str) -> Result<bool, Fault>;

    /// Rows that could not be read since the log was opened.
    fn bad_rows(&self) -> Vec<BadRow>;

    /// Copies the log into a new file that is read whole afterwards; returns its events.
    ///
    /// # Errors
    /// `BW-L09` when this kind has another way, or the copy is not whole.
    fn backup(&self, to: &Path) -> Result<u64, Fault>;

    /// Looks whether the log can be read at all.
    ///
    /// # Errors
    /// A fault when it cannot.
    fn probe(&self) -> Result<(), Fault>;
}

impl Store for Log {
    fn shown(&self) -> String {
        self.path().display().to_string()
    }

    fn programme(&self) -> Result<String, Fault> {
        Log::programme(self)
    }

    fn add_all(&mut self, events: &[NewEvent]) -> Result<Added, Fault> {
        Log::add_all(self, events)
    }

    fn walk(&self, filter: &Filter, each: &mut dyn FnMut(Event)) -> Result<(), Fault> {
        Log::walk(self, filter, each)
    }

    fn count(&self) -> Result<u64, Fault> {
        Log::count(self)
    }

    fn history(&self, since: Option<DateTime<Utc>>) -> Result<History, Fault> {
        Log::history(self, since)
    }

    fn record(&mut self, call: &NewCall) -> Result<i64, Fault> {
        Log::record(self, call)
    }

    fn step(&mut self, call: i64, step: Step, note: &str, by: &str, uid: Option<String>) -> Result<(), Fault> {
        Log::step(self, call, step, note, by, uid)
    }

    fn calls(&self, filter: &CallFilter) -> Result<Vec<Call>, Fault> {
        Log::calls(self, filter)
    }

    fn load_queue(&mut self, items: &[QueueItem], since: DateTime<Utc>) -> Result<usize, Fault> {
        Log::load_queue(self, items, since)
    }

    fn next_call(&mut self, ask: &Ask) -> Result<Option<QueueItem>, Fault> {
        Log::next_call(self, ask)
    }

    fn open_calls(&self) -> Result<usize, Fault> {
        Log::open_calls(self)
    }

    fn is_queued(&self, contact: &str) -> Result<bool, Fault> {
        Log::is_queued(self, contact)
    }

    fn bad_rows(&self) -> Vec<BadRow> {
        Log::bad_rows(self)
    }

    fn backup(&self, to: &Path) -> Result<u64, Fault> {
        Log::backup(self, to)
    }

    fn probe(&self) -> Result<(), Fault> {
        Log::probe(self)
    }
}
