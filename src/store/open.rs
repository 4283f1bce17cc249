//! Opening the log: ours, another's, damaged, locked.

use super::salvage;
use crate::faults::{Fault, Severity};
use chrono::{DateTime, Utc};
use rusqlite::{Connection, ErrorCode, OpenFlags, OptionalExtension, TransactionBehavior};
use std::fs;
use std::io::Read;
use std::path::{Path, PathBuf};
use std::time::Duration;

/// Marks the file as ours in its SQLite header: the letters `BWLG`.
pub const APPLICATION_ID: i32 = 0x4257_4C47;
/// Version of the tables.
pub const TABLES_VERSION: i32 = 1;
/// How long a writer waits for its turn.
const WAIT: Duration = Duration::from_secs(20);

const TABLES: &str = "
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

/// An open log.
#[derive(Debug)]
pub struct Log {
    pub(super) db: Connection,
    pub(super) path: PathBuf,
}

/// A damaged log that was moved out of the way.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SetAside {
    /// Where the damaged file is now.
    pub moved_to: PathBuf,
    /// Events that could still be read from it and were carried over.
    pub carried_over: usize,
}

impl SetAside {
    /// The fault that tells it.
    pub fn fault(&self, path: &Path) -> Fault {
        Fault::new(
            "BW-L02",
            Severity::Warning,
            format!(
                "the log was damaged: it was set aside as {} and a new one begun, into which {} events that could still be read were carried over",
                self.moved_to.display(),
                self.carried_over
            ),
        )
        .file(path.display().to_string())
        .remedy("Go on working. Compare the list with the call sheets and enter what is missing; keep the damaged file.")
    }
}

impl Log {
    /// Opens the log, or begins one where there is none.
    ///
    /// `programme` names the utility's contact programme; a log begun under another name is refused. With `None` any is taken.
    ///
    /// A damaged file is moved aside, what can be read of it is carried over, and that is told beside the log.
    ///
    /// # Errors
    /// `BW-L01` when the place cannot be used, `BW-L03` when the log is another programme's or another version's, `BW-L04` when the file
    /// is no log at all, `BW-L05` when others hold it for too long.
    pub fn open(path: &Path, programme: Option<&str>) -> Result<(Log, Option<SetAside>), Fault> {
        if fs::metadata(path).is_ok_and(|meta| meta.is_dir()) {
            return Err(unusable(path, "it is a folder"));
        }
        match Self::try_open(path, programme) {
            Ok(log) => Ok((log, None)),
            Err(Trouble::Told(fault)) => Err(*fault),
            Err(Trouble::Damaged) if is_text(path)? => Err(not_a_log(path)),
            Err(Trouble::Damaged) => Self::after_damage(path, programme),
        }
    }

    /// Moves a damaged log aside, carries over what can be read, and opens the new one.
    ///
    /// # Errors
    /// As [`Log::open`].
    pub fn after_damage(path: &Path, programme: Option<&str>) -> Result<(Log, Option<SetAside>), Fault> {
        let moved_to = set_aside(path)?;
        let (kept_programme, events) = salvage::read(&moved_to);
        let name = kept_programme.as_deref().or(programme);
        let mut log = match Self::try_open(path, name) {
            Ok(log) => log,
            Err(Trouble::Told(fault)) => return Err(*fault),
            Err(Trouble::Damaged) => return Err(unusable(path, "it is damaged again at once")),
        };
        let carried_over = salvage::write(&mut log, &events)?;
        // The name that the damaged log carried still decides whose it is.
        log.check_programme(programme).map_err(|fault| *fault)?;
        Ok((log, Some(SetAside { moved_to, carried_over })))
    }

    fn try_open(path: &Path, programme: Option<&str>) -> Result<Log, Trouble> {
        let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_CREATE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
        let db = Connection::open_with_flags(path, flags).map_err(|error| Trouble::of(path, &error))?;
        db.busy_timeout(WAIT).map_err(|error| Trouble::of(path, &error))?;
        let mut log = Log {
            db,
            path: path.to_path_buf(),
        };
        log.whose()?;
        log.begin(programme).map_err(|error| Trouble::of(path, &error))?;
        log.check_programme(programme).map_err(Trouble::Told)?;
        Ok(log)
    }

    /// Sets how long a turn is waited for, where the usual 20 s are too long for the person who waits.
    ///
    /// # Errors
    /// `BW-L01` when the database refuses.
    pub fn wait_at_most(&self, wait: Duration) -> Result<(), Fault> {
        self.db
            .busy_timeout(wait)
            .map_err(|error| unusable(&self.path, &error.to_string()))
    }

    /// Whether the file is ours or new.
    fn whose(&self) -> Result<(), Trouble> {
        let number = |pragma: &str| self.db.query_row(pragma, [], |row| row.get::<_, i32>(0));
        let trouble = |error: rusqlite::Error| Trouble::of(&self.path, &error);
        let id = number("PRAGMA application_id").map_err(trouble)?;
        let version = number("PRAGMA user_version").map_err(trouble)?;
        let tables = number("SELECT count(*) FROM sqlite_master").map_err(trouble)?;
        if id != APPLICATION_ID && (id != 0 || tables > 0) {
            return Err(Trouble::Told(Box::new(
                Fault::new("BW-L03", Severity::Fatal, "this database belongs to another program")
                    .file(self.path.display().to_string())
                    .expected("a log that this program began")
                    .remedy("Name another file; this one was not touched."),
            )));
        }
        if version > TABLES_VERSION {
            return Err(Trouble::Told(Box::new(
                Fault::new(
                    "BW-L03",
                    Severity::Fatal,
                    "this log was written by a later version of the program",
                )
                .file(self.path.display().to_string())
                .value(&version.to_string())
                .expected(format!("tables of version {TABLES_VERSION} or earlier"))
                .remedy("Use the later version; this file was not touched."),
            )));
        }
        Ok(())
    }

    /// Makes the tables if they are missing. Several programs may do so at once.
    fn begin(&mut self, programme: Option<&str>) -> rusqlite::Result<()> {
        // Changing the journal's mode does not wait its turn by itself.
        let mut tries = 0;
        loop {
            let mode: rusqlite::Result<String> = self.db.query_row("PRAGMA journal_mode = WAL", [], |row| row.get(0));
            match mode {
                Err(error) if error.sqlite_error_code() == Some(ErrorCode::DatabaseBusy) && tries < 200 => {
                    tries += 1;
                    std::thread::sleep(Duration::from_millis(50));
                }
                Err(error) => return Err(error),
                Ok(_) => break,
            }
        }
        self.db.pragma_update(None, "synchronous", "FULL")?;
        self.db.pragma_update(None, "foreign_keys", "ON")?;
        let begun: i32 = self.db.query_row("PRAGMA user_version", [], |row| row.get(0))?;
        if begun == TABLES_VERSION {
            return Ok(());
        }
        let transaction = self.db.transaction_with_behavior(TransactionBehavior::Immediate)?;
        transaction.execute_batch(TABLES)?;
        transaction.execute_batch(&format!(
            "PRAGMA application_id = {APPLICATION_ID}; PRAGMA user_version = {TABLES_VERSION};"
        ))?;
        transaction.execute(
            "INSERT OR IGNORE INTO meta (key, value) VALUES ('programme', ?1), ('begun', ?2), ('version', ?3)",
            (programme.unwrap_or("default"), stamp(Utc::now()), crate::VERSION),
        )?;
        transaction.commit()
    }

    /// The name of the contact programme that the log was begun under.
    ///
    /// # Errors
    /// A fault when the log cannot be read.
    pub fn programme(&self) -> Result<String, Fault> {
        self.db
            .query_row("SELECT value FROM meta WHERE key = 'programme'", [], |row| row.get(0))
            .optional()
            .map(Option::unwrap_or_default)
            .map_err(|error| self.fault(&error))
    }

    fn check_programme(&self, expected: Option<&str>) -> Result<(), Box<Fault>> {
        let Some(expected) = expected else { return Ok(()) };
        let found = self.programme()?;
        if found == expected {
            return Ok(());
        }
        Err(Box::new(
            Fault::new(
                "BW-L03",
                Severity::Fatal,
                "this is the log of another contact programme",
            )
            .file(self.path.display().to_string())
            .value(&found)
            .expected(format!(
                "the log of `{expected}`, as `outreach.programme_id` in the config says"
            ))
            .remedy("Name this programme's own log, or correct `outreach.programme_id`."),
        ))
    }

    /// Where the log is.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Reads every page and says whether the file is whole. Slow on a long log.
    ///
    /// # Errors
    /// A fault when the check cannot be run.
    pub fn is_whole(&self) -> Result<bool, Fault> {
        self.db
            .query_row("PRAGMA integrity_check(1)", [], |row| row.get::<_, String>(0))
            .map(|answer| answer == "ok")
            .map_err(|error| self.fault(&error))
    }

    /// The fault of a failed statement.
    pub(super) fn fault(&self, error: &rusqlite::Error) -> Fault {
        match Trouble::of(&self.path, error) {
            Trouble::Told(fault) => *fault,
            Trouble::Damaged => Fault::new("BW-L02", Severity::Fatal, "the log is damaged")
                .file(self.path.display().to_string())
                .remedy(
                    "Run the command again: the damaged file is then set aside and what can be read is carried over.",
                ),
        }
    }
}

/// Whether a fault says that the log is damaged.
pub fn is_damage(fault: &Fault) -> bool {
    fault.code == "BW-L02" && fault.severity == Severity::Fatal
}

/// Time as the log keeps it: UTC to the second, so that text order is time order.
pub fn stamp(at: DateTime<Utc>) -> String {
    at.format("%Y-%m-%dT%H:%M:%SZ").to_string()
}

enum Trouble {
    Damaged,
    Told(Box<Fault>),
}

impl Trouble {
    fn of(path: &Path, error: &rusqlite::Error) -> Trouble {
        match error.sqlite_error_code() {
            Some(ErrorCode::NotADatabase | ErrorCode::DatabaseCorrupt) => Trouble::Damaged,
            Some(ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked) => Trouble::Told(Box::new(
                Fault::new("BW-L05", Severity::Fatal, "others have held the log for too long")
                    .file(path.display().to_string())
                    .expected(format!("a turn within {} s", WAIT.as_secs()))
                    .remedy("Close programs that keep the file open (a database viewer, a backup), then try again. Nothing was written."),
            )),
            Some(ErrorCode::DiskFull) => Trouble::Told(Box::new(unusable(path, "the disk is full"))),
            Some(ErrorCode::ReadOnly | ErrorCode::PermissionDenied) => {
                Trouble::Told(Box::new(unusable(path, "it may not be written")))
            }
            _ => Trouble::Told(Box::new(unusable(path, &error.to_string()))),
        }
    }
}

fn unusable(path: &Path, why: &str) -> Fault {
    Fault::new("BW-L01", Severity::Fatal, format!("the log cannot be used: {why}"))
        .file(path.display().to_string())
        .remedy("Name a file in a folder that you may write to, on a local disk with room.")
}

fn not_a_log(path: &Path) -> Fault {
    Fault::new("BW-L04", Severity::Fatal, "this file is text, not a log")
        .file(path.display().to_string())
        .expected("a log that this program began, or a name that does not exist yet")
        .remedy(
            "A filled call sheet is taken in with --import; the log itself goes after --db. The file was not touched.",
        )
}

/// Whether a file that SQLite refused is text: named by mistake, and to be left alone. Anything else was a database once.
///
/// Asked only after the refusal. While a connection of this process lives, the file may not be opened beside SQLite: to close any
/// descriptor of a file drops all locks that the process has on it, and the next program that opens and closes the log then takes
/// itself for the last one and deletes the journal that this process goes on writing to. Notes shown as saved were lost that way
/// (sqlite.org, "How To Corrupt An SQLite Database File", section 2.2).
fn is_text(path: &Path) -> Result<bool, Fault> {
    let mut head = Vec::new();
    fs::File::open(path)
        .and_then(|file| file.take(4096).read_to_end(&mut head))
        .map_err(|error| unusable(path, &error.to_string()))?;
    let utf8 = std::str::from_utf8(&head).map_or_else(|e| e.valid_up_to() + 4 > head.len(), |_| true);
    Ok(!head.starts_with(b"SQLite format 3") && !head.contains(&0) && utf8)
}

/// Moves a damaged file and its companions out of the way.
fn set_aside(path: &Path) -> Result<PathBuf, Fault> {
    let name = path
        .file_name()
        .map(|name| name.to_string_lossy().into_owned())
        .unwrap_or_default();
    let stamp = Utc::now().format("%Y%m%d-%H%M%S");
    let mut target = path.with_file_name(format!("{name}.damaged-{stamp}"));
    let mut again = 1;
    while target.exists() {
        again += 1;
        target = path.with_file_name(format!("{name}.damaged-{stamp}-{again}"));
    }
    let companion = |base: &Path, end: &str| {
        let mut with = base.as_os_str().to_owned();
        with.push(end);
        PathBuf::from(with)
    };
    fs::rename(path, &target)
        .map_err(|error| unusable(path, &format!("it is damaged and cannot be moved aside: {error}")))?;
    for end in ["-wal", "-shm"] {
        let (from, to) = (companion(path, end), companion(&target, end));
        if from.exists() {
            fs::rename(&from, &to).map_err(|error| unusable(&from, &format!("it cannot be moved aside: {error}")))?;
        }
    }
    Ok(target)
}
