//! Files that the user names for an answer: what may be written there, and how we know our own again.
//!
//! Checked before a run begins, so that a slip of the pen costs neither the run nor a file. A picture, page or config that we write ends
//! with a line that carries the digest of what stands before it: what bears it unchanged is ours and may be replaced, what a person has
//! edited since may not.

use super::files::{Rights, write_file_atomically, write_private_file};
use super::parent_of;
use crate::faults::{Fault, Faults, Severity};
use crate::input::records::Records;
use sha2::{Digest, Sha256};
use std::fs::{self, File};
use std::io::Read;
use std::path::{Path, PathBuf};

/// Largest file that is looked into to see whether it is ours, bytes (judgement: far above any picture or page of ours).
const MOST_LOOKED_AT: u64 = 256 * 1024 * 1024;
const SEAL: &str = "brimwater sha256:";

/// What is written, which decides how we know it again.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Make {
    /// SVG or HTML: a comment at its end.
    Markup,
    /// TOML: a comment at its end.
    Config,
    /// JSON with a schema of ours.
    Json,
    /// CSV with columns of ours; it has no room for a comment.
    Table(&'static [&'static str]),
    /// Added to, by a reader that knows its own.
    Kept,
    /// Added to: a JSON document a line, with these keys.
    Lines(&'static [&'static str]),
    /// Parquet of ours, by the maker that it names.
    Parquet,
    /// Never replaced.
    New,
}

/// A file that the user names for an answer.
#[derive(Debug, Clone, Copy)]
pub struct Target<'a> {
    /// The option that names it.
    pub option: &'static str,
    /// Where it goes.
    pub path: &'a Path,
    /// What it is.
    pub make: Make,
    /// Who may read it.
    pub rights: Rights,
}

impl<'a> Target<'a> {
    /// A file that anybody may read whom the mask lets.
    pub fn new(option: &'static str, path: &'a Path, make: Make) -> Self {
        Self {
            option,
            path,
            make,
            rights: Rights::Mask,
        }
    }

    /// A file that holds people's names and numbers.
    pub fn private(option: &'static str, path: &'a Path, make: Make) -> Self {
        Self {
            rights: Rights::Owner,
            ..Self::new(option, path, make)
        }
    }

    /// Writes it.
    ///
    /// # Errors
    /// `BW-O02` when the place cannot be written.
    pub fn write(&self, bytes: &[u8]) -> Result<(), Fault> {
        let bytes = self.make.sealed(bytes);
        match self.rights {
            Rights::Mask => write_file_atomically(self.path, &bytes),
            Rights::Owner => write_private_file(self.path, &bytes),
        }
    }
}

fn digest(bytes: &[u8]) -> String {
    Sha256::digest(bytes).iter().map(|byte| format!("{byte:02x}")).collect()
}

impl Make {
    fn comment(self) -> Option<(&'static str, &'static str)> {
        match self {
            Make::Markup => Some(("<!-- ", " -->\n")),
            Make::Config => Some(("# ", "\n")),
            _ => None,
        }
    }

    /// The bytes with the line by which we know them again.
    fn sealed(self, bytes: &[u8]) -> Vec<u8> {
        let mut out = bytes.to_vec();
        if let Some((before, after)) = self.comment() {
            if !out.ends_with(b"\n") {
                out.push(b'\n');
            }
            let seal = format!("{before}{SEAL}{}{after}", digest(&out));
            out.extend_from_slice(seal.as_bytes());
        }
        out
    }

    /// Whether a file is of our making and unchanged, as far as its kind can tell. An empty file holds nothing to lose.
    fn is_ours(self, bytes: &[u8]) -> bool {
        if bytes.is_empty() {
            return true;
        }
        match self {
            Make::Markup | Make::Config => {
                let Some((before, after)) = self.comment() else {
                    return false;
                };
                let length = before.len() + SEAL.len() + 64 + after.len();
                let Some((text, seal)) = bytes.len().checked_sub(length).map(|at| bytes.split_at(at)) else {
                    return false;
                };
                seal == format!("{before}{SEAL}{}{after}", digest(text)).as_bytes()
            }
            Make::Json => serde_json::from_slice::<serde_json::Value>(bytes)
                .ok()
                .and_then(|value| Some(value.get("schema")?.as_str()?.starts_with("brimwater.")))
                .unwrap_or(false),
            Make::Table(columns) => Records::open(bytes, "", |cell| columns.contains(&cell)).is_ok_and(|records| {
                records
                    .header()
                    .starts_with(&columns.iter().map(|c| (*c).to_owned()).collect::<Vec<_>>())
            }),
            Make::Kept => true,
            Make::Lines(keys) => bytes
                .split(|byte| *byte == b'\n')
                .next()
                .and_then(|line| serde_json::from_slice::<serde_json::Value>(line).ok())
                .is_some_and(|first| keys.iter().all(|key| first.get(key).is_some())),
            // The format begins and ends with its mark; who made it stands in its last part.
            Make::Parquet => {
                let maker = crate::output::parquet::MAKER.as_bytes();
                bytes.starts_with(b"PAR1")
                    && bytes.ends_with(b"PAR1")
                    && bytes.windows(maker.len()).any(|some| some == maker)
            }
            Make::New => false,
        }
    }
}

/// A file or the place where it would be, in a form that can be compared.
fn place(path: &Path) -> Option<PathBuf> {
    fs::canonicalize(path)
        .ok()
        .or_else(|| Some(fs::canonicalize(parent_of(path)).ok()?.join(path.file_name()?)))
}

/// Device and number of what a path leads to; where the system has none, only paths are compared.
fn number(path: &Path) -> Option<(u64, u64)> {
    #[cfg(unix)]
    {
        use std::os::unix::fs::MetadataExt;
        fs::metadata(path).ok().map(|meta| (meta.dev(), meta.ino()))
    }
    #[cfg(not(unix))]
    {
        let _ = path;
        None
    }
}

/// Whether two names lead to one file.
pub fn same_file(one: &Path, other: &Path) -> bool {
    let same = place(one).is_some_and(|one| Some(one) == place(other));
    same || number(one).is_some_and(|one| Some(one) == number(other))
}

/// Looks at every file that a command will write before it begins: none may be one of its inputs, none anything but a file of its own, and
/// none may replace what we did not make, unless `force` says so. All that is wrong is told at once.
///
/// # Errors
/// `BW-O20` it is an input, `BW-O21` it is a link, pipe or device, `BW-O11` it is a folder, `BW-O22` it exists and is not ours, `BW-O23` two
/// options name one file, `BW-O02` its folder is not there.
pub fn may_write(targets: &[Target<'_>], inputs: &[&Path], force: bool) -> Result<(), Faults> {
    let mut faults = Faults::new();
    for (at, target) in targets.iter().enumerate() {
        let fault = |code, what: &str| {
            Fault::new(code, Severity::Fatal, what)
                .file(target.path.display().to_string())
                .column(target.option)
        };
        let found = fs::symlink_metadata(target.path);
        if let Some(input) = inputs.iter().find(|input| same_file(input, target.path)) {
            faults.push(
                fault("BW-O20", "the answer would be written over one of the inputs")
                    .value(&input.display().to_string())
                    .remedy("Name another file; the input was not touched."),
            );
        } else if targets.iter().take(at).any(|other| same_file(other.path, target.path)) {
            faults.push(fault("BW-O23", "two options name the same file").remedy("Name a file for each."));
        } else if let Ok(meta) = &found {
            if meta.is_dir() {
                faults.push(fault("BW-O11", "the file to write is a folder").remedy("Name a file inside it."));
            } else if !meta.is_file() {
                faults.push(
                    fault("BW-O21", "a link, pipe or device stands in the place of the file")
                        .expected("the name of a file of its own")
                        .remedy("Name the file itself, or another."),
                );
            } else if !force && !target.is_ours() {
                faults.push(
                    fault(
                        "BW-O22",
                        "this file exists, and is not ours or was edited since we wrote it",
                    )
                    .expected("a new name, or a file that this command wrote")
                    .remedy("Name another file, or give --force to replace it."),
                );
            }
        } else if !parent_of(target.path).is_dir() {
            faults.push(
                fault("BW-O02", "this cannot be written: the folder is not there")
                    .remedy("Make the folder, or name another."),
            );
        }
    }
    if faults.0.is_empty() { Ok(()) } else { Err(faults) }
}

impl Target<'_> {
    fn is_ours(&self) -> bool {
        let mut bytes = Vec::new();
        let read = File::open(self.path).and_then(|file| file.take(MOST_LOOKED_AT).read_to_end(&mut bytes));
        read.is_ok() && self.make.is_ours(&bytes)
    }
}

/// An input that lies in a folder which is to be replaced would go with it.
///
/// # Errors
/// `BW-O20`, naming each.
pub fn none_inside(folder: &Path, inputs: &[&Path]) -> Result<(), Faults> {
    let Ok(real) = fs::canonicalize(folder) else {
        return Ok(());
    };
    let inside = inputs
        .iter()
        .filter(|input| fs::canonicalize(input).is_ok_and(|input| input.starts_with(&real)));
    let faults: Vec<Fault> = inside
        .map(|input| {
            Fault::new(
                "BW-O20",
                Severity::Fatal,
                "an input lies in the output folder, which is replaced as a whole",
            )
            .file(folder.display().to_string())
            .value(&input.display().to_string())
            .expected("an output folder without inputs")
            .remedy("Name another folder with --out, or copy the input out of it first.")
        })
        .collect();
    if faults.is_empty() { Ok(()) } else { Err(Faults(faults)) }
}
