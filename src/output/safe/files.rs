//! Single files, and what others on the computer may do with what is written.

use super::{parent_of, unwritable};
use crate::faults::Fault;
use std::fs::{self, File, OpenOptions};
use std::io::{self, Write};
use std::path::Path;
use tempfile::Builder;

/// Who may read what is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Rights {
    /// Whoever the user's file mask lets.
    Mask,
    /// Its owner alone, whatever the mask: it holds people's names and numbers.
    Owner,
}

/// Writes a file so that readers see the old one or the new one, never half of it.
///
/// # Errors
/// `BW-O02` when the place cannot be written.
pub fn write_file_atomically(path: &Path, bytes: &[u8]) -> Result<(), Fault> {
    write_file(path, bytes, Rights::Mask)
}

/// As [`write_file_atomically`], for a file that holds people's names and numbers: readable for its owner alone.
///
/// # Errors
/// `BW-O02` when the place cannot be written.
pub fn write_private_file(path: &Path, bytes: &[u8]) -> Result<(), Fault> {
    write_file(path, bytes, Rights::Owner)
}

fn write_file(path: &Path, bytes: &[u8], rights: Rights) -> Result<(), Fault> {
    let parent = parent_of(path);
    let mode = if rights == Rights::Owner { 0o600 } else { 0o666 };
    sweep_files(&parent);
    let written = permitted(Builder::new().prefix(UNFINISHED), mode)
        .tempfile_in(&parent)
        .and_then(|mut file| {
            // Held while it is written, so that another run does not take it for one that was left behind.
            let _ = file.as_file().try_lock();
            own(file.path(), rights)?;
            file.write_all(bytes)?;
            file.as_file().sync_all()?;
            file.persist(path).map_err(|error| error.error)?;
            sync_folder(&parent);
            Ok(())
        });
    written.map_err(|error| unwritable(path, &error))
}

/// Beginning of the name of a file that is being written.
const UNFINISHED: &str = ".brimwater-file-";
/// Age from which an unfinished file that nobody holds was left behind, s (judgement: a file is written in moments).
const STALE_S: u64 = 10;

/// Removes unfinished files that killed runs left in a folder.
fn sweep_files(folder: &Path) {
    for entry in fs::read_dir(folder).into_iter().flatten().flatten() {
        if !entry.file_name().to_string_lossy().starts_with(UNFINISHED) {
            continue;
        }
        let old = entry
            .metadata()
            .and_then(|meta| meta.modified())
            .ok()
            .and_then(|time| time.elapsed().ok());
        let free = || {
            OpenOptions::new()
                .read(true)
                .open(entry.path())
                .is_ok_and(|file| file.try_lock().is_ok())
        };
        if old.is_some_and(|age| age.as_secs() >= STALE_S) && free() {
            let _ = fs::remove_file(entry.path());
        }
    }
}

/// Temporary files are made for their owner alone; results get what the user's file mask allows.
#[cfg(unix)]
pub(super) fn permitted<'a, 'b, 'c>(builder: &'c mut Builder<'a, 'b>, mode: u32) -> &'c mut Builder<'a, 'b> {
    use std::os::unix::fs::PermissionsExt;
    builder.permissions(fs::Permissions::from_mode(mode))
}

#[cfg(not(unix))]
pub(super) fn permitted<'a, 'b, 'c>(builder: &'c mut Builder<'a, 'b>, _mode: u32) -> &'c mut Builder<'a, 'b> {
    builder
}

/// Creates a file with these rights.
pub(super) fn create(path: &Path, rights: Rights) -> io::Result<File> {
    let mut options = OpenOptions::new();
    options.write(true).create(true).truncate(true);
    #[cfg(unix)]
    if rights == Rights::Owner {
        std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    }
    #[cfg(not(unix))]
    let _ = rights;
    options.open(path)
}

/// Creates a folder and its parents with these rights.
pub(super) fn create_folder(path: &Path, rights: Rights) -> io::Result<()> {
    let mut builder = fs::DirBuilder::new();
    builder.recursive(true);
    #[cfg(unix)]
    if rights == Rights::Owner {
        std::os::unix::fs::DirBuilderExt::mode(&mut builder, 0o700);
    }
    #[cfg(not(unix))]
    let _ = rights;
    builder.create(path)
}

/// Takes away what others may do with a file or folder, where the system has such rights.
pub(super) fn own(path: &Path, rights: Rights) -> io::Result<()> {
    #[cfg(unix)]
    if rights == Rights::Owner {
        use std::os::unix::fs::PermissionsExt;
        let meta = fs::symlink_metadata(path)?;
        if meta.is_symlink() {
            return Ok(());
        }
        let mode = if meta.is_dir() { 0o700 } else { 0o600 };
        return fs::set_permissions(path, fs::Permissions::from_mode(mode));
    }
    let _ = (path, rights);
    Ok(())
}

/// Brings the names in a folder to the disk. Disks that have no such thing do without.
pub(super) fn sync_folder(path: &Path) {
    #[cfg(unix)]
    if let Ok(folder) = File::open(path) {
        let _ = folder.sync_all();
    }
    #[cfg(not(unix))]
    let _ = path;
}
