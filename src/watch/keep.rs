//! What the watch keeps on disk: its state, the record of what was told, the plans, and a lock against a second watch.
//!
//! The order makes each word told once: the state with the word in its outbox is written first, then the word is told, then the
//! state without it. A run that is cut off between the two finds the word in the record and does not write it again; a webhook gets
//! it again with the same number.

use super::decide::{State, Word};
use crate::faults::{Fault, Severity};
use crate::output::safe::write_private_file;
use chrono::{DateTime, NaiveDateTime, TimeDelta, Utc};
use std::fs::{self, OpenOptions};
use std::io::{ErrorKind, Write};
use std::path::{Path, PathBuf};
use std::time::Duration;

const STATE: &str = "state.json";
/// The record of what was told, a JSON document a line.
pub const TOLD: &str = "told.jsonl";
const LOCK: &str = "watch.lock";
/// Folder of the plans.
pub(super) const PLANS: &str = "plans";
/// How a plan's folder is named.
pub(super) const STAMP: &str = "%Y%m%dT%H%M%SZ";
/// Age from which a lock was left by a run that died, s (judgement: no plan takes two hours).
const LOCK_DEAD_S: u64 = 2 * 3600;

/// The folder of a watch, held against others until dropped.
#[derive(Debug)]
pub struct Kept {
    folder: PathBuf,
}

fn fault(code: &'static str, path: &Path, what: String) -> Fault {
    Fault::new(code, Severity::Fatal, what).file(path.display().to_string())
}

/// Number of the word in a line of the record.
fn id_of(line: &str) -> Option<u64> {
    serde_json::from_str::<serde_json::Value>(line)
        .ok()?
        .get("id")?
        .as_u64()
}

/// Whether the process that took the lock is known to be no more.
fn gone(lock: &Path) -> bool {
    let processes = Path::new("/proc");
    let id = fs::read_to_string(lock)
        .ok()
        .and_then(|text| text.trim().parse::<u32>().ok());
    id.is_some_and(|id| processes.join("self").exists() && !processes.join(id.to_string()).exists())
}

impl Kept {
    /// Takes the folder, which is made when it is not there, for its owner alone.
    ///
    /// # Errors
    /// `BW-W03` the folder cannot be made or written, `BW-W04` another watch runs in it.
    pub fn open(folder: &Path) -> Result<Self, Fault> {
        let unwritable = |error: std::io::Error| {
            fault(
                "BW-W03",
                folder,
                format!("the folder of the watch cannot be used: {error}"),
            )
        };
        fs::create_dir_all(folder.join(PLANS)).map_err(unwritable)?;
        #[cfg(unix)]
        {
            use std::os::unix::fs::PermissionsExt;
            for own in [folder.to_path_buf(), folder.join(PLANS)] {
                fs::set_permissions(own, fs::Permissions::from_mode(0o700)).map_err(unwritable)?;
            }
        }
        let lock = folder.join(LOCK);
        let dead = fs::metadata(&lock)
            .and_then(|meta| meta.modified())
            .is_ok_and(|time| time.elapsed().unwrap_or(Duration::ZERO).as_secs() > LOCK_DEAD_S)
            || gone(&lock);
        if dead {
            // Whoever removes it first; the other finds the new one.
            let _ = fs::remove_file(&lock);
        }
        match OpenOptions::new().write(true).create_new(true).open(&lock) {
            Ok(mut file) => {
                // For those who find the lock after a run that died; without it two hours decide.
                let _ = write!(file, "{}", std::process::id());
                Ok(Self {
                    folder: folder.to_owned(),
                })
            }
            Err(error) if error.kind() == ErrorKind::AlreadyExists => {
                Err(fault("BW-W04", &lock, "another watch is at work in this folder".into())
                    .remedy("Wait for it. If none runs, remove this file; after two hours it no longer counts."))
            }
            Err(error) => Err(unwritable(error)),
        }
    }

    /// What was remembered; a new state when nothing was, whose words are numbered on from those of the record.
    ///
    /// # Errors
    /// `BW-W05` it cannot be read: starting anew would tell everything twice.
    pub fn state(&self) -> Result<State, Fault> {
        let path = self.folder.join(STATE);
        match fs::read(&path) {
            Err(error) if error.kind() == ErrorKind::NotFound => Ok(State {
                last_id: fs::read_to_string(self.folder.join(TOLD))
                    .unwrap_or_default()
                    .lines()
                    .filter_map(id_of)
                    .max()
                    .unwrap_or(0),
                ..State::default()
            }),
            Err(error) => Err(fault(
                "BW-W05",
                &path,
                format!("what the watch remembers cannot be read: {error}"),
            )),
            Ok(bytes) => serde_json::from_slice(&bytes).map_err(|error| {
                fault(
                    "BW-W05",
                    &path,
                    format!("what the watch remembers cannot be read: {error}"),
                )
                .remedy("Put back a copy, or remove the file to begin anew: what holds will be told again.")
            }),
        }
    }

    /// Remembers.
    ///
    /// # Errors
    /// `BW-O02` and the like, when the file cannot be written.
    pub fn remember(&self, state: &State) -> Result<(), Fault> {
        let bytes = serde_json::to_vec_pretty(state)
            .map_err(|error| fault("BW-W05", &self.folder, format!("the state cannot be written: {error}")))?;
        write_private_file(&self.folder.join(STATE), &bytes)
    }

    /// Writes a word to the record, unless it stands there already.
    ///
    /// # Errors
    /// `BW-W06` when it cannot be written.
    pub fn record(&self, word: &Word, text: &str) -> Result<bool, Fault> {
        let path = self.folder.join(TOLD);
        let failed =
            |error: std::io::Error| fault("BW-W06", &path, format!("what was told cannot be recorded: {error}"));
        let before = match fs::read_to_string(&path) {
            Ok(text) => text,
            Err(error) if error.kind() == ErrorKind::NotFound => String::new(),
            Err(error) => return Err(failed(error)),
        };
        if before.lines().any(|line| id_of(line) == Some(word.id)) {
            return Ok(false);
        }
        let mut line = String::new();
        // A line that a full disk cut off is closed, so that this one stands alone.
        if !before.is_empty() && !before.ends_with('\n') {
            line.push('\n');
        }
        line.push_str(&super::tell::document(word, text));
        line.push('\n');
        let mut options = OpenOptions::new();
        options.append(true).create(true);
        #[cfg(unix)]
        std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
        let mut file = options.open(&path).map_err(failed)?;
        file.write_all(line.as_bytes())
            .and_then(|()| file.sync_all())
            .map_err(failed)?;
        Ok(true)
    }

    /// Where the plan of this moment goes.
    pub fn plan_place(&self, now: DateTime<Utc>) -> PathBuf {
        self.folder.join(PLANS).join(now.format(STAMP).to_string())
    }

    /// Removes plans older than `days`; the newest stays whatever its age. Returns how many were removed.
    pub fn expire(&self, now: DateTime<Utc>, days: i64) -> usize {
        let mut plans: Vec<(NaiveDateTime, PathBuf)> = fs::read_dir(self.folder.join(PLANS))
            .into_iter()
            .flatten()
            .flatten()
            .filter_map(|entry| {
                let time = NaiveDateTime::parse_from_str(entry.file_name().to_str()?, STAMP).ok()?;
                // Only what this program wrote.
                entry.path().join("run.json").is_file().then(|| (time, entry.path()))
            })
            .collect();
        plans.sort();
        plans.pop();
        let oldest = now.naive_utc() - TimeDelta::days(days);
        let old = plans.iter().filter(|plan| plan.0 < oldest);
        old.filter(|plan| fs::remove_dir_all(&plan.1).is_ok()).count()
    }
}

impl Drop for Kept {
    fn drop(&mut self) {
        let _ = fs::remove_file(self.folder.join(LOCK));
    }
}
