//! The server's log gives its rows to another log, and takes another's.

use super::events::INSERT;
use super::{Server, whole};
use crate::faults::{Fault, Severity};
use crate::store::open::stamp;
use crate::store::rows::{CallRow, Counts, EventRow, Mark, Marks, Rows, StepRow};
use chrono::{DateTime, Utc};
use postgres::{IsolationLevel, Row, Transaction};
use std::collections::HashSet;

/// What is new since a mark. A row's transaction may have been given out before that of a row that is known and committed after it:
/// the mark goes only as far as no transaction is still under way, so what lies behind it comes again and is known by its `uid`.
pub(super) const NEW_EVENTS: &str =
    "SELECT * FROM brimwater.events WHERE (tx, id) > ($1, $2) AND at >= $3 ORDER BY tx, id LIMIT $4";
const NEW_CALLS: &str = "SELECT * FROM brimwater.calls WHERE (tx, id) > ($1, $2) ORDER BY tx, id LIMIT $3";
const NEW_STEPS: &str = "SELECT s.*, c.uid AS call_uid FROM brimwater.call_steps s \
    JOIN brimwater.calls c ON c.utility = s.utility AND c.id = s.call WHERE (s.tx, s.id) > ($1, $2) ORDER BY s.tx, s.id LIMIT $3";

/// What a look at the server brought.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct News {
    /// Rows, of which some may be known.
    pub rows: Rows,
    /// Where the next look begins.
    pub marks: Marks,
    /// Whether there may be more at once.
    pub more: bool,
    /// The time before which the server has forgotten whom its rows are about, if it ever did.
    pub forgotten_before: Option<String>,
}

impl Server {
    /// What is new since `marks`, at most so many rows of each table; of events only those that happened at or after `horizon`.
    ///
    /// # Errors
    /// A fault when the server cannot be read.
    pub fn news(&self, marks: &Marks, horizon: Option<DateTime<Utc>>, most: usize) -> Result<News, Fault> {
        let limit = i64::try_from(most).unwrap_or(i64::MAX);
        let horizon = super::events::ever(horizon);
        self.with(|client| {
            let mut look = client
                .build_transaction()
                .read_only(true)
                .isolation_level(IsolationLevel::RepeatableRead)
                .start()?;
            let under_way: i64 = look
                .query_one("SELECT pg_snapshot_xmin(pg_current_snapshot())::text::bigint", &[])?
                .get(0);
            let mut news = News {
                marks: *marks,
                ..News::default()
            };
            let at = marks.events;
            let events = look.query(NEW_EVENTS, &[&at.tx, &at.id, &horizon, &limit])?;
            // An event comes before the call that names it, and a call before its steps: the later wait while there are more of the earlier.
            let at = marks.calls;
            let calls = match events.len() < most {
                true => look.query(NEW_CALLS, &[&at.tx, &at.id, &limit])?,
                false => Vec::new(),
            };
            let at = marks.steps;
            let steps = match events.len().max(calls.len()) < most {
                true => look.query(NEW_STEPS, &[&at.tx, &at.id, &limit])?,
                false => Vec::new(),
            };
            news.more = [events.len(), calls.len(), steps.len()].contains(&most);
            news.marks.events = settled(&events, under_way, marks.events, news.more);
            news.marks.calls = settled(&calls, under_way, marks.calls, news.more);
            news.marks.steps = settled(&steps, under_way, marks.steps, news.more);
            news.rows.events = events.iter().map(event).collect();
            news.rows.calls = calls.iter().map(call).collect();
            news.rows.steps = steps.iter().map(step).collect();
            news.forgotten_before = look
                .query_opt("SELECT value FROM brimwater.meta WHERE key = 'forgotten_before'", &[])?
                .map(|row| row.get(0));
            Ok(news)
        })
    }

    /// The next rows after `marks`, and the marks after them, for a copy of what is there now: what others commit meanwhile may be missing,
    /// and comes when it is copied again.
    ///
    /// # Errors
    /// A fault when the server cannot be read.
    pub fn give(&self, marks: &Marks, most: usize) -> Result<(Rows, Marks), Fault> {
        let limit = i64::try_from(most).unwrap_or(i64::MAX);
        let horizon = super::events::ever(None);
        let (events, calls, steps) = self.with(|client| {
            let (at, of_calls, of_steps) = (marks.events, marks.calls, marks.steps);
            Ok((
                client.query(NEW_EVENTS, &[&at.tx, &at.id, &horizon, &limit])?,
                client.query(NEW_CALLS, &[&of_calls.tx, &of_calls.id, &limit])?,
                client.query(NEW_STEPS, &[&of_steps.tx, &of_steps.id, &limit])?,
            ))
        })?;
        let marks = Marks {
            events: settled(&events, 0, marks.events, true),
            calls: settled(&calls, 0, marks.calls, true),
            steps: settled(&steps, 0, marks.steps, true),
        };
        let rows = Rows {
            events: events.iter().map(event).collect(),
            calls: calls.iter().map(call).collect(),
            steps: steps.iter().map(step).collect(),
        };
        Ok((rows, marks))
    }

    /// The rows here that have the `uid`s of these.
    ///
    /// # Errors
    /// A fault when the server cannot be read.
    pub fn held(&self, rows: &Rows) -> Result<Rows, Fault> {
        let events: Vec<&str> = rows.events.iter().map(|row| row.uid.as_str()).collect();
        let calls: Vec<&str> = rows.calls.iter().map(|row| row.uid.as_str()).collect();
        let steps: Vec<&str> = rows.steps.iter().map(|row| row.uid.as_str()).collect();
        self.with(|client| {
            let found = client.query("SELECT * FROM brimwater.events WHERE uid = ANY ($1)", &[&events])?;
            let mut held = Rows {
                events: found.iter().map(event).collect(),
                ..Rows::default()
            };
            let found = client.query("SELECT * FROM brimwater.calls WHERE uid = ANY ($1)", &[&calls])?;
            held.calls = found.iter().map(call).collect();
            let found = client.query(
                "SELECT s.*, c.uid AS call_uid FROM brimwater.call_steps s JOIN brimwater.calls c \
                 ON c.utility = s.utility AND c.id = s.call WHERE s.uid = ANY ($1)",
                &[&steps],
            )?;
            held.steps = found.iter().map(step).collect();
            Ok(held)
        })
    }

    /// Takes rows of another log, all or none; those that are known are left. Returns how many were new.
    ///
    /// # Errors
    /// `BW-L41` when a step's call is not here, or a fault of the server.
    pub fn take(&mut self, rows: &Rows) -> Result<Counts, Fault> {
        let mut rows = rows.clone();
        rows.clean();
        let counts = self.within(|transaction| take(transaction, &rows))?;
        match counts {
            Some(counts) => Ok(counts),
            None => Err(Fault::new(
                "BW-L41",
                Severity::Fatal,
                "what became of a call-back came without its call",
            )
            .file(self.address().shown())
            .remedy("Copy the whole log: the call is in the one that it was noted in.")),
        }
    }

    /// Blanks personal data of what happened before a time; returns how many rows of each table.
    ///
    /// # Errors
    /// `BW-L37` unless the role is a planner, or a fault of the server.
    pub fn forget_before(&mut self, before: DateTime<Utc>) -> Result<Counts, Fault> {
        let before = whole(before);
        let row = self.with(|client| client.query_one("SELECT * FROM brimwater.forget_before($1)", &[&before]))?;
        let count = |at: usize| usize::try_from(row.get::<_, i64>(at)).unwrap_or(0);
        Ok(Counts {
            events: count(0),
            calls: count(1),
            steps: count(2),
        })
    }
}

/// How far the mark may go: to the last row before anything that is still under way; when there is more to come at once, to the last row.
fn settled(rows: &[Row], under_way: i64, before: Mark, more: bool) -> Mark {
    rows.iter()
        .map(|row| Mark {
            tx: row.get("tx"),
            id: row.get("id"),
        })
        .take_while(|mark| more || mark.tx < under_way)
        .last()
        .unwrap_or(before)
}

/// `None`, and nothing is written, when a step's call is neither here nor among the rows.
fn take(transaction: &mut Transaction<'_>, rows: &Rows) -> Result<Option<Counts>, postgres::Error> {
    let mut counts = Counts::default();
    if !rows.steps.is_empty() {
        let with: HashSet<&str> = rows.calls.iter().map(|row| row.uid.as_str()).collect();
        let elsewhere: HashSet<&str> = rows
            .steps
            .iter()
            .map(|row| row.call.as_str())
            .filter(|call| !with.contains(call))
            .collect();
        let elsewhere: Vec<&str> = elsewhere.into_iter().collect();
        let here = transaction.query_one(
            "SELECT count(*) FROM brimwater.calls WHERE uid = ANY ($1)",
            &[&elsewhere],
        )?;
        if here.get::<_, i64>(0) != i64::try_from(elsewhere.len()).unwrap_or(i64::MAX) {
            return Ok(None);
        }
    }
    if !rows.events.is_empty() {
        let text = |pick| texts(&rows.events, pick);
        let added = transaction.query(
            INSERT,
            &[
                &text(|row| &row.uid),
                &times(rows.events.iter().map(|row| Some(row.at.as_str()))),
                &times(rows.events.iter().map(|row| Some(row.noted_at.as_str()))),
                &text(|row| &row.contact),
                &text(|row| &row.outcome),
                &text(|row| &row.note),
                &text(|row| &row.by),
                &text(|row| &row.source),
                &rows.events.iter().map(|row| row.counts).collect::<Vec<_>>(),
            ],
        )?;
        counts.events = added.len();
    }
    if !rows.calls.is_empty() {
        let text = |pick| texts(&rows.calls, pick);
        let added = transaction.execute(
            "INSERT INTO brimwater.calls (uid, at, noted_at, about, subject, caller, words, answer, told, owner, due, noted_by, source, from_event) \
             SELECT g.uid, g.at, g.noted_at, g.about, g.subject, g.caller, g.words, g.answer, g.told, g.owner, g.due, g.noted_by, g.source, g.from_event \
             FROM unnest($1::text[], $2::timestamptz[], $3::timestamptz[], $4::text[], $5::text[], $6::text[], $7::text[], $8::text[], \
                 $9::bool[], $10::text[], $11::timestamptz[], $12::text[], $13::text[], $14::text[]) WITH ORDINALITY \
                 AS g (uid, at, noted_at, about, subject, caller, words, answer, told, owner, due, noted_by, source, from_event, n) \
             ORDER BY g.n ON CONFLICT (utility, uid) DO NOTHING",
            &[
                &text(|row| &row.uid),
                &times(rows.calls.iter().map(|row| Some(row.at.as_str()))),
                &times(rows.calls.iter().map(|row| Some(row.noted_at.as_str()))),
                &text(|row| &row.about),
                &text(|row| &row.subject),
                &text(|row| &row.caller),
                &text(|row| &row.words),
                &text(|row| &row.answer),
                &rows.calls.iter().map(|row| row.told).collect::<Vec<_>>(),
                &text(|row| &row.owner),
                &times(rows.calls.iter().map(|row| row.due.as_deref())),
                &text(|row| &row.by),
                &text(|row| &row.source),
                &rows.calls.iter().map(|row| row.from_event.clone()).collect::<Vec<_>>(),
            ],
        )?;
        counts.calls = usize::try_from(added).unwrap_or(usize::MAX);
    }
    if !rows.steps.is_empty() {
        let text = |pick| texts(&rows.steps, pick);
        let added = transaction.execute(
            "INSERT INTO brimwater.call_steps (uid, call, at, step, note, noted_by) \
             SELECT g.uid, c.id, g.at, g.step, g.note, g.noted_by \
             FROM unnest($1::text[], $2::text[], $3::timestamptz[], $4::text[], $5::text[], $6::text[]) WITH ORDINALITY \
                 AS g (uid, call, at, step, note, noted_by, n) \
             JOIN brimwater.calls c ON c.uid = g.call ORDER BY g.n ON CONFLICT (utility, uid) DO NOTHING",
            &[
                &text(|row| &row.uid),
                &text(|row| &row.call),
                &times(rows.steps.iter().map(|row| Some(row.at.as_str()))),
                &text(|row| &row.step),
                &text(|row| &row.note),
                &text(|row| &row.by),
            ],
        )?;
        counts.steps = usize::try_from(added).unwrap_or(usize::MAX);
    }
    Ok(Some(counts))
}

/// One column of rows, as it travels.
fn texts<R>(rows: &[R], pick: fn(&R) -> &str) -> Vec<&str> {
    rows.iter().map(pick).collect()
}

/// Times as the server takes them. One that cannot be read is left out, and the table refuses the row.
fn times<'a>(texts: impl Iterator<Item = Option<&'a str>>) -> Vec<Option<DateTime<Utc>>> {
    texts
        .map(|text| {
            DateTime::parse_from_rfc3339(text?)
                .ok()
                .map(|at| at.with_timezone(&Utc))
        })
        .collect()
}

fn event(row: &Row) -> EventRow {
    EventRow {
        uid: row.get("uid"),
        at: stamp(row.get("at")),
        noted_at: stamp(row.get("noted_at")),
        contact: row.get("contact"),
        outcome: row.get("outcome"),
        note: row.get("note"),
        by: row.get("noted_by"),
        source: row.get("source"),
        counts: row.get("counts"),
    }
}

fn call(row: &Row) -> CallRow {
    CallRow {
        uid: row.get("uid"),
        at: stamp(row.get("at")),
        noted_at: stamp(row.get("noted_at")),
        about: row.get("about"),
        subject: row.get("subject"),
        caller: row.get("caller"),
        words: row.get("words"),
        answer: row.get("answer"),
        told: row.get("told"),
        owner: row.get("owner"),
        due: row.get::<_, Option<DateTime<Utc>>>("due").map(stamp),
        by: row.get("noted_by"),
        source: row.get("source"),
        from_event: row.get("from_event"),
    }
}

fn step(row: &Row) -> StepRow {
    StepRow {
        uid: row.get("uid"),
        call: row.get("call_uid"),
        at: stamp(row.get("at")),
        step: row.get("step"),
        note: row.get("note"),
        by: row.get("noted_by"),
    }
}
