//! What runs that were cut off left beside the place: half-built folders go, a folder that was moved away and never replaced comes back,
//! and what a person had written into it is not lost.

use super::files;
use super::files::Rights;
use super::ledger::{Ledger, MARK, missing_in};
use std::fs::{self, File, TryLockError};
use std::io;
use std::path::{Path, PathBuf};
use std::time::Duration;
use tempfile::Builder;

/// Beginning of the name of a folder that is being built.
pub const BUILDING: &str = ".brimwater-building-";
/// Beginning of the name of a folder that another is replacing.
pub const OLD: &str = ".brimwater-old-";
/// Age from which a folder without a lock counts as left behind, s (judgement: no plan takes a day).
const STALE_S: u64 = 24 * 3600;

/// A hidden folder, held by its lock for as long as this lives.
#[derive(Debug)]
pub struct Held {
    pub path: PathBuf,
    _lock: Option<File>,
}

/// What was found beside a place.
#[derive(Debug, Default)]
pub struct Swept {
    /// Whether the folder of an earlier run was put back.
    pub restored: bool,
    /// Replaced folders with work of a person that stands nowhere else, with the names of those files.
    pub leftovers: Vec<(Held, Vec<String>)>,
}

/// Locks a folder itself, so that nothing need be left in it.
fn lock(path: &Path) -> Result<Option<File>, TryLockError> {
    let Ok(folder) = File::open(path) else {
        return Ok(None);
    };
    match folder.try_lock() {
        Ok(()) => Ok(Some(folder)),
        Err(TryLockError::WouldBlock) => Err(TryLockError::WouldBlock),
        Err(TryLockError::Error(_)) => Ok(None),
    }
}

/// Makes and locks a hidden folder beside a place.
pub fn hidden(kind: &str, place: &Path, parent: &Path, rights: Rights) -> io::Result<Held> {
    let name = place.file_name().map(|name| name.to_string_lossy().into_owned());
    // Names may be 255 bytes long on most disks.
    let name = name.filter(|name| name.len() <= 200).unwrap_or_default();
    let prefix = format!("{kind}{name}-");
    let mode = if rights == Rights::Owner { 0o700 } else { 0o777 };
    loop {
        let path = files::permitted(Builder::new().prefix(&prefix), mode)
            .tempdir_in(parent)?
            .keep();
        // Whoever sweeps just now may have taken it for one that was left behind: then another.
        match lock(&path) {
            Ok(lock) if path.exists() => {
                files::own(&path, rights)?;
                return Ok(Held { path, _lock: lock });
            }
            _ => {}
        }
    }
}

/// Whether nobody works in a folder any more; then it is held.
fn dead(path: &Path, named: bool) -> Option<Held> {
    let held = lock(path).ok()?;
    let old = || {
        let age = fs::metadata(path)
            .and_then(|meta| meta.modified())
            .ok()?
            .elapsed()
            .ok()?;
        Some(age > Duration::from_secs(STALE_S))
    };
    // Folders of earlier versions carry no place in their name, and no lock.
    if (held.is_none() || !named) && old() != Some(true) {
        return None;
    }
    Some(Held {
        path: path.to_path_buf(),
        _lock: held,
    })
}

/// Clears up beside a place.
pub fn sweep(place: &Path, parent: &Path) -> Swept {
    let mut swept = Swept::default();
    let Ok(entries) = fs::read_dir(parent) else {
        return swept;
    };
    let mut hidden: Vec<(bool, PathBuf)> = entries
        .flatten()
        .filter(|entry| entry.file_type().is_ok_and(|kind| kind.is_dir()))
        .filter_map(|entry| {
            let name = entry.file_name();
            let name = name.to_string_lossy();
            (name.starts_with(BUILDING) || name.starts_with(OLD)).then(|| (name.starts_with(BUILDING), entry.path()))
        })
        .collect();
    // Those that were moved away first: they may have to come back before what replaced them is looked at.
    hidden.sort();
    for (building, path) in hidden {
        let name = path
            .file_name()
            .map(|name| name.to_string_lossy().into_owned())
            .unwrap_or_default();
        let kind = if building { BUILDING } else { OLD };
        let owner = name
            .strip_prefix(kind)
            .and_then(|rest| rest.rsplit_once('-'))
            .map(|(owner, _)| owner);
        let Some(held) = dead(&path, owner.is_some()) else {
            continue;
        };
        let owner = owner.filter(|owner| !owner.is_empty()).map(|owner| parent.join(owner));
        let ours = owner.as_deref() == Some(parent.join(place.file_name().unwrap_or_default()).as_path());
        if !building
            && let Some(owner) = &owner
            && fs::symlink_metadata(owner).is_err()
            && path.join(MARK).exists()
        {
            let back = fs::rename(&path, owner).is_ok();
            files::sync_folder(parent);
            swept.restored |= back && ours;
            continue;
        }
        let missing = Ledger::read(&path).map_or(Ok(Vec::new()), |ledger| {
            let look = ledger.look(&path)?;
            match &owner {
                Some(owner) => missing_in(owner, &path, &look),
                None => Ok(look.theirs().cloned().collect()),
            }
        });
        match missing {
            Ok(missing) if missing.is_empty() => {
                let _ = fs::remove_dir_all(&held.path);
            }
            Ok(missing) if ours => swept.leftovers.push((held, missing)),
            // Of another place: the next run that writes there takes it over.
            _ => {}
        }
    }
    swept
}
