//! The utility's own templates, read from their folder.

use crate::faults::{Fault, Faults, Severity};
use crate::input::file;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

/// Longest message template, bytes.
const MOST_TEMPLATE_BYTES: usize = 64 * 1024;

/// The templates of a folder: `en/*.txt` and `es/*.txt`, by name such as `en/text_fire.txt`.
///
/// Faults: `BW-P78` the folder or one of its files cannot be read (warning: the built-in words are used).
pub fn read(folder: &str, beside: Option<&Path>) -> (BTreeMap<String, String>, Faults) {
    let mut found = BTreeMap::new();
    let mut faults = Faults::new();
    if folder.is_empty() {
        return (found, faults);
    }
    let root = match beside {
        Some(beside) => beside.join(folder),
        None => PathBuf::from(folder),
    };
    let mut unreadable = |path: &Path, why: String| {
        faults.push(
            Fault::new(
                "BW-P78",
                Severity::Warning,
                format!("message templates cannot be read: {why}"),
            )
            .file(file::shown(path))
            .expected("a folder with en/ and es/ and UTF-8 files in them")
            .remedy("The built-in words were used."),
        );
    };
    if !root.is_dir() {
        unreadable(&root, "there is no such folder".into());
        return (found, faults);
    }
    for language in ["en", "es"] {
        let Ok(entries) = std::fs::read_dir(root.join(language)) else {
            continue;
        };
        let mut paths: Vec<PathBuf> = entries.flatten().map(|entry| entry.path()).collect();
        paths.sort();
        for path in paths
            .iter()
            .filter(|path| path.extension().is_some_and(|end| end == "txt"))
        {
            let name = path
                .file_name()
                .map(|name| name.to_string_lossy().into_owned())
                .unwrap_or_default();
            match file::read_whole(path) {
                Err(fault) => unreadable(path, fault.what),
                Ok(bytes) if bytes.len() > MOST_TEMPLATE_BYTES => unreadable(path, "it is too long".into()),
                Ok(bytes) => match String::from_utf8(bytes) {
                    Ok(text) => {
                        found.insert(format!("{language}/{name}"), text);
                    }
                    Err(_) => unreadable(path, "it is not UTF-8".into()),
                },
            }
        }
    }
    (found, faults)
}
