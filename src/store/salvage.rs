//! Carrying over what can still be read of a damaged log.
//!
//! Two ways, and what either finds counts: SQLite's own reading, in order, backwards and in strides around the holes; and the leaf pages
//! themselves, which need neither the file's header nor the tree above them.

use super::leaves::{self, Cell};
use rusqlite::types::Value;
use rusqlite::{Connection, OpenFlags, OptionalExtension, TransactionBehavior, params_from_iter};
use std::collections::BTreeMap;
use std::path::Path;

/// Rows looked for in one go; a hole costs at most this many.
const STRIDE: i64 = 64;
/// The tables with their columns in order; the first is the row's number, the second what makes it unique.
const TABLES: [(&str, &[&str]); 3] = [
    (
        "events",
        &[
            "id", "uid", "at", "noted_at", "contact", "outcome", "note", "by", "source",
        ],
    ),
    (
        "calls",
        &[
            "id",
            "uid",
            "at",
            "noted_at",
            "about",
            "subject",
            "caller",
            "words",
            "answer",
            "told",
            "owner",
            "due",
            "by",
            "source",
            "from_event",
        ],
    ),
    ("call_steps", &["id", "uid", "call", "at", "step", "note", "by"]),
];

/// Rows of the three tables by their numbers.
#[derive(Debug, Default)]
pub(super) struct Found {
    /// The programme's name, when it could be read.
    pub(super) programme: Option<String>,
    rows: [BTreeMap<i64, Vec<Value>>; 3],
}

/// All rows that can be read. Never fails: what cannot be read is left.
pub(super) fn read(path: &Path) -> Found {
    let mut found = Found::default();
    // The pages first: SQLite may tidy the file up once it is opened.
    let wal = {
        let mut with = path.as_os_str().to_owned();
        with.push("-wal");
        std::fs::read(with).unwrap_or_default()
    };
    let file = std::fs::read(path).unwrap_or_default();
    for row in leaves::rows(&file, &wal) {
        found.take_leaf(row);
    }
    // Read-write, because the write-ahead log beside it may hold rows that are not in the file yet.
    let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let Ok(db) = Connection::open_with_flags(path, flags) else {
        return found;
    };
    found.programme = db
        .query_row("SELECT value FROM meta WHERE key = 'programme'", [], |row| row.get(0))
        .optional()
        .ok()
        .flatten();
    for table in 0..TABLES.len() {
        found.take_table(&db, table);
    }
    found
}

impl Found {
    /// Takes a row of a leaf page by its shape.
    fn take_leaf(&mut self, row: leaves::Row) {
        let text = |at: usize| row.cells.get(at).and_then(Cell::text);
        let time = |at: usize| text(at).is_some_and(is_stamp);
        let uid = text(1).is_some_and(|uid| uid.len() >= 16);
        let numbered = row.cells.first() == Some(&Cell::Null);
        let table = match row.cells.len() {
            _ if !uid || !numbered => return,
            9 if time(2) && time(3) && crate::outreach::outcome::Outcome::parse(text(5).unwrap_or("")).is_some() => 0,
            15 if time(2) && time(3) && matches!(text(4), Some("assembly" | "address" | "neither")) => 1,
            7 if time(3)
                && matches!(text(4), Some("kept" | "tried" | "lapsed"))
                && row.cells.get(2).and_then(Cell::whole).is_some() =>
            {
                2
            }
            _ => return,
        };
        let mut values: Vec<Value> = row
            .cells
            .into_iter()
            .map(|cell| match cell {
                Cell::Null | Cell::Other => Value::Null,
                Cell::Whole(number) => Value::Integer(number),
                Cell::Text(text) => Value::Text(text),
            })
            .collect();
        if let Some(first) = values.first_mut() {
            *first = Value::Integer(row.id);
        }
        self.rows[table].insert(row.id, values);
    }

    fn take_table(&mut self, db: &Connection, table: usize) {
        let name = TABLES[table].0;
        // In order until the first hole, then backwards from the end, then in strides through what lies between.
        self.take(db, table, &format!("SELECT * FROM {name} ORDER BY id"));
        self.take(db, table, &format!("SELECT * FROM {name} ORDER BY id DESC"));
        let last = self.rows[table].keys().next_back().copied().unwrap_or(0);
        let mut from = 1;
        while from <= last && self.rows[table].len() as i64 != last {
            for id in from..(from + STRIDE).min(last + 1) {
                if !self.rows[table].contains_key(&id) {
                    self.take(db, table, &format!("SELECT * FROM {name} WHERE id = {id}"));
                }
            }
            from += STRIDE;
        }
    }

    fn take(&mut self, db: &Connection, table: usize, query: &str) {
        let Ok(mut statement) = db.prepare(query) else { return };
        let Ok(mut rows) = statement.query([]) else { return };
        // The first page that cannot be read ends the walk.
        while let Ok(Some(row)) = rows.next() {
            let values: Result<Vec<Value>, _> = TABLES[table].1.iter().map(|column| row.get(*column)).collect();
            if let Ok(values) = values
                && let Some(Value::Integer(id)) = values.first()
            {
                self.rows[table].insert(*id, values);
            }
        }
    }

    /// Writes the rows into a new log under their old numbers, and returns how many it took. A row that the tables refuse is left.
    pub(super) fn write(&self, db: &mut Connection) -> rusqlite::Result<usize> {
        let transaction = db.transaction_with_behavior(TransactionBehavior::Immediate)?;
        let mut taken = 0;
        for ((name, columns), rows) in TABLES.iter().zip(&self.rows) {
            let marks = vec!["?"; columns.len()].join(", ");
            let query = format!("INSERT OR IGNORE INTO {name} ({}) VALUES ({marks})", columns.join(", "));
            let mut statement = transaction.prepare(&query)?;
            for values in rows.values() {
                match statement.execute(params_from_iter(values)) {
                    Ok(changed) => taken += changed,
                    // Bent by the damage: no such word, no such call, not unique.
                    Err(error) if error.sqlite_error_code() == Some(rusqlite::ErrorCode::ConstraintViolation) => {}
                    Err(error) => return Err(error),
                }
            }
        }
        transaction.commit()?;
        Ok(taken)
    }
}

fn is_stamp(text: &str) -> bool {
    chrono::DateTime::parse_from_rfc3339(text).is_ok()
}
