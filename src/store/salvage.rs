//! Carrying over what can still be read of a damaged log.

use super::events::Event;
use super::open::Log;
use crate::faults::Fault;
use rusqlite::{Connection, OpenFlags, OptionalExtension};
use std::collections::BTreeMap;
use std::path::Path;

/// Events looked for in one go; a hole costs at most this many.
const STRIDE: i64 = 64;

/// The programme's name and all events that can be read, with their unique identifiers. Never fails: what cannot be read is left.
pub(super) fn read(path: &Path) -> (Option<String>, Vec<(String, Event)>) {
    // Read-write, because the write-ahead log beside it may hold events that are not in the file yet.
    let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let Ok(db) = Connection::open_with_flags(path, flags) else {
        return (None, Vec::new());
    };
    let programme = db
        .query_row("SELECT value FROM meta WHERE key = 'programme'", [], |row| row.get(0))
        .optional()
        .ok()
        .flatten();
    let mut found: BTreeMap<i64, (String, Event)> = BTreeMap::new();
    // In order until the first hole, then backwards from the end, then in strides through what lies between.
    take(&db, "SELECT * FROM events ORDER BY id", &mut found);
    take(&db, "SELECT * FROM events ORDER BY id DESC", &mut found);
    let (first_hole, last) = (
        found
            .keys()
            .zip(1..)
            .find(|(id, at)| **id != *at)
            .map_or(1, |(_, at)| at),
        found.keys().next_back().copied().unwrap_or(0),
    );
    let mut from = first_hole;
    while from <= last && found.len() as i64 <= last {
        let missing = (from..from + STRIDE).any(|id| id <= last && !found.contains_key(&id));
        if missing {
            for id in from..(from + STRIDE).min(last + 1) {
                if !found.contains_key(&id) {
                    take(&db, &format!("SELECT * FROM events WHERE id = {id}"), &mut found);
                }
            }
        }
        from += STRIDE;
    }
    (programme, found.into_values().collect())
}

fn take(db: &Connection, query: &str, found: &mut BTreeMap<i64, (String, Event)>) {
    let Ok(mut statement) = db.prepare(query) else { return };
    let Ok(mut rows) = statement.query([]) else { return };
    // The first page that cannot be read ends the walk.
    while let Ok(Some(row)) = rows.next() {
        let read = (row.get::<_, String>("uid"), Event::from_row(row));
        if let (Ok(uid), Ok(event)) = read {
            found.insert(event.id, (uid, event));
        }
    }
}

/// Writes events into a new log under their old identifiers, and returns how many it took.
pub(super) fn write(log: &mut Log, events: &[(String, Event)]) -> Result<usize, Fault> {
    log.take_over(events)
}
