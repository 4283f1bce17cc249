//! The ledger of a folder: which files this program wrote into it, each with its digest, so that what a person filled in or edited is
//! told from what may be replaced.

use super::files;
use super::files::Rights;
use rayon::prelude::*;
use sha2::{Digest, Sha256};
use std::collections::{BTreeMap, BTreeSet};
use std::fs::{self, File};
use std::io::{self, Read};
use std::path::Path;
use std::time::SystemTime;

/// Name of the file that lists what this program put into a folder; a folder that holds nothing else may be replaced.
pub const MARK: &str = ".brimwater";
const MARK_FIRST_LINE: &str = "Files in this folder that brimwater made and may replace:";
/// Beginning of the names of sub-folders in which a person's work is kept.
const KEPT: &str = "kept-";

/// What was written, by path with `/`; folders of earlier versions have no digests.
#[derive(Debug)]
pub struct Ledger {
    made: BTreeMap<String, Option<String>>,
    written: Option<SystemTime>,
}

/// What a folder holds beside what was written into it.
#[derive(Debug, Default)]
pub struct Look {
    /// Files that this program did not make.
    pub foreign: Vec<String>,
    /// Files that it made and that were changed since.
    pub edited: Vec<String>,
    /// Files in sub-folders where earlier runs kept a person's work.
    pub kept: Vec<String>,
}

impl Look {
    /// All that is a person's.
    pub fn theirs(&self) -> impl Iterator<Item = &String> {
        self.edited.iter().chain(&self.kept).chain(&self.foreign)
    }
}

/// SHA-256 of a file; of a link, of where it leads.
pub fn digest(path: &Path) -> io::Result<String> {
    let mut hash = Sha256::new();
    if fs::symlink_metadata(path)?.is_symlink() {
        hash.update(fs::read_link(path)?.as_os_str().as_encoded_bytes());
    } else {
        let mut file = File::open(path)?;
        let mut block = vec![0; 1 << 16];
        loop {
            let n = file.read(&mut block)?;
            if n == 0 {
                break;
            }
            hash.update(block.get(..n).unwrap_or_default());
        }
    }
    Ok(hash.finalize().iter().map(|byte| format!("{byte:02x}")).collect())
}

/// Files below a folder, as paths with `/`, whatever the system.
pub fn files_below(root: &Path) -> io::Result<Vec<String>> {
    fn walk(root: &Path, inside: &Path, found: &mut Vec<String>) -> io::Result<()> {
        for entry in fs::read_dir(root.join(inside))? {
            let entry = entry?;
            let path = inside.join(entry.file_name());
            if entry.file_type()?.is_dir() {
                walk(root, &path, found)?;
            } else {
                let parts: Vec<_> = path.iter().map(|part| part.to_string_lossy()).collect();
                found.push(parts.join("/"));
            }
        }
        Ok(())
    }
    let mut found = Vec::new();
    walk(root, Path::new(""), &mut found)?;
    found.sort();
    Ok(found)
}

/// Folders below a folder, itself included, the deepest first.
pub fn folders_below(root: &Path) -> io::Result<Vec<std::path::PathBuf>> {
    let mut found = vec![root.to_path_buf()];
    let mut at = 0;
    while let Some(folder) = found.get(at).cloned() {
        for entry in fs::read_dir(&folder)? {
            let entry = entry?;
            if entry.file_type()?.is_dir() {
                found.push(entry.path());
            }
        }
        at += 1;
    }
    found.reverse();
    Ok(found)
}

impl Ledger {
    /// The ledger of all that stands in a folder now.
    pub fn of(root: &Path) -> io::Result<Self> {
        let names = files_below(root)?.into_iter().filter(|name| name != MARK);
        let names: Vec<String> = names.collect();
        let made = names
            .into_par_iter()
            .map(|name| digest(&root.join(&name)).map(|digest| (name, Some(digest))))
            .collect::<io::Result<_>>()?;
        Ok(Self { made, written: None })
    }

    /// The ledger that a folder carries; `None` when this program did not make it.
    pub fn read(root: &Path) -> Option<Self> {
        let path = root.join(MARK);
        let text = fs::read_to_string(&path).ok()?;
        let made = text.lines().skip(1).map(|line| match line.split_once("  ") {
            Some((digest, name)) if digest.len() == 64 && digest.bytes().all(|b| b.is_ascii_hexdigit()) => {
                (name.to_owned(), Some(digest.to_owned()))
            }
            _ => (line.to_owned(), None),
        });
        Some(Self {
            made: made.collect(),
            written: fs::metadata(&path).and_then(|meta| meta.modified()).ok(),
        })
    }

    /// The text of the mark: a line a file, as `sha256sum` writes them.
    pub fn text(&self) -> String {
        let mut text = format!("{MARK_FIRST_LINE}\n");
        for (name, digest) in &self.made {
            text.push_str(&format!("{}  {name}\n", digest.as_deref().unwrap_or_default()));
        }
        text
    }

    /// What the folder holds beside what was written.
    pub fn look(&self, root: &Path) -> io::Result<Look> {
        let mut look = Look::default();
        let mut ours = Vec::new();
        for name in files_below(root)? {
            if name == MARK {
            } else if is_kept(&name) {
                look.kept.push(name);
            } else if let Some(digest) = self.made.get(&name) {
                ours.push((name, digest));
            } else if self.is_rejects_of_ours(&name) {
                look.edited.push(name);
            } else {
                look.foreign.push(name);
            }
        }
        let changed = ours.into_par_iter().map(|(name, written)| {
            let path = root.join(&name);
            let changed = match written {
                Some(written) => digest(&path)? != *written,
                // Earlier versions wrote no digests, and the mark last.
                None => fs::symlink_metadata(&path)?.modified().ok() > self.written,
            };
            Ok(changed.then_some(name))
        });
        let changed: Vec<Option<String>> = changed.collect::<io::Result<_>>()?;
        look.edited.extend(changed.into_iter().flatten());
        look.edited.sort();
        Ok(look)
    }

    /// Rows of a filled sheet that the log did not take lie beside the sheet: our own command put them there.
    fn is_rejects_of_ours(&self, name: &str) -> bool {
        name.strip_suffix(".rejects.csv")
            .is_some_and(|sheet| self.made.contains_key(&format!("{sheet}.csv")))
    }
}

fn is_kept(name: &str) -> bool {
    name.split_once('/').is_some_and(|(top, _)| top.starts_with(KEPT))
}

/// The path that a kept file had in the plan.
fn home(name: &str) -> &str {
    match name.split_once('/') {
        Some((top, rest)) if top.starts_with(KEPT) => rest,
        _ => name,
    }
}

/// What is kept already in a folder: digests by the path that the file had.
pub fn kept_digests(root: &Path) -> io::Result<BTreeSet<(String, String)>> {
    let mut found = BTreeSet::new();
    for name in files_below(root)?.into_iter().filter(|name| is_kept(name)) {
        found.insert((home(&name).to_owned(), digest(&root.join(&name))?));
    }
    Ok(found)
}

/// Files of a leftover that a person made or changed and that stand neither in the place, nor kept there.
pub fn missing_in(place: &Path, leftover: &Path, look: &Look) -> io::Result<Vec<String>> {
    let kept = if place.is_dir() {
        kept_digests(place)?
    } else {
        BTreeSet::new()
    };
    let mut missing = Vec::new();
    for name in look.theirs() {
        let (home, sum) = (home(name), digest(&leftover.join(name))?);
        let stands = digest(&place.join(home)).is_ok_and(|there| there == sum);
        if !stands && !kept.contains(&(home.to_owned(), sum)) {
            missing.push(name.clone());
        }
    }
    Ok(missing)
}

/// Names a sub-folder for what is kept in this run, which neither folder has yet.
pub fn kept_name(stamp: &str, taken: impl Fn(&str) -> bool) -> String {
    let first = format!("{KEPT}{stamp}");
    if !taken(&first) {
        return first;
    }
    (2..)
        .map(|n| format!("{first}-{n}"))
        .find(|name| !taken(name))
        .unwrap_or(first)
}

/// Takes files of one folder into another without touching them: the same file under a second name where the disk can, so that a program
/// that still has it open goes on writing to what is kept, else a copy. Kept files of earlier runs keep their path, others go into `under`.
/// `before` is asked before each.
pub fn take_over(
    from: &Path,
    names: &[String],
    to: &Path,
    under: &str,
    rights: Rights,
    before: &dyn Fn() -> io::Result<()>,
) -> io::Result<Vec<String>> {
    let mut kept = Vec::new();
    let have = kept_digests(to)?;
    for name in names {
        let source = from.join(name);
        if have.contains(&(home(name).to_owned(), digest(&source)?)) {
            continue;
        }
        let inside = if is_kept(name) && !to.join(name).exists() {
            name.clone()
        } else {
            format!("{under}/{}", home(name))
        };
        before()?;
        let target = to.join(&inside);
        if let Some(parent) = target.parent() {
            files::create_folder(parent, rights)?;
        }
        if fs::hard_link(&source, &target).is_err() {
            fs::copy(&source, &target)?;
        }
        files::own(&target, rights)?;
        kept.push(inside);
    }
    Ok(kept)
}
