//! The queue of calls: who is next, for several callers at one file.

use super::calls::CONTACT_PREFIX;
use super::open::{Log, stamp};
use super::tables::COUNTS;
use crate::faults::Fault;
use chrono::{DateTime, TimeDelta, Utc};
use rusqlite::{OptionalExtension, Row, TransactionBehavior, params};
use serde::Serialize;

/// How long a call that was given out stays with its caller, minutes (judgement: a long call with a list).
pub const CLAIM_MINUTES: i64 = 20;

/// One call that is to be made.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct QueueItem {
    /// Place in the order, from 1.
    pub position: i64,
    /// Whom to call.
    pub contact: String,
    /// Which attempt it is.
    pub attempt: u8,
    /// Caller that the plan had in mind.
    pub caller: Option<u16>,
    /// Start of the planned slot.
    pub slot_start: Option<DateTime<Utc>>,
    /// Time by which the person must know.
    pub act_by: Option<DateTime<Utc>>,
    /// Language, `en` or `es`.
    pub language: String,
}

/// Who asks for the next call.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Ask {
    /// Name of the caller.
    pub by: String,
    /// Whether the caller speaks Spanish.
    pub spanish: bool,
    /// The time.
    pub now: DateTime<Utc>,
    /// The other attempts at one person wait until their slot; first attempts may be made early.
    pub early_first: bool,
}

impl Log {
    /// Replaces the queue by these calls, and closes at once those of people with whom the log says nothing more is to be done.
    ///
    /// `since` is the time from which events count: outcomes of an earlier spell do not close a call. Returns how many calls are open.
    ///
    /// # Errors
    /// A fault when the log cannot be written.
    pub fn load_queue(&mut self, items: &[QueueItem], since: DateTime<Utc>) -> Result<usize, Fault> {
        let run = |log: &mut Log| -> rusqlite::Result<usize> {
            let transaction = log.db.transaction_with_behavior(TransactionBehavior::Immediate)?;
            transaction.execute("DELETE FROM queue", [])?;
            {
                let mut statement = transaction.prepare(
                    "INSERT INTO queue (position, contact, attempt, caller, slot_start, act_by, language) \
                     VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)",
                )?;
                for (at, item) in items.iter().enumerate() {
                    statement.execute(params![
                        i64::try_from(at + 1).unwrap_or(i64::MAX),
                        item.contact,
                        item.attempt,
                        item.caller,
                        item.slot_start.map(stamp),
                        item.act_by.map(stamp),
                        item.language
                    ])?;
                }
            }
            transaction.execute(
                // The last event of each counts (the column beside a lone max() is that row's), so that a corrected slip opens the call again.
                // A call that came in is noted under the assembly, of which the person's own identifier is made.
                &format!(
                    "WITH settled AS (SELECT contact FROM (SELECT contact, outcome, \
                     max(at || printf('%020d', id)) FROM events WHERE at >= ?1 AND {COUNTS} GROUP BY contact) \
                     WHERE outcome IN ('reached','declined','done','wrong-number')) \
                     UPDATE queue SET open = 0 WHERE contact IN settled \
                     OR contact IN (SELECT '{CONTACT_PREFIX}' || contact FROM events WHERE at >= ?1 AND source = 'call')"
                ),
                [stamp(since)],
            )?;
            let open: i64 = transaction.query_row("SELECT count(*) FROM queue WHERE open = 1", [], |row| row.get(0))?;
            transaction.commit()?;
            Ok(usize::try_from(open).unwrap_or(0))
        };
        run(self).map_err(|error| self.fault(&error))
    }

    /// Gives out the next call: the first in order that is open, not with another caller, in a language the caller speaks, and still in time.
    /// It stays with the caller for [`CLAIM_MINUTES`]; asking again before its outcome is noted gives the same call.
    ///
    /// # Errors
    /// A fault when the log cannot be written.
    pub fn next_call(&mut self, ask: &Ask) -> Result<Option<QueueItem>, Fault> {
        let run = |log: &mut Log| -> rusqlite::Result<Option<QueueItem>> {
            let transaction = log.db.transaction_with_behavior(TransactionBehavior::Immediate)?;
            let now = stamp(ask.now);
            let item = transaction
                .prepare_cached(
                    "SELECT * FROM queue WHERE open = 1 AND (claimed_by IS NULL OR claimed_by = ?1 OR claimed_until < ?2) \
                     AND (act_by IS NULL OR act_by >= ?2) AND (?3 OR language <> 'es') \
                     AND (slot_start IS NULL OR slot_start <= ?2 OR (?4 AND attempt <= 1)) \
                     ORDER BY position LIMIT 1",
                )?
                .query_row(params![ask.by, now, ask.spanish, ask.early_first], item_from_row)
                .optional()?;
            if let Some(item) = &item {
                transaction.execute(
                    "UPDATE queue SET claimed_by = ?1, claimed_until = ?2 WHERE position = ?3",
                    params![
                        ask.by,
                        stamp(ask.now + TimeDelta::minutes(CLAIM_MINUTES)),
                        item.position
                    ],
                )?;
            }
            transaction.commit()?;
            Ok(item)
        };
        run(self).map_err(|error| self.fault(&error))
    }

    /// How many calls are open.
    ///
    /// # Errors
    /// A fault when the log cannot be read.
    pub fn open_calls(&self) -> Result<usize, Fault> {
        self.db
            .query_row("SELECT count(*) FROM queue WHERE open = 1", [], |row| {
                row.get::<_, i64>(0)
            })
            .map(|open| usize::try_from(open).unwrap_or(0))
            .map_err(|error| self.fault(&error))
    }

    /// Whether the queue knows this contact.
    ///
    /// # Errors
    /// A fault when the log cannot be read.
    pub fn is_queued(&self, contact: &str) -> Result<bool, Fault> {
        self.db
            .query_row(
                "SELECT EXISTS (SELECT 1 FROM queue WHERE contact = ?1)",
                [contact],
                |row| row.get(0),
            )
            .map_err(|error| self.fault(&error))
    }
}

fn item_from_row(row: &Row<'_>) -> rusqlite::Result<QueueItem> {
    let time = |column: &str| -> rusqlite::Result<Option<DateTime<Utc>>> {
        let text: Option<String> = row.get(column)?;
        Ok(text
            .and_then(|text| DateTime::parse_from_rfc3339(&text).ok())
            .map(|at| at.with_timezone(&Utc)))
    };
    Ok(QueueItem {
        position: row.get("position")?,
        contact: row.get("contact")?,
        attempt: row.get("attempt")?,
        caller: row.get("caller")?,
        slot_start: time("slot_start")?,
        act_by: time("act_by")?,
        language: row.get("language")?,
    })
}
