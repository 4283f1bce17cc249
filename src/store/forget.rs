//! Retention in the embedded log: personal data of what happened before a time are blanked, the rows stay, so that what was counted can
//! still be counted.
//!
//! "Events are only added" protects the record from slips and from quiet corrections. It does not stand above the duty to keep personal
//! data no longer than they are needed: blanking is an act of its own, on command, told with its counts, and it takes columns and not rows.

use super::open::{Log, stamp};
use super::rows::Counts;
use crate::faults::{Fault, Severity};
use chrono::{DateTime, Utc};
use rusqlite::{Transaction, TransactionBehavior};

/// What stands in place of a name or an identifier that was forgotten.
pub const FORGOTTEN: &str = "(forgotten)";
/// The triggers that refuse changes, taken away and put back within the one transaction.
const STAND: [(&str, &str, &str); 3] = [
    ("events_stand", "events", "events are only added, never changed"),
    ("calls_stand", "calls", "calls are only added, never changed"),
    ("call_steps_stand", "call_steps", "steps are only added, never changed"),
];
/// Calls that are over: no call-back was promised, or it ended.
const OVER: &str = "(due IS NULL OR EXISTS (SELECT 1 FROM call_steps s WHERE s.call = calls.id AND s.step <> 'tried'))";

impl Log {
    /// Blanks personal data of what happened before a time, and returns how many rows of each table. A call whose call-back is still owed
    /// stays whole: somebody waits. The freed bytes are overwritten, in the file and in the journal beside it.
    ///
    /// # Errors
    /// `BW-L42` while another program reads the log, so that the journal cannot be emptied; a fault when the log cannot be written.
    pub fn forget_before(&mut self, before: DateTime<Utc>) -> Result<Counts, Fault> {
        self.stands()?;
        let run = |log: &mut Log| -> rusqlite::Result<Counts> {
            log.db.pragma_update(None, "secure_delete", "ON")?;
            let transaction = log.db.transaction_with_behavior(TransactionBehavior::Immediate)?;
            let counts = blank(&transaction, &stamp(before))?;
            transaction.commit()?;
            Ok(counts)
        };
        let counts = run(self).map_err(|error| self.fault(&error))?;
        let emptied = |log: &Log| -> rusqlite::Result<bool> {
            log.db.execute_batch("VACUUM")?;
            log.db
                .query_row("PRAGMA wal_checkpoint(TRUNCATE)", [], |row| row.get::<_, i64>(0))
                .map(|busy| busy == 0)
        };
        if emptied(self).unwrap_or(false) {
            return Ok(counts);
        }
        Err(Fault::new(
            "BW-L42",
            Severity::Fatal,
            "the data were blanked, but traces may be left in the file, because another program holds it open",
        )
        .file(self.path().display().to_string())
        .remedy("Close the desk and other programs that use the log, and give the same command again."))
    }
}

/// Blanks within a transaction.
pub(super) fn blank(transaction: &Transaction<'_>, before: &str) -> rusqlite::Result<Counts> {
    for (name, _, _) in STAND {
        transaction.execute_batch(&format!("DROP TRIGGER {name}"))?;
    }
    let mut counts = Counts::default();
    counts.steps = transaction.execute(
        &format!(
            "UPDATE call_steps SET note = '', by = '{FORGOTTEN}' WHERE at < ?1 AND by <> '{FORGOTTEN}' \
             AND call IN (SELECT id FROM calls WHERE at < ?1 AND {OVER})"
        ),
        [before],
    )?;
    counts.calls = transaction.execute(
        &format!(
            "UPDATE calls SET subject = CASE WHEN about = 'neither' THEN '' ELSE '{FORGOTTEN}' END, caller = '', words = '', answer = '', \
             owner = CASE WHEN owner = '' THEN '' ELSE '{FORGOTTEN}' END, by = '{FORGOTTEN}' \
             WHERE at < ?1 AND by <> '{FORGOTTEN}' AND {OVER}"
        ),
        [before],
    )?;
    counts.events = transaction.execute(
        &format!(
            "UPDATE events SET contact = '{FORGOTTEN}', note = '', by = '{FORGOTTEN}' WHERE at < ?1 AND by <> '{FORGOTTEN}'"
        ),
        [before],
    )?;
    for (name, table, told) in STAND {
        transaction.execute_batch(&format!(
            "CREATE TRIGGER {name} BEFORE UPDATE ON {table} BEGIN SELECT RAISE(ABORT, '{told}'); END;"
        ))?;
    }
    Ok(counts)
}
