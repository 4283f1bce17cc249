//! Files and folders are whole or not there, and nobody's files are lost.
#![allow(clippy::unwrap_used, clippy::panic, clippy::indexing_slicing)]

use brimwater::output::safe::{Folder, MARK, write_file_atomically};
use std::fs;
use std::path::Path;

fn names(folder: &Path) -> Vec<String> {
    let mut all: Vec<String> = fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned())
        .collect();
    all.sort();
    all
}

#[test]
fn a_folder_appears_only_when_it_is_finished() {
    let root = tempfile::tempdir().unwrap();
    let place = root.path().join("deep/out");
    let folder = Folder::build_beside(&place).unwrap();
    folder.write("a.csv", b"1").unwrap();
    folder.write("charts/b.svg", b"2").unwrap();
    assert!(!place.exists());
    assert_eq!(folder.finish().unwrap().place, place);
    assert_eq!(names(&place), [MARK, "a.csv", "charts"]);
    assert_eq!(names(place.parent().unwrap()), ["out"]);
}

#[test]
fn a_folder_that_is_given_up_leaves_nothing() {
    let root = tempfile::tempdir().unwrap();
    let folder = Folder::build_beside(&root.path().join("out")).unwrap();
    folder.write("a.csv", b"1").unwrap();
    drop(folder);
    assert!(names(root.path()).is_empty());
}

#[test]
fn our_own_folder_and_an_empty_one_are_replaced_whole() {
    let root = tempfile::tempdir().unwrap();
    let place = root.path().join("out");
    fs::create_dir(&place).unwrap();
    for (file, other) in [("old.csv", "new.csv"), ("new.csv", "old.csv")] {
        let folder = Folder::build_beside(&place).unwrap();
        folder.write(file, b"1").unwrap();
        folder.finish().unwrap();
        assert!(place.join(file).exists() && !place.join(other).exists());
    }
    assert_eq!(names(root.path()), ["out"]);
}

#[test]
fn a_folder_with_somebody_elses_file_is_refused_and_kept() {
    let root = tempfile::tempdir().unwrap();
    let place = root.path().join("out");
    let folder = Folder::build_beside(&place).unwrap();
    folder.write("a.csv", b"1").unwrap();
    folder.finish().unwrap();
    fs::create_dir(place.join("notes")).unwrap();
    fs::write(place.join("notes/mine.txt"), "keep").unwrap();
    let fault = Folder::build_beside(&place).unwrap_err();
    assert_eq!((fault.code, fault.value.as_deref()), ("BW-O03", Some("notes/mine.txt")));
    assert!(place.join("a.csv").exists());
}

#[test]
fn files_that_come_during_the_run_are_not_lost() {
    let root = tempfile::tempdir().unwrap();
    let place = root.path().join("out");
    let folder = Folder::build_beside(&place).unwrap();
    fs::create_dir(&place).unwrap();
    fs::write(place.join("mine.txt"), "keep").unwrap();
    assert_eq!(folder.finish().unwrap_err().code, "BW-O03");
    assert_eq!(names(&place), ["mine.txt"]);
    assert_eq!(names(root.path()), ["out"]);
}

#[test]
fn a_file_in_the_place_of_the_folder_is_refused() {
    let root = tempfile::tempdir().unwrap();
    let place = root.path().join("out");
    fs::write(&place, "x").unwrap();
    assert_eq!(Folder::build_beside(&place).unwrap_err().code, "BW-O03");
    // Below a file no folder can be made.
    assert_eq!(Folder::build_beside(&place.join("below")).unwrap_err().code, "BW-O02");
}

#[test]
fn no_name_leads_out_of_the_folder() {
    let root = tempfile::tempdir().unwrap();
    let folder = Folder::build_beside(&root.path().join("out")).unwrap();
    for name in ["../x", "/tmp/x", "a/../../x"] {
        assert_eq!(folder.write(name, b"1").unwrap_err().code, "BW-O06", "{name}");
    }
}

#[test]
fn a_file_is_replaced_whole_and_nothing_is_left_beside_it() {
    let root = tempfile::tempdir().unwrap();
    let place = root.path().join("x.json");
    write_file_atomically(&place, b"one").unwrap();
    write_file_atomically(&place, b"two").unwrap();
    assert_eq!(fs::read(&place).unwrap(), b"two");
    assert_eq!(names(root.path()), ["x.json"]);
    let fault = write_file_atomically(&root.path().join("no/such/x"), b"1").unwrap_err();
    assert_eq!(fault.code, "BW-O02");
}

#[cfg(unix)]
#[test]
fn results_get_what_the_file_mask_allows() {
    use std::os::unix::fs::PermissionsExt;
    let root = tempfile::tempdir().unwrap();
    // What the mask allows, told by a file and a folder made in the plain way.
    let (file, dir) = (root.path().join("plain"), root.path().join("plain.d"));
    fs::write(&file, "").unwrap();
    fs::create_dir(&dir).unwrap();
    let mode = |path: &Path| fs::metadata(path).unwrap().permissions().mode() & 0o777;
    write_file_atomically(&root.path().join("x"), b"1").unwrap();
    assert_eq!(mode(&root.path().join("x")), mode(&file));
    let place = Folder::build_beside(&root.path().join("out"))
        .unwrap()
        .finish()
        .unwrap()
        .place;
    assert_eq!(mode(&place), mode(&dir));
}

#[test]
fn unfinished_files_of_killed_runs_are_swept_and_those_of_living_ones_are_not() {
    let root = tempfile::tempdir().unwrap();
    let old = std::time::SystemTime::now() - std::time::Duration::from_secs(60);
    let left = |name: &str| {
        let file = fs::File::create(root.path().join(name)).unwrap();
        file.set_modified(old).unwrap();
        file
    };
    drop(left(".brimwater-file-dead01"));
    let held = left(".brimwater-file-alive1");
    held.try_lock().unwrap();
    drop(fs::File::create(root.path().join(".brimwater-file-young1")).unwrap());
    write_file_atomically(&root.path().join("x"), b"1").unwrap();
    assert_eq!(
        names(root.path()),
        [".brimwater-file-alive1", ".brimwater-file-young1", "x"]
    );
}
