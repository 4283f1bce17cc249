//! Files and folders that are either whole or not there: written beside their place, then renamed.

use crate::faults::{Fault, Severity};
use std::collections::BTreeSet;
use std::fs;
use std::io::{self, Write};
use std::path::{Component, Path, PathBuf};
use tempfile::{Builder, TempDir};

/// Name of the file that lists what this program put into a folder; a folder that holds nothing else may be replaced.
pub const MARK: &str = ".brimwater";
const MARK_FIRST_LINE: &str = "Files in this folder that brimwater made and may replace:";

/// Writes a file so that readers see the old one or the new one, never half of it.
///
/// # Errors
/// `BW-O02` when the place cannot be written.
pub fn write_file_atomically(path: &Path, bytes: &[u8]) -> Result<(), Fault> {
    let parent = parent_of(path);
    let written = permitted(Builder::new().prefix(".brimwater-"), 0o666)
        .tempfile_in(&parent)
        .and_then(|mut file| {
            file.write_all(bytes)?;
            file.as_file().sync_all()?;
            file.persist(path).map_err(|error| error.error)?;
            Ok(())
        });
    written.map_err(|error| unwritable(path, &error))
}

/// A folder being built beside its place. Dropped before [`Folder::finish`], it leaves nothing behind.
#[derive(Debug)]
pub struct Folder {
    building: TempDir,
    place: PathBuf,
}

impl Folder {
    /// Starts a folder that will stand at `place`.
    ///
    /// A place that does not exist, is an empty folder, or is a folder that this program made, is taken; anything else is refused, so that
    /// nobody's files are lost. Missing parents are made. Checked at the start, so that a bad place fails before the long run.
    ///
    /// # Errors
    /// `BW-O03` when the place holds something else, `BW-O02` when it cannot be written.
    pub fn build_beside(place: &Path) -> Result<Self, Fault> {
        may_replace(place)?;
        let parent = parent_of(place);
        fs::create_dir_all(&parent).map_err(|error| unwritable(place, &error))?;
        let building = permitted(Builder::new().prefix(".brimwater-building-"), 0o777)
            .tempdir_in(&parent)
            .map_err(|error| unwritable(place, &error))?;
        Ok(Self {
            building,
            place: place.to_path_buf(),
        })
    }

    /// Where the folder is being built; writers that need a path put their files here.
    pub fn path(&self) -> &Path {
        self.building.path()
    }

    /// Writes one file, given its path inside the folder, such as `charts/first-ice.svg`.
    ///
    /// # Errors
    /// `BW-O02` when it cannot be written or the name leads out of the folder.
    pub fn write(&self, name: &str, bytes: &[u8]) -> Result<(), Fault> {
        let inside = Path::new(name);
        let shown = self.place.join(inside);
        if !inside.components().all(|part| matches!(part, Component::Normal(_))) {
            return Err(
                Fault::new("BW-O06", Severity::Fatal, "a file name leads out of its folder")
                    .file(shown.display().to_string()),
            );
        }
        let path = self.path().join(inside);
        let written = path
            .parent()
            .map_or(Ok(()), fs::create_dir_all)
            .and_then(|()| fs::write(&path, bytes));
        written.map_err(|error| unwritable(&shown, &error))
    }

    /// Puts the finished folder in its place, replacing the one that stood there.
    ///
    /// # Errors
    /// `BW-O02` or `BW-O03`; the old folder is then still in its place.
    pub fn finish(self) -> Result<PathBuf, Fault> {
        // Somebody may have put files there during the run.
        may_replace(&self.place)?;
        let failed = |error: io::Error| unwritable(&self.place, &error);
        let mut made = Vec::new();
        files_below(self.building.path(), Path::new(""), &mut made).map_err(failed)?;
        made.sort();
        let mark = format!("{MARK_FIRST_LINE}\n{}\n", made.join("\n"));
        fs::write(self.building.path().join(MARK), mark).map_err(failed)?;
        if self.place.exists() {
            let aside = Builder::new()
                .prefix(".brimwater-old-")
                .tempdir_in(parent_of(&self.place))
                .map_err(failed)?;
            let old = aside.path().join("old");
            fs::rename(&self.place, &old).map_err(failed)?;
            if let Err(error) = fs::rename(self.building.path(), &self.place) {
                let _ = fs::rename(&old, &self.place);
                return Err(failed(error));
            }
        } else {
            fs::rename(self.building.path(), &self.place).map_err(failed)?;
        }
        // The folder has moved: there is nothing left to delete.
        let _ = self.building.keep();
        Ok(self.place)
    }
}

/// Files below a folder, as paths with `/`, whatever the system.
fn files_below(root: &Path, inside: &Path, found: &mut Vec<String>) -> io::Result<()> {
    for entry in fs::read_dir(root.join(inside))? {
        let entry = entry?;
        let path = inside.join(entry.file_name());
        if entry.file_type()?.is_dir() {
            files_below(root, &path, found)?;
        } else {
            let parts: Vec<_> = path.iter().map(|part| part.to_string_lossy()).collect();
            found.push(parts.join("/"));
        }
    }
    Ok(())
}

/// A file in the folder that this program did not make, if there is one.
fn foreign_file(place: &Path) -> io::Result<Option<String>> {
    let mark = fs::read_to_string(place.join(MARK)).unwrap_or_default();
    let made: BTreeSet<&str> = mark.lines().skip(1).chain([MARK]).collect();
    let mut found = Vec::new();
    files_below(place, Path::new(""), &mut found)?;
    found.sort();
    Ok(found.into_iter().find(|file| !made.contains(file.as_str())))
}

fn may_replace(place: &Path) -> Result<(), Fault> {
    let refused = |what: &str, remedy: &str| {
        Fault::new("BW-O03", Severity::Fatal, what.to_owned())
            .file(place.display().to_string())
            .expected("a new folder, an empty one, or one that this program made")
            .remedy(remedy.to_owned())
    };
    match fs::symlink_metadata(place) {
        Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(()),
        Err(error) => Err(unwritable(place, &error)),
        Ok(meta) if meta.is_dir() => match foreign_file(place).map_err(|error| unwritable(place, &error))? {
            None => Ok(()),
            Some(file) => Err(refused(
                "the output folder exists and holds files that this program did not make",
                "Name another folder, or move those files away.",
            )
            .value(&file)),
        },
        Ok(_) => Err(refused("the output place is not a folder", "Name another folder.")),
    }
}

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

/// Temporary files are made for their owner alone; results get what the user's file mask allows.
#[cfg(unix)]
fn permitted<'a, 'b, 'c>(builder: &'c mut Builder<'a, 'b>, mode: u32) -> &'c mut Builder<'a, 'b> {
    use std::os::unix::fs::PermissionsExt;
    builder.permissions(fs::Permissions::from_mode(mode))
}

#[cfg(not(unix))]
fn permitted<'a, 'b, 'c>(builder: &'c mut Builder<'a, 'b>, _mode: u32) -> &'c mut Builder<'a, 'b> {
    builder
}
