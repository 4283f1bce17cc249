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

/// The characters of a text file that people write: UTF-8, UTF-16 with its mark, or the one-byte letters of older editors (`BW-I12`,
/// told with the line of the first such letter, since accents are then a guess).
pub fn text(bytes: &[u8], path: &Path) -> (String, Option<Fault>) {
    if let Some((encoding, _)) = encoding_rs::Encoding::for_bom(bytes) {
        return (encoding.decode(bytes).0.into_owned(), None);
    }
    match std::str::from_utf8(bytes) {
        Ok(text) => (text.to_owned(), None),
        Err(error) => {
            let before = bytes.get(..error.valid_up_to()).unwrap_or_default();
            let line = 1 + before.iter().filter(|byte| **byte == b'\n').count() as u64;
            let note = Fault::new(
                "BW-I12",
                Severity::Note,
                "the file is not UTF-8 and was read as Windows-1252 (Latin-1)",
            )
            .file(shown(path))
            .line(line)
            .remedy("Look at the accents, or save the file as UTF-8.");
            (
                encoding_rs::WINDOWS_1252
                    .decode_without_bom_handling(bytes)
                    .0
                    .into_owned(),
                Some(note),
            )
        }
    }
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
