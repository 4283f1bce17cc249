//! The embedded log gives its rows to another log, and takes another's.

use super::open::Log;
use super::rows::{CallRow, Counts, EventRow, Marks, Rows, StepRow};
use crate::faults::Fault;
use rusqlite::{OptionalExtension, Row, Transaction, TransactionBehavior, params};

const EVENTS: &str = "SELECT id, uid, at, noted_at, contact, outcome, note, by, source, \
    id NOT IN (SELECT from_event FROM calls WHERE from_event IS NOT NULL) OR outcome <> 'reached' AS counts FROM events";
const CALLS: &str = "SELECT id, uid, at, noted_at, about, subject, caller, words, answer, told, owner, due, by, source, \
    (SELECT uid FROM events WHERE events.id = calls.from_event) AS from_event FROM calls";
const STEPS: &str = "SELECT id, uid, (SELECT uid FROM calls WHERE calls.id = call_steps.call) AS call, at, step, note, by FROM call_steps";

fn event(row: &Row<'_>) -> rusqlite::Result<EventRow> {
    Ok(EventRow {
        uid: row.get("uid")?,
        at: row.get("at")?,
        noted_at: row.get("noted_at")?,
        contact: row.get("contact")?,
        outcome: row.get("outcome")?,
        note: row.get("note")?,
        by: row.get("by")?,
        source: row.get("source")?,
        counts: row.get("counts")?,
    })
}

fn call(row: &Row<'_>) -> rusqlite::Result<CallRow> {
    Ok(CallRow {
        uid: row.get("uid")?,
        at: row.get("at")?,
        noted_at: row.get("noted_at")?,
        about: row.get("about")?,
        subject: row.get("subject")?,
        caller: row.get("caller")?,
        words: row.get("words")?,
        answer: row.get("answer")?,
        told: row.get("told")?,
        owner: row.get("owner")?,
        due: row.get("due")?,
        by: row.get("by")?,
        source: row.get("source")?,
        from_event: row.get("from_event")?,
    })
}

fn step(row: &Row<'_>) -> rusqlite::Result<StepRow> {
    Ok(StepRow {
        uid: row.get("uid")?,
        call: row.get("call")?,
        at: row.get("at")?,
        step: row.get("step")?,
        note: row.get("note")?,
        by: row.get("by")?,
    })
}

impl Log {
    /// The next rows after `marks`, at most so many of each table, and the marks after them.
    ///
    /// # Errors
    /// A fault when the log cannot be read.
    pub fn give(&self, marks: &Marks, most: usize) -> Result<(Rows, Marks), Fault> {
        let run = || -> rusqlite::Result<(Rows, Marks)> {
            let (mut rows, mut marks) = (Rows::default(), *marks);
            let most = i64::try_from(most).unwrap_or(i64::MAX);
            let mut statement = self
                .db
                .prepare_cached(&format!("{EVENTS} WHERE id > ?1 ORDER BY id LIMIT ?2"))?;
            let mut found = statement.query(params![marks.events.id, most])?;
            while let Some(row) = found.next()? {
                marks.events.id = row.get("id")?;
                rows.events.push(event(row)?);
            }
            if self.version < 2 {
                return Ok((rows, marks));
            }
            let mut statement = self
                .db
                .prepare_cached(&format!("{CALLS} WHERE id > ?1 ORDER BY id LIMIT ?2"))?;
            let mut found = statement.query(params![marks.calls.id, most])?;
            while let Some(row) = found.next()? {
                marks.calls.id = row.get("id")?;
                rows.calls.push(call(row)?);
            }
            let mut statement = self
                .db
                .prepare_cached(&format!("{STEPS} WHERE id > ?1 ORDER BY id LIMIT ?2"))?;
            let mut found = statement.query(params![marks.steps.id, most])?;
            while let Some(row) = found.next()? {
                marks.steps.id = row.get("id")?;
                rows.steps.push(step(row)?);
            }
            Ok((rows, marks))
        };
        run().map_err(|error| self.fault(&error))
    }

    /// The row of a table (0 events, 1 calls, 2 steps) with this number, if there is one.
    pub(super) fn row(&self, kind: i64, id: i64) -> Result<Rows, Fault> {
        let run = || -> rusqlite::Result<Rows> {
            let mut rows = Rows::default();
            let find = |query: &str| self.db.prepare_cached(&format!("{query} WHERE id = ?1"));
            match kind {
                0 => rows.events.extend(find(EVENTS)?.query_row([id], event).optional()?),
                1 => rows.calls.extend(find(CALLS)?.query_row([id], call).optional()?),
                _ => rows.steps.extend(find(STEPS)?.query_row([id], step).optional()?),
            }
            Ok(rows)
        };
        run().map_err(|error| self.fault(&error))
    }

    /// The rows here that have the `uid`s of these.
    ///
    /// # Errors
    /// A fault when the log cannot be read.
    pub fn held(&self, rows: &Rows) -> Result<Rows, Fault> {
        let run = || -> rusqlite::Result<Rows> {
            let mut held = Rows::default();
            let mut statement = self.db.prepare_cached(&format!("{EVENTS} WHERE uid = ?1"))?;
            for row in &rows.events {
                held.events
                    .extend(statement.query_map([&row.uid], event)?.collect::<Result<Vec<_>, _>>()?);
            }
            let mut statement = self.db.prepare_cached(&format!("{CALLS} WHERE uid = ?1"))?;
            for row in &rows.calls {
                held.calls
                    .extend(statement.query_map([&row.uid], call)?.collect::<Result<Vec<_>, _>>()?);
            }
            let mut statement = self.db.prepare_cached(&format!("{STEPS} WHERE uid = ?1"))?;
            for row in &rows.steps {
                held.steps
                    .extend(statement.query_map([&row.uid], step)?.collect::<Result<Vec<_>, _>>()?);
            }
            Ok(held)
        };
        run().map_err(|error| self.fault(&error))
    }

    /// Takes rows of another log, all or none; those that are known are left. Returns how many were new.
    ///
    /// # Errors
    /// A fault when the log cannot be written.
    pub fn take(&mut self, rows: &Rows) -> Result<Counts, Fault> {
        self.stands()?;
        let run = |log: &mut Log| -> rusqlite::Result<Counts> {
            let transaction = log.db.transaction_with_behavior(TransactionBehavior::Immediate)?;
            let counts = take(&transaction, rows)?;
            transaction.commit()?;
            Ok(counts)
        };
        run(self).map_err(|error| self.fault(&error))
    }
}

/// Takes rows within a transaction. A step whose call is not here is left.
pub(super) fn take(transaction: &Transaction<'_>, rows: &Rows) -> rusqlite::Result<Counts> {
    let mut counts = Counts::default();
    let mut statement = transaction.prepare_cached(
        "INSERT OR IGNORE INTO events (uid, at, noted_at, contact, outcome, note, by, source) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)",
    )?;
    for row in &rows.events {
        counts.events += statement.execute(params![
            row.uid,
            row.at,
            row.noted_at,
            row.contact,
            row.outcome,
            row.note,
            row.by,
            row.source
        ])?;
    }
    let mut statement = transaction.prepare_cached(
        "INSERT OR IGNORE INTO calls (uid, at, noted_at, about, subject, caller, words, answer, told, owner, due, by, source, from_event) \
         VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13, (SELECT id FROM events WHERE uid = ?14))",
    )?;
    for row in &rows.calls {
        counts.calls += statement.execute(params![
            row.uid,
            row.at,
            row.noted_at,
            row.about,
            row.subject,
            row.caller,
            row.words,
            row.answer,
            row.told,
            row.owner,
            row.due,
            row.by,
            row.source,
            row.from_event
        ])?;
    }
    let mut statement = transaction.prepare_cached(
        "INSERT OR IGNORE INTO call_steps (uid, call, at, step, note, by) \
         SELECT ?1, id, ?3, ?4, ?5, ?6 FROM calls WHERE uid = ?2",
    )?;
    for row in &rows.steps {
        counts.steps += statement.execute(params![row.uid, row.call, row.at, row.step, row.note, row.by])?;
    }
    Ok(counts)
}
