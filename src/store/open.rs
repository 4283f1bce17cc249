//! Opening the log: ours, another's, damaged, locked.

use super::salvage;
use super::tables::{self, APPLICATION_ID, TABLES_VERSION};
use crate::faults::{Fault, Severity};
use chrono::{DateTime, Utc};
use rusqlite::{Connection, ErrorCode, OpenFlags, OptionalExtension, Row, TransactionBehavior};
use std::cell::RefCell;
use std::collections::BTreeSet;
use std::fs;
use std::io::Read;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

/// How long a writer waits for its turn.
const WAIT: Duration = Duration::from_secs(20);

/// An open log.
#[derive(Debug)]
pub struct Log {
    pub(super) db: Connection,
    pub(super) path: PathBuf,
    /// Version of the tables; less than ours only where the log may not be written.
    pub(super) version: i32,
    /// Which file it was when it was opened.
    place: Option<Place>,
    /// Rows that could not be read.
    bad: RefCell<BTreeSet<BadRow>>,
}

/// A row that cannot be read.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct BadRow {
    /// Its table: `events` or `calls`.
    pub table: &'static str,
    /// Its number.
    pub id: i64,
    /// Whom it is about, as far as that can be read.
    pub about: String,
    /// What is wrong.
    pub why: String,
}

impl BadRow {
    /// The fault that tells it.
    pub fn fault(&self, path: &Path) -> Fault {
        Fault::new(
            "BW-L08",
            Severity::Rejected,
            format!("row {} of the {} cannot be read and was left out", self.id, self.table),
        )
        .file(path.display().to_string())
        .value(&self.about)
        .expected(self.why.clone())
        .remedy(
            "Ask whoever noted it, or look at the call sheet, and enter it again; the row stays in the file as it is.",
        )
    }
}

/// Device and number of a file; where the system has none, nothing is compared.
type Place = (u64, u64);

fn place(path: &Path) -> Option<Place> {
    #[cfg(unix)]
    {
        use std::os::unix::fs::MetadataExt;
        fs::metadata(path).ok().map(|meta| (meta.dev(), meta.ino()))
    }
    #[cfg(not(unix))]
    {
        let _ = path;
        None
    }
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
        let tried = {
            let _turn = Turn::shared(path);
            Self::try_open(path, programme)
        };
        match tried {
            Ok(log) => Ok((log, None)),
            Err(Trouble::Told(fault)) => Err(*fault),
            Err(Trouble::Damaged) if is_text(path)? => Err(not_a_log(path)),
            Err(Trouble::Damaged) => Self::after_damage(path, programme),
        }
    }

    /// Opens the log and reads every page of it; one that is not whole is set aside as a damaged one is.
    ///
    /// # Errors
    /// As [`Log::open`].
    pub fn open_whole(path: &Path, programme: Option<&str>) -> Result<(Log, Option<SetAside>), Fault> {
        let (log, aside) = Self::open(path, programme)?;
        match log.is_whole() {
            Ok(true) => return Ok((log, aside)),
            Err(fault) if !is_damage(&fault) => return Err(fault),
            _ => drop(log),
        }
        Self::after_damage(path, programme)
    }

    /// Opens a log to read it, also where it may not be written: a file or a folder without that right, a medium that is only read.
    /// Nothing is begun, changed or set aside.
    ///
    /// # Errors
    /// As [`Log::open`]; damage is told by `BW-L02`.
    pub fn open_to_read(path: &Path, programme: Option<&str>) -> Result<Log, Fault> {
        let open = |name: &str, more: OpenFlags| -> Result<Log, Trouble> {
            let flags = OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_NO_MUTEX | more;
            let db = Connection::open_with_flags(name, flags).map_err(|error| Trouble::of(path, &error))?;
            db.busy_timeout(WAIT).map_err(|error| Trouble::of(path, &error))?;
            let mut log = Log::of(db, path);
            log.version = log.whose()?;
            if log.version == 0 {
                return Self::not_begun(path, programme).map_err(|error| Trouble::of(path, &error));
            }
            log.check_programme(programme).map_err(Trouble::Told)?;
            Ok(log)
        };
        let plain = open(&path.to_string_lossy(), OpenFlags::empty());
        let done = match plain {
            // A log in WAL mode needs a file beside it that cannot be made here. Nobody can write to it either, unless its journal stands
            // there, so it may be read as it is.
            Err(Trouble::Told(fault)) if fault.code == "BW-L01" && path.is_file() && !has_journal(path) => {
                let coded: String = path
                    .to_string_lossy()
                    .chars()
                    .map(|c| match c {
                        '%' => "%25".to_owned(),
                        '?' => "%3f".to_owned(),
                        '#' => "%23".to_owned(),
                        c => c.to_string(),
                    })
                    .collect();
                open(&format!("file:{coded}?immutable=1"), OpenFlags::SQLITE_OPEN_URI)
            }
            plain => plain,
        };
        done.map_err(|trouble| match trouble {
            Trouble::Told(fault) => *fault,
            Trouble::Damaged => damaged(path),
        })
    }

    /// What a file without tables says: it is empty, or somebody was stopped while beginning it. It is no fault, and holds nothing yet.
    fn not_begun(path: &Path, programme: Option<&str>) -> rusqlite::Result<Log> {
        let mut db = Connection::open_in_memory()?;
        let transaction = db.transaction()?;
        tables::make(&transaction, 0, programme.unwrap_or("default"), Utc::now())?;
        transaction.commit()?;
        Ok(Log::of(db, path))
    }

    fn of(db: Connection, path: &Path) -> Log {
        Log {
            db,
            path: path.to_path_buf(),
            version: TABLES_VERSION,
            place: place(path),
            bad: RefCell::new(BTreeSet::new()),
        }
    }

    /// Moves a damaged log aside, carries over what can be read, and opens the new one. One program does so at a time; another that came to
    /// the same log finds it mended.
    ///
    /// # Errors
    /// As [`Log::open`].
    pub fn after_damage(path: &Path, programme: Option<&str>) -> Result<(Log, Option<SetAside>), Fault> {
        let _turn = Turn::alone(path);
        match Self::try_open(path, programme) {
            Ok(log) if log.is_whole().unwrap_or(false) => return Ok((log, None)),
            Err(Trouble::Told(fault)) => return Err(*fault),
            _ => {}
        }
        let moved_to = set_aside(path)?;
        let found = salvage::read(&moved_to);
        let name = found.programme.as_deref().or(programme);
        let mut log = match Self::try_open(path, name) {
            Ok(log) => log,
            Err(Trouble::Told(fault)) => return Err(*fault),
            Err(Trouble::Damaged) => return Err(unusable(path, "it is damaged again at once")),
        };
        let carried_over = match found.write(&mut log.db) {
            Ok(carried_over) => carried_over,
            Err(error) => return Err(log.fault(&error)),
        };
        // The name that the damaged log carried still decides whose it is.
        log.check_programme(programme).map_err(|fault| *fault)?;
        Ok((log, Some(SetAside { moved_to, carried_over })))
    }

    fn try_open(path: &Path, programme: Option<&str>) -> Result<Log, Trouble> {
        private(path).map_err(|error| Trouble::Told(Box::new(unusable(path, &error.to_string()))))?;
        let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_CREATE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
        let db = Connection::open_with_flags(path, flags).map_err(|error| Trouble::of(path, &error))?;
        db.busy_timeout(WAIT).map_err(|error| Trouble::of(path, &error))?;
        let mut log = Log::of(db, path);
        log.whose()?;
        log.begin(programme).map_err(|error| Trouble::of(path, &error))?;
        log.check_programme(programme).map_err(Trouble::Told)?;
        Ok(log)
    }

    /// Whether the file is still the one that was opened: what is written to one that was moved aside meanwhile would be lost.
    ///
    /// # Errors
    /// `BW-L22` when it is not.
    pub fn stands(&self) -> Result<(), Fault> {
        if self.place.is_none() || place(&self.path) == self.place {
            return Ok(());
        }
        Err(moved(&self.path))
    }

    /// Keeps in mind a row that could not be read. Anything but a row that does not say what it should is handed on.
    pub(super) fn skip(&self, table: &'static str, row: &Row<'_>, error: &rusqlite::Error) -> rusqlite::Result<()> {
        let why = match error {
            rusqlite::Error::FromSqlConversionFailure(_, _, why) => why.to_string(),
            rusqlite::Error::InvalidColumnType(..)
            | rusqlite::Error::Utf8Error(..)
            | rusqlite::Error::IntegralValueOutOfRange(..) => error.to_string(),
            // Damage of the file itself ends the reading.
            _ => {
                return Err(rusqlite::Error::SqliteFailure(
                    rusqlite::ffi::Error::new(rusqlite::ffi::SQLITE_CORRUPT),
                    None,
                ));
            }
        };
        let name = if table == "events" { "contact" } else { "subject" };
        self.bad.borrow_mut().insert(BadRow {
            table,
            id: row.get("id").unwrap_or(0),
            about: row.get(name).unwrap_or_default(),
            why,
        });
        Ok(())
    }

    /// Rows that could not be read since the log was opened.
    pub fn bad_rows(&self) -> Vec<BadRow> {
        self.bad.borrow().iter().cloned().collect()
    }

    /// Whether the log can be read at all.
    ///
    /// # Errors
    /// A fault when it cannot, or when the file is no longer the one that was opened.
    pub fn probe(&self) -> Result<(), Fault> {
        self.stands()?;
        self.db
            .query_row("SELECT count(*) FROM events", [], |row| row.get::<_, i64>(0))
            .map(|_| ())
            .map_err(|error| self.fault(&error))
    }

    /// Copies the log into a new file while others go on writing, and reads every page of the copy.
    ///
    /// # Errors
    /// `BW-L09` when the file exists already or the copy is not whole; `BW-L01` when it cannot be written.
    pub fn backup(&self, to: &Path) -> Result<u64, Fault> {
        let refuse = |what: &str| {
            Fault::new("BW-L09", Severity::Fatal, what)
                .file(to.display().to_string())
                .expected("the name of a file that does not exist yet, and room for it")
                .remedy("Name another file; the log itself was only read.")
        };
        if fs::symlink_metadata(to).is_ok() {
            return Err(refuse("the backup would replace a file"));
        }
        private(to).map_err(|error| unusable(to, &error.to_string()))?;
        let done = || -> rusqlite::Result<(bool, u64)> {
            let mut copy = Connection::open(to)?;
            rusqlite::backup::Backup::new(&self.db, &mut copy)?.run_to_completion(256, Duration::ZERO, None)?;
            // One file, without companions.
            copy.query_row("PRAGMA journal_mode = DELETE", [], |_| Ok(()))?;
            let answer: String = copy.query_row("PRAGMA integrity_check(1)", [], |row| row.get(0))?;
            let events: i64 = copy.query_row("SELECT count(*) FROM events", [], |row| row.get(0))?;
            Ok((answer == "ok", events.unsigned_abs()))
        };
        match done() {
            Ok((true, events)) => Ok(events),
            Ok((false, _)) => Err(refuse("the copy is not whole, so the log is damaged")),
            Err(error) => Err(refuse(&format!("the log cannot be copied: {error}"))),
        }
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

    /// Whether the file is ours or new; gives the version of its tables.
    fn whose(&self) -> Result<i32, Trouble> {
        // One look at one state: between two looks another program may just have begun the log.
        let look = || -> rusqlite::Result<(i32, i32, i32)> {
            let transaction = self.db.unchecked_transaction()?;
            let number = |query: &str| transaction.query_row(query, [], |row| row.get::<_, i32>(0));
            // The table of tables first: it is what takes the read lock.
            let tables = number("SELECT count(*) FROM sqlite_master")?;
            Ok((number("PRAGMA application_id")?, number("PRAGMA user_version")?, tables))
        };
        let (id, version, tables) = look().map_err(|error| Trouble::of(&self.path, &error))?;
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
        Ok(version)
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
        // Another may have made or completed them while this one waited for its turn.
        let begun: i32 = transaction.query_row("PRAGMA user_version", [], |row| row.get(0))?;
        if begun < TABLES_VERSION {
            tables::make(&transaction, begun, programme.unwrap_or("default"), Utc::now())?;
        }
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
            Trouble::Damaged => damaged(&self.path),
        }
    }
}

fn damaged(path: &Path) -> Fault {
    Fault::new("BW-L02", Severity::Fatal, "the log is damaged")
        .file(path.display().to_string())
        .remedy(
            "Enter an event with `brimwater log`, or start the desk again: the damaged file is then set aside, and what can be read \
             of it is carried over into a new one.",
        )
}

fn moved(path: &Path) -> Fault {
    Fault::new(
        "BW-L22",
        Severity::Fatal,
        "the log was moved or replaced while it was open",
    )
    .file(path.display().to_string())
    .remedy("Open it again; nothing was written to the file that was moved.")
}

/// Whether a fault says that another file stands in the log's place.
pub fn is_moved(fault: &Fault) -> bool {
    fault.code == "BW-L22"
}

/// A file that holds people's names and numbers is begun for its owner alone, whatever the system's habit; SQLite gives the journals
/// beside it the same rights.
fn private(path: &Path) -> std::io::Result<()> {
    let mut options = fs::OpenOptions::new();
    options.write(true).create_new(true);
    #[cfg(unix)]
    {
        use std::os::unix::fs::OpenOptionsExt;
        options.mode(0o600);
    }
    // An existing file is not opened at all: see `is_text`. A folder that refuses is told by SQLite, in its own words.
    match options.open(path) {
        Ok(_) => Ok(()),
        Err(error) if error.kind() == std::io::ErrorKind::AlreadyExists => Ok(()),
        Err(error) => Err(error),
    }
}

/// Whether a write-ahead log with something in it stands beside the file.
fn has_journal(path: &Path) -> bool {
    let mut with = path.as_os_str().to_owned();
    with.push("-wal");
    fs::metadata(with).is_ok_and(|meta| meta.len() > 0)
}

/// A turn at opening or mending the logs of a folder: whoever mends one is alone. It is a lock on the folder itself, so that nothing is
/// left behind; a system or a disk that has none does without.
struct Turn(Option<fs::File>);

impl Turn {
    fn shared(path: &Path) -> Turn {
        Turn::take(path, fs::File::try_lock_shared)
    }

    fn alone(path: &Path) -> Turn {
        Turn::take(path, fs::File::try_lock)
    }

    fn take(path: &Path, lock: fn(&fs::File) -> Result<(), fs::TryLockError>) -> Turn {
        let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty());
        let Ok(file) = fs::File::open(folder.unwrap_or(Path::new("."))) else {
            return Turn(None);
        };
        let until = Instant::now() + WAIT;
        loop {
            match lock(&file) {
                Ok(()) => return Turn(Some(file)),
                Err(fs::TryLockError::WouldBlock) if Instant::now() < until => {
                    std::thread::sleep(Duration::from_millis(10));
                }
                Err(_) => return Turn(None),
            }
        }
    }
}

impl Drop for Turn {
    fn drop(&mut self) {
        if let Some(file) = &self.0 {
            // Closing the file would end it as well.
            let _ = file.unlock();
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
            // SQLite saw it before we did.
            Some(ErrorCode::ReadOnly) if error.sqlite_error().is_some_and(|e| e.extended_code == rusqlite::ffi::SQLITE_READONLY_DBMOVED) => {
                Trouble::Told(Box::new(moved(path)))
            }
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
