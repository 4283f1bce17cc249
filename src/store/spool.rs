//! What a desk keeps by itself while its log lies on a server: an embedded log with what the server told of late, and what was noted here
//! and is not there yet.
//!
//! Every note is kept here first and delivered at once; a page never waits for the network, and a desk that is cut off goes on. What is
//! not delivered is marked in the same transaction that keeps it, and the mark goes when the server has it. A desk that is killed in between
//! delivers again when it starts, and the server knows the note by its `uid`: nothing is lost, nothing counts twice.

use super::open::Log;
use super::rows::{Counts, Mark, Marks, Rows};
use super::server::trouble::is_away;
use super::server::{News, Server};
use super::{SetAside, carry, forget};
use crate::faults::{Fault, Severity};
use crate::store::server::address::Address;
use chrono::{TimeDelta, Utc};
use rusqlite::{OptionalExtension, TransactionBehavior, params};
use std::path::{Path, PathBuf};

/// Rows that travel at once.
const CHUNK: usize = 2_000;
/// How far back a desk takes events over, days (judgement: a season's spells; older ones are asked of the server itself).
const HORIZON_DAYS: i64 = 200;

const TABLES: &str = "
CREATE TABLE IF NOT EXISTS spool (key TEXT PRIMARY KEY, value TEXT NOT NULL) WITHOUT ROWID;
CREATE TABLE IF NOT EXISTS undelivered (kind INTEGER NOT NULL, id INTEGER NOT NULL, refused TEXT, PRIMARY KEY (kind, id)) WITHOUT ROWID;
CREATE TRIGGER IF NOT EXISTS spool_events AFTER INSERT ON events BEGIN INSERT INTO undelivered (kind, id) VALUES (0, NEW.id); END;
CREATE TRIGGER IF NOT EXISTS spool_calls AFTER INSERT ON calls BEGIN INSERT INTO undelivered (kind, id) VALUES (1, NEW.id); END;
CREATE TRIGGER IF NOT EXISTS spool_steps AFTER INSERT ON call_steps BEGIN INSERT INTO undelivered (kind, id) VALUES (2, NEW.id); END;
";

/// The embedded log of a desk whose log is on a server.
pub struct Spool {
    log: Log,
}

/// Rows that the server does not have, with their places in the spool.
#[derive(Debug, Clone, Default)]
struct Waiting {
    rows: Rows,
    ids: Vec<(i64, i64)>,
}

impl Spool {
    /// Opens the spool of a server's log, or begins it.
    ///
    /// # Errors
    /// As [`Log::open_whole`]; `BW-L45` when the file is the spool of another server's log, or a log that is no spool.
    pub fn open(path: &Path, place: &str, programme: Option<&str>) -> Result<(Spool, Option<SetAside>), Fault> {
        let begun = path.exists();
        let (log, aside) = Log::open_whole(path, programme)?;
        let known = log.spool_value("server").unwrap_or(None);
        let refused = |what: &str, value: &str| {
            Fault::new("BW-L45", Severity::Fatal, what)
                .file(path.display().to_string())
                .value(value)
                .expected(format!("the spool of {place}, or a name that does not exist yet"))
                .remedy("Name another file with --spool. A log that is to go to the server is brought there with `brimwater log --copy-to`.")
        };
        match known {
            Some(known) if known != place => {
                return Err(refused("this file is the spool of another server's log", &known));
            }
            // A mended file has lost its marks: all of it is delivered again, and what is known there is known.
            None if begun && aside.is_none() && log.count()? > 0 => {
                return Err(refused("this file is a log of its own and no spool", ""));
            }
            _ => {}
        }
        let made = || -> rusqlite::Result<()> {
            let transaction = log.db.unchecked_transaction()?;
            transaction.execute_batch(TABLES)?;
            if known.is_none() {
                transaction.execute_batch(
                    "INSERT OR IGNORE INTO undelivered (kind, id) SELECT 0, id FROM events UNION ALL SELECT 1, id FROM calls \
                     UNION ALL SELECT 2, id FROM call_steps",
                )?;
            }
            transaction.execute(
                "INSERT OR IGNORE INTO spool (key, value) VALUES ('server', ?1)",
                [place],
            )?;
            transaction.commit()
        };
        made().map_err(|error| log.fault(&error))?;
        Ok((Spool { log }, aside))
    }

    /// How many notes the server does not have, and why it refused one of them, if it did.
    ///
    /// # Errors
    /// A fault when the spool cannot be read.
    pub fn undelivered(&self) -> Result<(usize, Option<String>), Fault> {
        let read = || -> rusqlite::Result<(i64, Option<String>)> {
            self.log
                .db
                .query_row("SELECT count(*), max(refused) FROM undelivered", [], |row| {
                    Ok((row.get(0)?, row.get(1)?))
                })
        };
        let (count, refused) = read().map_err(|error| self.log.fault(&error))?;
        Ok((usize::try_from(count).unwrap_or(0), refused))
    }

    fn waiting(&self, most: usize) -> Result<Waiting, Fault> {
        let read = || -> rusqlite::Result<Vec<(i64, i64)>> {
            self.log
                .db
                .prepare_cached("SELECT kind, id FROM undelivered WHERE refused IS NULL ORDER BY kind, id LIMIT ?1")?
                .query_map([i64::try_from(most).unwrap_or(i64::MAX)], |row| {
                    Ok((row.get(0)?, row.get(1)?))
                })?
                .collect()
        };
        let ids = read().map_err(|error| self.log.fault(&error))?;
        let mut waiting = Waiting {
            rows: Rows::default(),
            ids,
        };
        for (kind, id) in &waiting.ids {
            let one = self.log.row(*kind, *id)?;
            waiting.rows.events.extend(one.events);
            waiting.rows.calls.extend(one.calls);
            waiting.rows.steps.extend(one.steps);
        }
        Ok(waiting)
    }

    fn delivered(&self, ids: &[(i64, i64)]) -> Result<(), Fault> {
        let write = || -> rusqlite::Result<()> {
            let transaction = self.log.db.unchecked_transaction()?;
            for (kind, id) in ids {
                transaction.execute("DELETE FROM undelivered WHERE kind = ?1 AND id = ?2", params![kind, id])?;
            }
            transaction.commit()
        };
        write().map_err(|error| self.log.fault(&error))
    }

    fn refused(&self, (kind, id): (i64, i64), why: &str) -> Result<(), Fault> {
        self.log
            .db
            .execute(
                "UPDATE undelivered SET refused = ?3 WHERE kind = ?1 AND id = ?2",
                params![kind, id, why],
            )
            .map(|_| ())
            .map_err(|error| self.log.fault(&error))
    }

    /// Delivers what waits. Returns how many rows were new to the server.
    ///
    /// # Errors
    /// When the server is away. A row that the server refuses for good is marked with the reason, kept and told.
    pub fn deliver(&self, server: &mut Server) -> Result<usize, Fault> {
        // What was refused is tried again once in each session: the reason may be gone.
        let mut new = 0;
        loop {
            let waiting = self.waiting(CHUNK)?;
            if waiting.ids.is_empty() {
                return Ok(new);
            }
            match server.take(&waiting.rows) {
                Ok(taken) => {
                    new += taken.events + taken.calls + taken.steps;
                    self.delivered(&waiting.ids)?;
                }
                Err(fault) if is_away(&fault) => return Err(fault),
                Err(_) => new += self.deliver_each(server, &waiting.ids)?,
            }
        }
    }

    fn deliver_each(&self, server: &mut Server, ids: &[(i64, i64)]) -> Result<usize, Fault> {
        let mut new = 0;
        for id in ids {
            match server.take(&self.log.row(id.0, id.1)?) {
                Ok(taken) => {
                    new += taken.events + taken.calls + taken.steps;
                    self.delivered(&[*id])?;
                }
                Err(fault) if is_away(&fault) || fault.code == "BW-L38" => return Err(fault),
                Err(fault) => self.refused(*id, &fault.to_string())?,
            }
        }
        Ok(new)
    }

    /// Tries again what the server had refused.
    ///
    /// # Errors
    /// A fault when the spool cannot be written.
    pub fn try_refused_again(&self) -> Result<(), Fault> {
        self.log
            .db
            .execute("UPDATE undelivered SET refused = NULL WHERE refused IS NOT NULL", [])
            .map(|_| ())
            .map_err(|error| self.log.fault(&error))
    }

    /// Takes over what is new on the server. Returns how many rows were new here.
    ///
    /// # Errors
    /// When the server is away, or the spool cannot be written.
    pub fn fetch(&mut self, server: &Server) -> Result<usize, Fault> {
        let mut new = 0;
        loop {
            let marks = self.marks()?;
            let horizon = Utc::now() - TimeDelta::days(HORIZON_DAYS);
            let news = server.news(&marks, Some(horizon), CHUNK)?;
            let more = news.more && news.marks != marks;
            let taken = self.take_news(&news, &marks)?;
            new += taken.events + taken.calls + taken.steps;
            if !more {
                return Ok(new);
            }
        }
    }

    fn take_news(&mut self, news: &News, before: &Marks) -> Result<Counts, Fault> {
        let forgotten = self
            .log
            .spool_value("forgotten_before")
            .map_err(|error| self.log.fault(&error))?;
        let forget = news
            .forgotten_before
            .as_ref()
            .filter(|now| forgotten.as_ref().is_none_or(|known| known < *now));
        if news.rows.is_empty() && news.marks == *before && forget.is_none() {
            return Ok(Counts::default());
        }
        let run = |log: &mut Log| -> rusqlite::Result<Counts> {
            log.db.pragma_update(None, "secure_delete", "ON")?;
            let transaction = log.db.transaction_with_behavior(TransactionBehavior::Immediate)?;
            // What comes from there is there: the triggers' marks of these rows go, those of our own stay.
            transaction.execute_batch("CREATE TEMP TABLE IF NOT EXISTS own (kind, id); DELETE FROM own; INSERT INTO own SELECT kind, id FROM undelivered")?;
            let counts = carry::take(&transaction, &news.rows)?;
            transaction.execute(
                "DELETE FROM undelivered WHERE NOT EXISTS (SELECT 1 FROM own WHERE own.kind = undelivered.kind AND own.id = undelivered.id)",
                [],
            )?;
            if let Some(before) = forget {
                forget::blank(&transaction, before)?;
                put(&transaction, "forgotten_before", before)?;
            }
            for (key, mark) in [
                ("events", news.marks.events),
                ("calls", news.marks.calls),
                ("steps", news.marks.steps),
            ] {
                put(&transaction, key, &format!("{} {}", mark.tx, mark.id))?;
            }
            transaction.commit()?;
            Ok(counts)
        };
        let counts = run(&mut self.log).map_err(|error| self.log.fault(&error))?;
        if forget.is_some() {
            // What was blanked stands in the journal beside the file until that is emptied. While a page reads it cannot be: then the next
            // round of the journal does it.
            let _ = self
                .log
                .db
                .query_row("PRAGMA wal_checkpoint(TRUNCATE)", [], |row| row.get::<_, i64>(0));
        }
        Ok(counts)
    }

    fn marks(&self) -> Result<Marks, Fault> {
        let mark = |key: &str| -> rusqlite::Result<Mark> {
            let text = self.log.spool_value(key)?.unwrap_or_default();
            let (tx, id) = text.split_once(' ').unwrap_or(("0", "0"));
            Ok(Mark {
                tx: tx.parse().unwrap_or(0),
                id: id.parse().unwrap_or(0),
            })
        };
        let read = || -> rusqlite::Result<Marks> {
            Ok(Marks {
                events: mark("events")?,
                calls: mark("calls")?,
                steps: mark("steps")?,
            })
        };
        read().map_err(|error| self.log.fault(&error))
    }
}

fn put(transaction: &rusqlite::Transaction<'_>, key: &str, value: &str) -> rusqlite::Result<()> {
    transaction
        .execute(
            "INSERT OR REPLACE INTO spool (key, value) VALUES (?1, ?2)",
            [key, value],
        )
        .map(|_| ())
}

impl Log {
    fn spool_value(&self, key: &str) -> rusqlite::Result<Option<String>> {
        let there: bool = self.db.query_row(
            "SELECT EXISTS (SELECT 1 FROM sqlite_master WHERE name = 'spool' AND type = 'table')",
            [],
            |row| row.get(0),
        )?;
        if !there {
            return Ok(None);
        }
        self.db
            .query_row("SELECT value FROM spool WHERE key = ?1", [key], |row| row.get(0))
            .optional()
    }
}

/// Where a desk keeps its spool when it was not told: beside the state of the person's other programs.
///
/// # Errors
/// `BW-L45` when the system names no such place.
pub fn usual_place(address: &Address) -> Result<PathBuf, Fault> {
    let set = |name: &str| {
        std::env::var_os(name)
            .filter(|text| !text.is_empty())
            .map(PathBuf::from)
    };
    let state = set("XDG_STATE_HOME").or_else(|| set("HOME").map(|home| home.join(".local/state")));
    let refused = |what: String| {
        Fault::new("BW-L45", Severity::Fatal, what)
            .expected("a file of this computer for what cannot be delivered at once")
            .remedy("Name one with --spool FILE, on a local disk.")
    };
    let folder = state
        .ok_or_else(|| refused("the desk has no place for its spool".to_owned()))?
        .join("brimwater");
    let mut builder = std::fs::DirBuilder::new();
    builder.recursive(true);
    #[cfg(unix)]
    std::os::unix::fs::DirBuilderExt::mode(&mut builder, 0o700);
    builder.create(&folder).map_err(|error| {
        refused(format!("the folder of the spool cannot be made: {error}")).file(folder.display().to_string())
    })?;
    let name: String = format!("{}-{}", address.place(), address.user)
        .chars()
        .map(|c| if c.is_ascii_alphanumeric() { c } else { '-' })
        .collect();
    Ok(folder.join(format!("{}.db", name.trim_matches('-'))))
}
