//! The events of the log: adding, listing, and where everybody stands.

use super::open::{Log, stamp};
use crate::faults::{Fault, Severity};
use crate::outreach::outcome::{History, Outcome};
use chrono::{DateTime, Utc};
use rusqlite::{Row, TransactionBehavior, params};
use serde::Serialize;
use sha2::{Digest, Sha256};

/// Longest identifier and name, characters.
const MOST_SHORT: usize = 200;
/// Longest note, characters.
pub(super) const MOST_NOTE: usize = 4_000;

/// An event to add.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NewEvent {
    /// Whom it is about: a contact's identifier, or an assembly's.
    pub contact: String,
    /// What came of it.
    pub outcome: Outcome,
    /// When it happened.
    pub at: DateTime<Utc>,
    /// A note, or empty.
    pub note: String,
    /// Who notes it.
    pub by: String,
    /// Where it came from: `command`, `import`, `desk`.
    pub source: &'static str,
    /// What makes a second arrival of the same event known; random when `None`.
    pub uid: Option<String>,
}

/// An event of the log.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Event {
    /// Number in the log, from 1, rising.
    pub id: i64,
    /// When it happened.
    pub at: DateTime<Utc>,
    /// When it was noted.
    pub noted_at: DateTime<Utc>,
    /// Whom it is about.
    pub contact: String,
    /// What came of it.
    pub outcome: Outcome,
    /// The note, or empty.
    pub note: String,
    /// Who noted it.
    pub by: String,
    /// Where it came from.
    pub source: String,
    /// Whether it counts as a contact; a note of a call that came in does not, though an earlier version kept it as one.
    pub counts: bool,
}

/// Which events to list.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Filter {
    /// Only of this contact.
    pub contact: Option<String>,
    /// Only those that happened at or after this time.
    pub since: Option<DateTime<Utc>>,
    /// At most the last so many.
    pub last: Option<u32>,
}

/// What adding came to.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Added {
    /// Events added.
    pub added: usize,
    /// Events that the log held already.
    pub known: usize,
    /// Number of the last event added; 0 when none was.
    pub last_id: i64,
}

impl Event {
    pub(super) fn from_row(row: &Row<'_>) -> rusqlite::Result<Event> {
        let time = |column: &str| -> rusqlite::Result<DateTime<Utc>> { time_of(&row.get::<_, String>(column)?) };
        let word: String = row.get("outcome")?;
        Ok(Event {
            id: row.get("id")?,
            at: time("at")?,
            noted_at: time("noted_at")?,
            contact: row.get("contact")?,
            outcome: Outcome::parse(&word).ok_or_else(|| unreadable(format!("outcome {word}")))?,
            note: row.get("note")?,
            by: row.get("by")?,
            source: row.get("source")?,
            counts: row.get("counts")?,
        })
    }
}

/// A time as the log keeps it.
pub(super) fn time_of(text: &str) -> rusqlite::Result<DateTime<Utc>> {
    DateTime::parse_from_rfc3339(text)
        .map(|at| at.with_timezone(&Utc))
        .map_err(|error| unreadable(error.to_string()))
}

/// Whether a short text is there and can be shown on one line.
pub(super) fn fits(text: &str) -> bool {
    let length = text.trim().chars().count();
    (1..=MOST_SHORT).contains(&length) && !text.chars().any(char::is_control)
}

/// The refusal of something that cannot be kept.
pub(super) fn refused(
    code: &'static str,
    column: &str,
    value: &str,
    what: &str,
    expected: String,
) -> Result<(), Fault> {
    Err(Fault::new(code, Severity::Rejected, what)
        .column(column)
        .value(value)
        .expected(expected)
        .remedy("Correct it and enter it again."))
}

pub(super) fn unreadable(why: String) -> rusqlite::Error {
    rusqlite::Error::FromSqlConversionFailure(0, rusqlite::types::Type::Text, why.into())
}

impl NewEvent {
    /// An event that happens now and is noted by hand.
    pub fn now(contact: &str, outcome: Outcome, note: &str, by: &str, source: &'static str) -> Self {
        Self {
            contact: contact.to_owned(),
            outcome,
            at: Utc::now(),
            note: note.to_owned(),
            by: by.to_owned(),
            source,
            uid: None,
        }
    }

    /// An identifier made of what the event says, for rows that may arrive twice.
    pub fn uid_of(parts: &[&str]) -> String {
        let mut hash = Sha256::new();
        for part in parts {
            hash.update((part.len() as u64).to_le_bytes());
            hash.update(part.as_bytes());
        }
        hash.finalize()
            .iter()
            .take(16)
            .map(|byte| format!("{byte:02x}"))
            .collect()
    }

    /// Whether the event can be kept.
    ///
    /// # Errors
    /// `BW-L10` for a contact, `BW-L11` for a name, `BW-L12` for a note that cannot be kept.
    pub fn check(&self) -> Result<(), Fault> {
        if !fits(&self.contact) {
            let expected = format!("the identifier from the call sheet, 1 to {MOST_SHORT} characters");
            return refused(
                "BW-L10",
                "contact_id",
                &self.contact,
                "the contact cannot be read",
                expected,
            );
        }
        if !fits(&self.by) {
            let expected = format!("the name of whoever made the call, 1 to {MOST_SHORT} characters");
            return refused("BW-L11", "by", &self.by, "nobody is named", expected);
        }
        if self.note.chars().count() > MOST_NOTE {
            let expected = format!("at most {MOST_NOTE} characters");
            return refused("BW-L12", "note", &self.note, "the note is too long", expected);
        }
        Ok(())
    }
}

impl Log {
    /// Adds one event and returns its number. It is on the disk when this returns.
    ///
    /// # Errors
    /// As [`NewEvent::check`], or when the log cannot be written.
    pub fn add(&mut self, event: &NewEvent) -> Result<i64, Fault> {
        Ok(self.add_all(std::slice::from_ref(event))?.last_id)
    }

    /// Adds events, all or none. Events with a `uid` that the log holds already are counted and left.
    ///
    /// # Errors
    /// As [`Log::add`], for the first that cannot be kept.
    pub fn add_all(&mut self, events: &[NewEvent]) -> Result<Added, Fault> {
        for event in events {
            event.check()?;
        }
        self.stands()?;
        let done = self.insert(events);
        done.map_err(|error| self.insert_fault(error))
    }

    pub(super) fn insert_fault(&self, error: InsertError) -> Fault {
        match error {
            InsertError::Sql(error) => self.fault(&error),
            InsertError::Random => Fault::new("BW-L07", Severity::Fatal, "the system gives no random numbers"),
        }
    }

    fn insert(&mut self, events: &[NewEvent]) -> Result<Added, InsertError> {
        let transaction = self.db.transaction_with_behavior(TransactionBehavior::Immediate)?;
        let mut done = Added::default();
        {
            let mut statement = transaction.prepare_cached(
                "INSERT OR IGNORE INTO events (uid, at, noted_at, contact, outcome, note, by, source) \
                 VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)",
            )?;
            let noted_at = stamp(Utc::now());
            for event in events {
                let uid = match &event.uid {
                    Some(uid) => uid.clone(),
                    None => random_uid()?,
                };
                let changed = statement.execute(params![
                    uid,
                    stamp(event.at),
                    noted_at,
                    event.contact.trim(),
                    event.outcome.word(),
                    event.note.trim(),
                    event.by.trim(),
                    event.source
                ])?;
                if changed > 0 {
                    done.added += 1;
                    done.last_id = transaction.last_insert_rowid();
                } else {
                    done.known += 1;
                }
            }
        }
        transaction.commit()?;
        Ok(done)
    }

    /// Lists events, oldest first.
    ///
    /// # Errors
    /// A fault when the log cannot be read.
    pub fn list(&self, filter: &Filter) -> Result<Vec<Event>, Fault> {
        let mut events = Vec::new();
        self.walk(filter, &mut |event| events.push(event))?;
        Ok(events)
    }

    /// Hands each event to `each`, oldest first. Rows that cannot be read are left and told by [`Log::bad_rows`].
    ///
    /// # Errors
    /// A fault when the log cannot be read.
    pub fn walk(&self, filter: &Filter, each: &mut dyn FnMut(Event)) -> Result<(), Fault> {
        let run = |each: &mut dyn FnMut(Event)| -> rusqlite::Result<()> {
            let counts = self.counts();
            let query = match &filter.contact {
                Some(_) => format!(
                    "SELECT *, {counts} AS counts FROM events WHERE contact = ?1 AND at >= ?2 ORDER BY id DESC LIMIT ?3"
                ),
                None if filter.last.is_some() => {
                    format!(
                        "SELECT *, {counts} AS counts FROM events WHERE ?1 IS NULL AND at >= ?2 ORDER BY id DESC LIMIT ?3"
                    )
                }
                None => format!(
                    "SELECT *, {counts} AS counts FROM events WHERE ?1 IS NULL AND at >= ?2 ORDER BY id LIMIT ?3"
                ),
            };
            let query = if query.contains("DESC") {
                format!("SELECT * FROM ({query}) ORDER BY id")
            } else {
                query
            };
            let mut statement = self.db.prepare_cached(&query)?;
            let since = filter.since.map(stamp).unwrap_or_default();
            let last = filter.last.map_or(-1, i64::from);
            let mut rows = statement.query(params![filter.contact, since, last])?;
            while let Some(row) = rows.next()? {
                match Event::from_row(row) {
                    Ok(event) => each(event),
                    Err(error) => self.skip("events", row, &error)?,
                }
            }
            Ok(())
        };
        run(each).map_err(|error| self.fault(&error))
    }

    /// Which events count, as SQL; everything does in tables of the first version.
    fn counts(&self) -> &'static str {
        if self.version < 2 { "1" } else { super::tables::COUNTS }
    }

    /// How many events the log holds.
    ///
    /// # Errors
    /// A fault when the log cannot be read.
    pub fn count(&self) -> Result<u64, Fault> {
        self.db
            .query_row("SELECT count(*) FROM events", [], |row| row.get::<_, i64>(0))
            .map(i64::unsigned_abs)
            .map_err(|error| self.fault(&error))
    }

    /// Where everybody stands, from the events that happened at or after `since`, in the order in which they happened; a sheet that is taken
    /// in late does not undo what came after its calls. Of two at the same time the one noted last counts.
    ///
    /// # Errors
    /// A fault when the log cannot be read.
    pub fn history(&self, since: Option<DateTime<Utc>>) -> Result<History, Fault> {
        let mut history = History::default();
        let run = |history: &mut History| -> rusqlite::Result<()> {
            let counts = self.counts();
            let mut statement = self.db.prepare_cached(&format!(
                "SELECT *, 1 AS counts FROM events WHERE at >= ?1 AND {counts} ORDER BY at, id"
            ))?;
            let mut rows = statement.query([since.map(stamp).unwrap_or_default()])?;
            while let Some(row) = rows.next()? {
                match Event::from_row(row) {
                    // Those who were forgotten are nobody's standing.
                    Ok(event) if event.contact == super::forget::FORGOTTEN => {}
                    Ok(event) => history.add(&event.contact, event.outcome, event.at),
                    Err(error) => self.skip("events", row, &error)?,
                }
            }
            Ok(())
        };
        run(&mut history).map_err(|error| self.fault(&error))?;
        Ok(history)
    }
}

pub(in crate::store) enum InsertError {
    Sql(rusqlite::Error),
    Random,
}

impl From<rusqlite::Error> for InsertError {
    fn from(error: rusqlite::Error) -> Self {
        InsertError::Sql(error)
    }
}

pub(super) fn random_uid() -> Result<String, InsertError> {
    let mut bytes = [0u8; 16];
    getrandom::fill(&mut bytes).map_err(|_| InsertError::Random)?;
    Ok(bytes.iter().map(|byte| format!("{byte:02x}")).collect())
}
