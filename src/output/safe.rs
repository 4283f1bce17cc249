//! Files and folders that are either whole or not there: written beside their place, then renamed.

mod files;
mod folder;
mod ledger;
mod sweep;
pub mod target;
mod unfinished;

pub use files::{Rights, write_file_atomically, write_private_file};
pub use folder::{Folder, Placed, Trial};
pub use ledger::MARK;
pub use unfinished::remove_unfinished;

use crate::faults::{Fault, Severity};
use std::io;
use std::path::{Path, PathBuf};

fn parent_of(path: &Path) -> PathBuf {
    match path.parent() {
        Some(parent) if !parent.as_os_str().is_empty() => parent.to_path_buf(),
        _ => PathBuf::from("."),
    }
}

fn unwritable(path: &Path, error: &io::Error) -> Fault {
    Fault::new("BW-O02", Severity::Fatal, format!("this cannot be written: {error}"))
        .file(path.display().to_string())
        .remedy("Check that the place exists, that you may write there and that the disk is not full.")
}
