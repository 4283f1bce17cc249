//! Copying between file and server, and removing old personal data.

use super::both::{event, new_call, noon, on_server, over_both};
use super::deskside::program;
use super::server::{self, role};
use brimwater::outreach::outcome::Outcome;
use brimwater::store::copy::copy;
use brimwater::store::server::Server;
use brimwater::store::server::set_up::Job;
use brimwater::store::{About, CallFilter, Filter, Log, NewCall, NewEvent, Step, Store};
use chrono::TimeDelta;
use std::path::Path;

/// A file with everything a log can hold, a note that an early version kept as if somebody had been reached included.
fn full(path: &Path) -> Log {
    let (mut log, _) = Log::open(path, Some("north")).unwrap();
    let mut events = Vec::new();
    for n in 0..2_500 {
        let outcome = Outcome::ALL[n % 6];
        let note = if n % 40 == 0 {
            "ñ \"quoted\", 'x' \n two lines\t水"
        } else {
            ""
        };
        let new = NewEvent {
            note: note.into(),
            uid: Some(format!("event-{n:016}")),
            ..event(&format!("C-{}", n % 700), outcome, n as i64 % 90)
        };
        events.push(new);
    }
    log.add_all(&events).unwrap();
    for n in 0..30 {
        let id = log
            .record(&new_call(&format!("A-{n}"), n % 3 == 0, (n % 2 == 0).then_some(n)))
            .unwrap();
        if n % 4 == 0 {
            log.step(id, Step::Tried, "no answer", "Lee", None).unwrap();
            log.step(id, Step::Kept, "", "Lee", None).unwrap();
        }
    }
    log.record(&NewCall {
        about: About::Neither,
        subject: String::new(),
        ..new_call("", false, None)
    })
    .unwrap();
    // As the move from the first version of the tables leaves it.
    log.add(&NewEvent {
        uid: Some("early-0123456789".into()),
        note: "asked about a drip".into(),
        ..event("A-900", Outcome::Reached, 1)
    })
    .unwrap();
    let raw = rusqlite::Connection::open(path).unwrap();
    raw.execute(
        "INSERT INTO calls (uid, at, noted_at, about, subject, caller, words, answer, told, owner, due, by, source, from_event) \
         SELECT uid, at, noted_at, 'assembly', contact, '', '', note, 0, by, NULL, by, 'migrated', id FROM events WHERE uid = 'early-0123456789'",
        [],
    )
    .unwrap();
    log
}

fn said(log: &dyn Store) -> (Vec<String>, Vec<String>, String) {
    let mut events: Vec<String> = log
        .list(&Filter::default())
        .unwrap()
        .into_iter()
        .map(|e| {
            format!(
                "{} {} {} {:?} {} {} {}",
                e.at,
                e.contact,
                e.outcome.word(),
                e.note,
                e.by,
                e.source,
                e.counts
            )
        })
        .collect();
    events.sort();
    let mut calls: Vec<String> = log
        .calls(&CallFilter::default())
        .unwrap()
        .into_iter()
        .map(|c| {
            format!(
                "{} {:?} {} {} {:?} {:?} {} {}",
                c.at, c.about, c.subject, c.words, c.due, c.ended, c.tried, c.told
            )
        })
        .collect();
    calls.sort();
    let history = log.history(Some(noon() + TimeDelta::hours(20))).unwrap();
    let mut standings: Vec<String> = history.0.iter().map(|(id, s)| format!("{id} {s:?}")).collect();
    standings.sort();
    (events, calls, standings.join("\n"))
}

#[test]
fn a_log_goes_to_the_server_and_back_and_is_the_same() {
    let Some(mut there) = on_server() else { return };
    let folder = tempfile::tempdir().unwrap();
    let here = full(&folder.path().join("calls.log"));
    let one = copy(&here, &mut there).unwrap();
    assert_eq!((one.given.events, one.new.events), (2_511, 2_511), "{one:?}");
    assert_eq!((one.given.calls, one.given.steps), (32, 16), "{one:?}");
    // Standings with ties are ordered by number, which a copy keeps.
    assert_eq!(said(&here), said(&there));
    let again = copy(&here, &mut there).unwrap();
    assert_eq!(
        (again.new.events, again.new.calls, again.new.steps),
        (0, 0, 0),
        "twice is once"
    );
    let (mut back, _) = Log::open(&folder.path().join("back.log"), Some("north")).unwrap();
    let other = copy(&there, &mut back).unwrap();
    assert_eq!(other.digest, one.digest);
    assert_eq!(said(&here), said(&back));
}

/// A wrong program counts rows and does not look what they say.
#[test]
fn a_copy_that_says_something_else_is_found() {
    let Some(mut there) = on_server() else { return };
    let folder = tempfile::tempdir().unwrap();
    let (mut here, _) = Log::open(&folder.path().join("calls.log"), Some("north")).unwrap();
    let same = |note: &str| NewEvent {
        uid: Some("same-0123456789abcdef".into()),
        note: note.into(),
        ..event("C-1", Outcome::Done, 0)
    };
    here.add(&same("one")).unwrap();
    there.add(&same("another")).unwrap();
    assert_eq!(copy(&here, &mut there).unwrap_err().code, "BW-L41");
}

#[test]
fn the_command_copies_both_ways_and_tells_counts_and_digest() {
    let Some(run) = server::shared() else { return };
    let database = run.database(&["north"]);
    let url = run.url(&role(&database, "north", Job::Desk), &database);
    let folder = tempfile::tempdir().unwrap();
    let (file, back) = (folder.path().join("calls.log"), folder.path().join("back.log"));
    drop(full(&file));
    let command = |from: &str, to: &str| {
        let done = program().args(["log", "--db", from, "--copy-to", to]).output().unwrap();
        let text = String::from_utf8_lossy(&done.stdout).into_owned();
        assert_eq!(
            done.status.code(),
            Some(0),
            "{text}{}",
            String::from_utf8_lossy(&done.stderr)
        );
        let digest = text.split("digest ").nth(1).unwrap().lines().next().unwrap().to_owned();
        (text, digest)
    };
    let (text, there) = command(file.to_str().unwrap(), &url);
    assert!(text.contains("2511 events (2511 new there)"), "{text}");
    let (_, here) = command(&url, back.to_str().unwrap());
    assert_eq!(there, here);
    // Another utility's log is refused.
    let other = folder.path().join("south.log");
    drop(Log::open(&other, Some("south")).unwrap());
    let done = program()
        .args(["log", "--db", other.to_str().unwrap(), "--copy-to", &url])
        .output()
        .unwrap();
    assert!(done.status.code() == Some(2) && String::from_utf8_lossy(&done.stderr).contains("BW-L03"));
}

#[test]
fn what_is_old_is_forgotten_and_the_counts_stay() {
    let filter = CallFilter {
        open: true,
        ..CallFilter::default()
    };
    let fill = |log: &mut dyn Store| {
        for (contact, hours) in [("C-old", -50), ("C-both", -50), ("C-both", 5), ("C-new", 5)] {
            let new = NewEvent {
                note: format!("secret of {contact} {hours}"),
                ..event(contact, Outcome::MessageLeft, hours)
            };
            log.add(&new).unwrap();
        }
        let old = |subject: &str, due| NewCall {
            at: noon() - TimeDelta::hours(50),
            ..new_call(subject, false, due)
        };
        let kept = log.record(&old("A-kept", Some(-40))).unwrap();
        log.step(kept, Step::Kept, "secret step", "Lee", None).unwrap();
        log.record(&old("A-waits", Some(-40))).unwrap();
        log.record(&old("A-plain", None)).unwrap();
    };
    let check = |kind: &str, log: &dyn Store| {
        let events = log.list(&Filter::default()).unwrap();
        assert_eq!(events.len(), 4, "{kind}");
        let names: Vec<&str> = events.iter().map(|e| e.contact.as_str()).collect();
        assert_eq!(names, ["(forgotten)", "(forgotten)", "C-both", "C-new"], "{kind}");
        assert!(
            events.iter().all(|e| e.outcome == Outcome::MessageLeft),
            "{kind}: outcomes stay"
        );
        assert!(events[0].note.is_empty() && events[2].note.contains("secret"), "{kind}");
        let history = log.history(None).unwrap();
        assert_eq!(history.0.len(), 2, "{kind}: {history:?}");
        assert_eq!(
            history.0["C-both"].attempts, 1,
            "{kind}: what was forgotten does not count for a person"
        );
        let calls = log.calls(&CallFilter::default()).unwrap();
        assert_eq!(calls.len(), 3, "{kind}");
        let open = log.calls(&filter).unwrap();
        assert!(
            open.len() == 1 && open[0].subject == "A-waits" && open[0].caller == "the neighbour",
            "{kind}: somebody waits"
        );
        assert!(
            calls
                .iter()
                .filter(|c| c.subject == "(forgotten)" && c.caller.is_empty() && c.words.is_empty())
                .count()
                == 2,
            "{kind}"
        );
    };
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("calls.log");
    let (mut log, _) = Log::open(&path, Some("north")).unwrap();
    fill(&mut log);
    let counts = log.forget_before(noon()).unwrap();
    assert_eq!((counts.events, counts.calls), (2, 2));
    check("file", &log);
    assert_eq!(log.forget_before(noon()).unwrap().events, 0, "twice is once");
    drop(log);
    // The bytes are gone as well.
    for entry in std::fs::read_dir(folder.path()).unwrap().flatten() {
        let bytes = std::fs::read(entry.path()).unwrap();
        for gone in ["C-old", "secret of C-old", "A-plain", "A-kept"] {
            let found = bytes.windows(gone.len()).any(|part| part == gone.as_bytes());
            assert!(!found, "{gone} is still in {:?}", entry.file_name());
        }
    }
    let raw = rusqlite::Connection::open(&path).unwrap();
    assert!(
        raw.execute("UPDATE events SET note = 'x'", []).is_err(),
        "the rule is in force again"
    );
    let Some(mut there) = on_server() else { return };
    fill(&mut there);
    let counts = there.forget_before(noon()).unwrap();
    assert_eq!((counts.events, counts.calls), (2, 2));
    check("server", &there);
    // A desk may not.
    let address = there.address().clone();
    let desk = role(&address.database, "north", Job::Desk);
    let mut desk = Server::open(&server::shared().unwrap().address(&desk, &address.database), None).unwrap();
    assert_eq!(desk.forget_before(noon()).unwrap_err().code, "BW-L37");
}

#[test]
fn the_command_forgets_and_says_what_stays() {
    over_both(|_, log| {
        log.add(&NewEvent {
            note: "old".into(),
            ..NewEvent::now("C-1", Outcome::Done, "old", "Rosa", "command")
        })
        .unwrap();
        let place = log.shown();
        let run = |when: &str| {
            program()
                .args(["log", "--db", &place, "--forget-before", when])
                .output()
                .unwrap()
        };
        let done = run("2001-01-01");
        let text = String::from_utf8_lossy(&done.stdout).into_owned();
        assert!(
            text.contains("from 0 events") && text.contains("All 1 events stay"),
            "{text}"
        );
        assert_eq!(run("2999-01-01").status.code(), Some(2));
    });
}
