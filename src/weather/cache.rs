//! The last good replies of a weather service on disk: each body as it came, with what is needed to ask whether it changed.
//!
//! A reply is kept only after it was found whole and usable, so that a failure never costs the last good one. Files are written
//! beside their place and renamed.

use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use std::fs;
use std::io::{self, Write};
use std::path::{Path, PathBuf};

/// Longest body that is read back, bytes: what the fetcher would not have taken is not taken from disk either.
const MAX_BODY_BYTES: u64 = 64 * 1024 * 1024;

/// What is remembered of a reply.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Remembered {
    /// Address that was asked.
    pub url: String,
    /// When the body came.
    pub retrieved: DateTime<Utc>,
    /// When the service last said that it is still current.
    pub validated: DateTime<Utc>,
    /// `Last-Modified` of the reply.
    pub last_modified: Option<String>,
    /// `ETag` of the reply.
    pub etag: Option<String>,
    /// Seconds for which the reply need not be asked for again.
    pub max_age_s: Option<u64>,
    /// SHA-256 of the body: a torn file is not served.
    pub sha256: String,
}

/// A folder of replies; without a folder nothing is kept.
#[derive(Debug, Clone, Default)]
pub struct Cache {
    folder: Option<PathBuf>,
}

fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}

impl Cache {
    /// A cache in this folder, which is made when the first reply is kept.
    pub fn in_folder(folder: impl Into<PathBuf>) -> Self {
        Self {
            folder: Some(folder.into()),
        }
    }

    /// A cache that keeps nothing.
    pub fn none() -> Self {
        Self::default()
    }

    fn paths(&self, url: &str) -> Option<(PathBuf, PathBuf)> {
        let folder = self.folder.as_ref()?;
        let name = hex(&Sha256::digest(url.as_bytes()));
        let name = name.get(..32)?;
        Some((folder.join(format!("{name}.json")), folder.join(format!("{name}.body"))))
    }

    /// The last good reply of an address; `None` when there is none or its files do not fit each other.
    pub fn get(&self, url: &str) -> Option<(Remembered, Vec<u8>)> {
        let (facts, body) = self.paths(url)?;
        let facts: Remembered = serde_json::from_slice(&fs::read(facts).ok()?).ok()?;
        if fs::metadata(&body).ok()?.len() > MAX_BODY_BYTES {
            return None;
        }
        let body = fs::read(body).ok()?;
        (facts.url == url && facts.sha256 == hex(&Sha256::digest(&body))).then_some((facts, body))
    }

    /// Keeps a good reply. The body goes first: facts that do not fit a body are not served.
    ///
    /// # Errors
    /// When the folder cannot be written.
    pub fn put(&self, mut facts: Remembered, body: &[u8]) -> io::Result<()> {
        let Some((facts_path, body_path)) = self.paths(&facts.url) else {
            return Ok(());
        };
        facts.sha256 = hex(&Sha256::digest(body));
        write_beside(&body_path, body)?;
        write_beside(&facts_path, &serde_json::to_vec_pretty(&facts)?)
    }

    /// Notes that the service called the kept reply current.
    ///
    /// # Errors
    /// When the folder cannot be written.
    pub fn validated(&self, url: &str, now: DateTime<Utc>) -> io::Result<()> {
        match (self.get(url), self.paths(url)) {
            (Some((mut facts, _)), Some((facts_path, _))) => {
                facts.validated = now;
                write_beside(&facts_path, &serde_json::to_vec_pretty(&facts)?)
            }
            _ => Ok(()),
        }
    }
}

fn write_beside(path: &Path, bytes: &[u8]) -> io::Result<()> {
    let folder = path.parent().unwrap_or(Path::new("."));
    fs::create_dir_all(folder)?;
    let mut file = tempfile::NamedTempFile::new_in(folder)?;
    file.write_all(bytes)?;
    file.as_file().sync_all()?;
    file.persist(path).map_err(|error| error.error)?;
    Ok(())
}
