//! What a person wrote into a folder of ours outlives every re-plan, and no moment at which a run is cut off loses the plan that stood or
//! what was written into it.
//!
//! X-Val: the digests of the ledger against coreutils' `sha256sum --check`; rights against POSIX mode bits; the crash points against the
//! two states that a replacement may show (old whole, new whole), as POSIX states for rename().
#![allow(clippy::unwrap_used, clippy::panic, clippy::indexing_slicing)]

use brimwater::output::safe::{Folder, MARK, Rights, Trial};
use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

fn build(place: &Path, trial: Trial) -> Result<Folder, brimwater::faults::Fault> {
    Folder::build(place, Rights::Owner, trial)
}

/// Writes a plan of three files; `word` tells one from the next.
fn run(place: &Path, word: &str, trial: Trial) -> Result<Vec<String>, ()> {
    let folder = build(place, trial).map_err(drop)?;
    for name in ["a.csv", "call_sheets/caller-01.csv", "charts/b.svg"] {
        folder
            .write(name, format!("contact_id,outcome,note,by\n{word} {name}\n").as_bytes())
            .map_err(drop)?;
    }
    let placed = folder.finish().map_err(drop)?;
    Ok(placed.told.0.iter().map(|fault| fault.to_string()).collect())
}

fn files(root: &Path) -> BTreeMap<String, Vec<u8>> {
    let mut found = BTreeMap::new();
    let mut open = vec![root.to_path_buf()];
    while let Some(dir) = open.pop() {
        for entry in fs::read_dir(dir).into_iter().flatten().flatten() {
            let path = entry.path();
            if path.is_dir() {
                open.push(path);
            } else {
                let name = path.strip_prefix(root).unwrap().to_string_lossy().into_owned();
                found.insert(name, fs::read(&path).unwrap());
            }
        }
    }
    found
}

/// How often these bytes stand in the folder.
fn copies(root: &Path, bytes: &str) -> usize {
    files(root)
        .values()
        .filter(|have| have.as_slice() == bytes.as_bytes())
        .count()
}

fn hidden(root: &Path) -> Vec<String> {
    let names = fs::read_dir(root).unwrap().flatten();
    let names = names.map(|entry| entry.file_name().to_string_lossy().into_owned());
    names.filter(|name| name.starts_with(".brimwater-")).collect()
}

#[test]
fn what_a_person_filled_in_is_kept_at_every_replan() {
    let root = tempfile::tempdir().unwrap();
    let place = root.path().join("out");
    assert!(run(&place, "one", Trial::default()).unwrap().is_empty());
    // Nothing edited, nothing kept.
    assert!(run(&place, "two", Trial::default()).unwrap().is_empty());
    assert_eq!(files(&place).len(), 4);
    let sheet = place.join("call_sheets/caller-01.csv");
    let mut written = Vec::new();
    for n in 0..4 {
        let text = format!("contact_id,outcome,note,by\nC-1,reached,spoke {n},Rosa\n");
        fs::write(&sheet, &text).unwrap();
        // A chart too: any of our files may be scribbled on.
        fs::write(place.join("charts/b.svg"), format!("scribble {n}")).unwrap();
        written.extend([text, format!("scribble {n}")]);
        let told = run(&place, &format!("again {n}"), Trial::default()).unwrap();
        assert_eq!(told.len(), 1, "{told:?}");
        assert!(told[0].contains("BW-O12") && told[0].contains("2 files"), "{told:?}");
        assert!(
            told[0].contains("call_sheets/caller-01.csv") && told[0].contains("charts/b.svg"),
            "{told:?}"
        );
        assert!(told[0].contains("--import") && told[0].contains("kept-"), "{told:?}");
        for text in &written {
            assert_eq!(copies(&place, text), 1, "{text:?} after re-plan {n}");
        }
        assert!(fs::read_to_string(&sheet).unwrap().contains(&format!("again {n}")));
    }
    // One that nobody touched since is not kept again, and what was kept can be re-edited without being lost or refused.
    let kept = files(&place)
        .into_keys()
        .find(|name| name.starts_with("kept-") && name.ends_with(".csv"))
        .unwrap();
    fs::write(place.join(&kept), "corrected").unwrap();
    assert!(run(&place, "last", Trial::default()).unwrap().is_empty());
    assert_eq!(copies(&place, "corrected"), 1);
}

#[test]
fn rows_that_the_log_did_not_take_are_kept_and_not_refused() {
    let root = tempfile::tempdir().unwrap();
    let place = root.path().join("out");
    run(&place, "one", Trial::default()).unwrap();
    fs::write(place.join("call_sheets/caller-01.rejects.csv"), "C-9,perhaps").unwrap();
    run(&place, "two", Trial::default()).unwrap();
    assert_eq!(copies(&place, "C-9,perhaps"), 1);
    // A table of the same make beside nothing of ours is somebody's.
    fs::write(place.join("mine.rejects.csv"), "keep").unwrap();
    assert_eq!(build(&place, Trial::default()).unwrap_err().code, "BW-O03");
}

#[test]
fn a_folder_of_an_earlier_version_has_no_digests_and_its_edited_files_are_kept_all_the_same() {
    let root = tempfile::tempdir().unwrap();
    let place = root.path().join("out");
    run(&place, "one", Trial::default()).unwrap();
    let mark =
        "Files in this folder that brimwater made and may replace:\na.csv\ncall_sheets/caller-01.csv\ncharts/b.svg\n";
    std::thread::sleep(std::time::Duration::from_millis(20));
    fs::write(place.join(MARK), mark).unwrap();
    std::thread::sleep(std::time::Duration::from_millis(20));
    fs::write(place.join("a.csv"), "filled").unwrap();
    let told = run(&place, "two", Trial::default()).unwrap();
    assert!(told[0].contains("1 file "), "{told:?}");
    assert_eq!(copies(&place, "filled"), 1);
}

#[cfg(target_os = "linux")]
#[test]
fn the_ledger_is_what_sha256sum_checks() {
    let root = tempfile::tempdir().unwrap();
    let place = root.path().join("out");
    run(&place, "one", Trial::default()).unwrap();
    let mut check = std::process::Command::new("sha256sum");
    let done = check
        .args(["--check", "--quiet", MARK])
        .current_dir(&place)
        .output()
        .unwrap();
    assert!(done.status.success(), "{}", String::from_utf8_lossy(&done.stdout));
    fs::write(place.join("a.csv"), "x").unwrap();
    let mut check = std::process::Command::new("sha256sum");
    let done = check
        .args(["--check", "--quiet", MARK])
        .current_dir(&place)
        .output()
        .unwrap();
    assert!(String::from_utf8_lossy(&done.stdout).contains("a.csv"));
}

#[cfg(unix)]
#[test]
fn a_personal_folder_is_its_owners_alone_whatever_the_mask() {
    use std::os::unix::fs::PermissionsExt;
    let root = tempfile::tempdir().unwrap();
    let place = root.path().join("out");
    run(&place, "one", Trial::default()).unwrap();
    // As a spreadsheet saves it.
    fs::write(place.join("a.csv"), "filled").unwrap();
    fs::set_permissions(place.join("a.csv"), fs::Permissions::from_mode(0o664)).unwrap();
    run(&place, "two", Trial::default()).unwrap();
    let mode = |path: &Path| fs::metadata(path).unwrap().permissions().mode() & 0o777;
    assert_eq!((mode(&place), mode(&place.join("call_sheets"))), (0o700, 0o700));
    for name in files(&place).into_keys() {
        assert_eq!(mode(&place.join(&name)), 0o600, "{name}");
        let folder = place.join(&name).parent().unwrap().to_path_buf();
        assert_eq!(mode(&folder), 0o700, "{name}");
    }
}

#[test]
fn no_moment_of_a_kill_loses_the_plan_or_what_was_written_into_it() {
    for two_renames in [false, true] {
        let mut finished = false;
        for stop in 0..200 {
            let root = tempfile::tempdir().unwrap();
            let place = root.path().join("out");
            run(&place, "old", Trial::default()).unwrap();
            fs::write(
                place.join("call_sheets/caller-01.csv"),
                "contact_id,outcome,note,by\nC-1,reached,,Rosa\n",
            )
            .unwrap();
            fs::create_dir_all(place.join("kept-20300101T000000Z")).unwrap();
            fs::write(place.join("kept-20300101T000000Z/a.csv"), "of the last winter").unwrap();
            let trial = Trial {
                stop_after: Some(stop),
                two_renames,
            };
            let cut = run(&place, "new", trial).is_err();
            let told = format!("two renames {two_renames}, step {stop}");
            // At the moment of the kill: the old plan whole, or the new plan whole, and only a system without exchange may show neither.
            let sheet = fs::read_to_string(place.join("a.csv")).unwrap_or_default();
            assert!(sheet.contains("old") || sheet.contains("new") || two_renames, "{told}");
            // The next run takes the way back by itself, also one that is given up at once.
            drop(build(&place, Trial::default()).unwrap());
            let sheet = fs::read_to_string(place.join("a.csv")).unwrap();
            assert!(sheet.contains("old") || sheet.contains("new"), "{told}");
            run(&place, "next", Trial::default()).unwrap();
            assert!(
                fs::read_to_string(place.join("a.csv")).unwrap().contains("next"),
                "{told}"
            );
            for text in ["contact_id,outcome,note,by\nC-1,reached,,Rosa\n", "of the last winter"] {
                assert_eq!(
                    copies(&place, text),
                    1,
                    "{told}: {text:?} in {:?}",
                    files(&place).keys()
                );
            }
            assert_eq!(hidden(root.path()), [""; 0], "{told}");
            if !cut {
                finished = true;
                break;
            }
            // A walk that cuts nothing proves nothing.
            assert!(stop < 150, "{told}: no end");
        }
        assert!(finished);
    }
}

#[test]
fn a_folder_that_a_living_run_builds_is_left_alone() {
    let root = tempfile::tempdir().unwrap();
    let (one, other) = (root.path().join("one"), root.path().join("other"));
    let alive = build(&one, Trial::default()).unwrap();
    alive.write("a.csv", b"1").unwrap();
    run(&other, "x", Trial::default()).unwrap();
    // The same place too: two runs at once, the last to finish stands.
    run(&one, "y", Trial::default()).unwrap();
    assert_eq!(hidden(root.path()).len(), 1);
    alive.finish().unwrap();
    assert_eq!(fs::read(one.join("a.csv")).unwrap(), b"1");
    assert!(hidden(root.path()).is_empty());
}

#[test]
fn the_folder_that_one_works_in_is_never_replaced() {
    let here = std::env::current_dir().unwrap();
    for place in [
        Path::new("."),
        Path::new(".."),
        Path::new("/"),
        here.as_path(),
        Path::new("no-such/.."),
    ] {
        let fault = build(place, Trial::default()).unwrap_err();
        assert_eq!(fault.code, "BW-O03", "{}", place.display());
    }
}
