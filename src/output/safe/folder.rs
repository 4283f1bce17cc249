//! A folder that is built beside its place and then takes it in one step.

use super::files::{self, Rights, sync_folder};
use super::ledger::{self, Ledger, Look, MARK, files_below, folders_below, kept_name, take_over};
use super::sweep::{self, BUILDING, Held, OLD, Swept};
use super::unfinished::{self, Placing};
use super::{parent_of, unwritable};
use crate::faults::{Fault, Faults, Severity};
use crate::input::records::Records;
use chrono::Utc;
use rayon::prelude::*;
use std::fs::{self, File};
use std::io::{self, Write};
use std::path::{Component, Path, PathBuf};
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};

/// How a test tries a folder's safety: the run is cut off after so many steps, as by a kill, and the exchange of folders may be done as on
/// a system that has none.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Trial {
    /// Steps that are done; the next fails, and what stands then is left as it is.
    pub stop_after: Option<usize>,
    /// Two renames in place of the exchange.
    pub two_renames: bool,
}

/// A folder being built beside its place. Dropped before [`Folder::finish`], it leaves nothing behind.
#[derive(Debug)]
pub struct Folder {
    building: Held,
    place: PathBuf,
    rights: Rights,
    swept: Swept,
    trial: Trial,
    steps: AtomicUsize,
    cut: AtomicBool,
    placed: bool,
}

/// A folder in its place.
#[derive(Debug, Clone, PartialEq)]
pub struct Placed {
    /// Where it stands.
    pub place: PathBuf,
    /// What is to be told: work of a person that was kept aside.
    pub told: Faults,
}

impl Folder {
    /// Starts a folder that will stand at `place`.
    ///
    /// A place that does not exist, is an empty folder, or is a folder that this program made, is taken; anything else is refused, so that
    /// nobody's files are lost. Missing parents are made. Checked at the start, so that a bad place fails before the long run.
    /// What runs that were cut off left beside the place is cleared up.
    ///
    /// # Errors
    /// `BW-O03` when the place holds something else, `BW-O02` when it cannot be written.
    pub fn build_beside(place: &Path) -> Result<Self, Fault> {
        Self::build(place, Rights::Mask, Trial::default())
    }

    /// As [`Folder::build_beside`], readable for its owner alone: it will hold people's names and numbers.
    ///
    /// # Errors
    /// As [`Folder::build_beside`].
    pub fn build_private(place: &Path) -> Result<Self, Fault> {
        Self::build(place, Rights::Owner, Trial::default())
    }

    /// With rights, and on trial.
    ///
    /// # Errors
    /// As [`Folder::build_beside`].
    pub fn build(place: &Path, rights: Rights, trial: Trial) -> Result<Self, Fault> {
        let parent = parent_of(place);
        not_where_one_works(place)?;
        let swept = sweep::sweep(place, &parent);
        may_replace(place)?;
        fs::create_dir_all(&parent).map_err(|error| unwritable(place, &error))?;
        let building = sweep::hidden(BUILDING, place, &parent, rights).map_err(|error| unwritable(place, &error))?;
        unfinished::enter(&building.path);
        Ok(Self {
            building,
            place: place.to_path_buf(),
            rights,
            swept,
            trial,
            steps: AtomicUsize::new(0),
            cut: AtomicBool::new(false),
            placed: false,
        })
    }

    /// Where the folder is being built.
    pub fn path(&self) -> &Path {
        &self.building.path
    }

    /// What the clearing up at the start has to tell.
    ///
    /// Faults: `BW-O13` (note) an earlier run was cut off and the folder that it was replacing was put back.
    pub fn told(&self) -> Option<Fault> {
        self.swept.restored.then(|| {
            Fault::new(
                "BW-O13",
                Severity::Note,
                "an earlier run was cut off while it replaced this folder: what stood there before was put back",
            )
            .file(self.place.display().to_string())
        })
    }

    /// One more step; `false` when the trial ends here.
    fn step(&self) -> io::Result<()> {
        if unfinished::stopping() {
            return Err(io::Error::new(
                io::ErrorKind::Interrupted,
                "the program was told to stop",
            ));
        }
        let done = self.steps.fetch_add(1, Ordering::Relaxed);
        if self.trial.stop_after.is_some_and(|most| done >= most) {
            self.cut.store(true, Ordering::Relaxed);
            return Err(io::Error::other("cut off on trial"));
        }
        Ok(())
    }

    /// Creates one file, given its path inside the folder, such as `charts/first-ice.svg`.
    ///
    /// # Errors
    /// `BW-O02` when it cannot be written or the name leads out of the folder.
    pub fn create(&self, name: &str) -> Result<File, Fault> {
        let inside = Path::new(name);
        let shown = self.place.join(inside);
        if !inside.components().all(|part| matches!(part, Component::Normal(_))) {
            return Err(
                Fault::new("BW-O06", Severity::Fatal, "a file name leads out of its folder")
                    .file(shown.display().to_string()),
            );
        }
        let path = self.path().join(inside);
        let made = self
            .step()
            .and_then(|()| {
                path.parent()
                    .map_or(Ok(()), |parent| files::create_folder(parent, self.rights))
            })
            .and_then(|()| files::create(&path, self.rights));
        made.map_err(|error| unwritable(&shown, &error))
    }

    /// Writes one file.
    ///
    /// # Errors
    /// As [`Folder::create`].
    pub fn write(&self, name: &str, bytes: &[u8]) -> Result<(), Fault> {
        let mut file = self.create(name)?;
        let half = bytes.get(..bytes.len() / 2).unwrap_or_default();
        let rest = bytes.get(half.len()..).unwrap_or_default();
        let written = file
            .write_all(half)
            .and_then(|()| self.step())
            .and_then(|()| file.write_all(rest));
        written.map_err(|error| unwritable(&self.place.join(name), &error))
    }

    /// Puts the finished folder in its place, replacing the one that stood there. What a person filled in or edited there is kept in a
    /// dated sub-folder, and what earlier runs kept stays.
    ///
    /// Faults of [`Placed`]: `BW-O12` (warning) files that a person changed were kept aside.
    ///
    /// # Errors
    /// `BW-O02` or `BW-O03`; the old folder is then still in its place.
    pub fn finish(mut self) -> Result<Placed, Fault> {
        let place = self.place.clone();
        let failed = |error: io::Error| unwritable(&place, &error);
        let mut turn = Placing::begin();
        // Somebody may have put files there, or filled in a sheet, during the run.
        let look = may_replace(&place)?;
        let under = kept_name(&Utc::now().format("%Y%m%dT%H%M%SZ").to_string(), |name| {
            place.join(name).exists()
        });
        let mut kept = self.keep(&look, &under).map_err(failed)?;
        self.seal().map_err(failed)?;
        self.step().map_err(failed)?;
        let old = self.exchange().map_err(failed)?;
        turn.leave(&self.building.path);
        self.placed = true;
        sync_folder(&parent_of(&place));
        if let Some(old) = &old {
            // Between the last look and the exchange somebody may have saved a sheet.
            kept.extend(self.keep_late(old, &under).map_err(|error| {
                unwritable(&place, &error).value(&format!("what was saved last is in {}", old.display()))
            })?);
            self.step().map_err(failed)?;
            let _ = fs::remove_dir_all(old);
        }
        for (leftover, _) in &self.swept.leftovers {
            self.step().map_err(failed)?;
            let _ = fs::remove_dir_all(&leftover.path);
        }
        drop(turn);
        let told = kept_fault(&place, &under, &kept).into_iter().collect();
        Ok(Placed {
            place: place.clone(),
            told: Faults(told),
        })
    }

    /// Takes a person's work over from the old folder, and from folders that earlier runs left behind.
    fn keep(&self, look: &Look, under: &str) -> io::Result<Vec<String>> {
        let step = || self.step();
        let to = self.path().to_path_buf();
        take_over(&self.place, &look.kept, &to, under, self.rights, &step)?;
        let mut kept = take_over(&self.place, &look.edited, &to, under, self.rights, &step)?;
        for (leftover, names) in &self.swept.leftovers {
            kept.extend(take_over(&leftover.path, names, &to, under, self.rights, &step)?);
        }
        Ok(kept)
    }

    /// Brings every file to the disk and writes the ledger.
    fn seal(&self) -> io::Result<()> {
        let root = self.path();
        let ledger = Ledger::of(root)?;
        self.step()?;
        let mut mark = files::create(&root.join(MARK), self.rights)?;
        mark.write_all(ledger.text().as_bytes())?;
        self.step()?;
        files_below(root)?.par_iter().try_for_each(|name| {
            let path = root.join(name);
            if fs::symlink_metadata(&path)?.is_file() {
                File::open(&path)?.sync_all()?;
            }
            io::Result::Ok(())
        })?;
        folders_below(root)?.iter().for_each(|folder| sync_folder(folder));
        Ok(())
    }

    /// Takes the place; gives where the old folder is now.
    fn exchange(&self) -> io::Result<Option<PathBuf>> {
        let (new, place) = (self.path(), &self.place);
        if fs::symlink_metadata(place).is_err() {
            fs::rename(new, place)?;
            return Ok(None);
        }
        if !self.trial.two_renames && exchanged(new, place)? {
            return Ok(Some(new.to_path_buf()));
        }
        // The system has no exchange. A run that is cut off between the two renames leaves the old folder under its hidden name, from
        // which the next run takes it back.
        let aside = sweep::hidden(OLD, place, &parent_of(place), self.rights)?;
        fs::rename(place, &aside.path)?;
        self.step()?;
        if let Err(error) = fs::rename(new, place) {
            let _ = fs::rename(&aside.path, place);
            return Err(error);
        }
        Ok(Some(aside.path))
    }

    /// Takes over what was saved between the last look and the exchange.
    fn keep_late(&self, old: &Path, under: &str) -> io::Result<Vec<String>> {
        let look = look(old)?;
        let missing = ledger::missing_in(&self.place, old, &look)?;
        if missing.is_empty() {
            return Ok(missing);
        }
        let kept = take_over(old, &missing, &self.place, under, self.rights, &|| self.step())?;
        let ledger = Ledger::of(&self.place)?;
        let mut mark = files::create(&self.place.join(MARK), self.rights)?;
        mark.write_all(ledger.text().as_bytes())?;
        mark.sync_all()?;
        Ok(kept)
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        // On trial what stands is left, as a kill leaves it.
        if !self.placed && !self.cut.load(Ordering::Relaxed) {
            let _ = fs::remove_dir_all(&self.building.path);
        }
        if !self.placed {
            unfinished::leave(&self.building.path);
        }
    }
}

/// Exchanges two folders in one call; `false` where the system or the disk cannot.
#[cfg(any(target_os = "linux", target_os = "macos"))]
fn exchanged(one: &Path, other: &Path) -> io::Result<bool> {
    use rustix::fs::{CWD, RenameFlags, renameat_with};
    use rustix::io::Errno;
    match renameat_with(CWD, one, CWD, other, RenameFlags::EXCHANGE) {
        Ok(()) => Ok(true),
        Err(error) if [Errno::NOSYS, Errno::INVAL, Errno::NOTSUP].contains(&error) => Ok(false),
        Err(error) => Err(error.into()),
    }
}

#[cfg(not(any(target_os = "linux", target_os = "macos")))]
fn exchanged(_one: &Path, _other: &Path) -> io::Result<bool> {
    Ok(false)
}

/// What a folder holds beside what this program made; in a folder that it did not make all is foreign.
fn look(place: &Path) -> io::Result<Look> {
    match Ledger::read(place) {
        Some(ledger) => ledger.look(place),
        None => Ok(Look {
            foreign: files_below(place)?,
            ..Look::default()
        }),
    }
}

/// `BW-O03` for a place that cannot be replaced because somebody stands in it.
fn not_where_one_works(place: &Path) -> Result<(), Fault> {
    let real = fs::canonicalize(place).ok();
    let here = std::env::current_dir().and_then(fs::canonicalize).ok();
    let holds = real.zip(here).is_some_and(|(real, here)| here.starts_with(real));
    if place.file_name().is_some() && !holds {
        return Ok(());
    }
    Err(Fault::new(
        "BW-O03",
        Severity::Fatal,
        "the output folder is the one that this was called in, or holds it, and cannot be replaced",
    )
    .file(place.display().to_string())
    .expected("the name of a folder to make, such as plan-friday")
    .remedy("Name a folder inside it."))
}

fn may_replace(place: &Path) -> Result<Look, Fault> {
    let refused = |what: &str, remedy: &str| {
        Fault::new("BW-O03", Severity::Fatal, what.to_owned())
            .file(place.display().to_string())
            .expected("a new folder, an empty one, or one that this program made")
            .remedy(remedy.to_owned())
    };
    match fs::symlink_metadata(place) {
        Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(Look::default()),
        Err(error) => Err(unwritable(place, &error)),
        Ok(meta) if meta.is_dir() => {
            let look = look(place).map_err(|error| unwritable(place, &error))?;
            match look.foreign.first() {
                None => Ok(look),
                Some(file) => Err(refused(
                    "the output folder exists and holds files that this program did not make",
                    "Name another folder, or move those files away.",
                )
                .value(file)),
            }
        }
        Ok(_) => Err(refused("the output place is not a folder", "Name another folder.")),
    }
}

/// Most names that the warning carries.
const MOST_NAMED: usize = 8;

/// `BW-O12`: what was kept, and which command takes it in.
fn kept_fault(place: &Path, under: &str, kept: &[String]) -> Option<Fault> {
    if kept.is_empty() {
        return None;
    }
    let shown = |names: &[&str]| {
        let mut text = names.iter().take(MOST_NAMED).copied().collect::<Vec<_>>().join(", ");
        if names.len() > MOST_NAMED {
            text.push_str(&format!(" and {} more", names.len() - MOST_NAMED));
        }
        text
    };
    let names: Vec<&str> = kept
        .iter()
        .map(|name| name.split_once('/').map_or("", |(_, rest)| rest))
        .collect();
    let has = |name: &str, columns: &[&str]| {
        let path = place.join(name);
        let header = File::open(&path)
            .map_err(|_| ())
            .and_then(|file| Records::open(file, name, |cell| columns.contains(&cell.trim())).map_err(|_| ()))
            .map(|records| records.header().to_vec());
        header.is_ok_and(|header| {
            columns
                .iter()
                .all(|column| header.iter().any(|cell| cell.trim() == *column))
        })
    };
    let mut remedy = String::from("The plan was made without them.");
    for name in kept
        .iter()
        .filter(|name| has(name, &["contact_id", "outcome", "by"]))
        .take(MOST_NAMED)
    {
        remedy.push_str(&format!(
            " Take the calls in: brimwater log --db LOG --import {} --by NAME.",
            place.join(name).display()
        ));
    }
    for name in kept
        .iter()
        .filter(|name| has(name, &["assembly_id", "how_found", "damage_part"]))
    {
        remedy.push_str(&format!(
            " Take the findings in: brimwater review --plan PLAN --record {}.",
            place.join(name).display()
        ));
    }
    Some(
        Fault::new(
            "BW-O12",
            Severity::Warning,
            match kept.len() {
                1 => format!("1 file of this folder had been filled in or edited and was kept in {under}"),
                n => format!("{n} files of this folder had been filled in or edited and were kept in {under}"),
            },
        )
        .file(place.display().to_string())
        .value(&shown(&names))
        .remedy(remedy),
    )
}
