//! The process itself killed before each of its system calls that write: nothing that was there is lost, and the next run goes on.
//!
//! The kernel's own interface does it: `strace` (its manual, "syscall tampering") delivers SIGKILL in place of the n-th call of a kind. X-Val:
//! POSIX 1003.1, rename() is atomic; what was there before the kill, byte for byte; `sha256sum` by the ledger of a folder.

use crate::demonstration::{self, brimwater};
use sha2::{Digest, Sha256};
use std::fs;
use std::os::unix::process::ExitStatusExt;
use std::path::Path;
use std::process::Command;
use tempfile::TempDir;

/// Whether processes may be traced here; where not, that is said loudly.
fn may_trace() -> bool {
    let works = Command::new("strace")
        .args(["-f", "-qq", "-o", "/dev/null", "true"])
        .output()
        .is_ok_and(|done| done.status.success());
    if !works {
        eprintln!("SKIPPED: strace is missing or may not trace here; nothing was killed");
    }
    works
}

/// Runs the program and kills it before its `at`-th call of a kind; whether it came to that.
fn killed(folder: &Path, call: &str, at: usize, arguments: &[&str]) -> bool {
    let done = Command::new("strace")
        .args(["-f", "-qq", "-o", "/dev/null"])
        .arg(format!("--trace={call}"))
        .arg(format!("--inject={call}:signal=KILL:when={at}"))
        .arg(env!("CARGO_BIN_EXE_brimwater"))
        .args(arguments)
        .current_dir(folder)
        .env("RAYON_NUM_THREADS", "1")
        .output()
        .unwrap();
    done.status.signal() == Some(9) || done.status.code() == Some(137)
}

fn events(folder: &Path) -> Vec<String> {
    let done = brimwater(folder, &["log", "--db", "calls.log", "--list", "--format", "csv"]);
    assert!(done.status.success(), "{}", String::from_utf8_lossy(&done.stderr));
    String::from_utf8(done.stdout)
        .unwrap()
        .lines()
        .skip(1)
        .map(str::to_owned)
        .collect()
}

fn record<'a>(contact: &'a str, outcome: &'a str) -> [&'a str; 11] {
    [
        "log",
        "--db",
        "calls.log",
        "--contact",
        contact,
        "--outcome",
        outcome,
        "--by",
        "Rosa",
        "--at",
        "2026-01-09 09:00",
    ]
}

/// Calls of the system that change a file or its name. `openat` is among them for it makes files.
const WRITING: [&str; 10] = [
    "openat",
    "write",
    "pwrite64",
    "fsync",
    "fdatasync",
    "ftruncate",
    "rename",
    "renameat2",
    "unlink",
    "mkdir",
];

/// Catches an event told as saved before it is on disk, a journal that is thrown away with what it holds, a lock that nobody gives back.
#[test]
fn a_log_killed_before_any_call_keeps_what_it_had_and_takes_the_next() {
    if !may_trace() {
        return;
    }
    let base = TempDir::new().unwrap();
    for contact in ["C-1", "C-2", "C-3"] {
        let done = brimwater(base.path(), &record(contact, "reached"));
        assert!(done.status.success(), "{}", String::from_utf8_lossy(&done.stderr));
    }
    let before = events(base.path());
    assert_eq!(before.len(), 3, "{before:?}");
    let mut kills = 0;
    for begun in [true, false] {
        for call in WRITING {
            for at in 1.. {
                let work = TempDir::new().unwrap();
                if begun {
                    fs::copy(base.path().join("calls.log"), work.path().join("calls.log")).unwrap();
                }
                let was_killed = killed(work.path(), call, at, &record("C-4", "no-answer"));
                let told = format!("begun {begun}, before {call} {at}");
                let had: &[String] = if begun { &before } else { &[] };
                if begun || work.path().join("calls.log").exists() {
                    let after = events(work.path());
                    assert!(
                        after.starts_with(had) && after.len() <= had.len() + 1,
                        "{told}: {after:?}"
                    );
                    assert!(
                        was_killed || after.len() == had.len() + 1,
                        "{told}: not killed and not saved"
                    );
                }
                let next = brimwater(work.path(), &record("C-5", "done"));
                assert!(
                    next.status.success(),
                    "{told}: {}",
                    String::from_utf8_lossy(&next.stderr)
                );
                let after = events(work.path());
                assert!(
                    after.starts_with(had) && after.iter().any(|event| event.contains("C-5")),
                    "{told}: {after:?}"
                );
                if !was_killed {
                    break;
                }
                kills += 1;
            }
        }
    }
    println!("{kills} kills");
    // A journal, its deletion and a page or two, with the calls that load the program.
    assert!(kills > 40, "{kills}");
}

/// Whether a folder holds all that its ledger names, byte for byte.
fn whole(place: &Path) -> bool {
    let Ok(ledger) = fs::read_to_string(place.join(".brimwater")) else {
        return false;
    };
    let named: Vec<(&str, &str)> = ledger
        .lines()
        .skip(1)
        .filter_map(|line| line.split_once("  "))
        .collect();
    named.len() > 10
        && named.iter().all(|(sum, name)| {
            fs::read(place.join(name)).is_ok_and(|bytes| {
                let digest: String = Sha256::digest(&bytes)
                    .iter()
                    .map(|byte| format!("{byte:02x}"))
                    .collect();
                digest == *sum
            })
        })
}

/// Catches a plan that stands half old and half new, one that is gone between two names, and building folders that nothing sweeps.
#[test]
fn a_plan_killed_before_any_call_leaves_the_old_plan_or_the_new_one() {
    if !may_trace() {
        return;
    }
    let root = TempDir::new().unwrap();
    demonstration::make(root.path(), 8);
    let plan = |seed: &'static str| {
        demonstration::plan(&[
            "--members",
            "4",
            "--advice-cases",
            "1",
            "--seed",
            seed,
            "--out",
            "plans/week",
        ])
    };
    fs::create_dir(root.path().join("plans")).unwrap();
    let run = |seed: &'static str| {
        let done = brimwater(root.path(), &plan(seed));
        assert!(
            done.status.code() != Some(2),
            "{}",
            String::from_utf8_lossy(&done.stderr)
        );
    };
    let place = root.path().join("plans/week");
    run("1");
    assert!(whole(&place));
    let mut kills = 0;
    for call in WRITING {
        // Hundreds of writes and opened files: every ninth of them, each of the rest.
        let stride = if ["write", "openat"].contains(&call) { 9 } else { 1 };
        for at in (1..).step_by(stride) {
            let was_killed = killed(root.path(), call, at, &plan("2"));
            let told = format!("before {call} {at}");
            assert!(whole(&place), "{told}");
            if !was_killed {
                break;
            }
            kills += 1;
            run("1");
            assert!(whole(&place), "{told}");
            let left: Vec<String> = fs::read_dir(root.path().join("plans"))
                .unwrap()
                .flatten()
                .map(|entry| entry.file_name().to_string_lossy().into_owned())
                .collect();
            assert_eq!(left, ["week"], "{told}");
        }
    }
    println!("{kills} kills");
    assert!(kills > 60, "{kills}");
}
