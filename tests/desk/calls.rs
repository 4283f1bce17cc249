//! Calls that come in are no outcomes of our own outreach, and a promised call-back ends only when it is kept.
#![allow(clippy::unwrap_used, clippy::panic)]

use super::deskside::{Client, DeskRun, link, list, program, programme};
use brimwater::outreach::outcome::Outcome;
use brimwater::store::{About, CallFilter, Filter, Log, NewCall, NewEvent, Step};
use chrono::{DateTime, TimeDelta, TimeZone, Utc};
use std::path::Path;

fn noon() -> DateTime<Utc> {
    Utc.with_ymd_and_hms(2031, 1, 9, 18, 0, 0).unwrap()
}

fn call(subject: &str, told: bool, due: Option<DateTime<Utc>>) -> NewCall {
    NewCall {
        at: noon(),
        about: if subject.is_empty() {
            About::Neither
        } else {
            About::Assembly
        },
        subject: subject.into(),
        caller: "a neighbour".into(),
        words: "the water heater hums".into(),
        answer: "a licensed plumber looks at it".into(),
        told,
        owner: "Rosa".into(),
        due,
        by: "Omar".into(),
        source: "desk",
        uid: None,
    }
}

fn log(folder: &Path) -> Log {
    Log::open(&folder.join("calls.db"), None).unwrap().0
}

/// A wrong program that takes a call that comes in for "reached" takes a school off the list because somebody asked about a heater.
#[test]
fn only_who_was_told_about_the_freeze_counts_as_reached() {
    let folder = tempfile::tempdir().unwrap();
    let mut log = log(folder.path());
    log.record(&call("A-1", false, None)).unwrap();
    log.record(&call("A-2", true, None)).unwrap();
    log.record(&call("", true, None)).unwrap();
    let history = log.history(None).unwrap();
    assert!(
        !history.0.contains_key("A-1"),
        "a question about a heater is no contact"
    );
    assert_eq!(history.0["A-2"].last, Outcome::Reached);
    assert_eq!(history.0.len(), 1);
    let calls = log.calls(&CallFilter::default()).unwrap();
    assert_eq!(
        calls.iter().map(|call| call.told).collect::<Vec<_>>(),
        [false, true, true]
    );
}

/// A wrong program closes a call-back with the next note about the same place.
#[test]
fn a_call_back_ends_only_when_it_is_kept() {
    let folder = tempfile::tempdir().unwrap();
    let mut log = log(folder.path());
    let later = noon() + TimeDelta::hours(24);
    let second = log.record(&call("A-1", false, Some(later))).unwrap();
    let first = log.record(&call("A-1", false, Some(noon()))).unwrap();
    let open = CallFilter {
        open: true,
        ..CallFilter::default()
    };
    let owed = |log: &Log| {
        log.calls(&open)
            .unwrap()
            .into_iter()
            .map(|call| call.id)
            .collect::<Vec<_>>()
    };
    assert_eq!(owed(&log), [first, second], "the earliest due first");
    log.add(&NewEvent::now("A-1", Outcome::NoAnswer, "", "Omar", "desk"))
        .unwrap();
    log.step(first, Step::Tried, "", "Omar", None).unwrap();
    assert_eq!(
        owed(&log),
        [first, second],
        "an attempt nobody answers keeps no promise"
    );
    assert_eq!(log.calls(&open).unwrap()[0].tried, 1);
    log.step(first, Step::Kept, "", "Omar", None).unwrap();
    assert_eq!(owed(&log), [second]);
    assert_eq!(log.step(99, Step::Kept, "", "Omar", None).unwrap_err().code, "BW-L18");
}

#[test]
fn a_call_that_says_too_little_is_refused_and_one_that_comes_twice_is_kept_once() {
    let folder = tempfile::tempdir().unwrap();
    let mut log = log(folder.path());
    let bad = |change: fn(&mut NewCall)| {
        let mut bad = call("A-1", false, Some(noon()));
        change(&mut bad);
        bad.check().unwrap_err().code
    };
    assert_eq!(bad(|call| call.subject.clear()), "BW-L16");
    assert_eq!(bad(|call| call.by.clear()), "BW-L11");
    assert_eq!(bad(|call| call.owner.clear()), "BW-L17");
    assert_eq!(bad(|call| call.words = "x".repeat(4_001)), "BW-L12");
    let mut twice = call("A-1", true, None);
    twice.uid = Some("the same form, sent twice".into());
    assert!(log.record(&twice).unwrap() > 0);
    assert_eq!(log.record(&twice).unwrap(), 0);
    assert_eq!(log.calls(&CallFilter::default()).unwrap().len(), 1);
    assert_eq!(log.count().unwrap(), 1);
}

/// The tables of version 1 as they stood in the last release, filled with what its desk wrote.
fn version_1(path: &Path, now: DateTime<Utc>) {
    let db = rusqlite::Connection::open(path).unwrap();
    db.execute_batch(include_str!("../data/log/version_1.sql")).unwrap();
    let stamp = |at: DateTime<Utc>| at.format("%Y-%m-%dT%H:%M:%SZ").to_string();
    let due = |days: i64| stamp(now + TimeDelta::days(days));
    let rows: [(&str, &str, String, &str); 9] = [
        // A heater's call about a school: the form stood at "reached".
        ("A-1", "reached", "working as meant (today)".into(), "desk"),
        // Reached from the list of calls: no text, the plan's name for the person.
        ("C-A-2", "reached", String::new(), "desk"),
        ("C-A-3", "reached", "spoke with the manager".into(), "import"),
        ("A-4", "declined", "does not want to be called".into(), "desk"),
        // Promised; then nobody answered, which hid the promise.
        (
            "A-5",
            "reached",
            format!("[call back by {}] asks about a wrap", due(0)),
            "desk",
        ),
        ("A-5", "no-answer", String::new(), "desk"),
        // Promised and kept.
        (
            "A-6",
            "reached",
            format!("[call back by {}] asks for a tester", due(0)),
            "desk",
        ),
        ("A-6", "done", "tester named".into(), "desk"),
        // Promised last winter.
        (
            "A-7",
            "reached",
            format!("[call back by {}] long ago", due(-300)),
            "desk",
        ),
    ];
    for (n, (contact, outcome, note, source)) in rows.iter().enumerate() {
        db.execute(
            "INSERT INTO events (uid, at, noted_at, contact, outcome, note, by, source) VALUES (?1, ?2, ?2, ?3, ?4, ?5, 'Rosa', ?6)",
            rusqlite::params![format!("uid-of-16-letters-{n}"), stamp(now), contact, outcome, note, source],
        )
        .unwrap();
    }
}

/// Wrong programs: one that leaves the heater's call as a contact, one that drops real contacts with it, one that loses a promise.
#[test]
fn a_log_of_version_1_is_moved_with_nothing_lost_and_only_once() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("calls.db");
    let now = Utc::now();
    version_1(&path, now);
    // It can be read as it is where it may not be changed.
    assert_eq!(Log::open_to_read(&path, None).unwrap().count().unwrap(), 9);
    for _ in 0..2 {
        let log = log(folder.path());
        assert_eq!(
            log.list(&Filter::default()).unwrap().len(),
            9,
            "events stand as they were"
        );
        let history = log.history(None).unwrap();
        let mut counted: Vec<_> = history
            .0
            .iter()
            .map(|(id, standing)| (id.as_str(), standing.last))
            .collect();
        counted.sort();
        assert_eq!(
            counted,
            [
                ("A-4", Outcome::Declined),
                ("A-5", Outcome::NoAnswer),
                ("A-6", Outcome::Done),
                ("C-A-2", Outcome::Reached),
                ("C-A-3", Outcome::Reached),
            ]
        );
        let calls = log.calls(&CallFilter::default()).unwrap();
        let told: Vec<_> = calls
            .iter()
            .map(|call| {
                (
                    call.subject.as_str(),
                    call.answer.as_str(),
                    call.due.is_some(),
                    call.ended.as_deref(),
                )
            })
            .collect();
        assert_eq!(
            told,
            [
                ("A-1", "working as meant (today)", false, None),
                ("A-5", "asks about a wrap", true, None),
                ("A-6", "asks for a tester", true, Some("kept")),
                ("A-7", "long ago", true, Some("lapsed")),
            ]
        );
    }
}

/// The first page of a search and a card, as a rep gets there.
fn opened(client: &mut Client, desk: &DeskRun) -> (String, String) {
    let row = list(&desk.assemblies)
        .into_iter()
        .find(|row| !row["site_address"].is_empty())
        .unwrap();
    client.get("/phone");
    let found = client.post("/phone/find", &[("q", &row["assembly_id"])]).body;
    (link(&found, "/phone/a/").unwrap(), row["assembly_id"].clone())
}

#[test]
fn a_rep_keeps_a_call_about_a_place_on_no_list_and_its_call_back_leads_her_page_until_it_is_kept() {
    let folder = programme(40);
    let desk = DeskRun::start_without_weather(folder.path(), &[]);
    let mut client = Client::new(desk.address);
    assert!(client.get("/phone/drip").body.contains("name=\"about\""));
    let fields = [
        ("by", "Rosa"),
        ("about", "14 Nowhere Lane"),
        ("caller", "a neighbour"),
        ("words", "water runs <b>over</b> the walk"),
        ("follow", "4"),
        ("once", "n1"),
    ];
    assert_eq!(client.post("/phone/drip/note", &fields).status, 303);
    let (card, id) = opened(&mut client, &desk);
    client.get(&card);
    let about = [
        ("by", "Rosa"),
        ("text", "nothing to do with the freeze"),
        ("once", "n2"),
    ];
    assert_eq!(client.post(&format!("{card}/note"), &about).status, 303);
    assert!(client.get(&card).body.contains("nothing to do with the freeze"));
    assert!(
        log(folder.path()).history(None).unwrap().0.is_empty(),
        "a call that comes in was counted as a contact"
    );
    let told = [("by", "Rosa"), ("told", "yes"), ("once", "n3")];
    assert_eq!(client.post(&format!("{card}/note"), &told).status, 303);
    assert_eq!(log(folder.path()).history(None).unwrap().0[&id].last, Outcome::Reached);

    for (step, still) in [("tried", true), ("kept", false)] {
        let page = client.get("/phone").body;
        let at = page.find("14 Nowhere Lane").expect("the call-back is not on the page");
        assert!(at < page.find("name=\"q\"").unwrap(), "it does not lead the page");
        assert!(
            page.contains("water runs &lt;b&gt;over&lt;/b&gt; the walk") || page.contains("&lt;b&gt;over"),
            "{page}"
        );
        let sealed = page
            .split("name=\"call\" value=\"")
            .nth(1)
            .unwrap()
            .split('"')
            .next()
            .unwrap()
            .to_owned();
        let sent = [("by", "Rosa"), ("call", &sealed), ("step", step), ("once", step)];
        assert_eq!(client.post("/phone/call-back", &sent).status, 303);
        assert_eq!(
            client.get("/phone").body.contains("14 Nowhere Lane"),
            still,
            "after {step}"
        );
    }
    // A link that this session did not make opens nothing.
    assert_eq!(
        client
            .post("/phone/call-back", &[("by", "Rosa"), ("call", "1"), ("step", "kept")])
            .status,
        404
    );
    let told = program()
        .args(["log", "--calls", "--db"])
        .arg(&desk.log)
        .output()
        .unwrap();
    let told = String::from_utf8(told.stdout).unwrap();
    assert!(told.contains("14 Nowhere Lane") && told.contains("3 calls."), "{told}");
}

/// Fills the log and spoils all of it but its first page, as a failing disk would beside a running desk.
pub fn spoil(path: &std::path::Path) {
    for n in 0..400 {
        // Long enough for the tables to fill pages that the desk has not kept in mind.
        let mut log = Log::open(path, None).unwrap().0;
        log.add(&NewEvent::now(
            &format!("C-{n}"),
            Outcome::NoAnswer,
            &"x".repeat(3_000),
            "Omar",
            "command",
        ))
        .unwrap();
    }
    // Another program empties the journal into the file; then the disk loses it.
    let other = rusqlite::Connection::open(path).unwrap();
    other
        .query_row("PRAGMA wal_checkpoint(TRUNCATE)", [], |_| Ok(()))
        .unwrap();
    {
        use std::os::unix::fs::FileExt;
        let file = std::fs::OpenOptions::new().write(true).open(path).unwrap();
        let length = file.metadata().unwrap().len();
        file.write_all_at(&vec![0xA5; usize::try_from(length - 4096).unwrap()], 4096)
            .unwrap();
        std::mem::forget(file);
    }
}

/// A wrong program shows an empty history with "0 people have been tried" when the log cannot be read, and everybody is called again.
#[test]
fn with_a_log_that_cannot_be_read_every_page_that_leans_on_it_says_so() {
    let folder = programme(40);
    let desk = DeskRun::start(folder.path(), &[]);
    desk.wait_for_plan();
    let mut client = Client::new(desk.address);
    let (card, _) = opened(&mut client, &desk);
    client.post(
        &format!("{card}/note"),
        &[("by", "Rosa"), ("text", "spoke"), ("once", "a")],
    );
    spoil(&desk.log);
    for page in [
        "/plan/calls",
        "/phone",
        card.as_str(),
        "/plan",
        "/plan/map",
        "/expansion",
    ] {
        let body = client.get(page).body;
        assert!(
            body.contains("The log of contacts cannot be used now"),
            "{page} says nothing"
        );
        assert!(
            !body.contains("people to call have been tried"),
            "{page} counts what it does not know"
        );
    }
}
