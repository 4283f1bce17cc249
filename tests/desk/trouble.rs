//! A full disk, two desks on one log, a clock that is set: nothing that was shown as saved is lost, and what was not saved says so.
#![allow(clippy::unwrap_used, clippy::panic)]

use crate::deskside::{Client, DeskRun, link, list, program, programme};
use crate::http::open;
use brimwater::desk::log::{Log, Note};
use brimwater::outreach::outcome::Outcome;
use brimwater::store::NewCall;
use chrono::{DateTime, TimeDelta, Utc};
use std::path::Path;
use std::time::{Duration, Instant};

/// The notes of a log, as another process lists them.
fn notes(log: &Path) -> Vec<String> {
    let listed = program()
        .args(["log", "--calls", "--format", "json", "--quiet", "--db"])
        .arg(log)
        .output()
        .unwrap();
    assert!(listed.status.success(), "{}", String::from_utf8_lossy(&listed.stderr));
    let told: serde_json::Value = serde_json::from_slice(&listed.stdout).unwrap();
    let calls = told["calls"].as_array().unwrap_or_else(|| panic!("{told}"));
    let mut notes: Vec<String> = calls
        .iter()
        .map(|call| call["answer"].as_str().unwrap().to_owned())
        .collect();
    notes.sort();
    notes
}

/// The kernel answers every write to the files with `ENOSPC`, until this is dropped.
#[cfg(target_os = "linux")]
struct FullDisk(std::process::Child);

#[cfg(target_os = "linux")]
impl FullDisk {
    /// X-Val: strace's manual, "syscall tampering"; write(2): ENOSPC, the device has no room for the data.
    fn under(desk: &DeskRun) -> Option<Self> {
        let calls = "write,pwrite64,writev,pwritev,ftruncate,fallocate";
        let mut strace = std::process::Command::new("strace");
        strace.args(["-f", "-qq", "-o", "/dev/null", "-p", &desk.pid().to_string()]);
        for name in ["calls.db", "calls.db-wal", "calls.db-journal", "calls.audit.jsonl"] {
            strace.arg("-P").arg(desk.log.with_file_name(name));
        }
        strace
            .arg(format!("--trace={calls}"))
            .arg(format!("--inject={calls}:error=ENOSPC"));
        let mut child = strace.stderr(std::process::Stdio::null()).spawn().ok()?;
        let tasks = format!("/proc/{}/task", desk.pid());
        let until = Instant::now() + Duration::from_secs(10);
        loop {
            let traced = std::fs::read_dir(&tasks).unwrap().all(|task| {
                let status = std::fs::read_to_string(task.unwrap().path().join("status")).unwrap_or_default();
                status.contains("TracerPid:") && !status.contains("TracerPid:\t0")
            });
            if traced {
                return Some(Self(child));
            }
            if child.try_wait().unwrap().is_some() || Instant::now() > until {
                return None;
            }
            std::thread::sleep(Duration::from_millis(50));
        }
    }
}

#[cfg(target_os = "linux")]
impl Drop for FullDisk {
    fn drop(&mut self) {
        // Asked to end, it lets go of the desk; killed, it would as well, but only after what it holds.
        let _ = std::process::Command::new("kill").arg(self.0.id().to_string()).status();
        let _ = self.0.wait();
    }
}

#[cfg(target_os = "linux")]
#[test]
fn on_a_full_disk_nothing_is_shown_as_saved_pages_answer_and_what_was_typed_is_saved_afterwards() {
    let folder = programme(40);
    let mut desk = DeskRun::start_without_weather(folder.path(), &[]);
    let mut client = Client::new(desk.address);
    let (path, _) = open(&mut client, &desk);
    client.get(&path);
    let note = |client: &mut Client, text: &str, once: &str| {
        client.post(
            &format!("{path}/note"),
            &[("by", "Rosa"), ("text", text), ("once", once)],
        )
    };
    assert_eq!(note(&mut client, "before", "f1").status, 303);
    client.get(&path);
    let Some(full) = FullDisk::under(&desk) else {
        eprintln!("SKIPPED: strace is missing or may not trace here; no disk was full");
        return;
    };
    let reply = note(&mut client, "while full", "f2");
    assert_eq!(reply.status, 503, "{}", reply.body);
    assert!(
        reply.body.contains("Not saved") && reply.body.contains("while full"),
        "{}",
        reply.body
    );
    let page = client.get(&path);
    assert_eq!(page.status, 200);
    assert!(page.body.contains("before") && page.body.contains("audit file cannot be written"));
    let told = [
        ("where", "relief-port"),
        ("rate", "1 cup in 10 min"),
        ("when", "cold-nights"),
        ("go", "answer"),
    ];
    assert!(
        client.post(&path, &told).body.contains("id=\"answer\""),
        "no answer on a full disk"
    );
    drop(full);
    assert_eq!(note(&mut client, "while full", "f2").status, 303);
    assert!(!client.get(&path).body.contains("audit file cannot be written"));
    desk.kill();
    assert_eq!(notes(&desk.log), ["before", "while full"]);
    // What the audit did take is whole lines.
    let audit = std::fs::read_to_string(desk.log.with_extension("audit.jsonl")).unwrap();
    for line in audit.lines() {
        assert!(serde_json::from_str::<serde_json::Value>(line).is_ok(), "{line}");
    }
}

#[test]
fn two_desks_on_one_log_lose_no_note_while_one_of_them_is_killed_and_begins_again() {
    let folder = programme(40);
    let mut first = DeskRun::start_without_weather(folder.path(), &["--requests-per-second", "100000"]);
    let second = DeskRun::start_without_weather(folder.path(), &["--requests-per-second", "100000"]);
    let row = list(&first.assemblies)
        .into_iter()
        .find(|row| row["assembly_id"].starts_with("A-"))
        .unwrap();
    // One rep for so many notes, on whichever desk; the notes that the desk said it keeps.
    let rep = |desk: &DeskRun, name: &str, most: usize| {
        let (address, id, name) = (desk.address, row["assembly_id"].clone(), name.to_owned());
        std::thread::spawn(move || {
            let mut client = Client::new(address);
            client.get("/phone");
            let found = client.post("/phone/find", &[("q", &id)]);
            let path = link(&found.body, "/phone/a/").unwrap();
            client.get(&path);
            let mut kept = Vec::new();
            for n in 0..most {
                let text = format!("note {n} of {name}");
                let fields = [("by", name.as_str()), ("text", text.as_str()), ("once", text.as_str())];
                // Where the desk is gone there is no answer, so nothing is promised.
                let sent = std::panic::catch_unwind(std::panic::AssertUnwindSafe(|| {
                    client.post(&format!("{path}/note"), &fields).status
                }));
                match sent {
                    Ok(303) => kept.push(text),
                    Ok(503) => (),
                    _ => break,
                }
            }
            kept
        })
    };
    let mut kept = Vec::new();
    let steady = [rep(&second, "Omar", 300), rep(&second, "Lena", 300)];
    for round in 0..4 {
        let cut = [
            rep(&first, &format!("Rosa {round}"), 10_000),
            rep(&first, &format!("Ines {round}"), 10_000),
        ];
        std::thread::sleep(Duration::from_millis(400 + 150 * round));
        first.kill();
        for rep in cut {
            kept.extend(rep.join().unwrap());
        }
        first = DeskRun::start_without_weather(folder.path(), &["--requests-per-second", "100000"]);
    }
    for rep in steady {
        kept.extend(rep.join().unwrap());
    }
    assert!(kept.len() > 500, "{} notes", kept.len());
    let found = notes(&first.log);
    let lost: Vec<&String> = kept.iter().filter(|note| found.binary_search(note).is_err()).collect();
    assert!(lost.is_empty(), "{} of {} lost: {lost:?}", lost.len(), kept.len());
    let mut once = found.clone();
    once.dedup();
    assert_eq!(once.len(), found.len(), "a note stands twice");
    // Each desk shows what the other took.
    for (desk, text) in [(&first, "of one desk"), (&second, "of the other")] {
        let mut client = Client::new(desk.address);
        let (path, _) = open(&mut client, desk);
        client.get(&path);
        let fields = [("by", "Rosa"), ("text", text), ("once", text)];
        assert_eq!(client.post(&format!("{path}/note"), &fields).status, 303);
    }
    for desk in [&first, &second] {
        let mut client = Client::new(desk.address);
        let (path, _) = open(&mut client, desk);
        let card = client.get(&path).body;
        assert!(card.contains("of one desk") && card.contains("of the other"));
    }
}

#[test]
fn after_the_clock_was_set_back_the_later_word_still_counts() {
    let folder = tempfile::tempdir().unwrap();
    let (log, told) = Log::open(&folder.path().join("calls.db"), None).unwrap();
    assert!(told.is_none());
    let noon: DateTime<Utc> = "2027-01-19T18:00:00Z".parse().unwrap();
    let note = |outcome, at| Note {
        at,
        id: "C-A-1".into(),
        outcome,
        text: String::new(),
        by: "Rosa".into(),
    };
    let last = |log: &Log| {
        let history = log.history(None).unwrap();
        let standing = history.of("C-A-1", ["A-1"].into_iter()).unwrap();
        (standing.last, standing.last_at)
    };
    // A clock an hour ahead is set right between a slip and its correction.
    log.save(&note(Outcome::Declined, noon), "1").unwrap();
    log.save(&note(Outcome::Reached, noon - TimeDelta::minutes(58)), "2")
        .unwrap();
    assert_eq!(last(&log), (Outcome::Reached, noon + TimeDelta::seconds(1)));
    // The same for a call that came in and counts as a contact.
    log.save(&note(Outcome::WrongNumber, noon + TimeDelta::minutes(5)), "3")
        .unwrap();
    let call = NewCall {
        at: noon - TimeDelta::minutes(50),
        about: brimwater::store::About::Assembly,
        subject: "A-1".into(),
        caller: String::new(),
        words: String::new(),
        answer: "told".into(),
        told: true,
        owner: "Rosa".into(),
        due: Some(noon - TimeDelta::minutes(50) + TimeDelta::hours(4)),
        by: "Rosa".into(),
        source: "desk",
        uid: None,
    };
    log.record(call, "4").unwrap();
    assert_eq!(last(&log).0, Outcome::Reached);
    // A clock that runs as it should leaves times as they are.
    log.save(&note(Outcome::Done, noon + TimeDelta::hours(2)), "5").unwrap();
    assert_eq!(last(&log), (Outcome::Done, noon + TimeDelta::hours(2)));
}
