//! Winters of thermal cases kept between runs: one line a case, added as it is ready, so that a run that was cut off goes on where it was.

use crate::faults::{Fault, Severity};
use crate::input::file::shown;
use crate::season::exposure::CaseWinter;
use serde::{Deserialize, Serialize};
use std::collections::HashMap;
use std::fs::{File, OpenOptions};
use std::io::{BufRead, BufReader, Write};
use std::path::Path;
use std::sync::{Mutex, PoisonError};

#[derive(Serialize, Deserialize)]
struct Line {
    key: String,
    winters: Vec<CaseWinter>,
}

/// The cache.
pub struct Cache {
    known: HashMap<String, Vec<CaseWinter>>,
    file: Mutex<Option<File>>,
}

impl Cache {
    /// Reads what was kept and opens the file for more. A last line that was cut off is passed over.
    ///
    /// # Errors
    /// `BW-B17` the file holds something else, or cannot be written.
    pub fn open(path: &Path) -> Result<Self, Fault> {
        let wrong = |why: String| {
            Fault::new("BW-B17", Severity::Fatal, why)
                .file(shown(path))
                .column("--cache")
                .expected("a cache that an earlier run wrote, or a new place")
                .remedy("Name another file, or delete this one: it holds nothing that cannot be computed again.")
        };
        let mut known = HashMap::new();
        if let Ok(file) = File::open(path) {
            let mut lines = 0usize;
            for line in BufReader::new(file).split(b'\n') {
                let line = line.map_err(|error| wrong(format!("the cache cannot be read: {error}")))?;
                if line.is_empty() {
                    continue;
                }
                lines += 1;
                if let Ok(line) = serde_json::from_slice::<Line>(&line) {
                    known.insert(line.key, line.winters);
                } else if lines == 1 && !line.starts_with(b"{\"key\":") {
                    return Err(wrong("this file is no cache of winters".into()));
                }
            }
        }
        let file = OpenOptions::new()
            .create(true)
            .append(true)
            .open(path)
            .and_then(|mut file| {
                // A line that was cut off must not run into the next.
                file.write_all(b"\n")?;
                Ok(file)
            })
            .map_err(|error| wrong(format!("the cache cannot be written: {error}")))?;
        Ok(Self {
            known,
            file: Mutex::new(Some(file)),
        })
    }

    /// What was kept under a key.
    pub fn get(&self, key: &str) -> Option<Vec<CaseWinter>> {
        self.known.get(key).cloned()
    }

    /// Keeps a case. A disk that is full costs the cache, not the run.
    pub fn keep(&self, key: &str, winters: &[CaseWinter]) {
        let line = Line {
            key: key.to_owned(),
            winters: winters.to_vec(),
        };
        let Ok(mut bytes) = serde_json::to_vec(&line) else {
            return;
        };
        bytes.push(b'\n');
        let mut file = self.file.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(open) = file.as_mut()
            && open.write_all(&bytes).is_err()
        {
            *file = None;
        }
    }

    /// Whether everything could be kept.
    pub fn is_whole(&self) -> bool {
        self.file.lock().unwrap_or_else(PoisonError::into_inner).is_some()
    }
}
