//! The tables of the log, and how an earlier version of them becomes this one.

use super::open::stamp;
use crate::store::calls::{CONTACT_PREFIX, LOOK_BACK_DAYS};
use chrono::{DateTime, TimeDelta, Utc};
use rusqlite::{Transaction, params};

/// Marks the file as ours in its SQLite header: the letters `BWLG`.
pub const APPLICATION_ID: i32 = 0x4257_4C47;
/// Version of the tables.
pub const TABLES_VERSION: i32 = 2;
/// What a note of version 1 that promised a call-back began with; it had no column for it.
const CALL_BACK: &str = "[call back by ";

/// The tables of version 1: outcomes of our own calls, and the queue.
const OUTREACH: &str = "
CREATE TABLE IF NOT EXISTS meta (key TEXT PRIMARY KEY, value TEXT NOT NULL) WITHOUT ROWID;
CREATE TABLE IF NOT EXISTS events (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    uid TEXT NOT NULL UNIQUE,
    at TEXT NOT NULL,
    noted_at TEXT NOT NULL,
    contact TEXT NOT NULL CHECK (length(contact) BETWEEN 1 AND 200),
    outcome TEXT NOT NULL CHECK (outcome IN ('reached','message-left','no-answer','wrong-number','declined','done')),
    note TEXT NOT NULL DEFAULT '',
    by TEXT NOT NULL CHECK (length(by) BETWEEN 1 AND 200),
    source TEXT NOT NULL
);
CREATE INDEX IF NOT EXISTS events_contact ON events (contact, id);
CREATE TRIGGER IF NOT EXISTS events_are_kept BEFORE DELETE ON events
    BEGIN SELECT RAISE(ABORT, 'events are only added, never deleted'); END;
CREATE TRIGGER IF NOT EXISTS events_stand BEFORE UPDATE ON events
    BEGIN SELECT RAISE(ABORT, 'events are only added, never changed'); END;
CREATE TABLE IF NOT EXISTS queue (
    position INTEGER PRIMARY KEY,
    contact TEXT NOT NULL,
    attempt INTEGER NOT NULL,
    caller INTEGER,
    slot_start TEXT,
    act_by TEXT,
    language TEXT NOT NULL,
    open INTEGER NOT NULL DEFAULT 1,
    claimed_by TEXT,
    claimed_until TEXT
);
CREATE INDEX IF NOT EXISTS queue_open ON queue (open, position);
CREATE INDEX IF NOT EXISTS queue_contact ON queue (contact, position);
CREATE TRIGGER IF NOT EXISTS events_settle AFTER INSERT ON events
    WHEN NEW.outcome IN ('reached','declined','done','wrong-number')
    BEGIN UPDATE queue SET open = 0 WHERE contact = NEW.contact; END;
CREATE TRIGGER IF NOT EXISTS events_attempt AFTER INSERT ON events
    WHEN NEW.outcome IN ('message-left','no-answer')
    BEGIN UPDATE queue SET open = 0 WHERE position =
        (SELECT min(position) FROM queue WHERE contact = NEW.contact AND open = 1); END;
";

/// The tables that version 2 adds: calls that come in, and what became of a call-back that was promised.
const CALLS: &str = "
CREATE TABLE IF NOT EXISTS calls (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    uid TEXT NOT NULL UNIQUE,
    at TEXT NOT NULL,
    noted_at TEXT NOT NULL,
    about TEXT NOT NULL CHECK (about IN ('assembly','address','neither')),
    subject TEXT NOT NULL CHECK (length(subject) <= 200 AND (about = 'neither' OR length(subject) > 0)),
    caller TEXT NOT NULL,
    words TEXT NOT NULL,
    answer TEXT NOT NULL,
    told INTEGER NOT NULL CHECK (told IN (0, 1)),
    owner TEXT NOT NULL,
    due TEXT,
    by TEXT NOT NULL CHECK (length(by) BETWEEN 1 AND 200),
    source TEXT NOT NULL,
    from_event INTEGER UNIQUE
);
CREATE INDEX IF NOT EXISTS calls_subject ON calls (subject, id);
CREATE INDEX IF NOT EXISTS calls_due ON calls (due) WHERE due IS NOT NULL;
CREATE TRIGGER IF NOT EXISTS calls_are_kept BEFORE DELETE ON calls
    BEGIN SELECT RAISE(ABORT, 'calls are only added, never deleted'); END;
CREATE TRIGGER IF NOT EXISTS calls_stand BEFORE UPDATE ON calls
    BEGIN SELECT RAISE(ABORT, 'calls are only added, never changed'); END;
CREATE TABLE IF NOT EXISTS call_steps (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    uid TEXT NOT NULL UNIQUE,
    call INTEGER NOT NULL REFERENCES calls (id),
    at TEXT NOT NULL,
    step TEXT NOT NULL CHECK (step IN ('kept','tried','lapsed')),
    note TEXT NOT NULL,
    by TEXT NOT NULL CHECK (length(by) BETWEEN 1 AND 200)
);
CREATE INDEX IF NOT EXISTS call_steps_call ON call_steps (call, id);
CREATE TRIGGER IF NOT EXISTS call_steps_are_kept BEFORE DELETE ON call_steps
    BEGIN SELECT RAISE(ABORT, 'steps are only added, never deleted'); END;
CREATE TRIGGER IF NOT EXISTS call_steps_stand BEFORE UPDATE ON call_steps
    BEGIN SELECT RAISE(ABORT, 'steps are only added, never changed'); END;
";

/// Which events count as contacts: all but the notes of calls that came in, which version 1 kept as if somebody had been reached.
pub(super) const COUNTS: &str =
    "(outcome <> 'reached' OR id NOT IN (SELECT from_event FROM calls WHERE from_event IS NOT NULL))";

/// Makes or completes the tables. `begun` is the version that stands in the file, 0 for a new one.
pub(super) fn make(
    transaction: &Transaction<'_>,
    begun: i32,
    programme: &str,
    now: DateTime<Utc>,
) -> rusqlite::Result<()> {
    transaction.execute_batch(OUTREACH)?;
    transaction.execute_batch(CALLS)?;
    if begun == 1 {
        calls_out_of_events(transaction, now)?;
    }
    transaction.execute_batch(&format!(
        "PRAGMA application_id = {APPLICATION_ID}; PRAGMA user_version = {TABLES_VERSION};"
    ))?;
    transaction.execute(
        "INSERT OR IGNORE INTO meta (key, value) VALUES ('programme', ?1), ('begun', ?2), ('version', ?3)",
        (programme, stamp(now), crate::VERSION),
    )?;
    Ok(())
}

/// An event of version 1, as far as the move needs it.
struct Old {
    id: i64,
    uid: String,
    at: String,
    noted_at: String,
    contact: String,
    outcome: String,
    note: String,
    by: String,
}

/// Makes call records of the notes that the phone desk wrote into the events of version 1.
///
/// The form stood at "reached" unless somebody chose otherwise, so a "reached" of the desk with a text, or about an assembly and not a
/// line of the plan, tells of a call that came in; it no longer counts as a contact. Where that is wrong a person is called once more,
/// which harms less than not at all. Other outcomes were chosen by hand and stand.
///
/// A call-back was settled by any later note. Now one that a later note says was spoken to, done or declined is carried over as kept;
/// one that an attempt without success had hidden is open again; one that was due longer ago than the pages used to look back has lapsed.
fn calls_out_of_events(transaction: &Transaction<'_>, now: DateTime<Utc>) -> rusqlite::Result<()> {
    let mut statement = transaction.prepare(
        "SELECT id, uid, at, noted_at, contact, outcome, note, by FROM events WHERE source = 'desk' ORDER BY id",
    )?;
    let old: Vec<Old> = statement
        .query_map([], |row| {
            Ok(Old {
                id: row.get(0)?,
                uid: row.get(1)?,
                at: row.get(2)?,
                noted_at: row.get(3)?,
                contact: row.get(4)?,
                outcome: row.get(5)?,
                note: row.get(6)?,
                by: row.get(7)?,
            })
        })?
        // A row that cannot be read stays in the events, where listing tells it.
        .filter_map(Result::ok)
        .collect();
    let horizon = stamp(now - TimeDelta::days(LOOK_BACK_DAYS));
    for event in old {
        let (due, text) = call_back_of(&event.note);
        let came_in =
            event.outcome == "reached" && (!event.note.is_empty() || !event.contact.starts_with(CONTACT_PREFIX));
        if due.is_none() && !came_in {
            continue;
        }
        transaction.execute(
            "INSERT OR IGNORE INTO calls (uid, at, noted_at, about, subject, caller, words, answer, told, owner, due, by, source, from_event) \
             VALUES (?1, ?2, ?3, 'assembly', ?4, '', '', ?5, 0, ?6, ?7, ?6, 'migrated', ?8)",
            params![event.uid, event.at, event.noted_at, event.contact, text, event.by, due, event.id],
        )?;
        let call = transaction.last_insert_rowid();
        let Some(due) = due else { continue };
        let later: Option<(i64, String, String)> = transaction
            .prepare_cached(
                "SELECT id, at, by FROM events WHERE contact = ?1 AND id > ?2 AND outcome IN ('reached','done','declined') ORDER BY id LIMIT 1",
            )?
            .query_map(params![event.contact, event.id], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?)))?
            .next()
            .transpose()?;
        let (step, at, note, by) = match later {
            Some((id, at, by)) => ("kept", at, format!("carried over: event {id}"), by),
            None if due < horizon => (
                "lapsed",
                stamp(now),
                String::from("carried over: due long ago"),
                event.by,
            ),
            None => continue,
        };
        transaction.execute(
            "INSERT OR IGNORE INTO call_steps (uid, call, at, step, note, by) VALUES (?1, ?2, ?3, ?4, ?5, ?6)",
            params![format!("{}-{step}", event.uid), call, at, step, note, by],
        )?;
    }
    Ok(())
}

/// The promised time of a note of version 1, and its text without the mark.
fn call_back_of(note: &str) -> (Option<String>, &str) {
    let marked = note.strip_prefix(CALL_BACK).and_then(|rest| rest.split_once(']'));
    match marked.and_then(|(time, text)| Some((DateTime::parse_from_rfc3339(time).ok()?, text))) {
        Some((due, text)) => (Some(stamp(due.with_timezone(&Utc))), text.trim()),
        None => (None, note),
    }
}
