//! Folders that are being built, for whoever must clear up when the program is told to stop.

use std::fs;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Mutex, MutexGuard, PoisonError};

static UNFINISHED: Mutex<Vec<PathBuf>> = Mutex::new(Vec::new());
static STOPPING: AtomicBool = AtomicBool::new(false);

fn all() -> MutexGuard<'static, Vec<PathBuf>> {
    UNFINISHED.lock().unwrap_or_else(PoisonError::into_inner)
}

/// Enters a folder that is being built.
pub(super) fn enter(path: &Path) {
    all().push(path.to_path_buf());
}

/// Strikes a folder out.
pub(super) fn leave(path: &Path) {
    all().retain(|one| one != path);
}

/// Whether the program was told to stop: nothing more is written.
pub(super) fn stopping() -> bool {
    STOPPING.load(Ordering::Relaxed)
}

/// A turn in which nobody clears up: a folder that is just taking its place is neither unfinished nor to be removed.
pub(super) struct Placing(MutexGuard<'static, Vec<PathBuf>>);

impl Placing {
    pub(super) fn begin() -> Self {
        Self(all())
    }

    /// Strikes a folder out for good.
    pub(super) fn leave(&mut self, path: &Path) {
        self.0.retain(|one| one != path);
    }
}

/// Removes every folder that is being built, because the program ends now. Waits for one that is just taking its place.
pub fn remove_unfinished() {
    STOPPING.store(true, Ordering::Relaxed);
    let found = all();
    for path in found.iter() {
        // Another thread may be writing one more file.
        for _ in 0..20 {
            let _ = fs::remove_dir_all(path);
            if !path.exists() {
                break;
            }
            std::thread::sleep(std::time::Duration::from_millis(5));
        }
    }
    // Kept until the end, so that no folder takes its place any more.
    std::mem::forget(found);
}
