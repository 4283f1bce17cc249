//! Opening the files that the user names, with faults that say what to do.

use crate::faults::{Fault, Severity};
use std::fs::File;
use std::io::{self, Read};
use std::path::Path;

/// Largest series, station or config file that is taken into memory, bytes (judgement: far above a century of hours).
pub const MAX_WHOLE_FILE_BYTES: u64 = 512 * 1024 * 1024;

/// The name of a file as faults show it.
pub fn shown(path: &Path) -> String {
    path.display().to_string()
}

/// Opens a file for reading.
///
/// # Errors
/// `BW-I01` when it does not exist, `BW-I02` when it is a directory, `BW-I03` when it cannot be opened.
pub fn open(path: &Path) -> Result<File, Fault> {
    let file = File::open(path).map_err(|error| cannot_open(path, &error))?;
    // Opening a directory succeeds on some systems and fails at the first read: ask now.
    match file.metadata() {
        Ok(meta) if meta.is_dir() => Err(directory(path)),
        Ok(_) => Ok(file),
        Err(error) => Err(cannot_open(path, &error)),
    }
}

/// Reads a whole file of at most [`MAX_WHOLE_FILE_BYTES`].
///
/// # Errors
/// As [`open`]; `BW-I04` when it is larger than the limit, `BW-I03` when reading fails.
pub fn read_whole(path: &Path) -> Result<Vec<u8>, Fault> {
    let file = open(path)?;
    let mut bytes = Vec::new();
    file.take(MAX_WHOLE_FILE_BYTES + 1)
        .read_to_end(&mut bytes)
        .map_err(|error| cannot_open(path, &error))?;
    if bytes.len() as u64 > MAX_WHOLE_FILE_BYTES {
        return Err(Fault::new("BW-I04", Severity::Fatal, "the file is too large")
            .file(shown(path))
            .expected(format!("at most {} MiB", MAX_WHOLE_FILE_BYTES / 1024 / 1024))
            .remedy("Check that it is the file you meant, or cut it to the years you need."));
    }
    Ok(bytes)
}

fn cannot_open(path: &Path, error: &io::Error) -> Fault {
    match error.kind() {
        io::ErrorKind::NotFound => Fault::new("BW-I01", Severity::Fatal, "there is no such file")
            .file(shown(path))
            .remedy("Check the path and the spelling."),
        io::ErrorKind::IsADirectory => directory(path),
        io::ErrorKind::PermissionDenied => Fault::new("BW-I03", Severity::Fatal, "the file may not be read")
            .file(shown(path))
            .remedy("Ask its owner for permission to read it."),
        _ => Fault::new("BW-I03", Severity::Fatal, format!("the file cannot be read: {error}"))
            .file(shown(path))
            .remedy("Close other programs that hold it, or copy it to a local disk."),
    }
}

fn directory(path: &Path) -> Fault {
    Fault::new("BW-I02", Severity::Fatal, "this is a folder, not a file")
        .file(shown(path))
        .remedy("Name the file inside it.")
}
