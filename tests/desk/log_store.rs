//! The log: nothing lost, nothing overwritten, whoever writes and whatever breaks.
#![allow(clippy::unwrap_used, clippy::panic)]

use brimwater::outreach::outcome::Outcome;
use brimwater::store::{Ask, Filter, Log, NewEvent, QueueItem};
use chrono::{DateTime, TimeDelta, TimeZone, Utc};
use std::collections::BTreeSet;
use std::io::{BufRead, BufReader};
use std::path::Path;
use std::process::{Command, Stdio};

fn open(path: &Path) -> Log {
    let (log, aside) = Log::open(path, None).unwrap();
    assert!(aside.is_none(), "{aside:?}");
    log
}

fn event(contact: &str, outcome: Outcome) -> NewEvent {
    NewEvent {
        at: Utc::now(),
        ..NewEvent::now(contact, outcome, "", "Rosa", "command")
    }
}

/// Not a test by itself: the child that other tests start and kill. Prints a line for each event that the log has acknowledged.
#[test]
fn child_writer() {
    let Ok(path) = std::env::var("BRIMWATER_TEST_LOG") else {
        return;
    };
    let who = std::env::var("BRIMWATER_TEST_WHO").unwrap();
    let count: u64 = std::env::var("BRIMWATER_TEST_COUNT").unwrap().parse().unwrap();
    let (mut log, _) = Log::open(Path::new(&path), None).unwrap();
    // As the desk does: a second connection of the same process, to read by.
    let _reader = Log::open(Path::new(&path), None).unwrap();
    for n in 0..count {
        log.add(&event(&format!("{who}-{n}"), Outcome::NoAnswer)).unwrap();
        println!("\nkept {who}-{n}");
    }
}

fn child(path: &Path, who: &str, count: u64) -> std::process::Child {
    Command::new(std::env::current_exe().unwrap())
        .args(["--exact", "log_store::child_writer", "--nocapture"])
        .env("BRIMWATER_TEST_LOG", path)
        .env("BRIMWATER_TEST_WHO", who)
        .env("BRIMWATER_TEST_COUNT", count.to_string())
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .unwrap()
}

#[test]
fn what_was_acknowledged_survives_being_killed_at_any_moment() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("calls.log");
    let mut kept = BTreeSet::new();
    for round in 0..8 {
        let mut writer = child(&path, &format!("R{round}"), 1_000_000);
        let mut lines = BufReader::new(writer.stdout.take().unwrap()).lines();
        let mut seen = 0;
        // Killed after a different number of events each time, in the middle of the next write.
        while seen <= round * 7 {
            let line = lines.next().unwrap().unwrap();
            if let Some(id) = line.strip_prefix("kept ") {
                kept.insert(id.to_owned());
                seen += 1;
            }
        }
        // SIGKILL on Unix: no handler runs, nothing is flushed.
        writer.kill().unwrap();
        writer.wait().unwrap();
        kept.extend(
            lines
                .map_while(Result::ok)
                .filter_map(|line| line.strip_prefix("kept ").map(str::to_owned)),
        );
    }
    let log = open(&path);
    assert!(log.is_whole().unwrap());
    let found: BTreeSet<String> = log
        .list(&Filter::default())
        .unwrap()
        .into_iter()
        .map(|e| e.contact)
        .collect();
    let lost: Vec<_> = kept.difference(&found).collect();
    assert!(
        kept.len() > 200 && lost.is_empty(),
        "{} acknowledged, lost: {lost:?}",
        kept.len()
    );
}

/// What another program does to the log meanwhile: reads it, copies it whole, cleans it up; each time it opens and closes the file.
const FOREIGN: &str = "
import sqlite3, sys
for what in ('read', 'backup', 'vacuum'):
    db = sqlite3.connect(sys.argv[1], timeout=5)
    try:
        db.execute('SELECT count(*) FROM events').fetchone()
        if what == 'backup':
            copy = sqlite3.connect(':memory:')
            db.backup(copy)
            copy.close()
        if what == 'vacuum':
            db.execute('VACUUM')
    except sqlite3.OperationalError as busy:
        print(busy, file=sys.stderr)
    db.close()
";

/// A wrong program that opens the file beside SQLite and closes it again loses its locks with it; the foreign client then deletes the
/// journal under it, and what is acknowledged afterwards is in no file. The journal's owner is SQLite itself, through Python's client.
#[test]
fn what_was_acknowledged_survives_other_clients_of_the_file() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("calls.log");
    let mut kept = BTreeSet::new();
    for round in 0..8 {
        let mut writer = child(&path, &format!("R{round}"), 1_000_000);
        let mut lines = BufReader::new(writer.stdout.take().unwrap()).lines();
        for _ in 0..6 {
            let mut seen = 0;
            while seen < 210 {
                let line = lines.next().unwrap().unwrap();
                if let Some(id) = line.strip_prefix("kept ") {
                    kept.insert(id.to_owned());
                    seen += 1;
                }
            }
            let foreign = Command::new("python3").args(["-c", FOREIGN]).arg(&path).status();
            assert!(foreign.unwrap().success(), "the foreign client failed");
        }
        writer.kill().unwrap();
        writer.wait().unwrap();
        kept.extend(
            lines
                .map_while(Result::ok)
                .filter_map(|line| line.strip_prefix("kept ").map(str::to_owned)),
        );
    }
    let log = open(&path);
    assert!(log.is_whole().unwrap());
    let found: BTreeSet<String> = log
        .list(&Filter::default())
        .unwrap()
        .into_iter()
        .map(|e| e.contact)
        .collect();
    let lost = kept.difference(&found).count();
    assert!(
        kept.len() > 10_000 && lost == 0,
        "{lost} of {} acknowledged are lost",
        kept.len()
    );
}

#[test]
fn several_callers_write_to_one_file_at_once_without_loss() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("calls.log");
    // All four begin the log at the same moment as well.
    let writers: Vec<_> = ["A", "B", "C", "D"]
        .map(|who| child(&path, who, 60))
        .into_iter()
        .collect();
    for mut writer in writers {
        let _ = std::io::copy(&mut writer.stdout.take().unwrap(), &mut std::io::sink());
        assert!(writer.wait().unwrap().success());
    }
    let events = open(&path).list(&Filter::default()).unwrap();
    assert_eq!(events.len(), 240);
    let distinct: BTreeSet<_> = events.iter().map(|e| e.contact.clone()).collect();
    assert_eq!(distinct.len(), 240);
    // Numbers rise without a hole: nothing was taken out.
    assert!(events.iter().zip(1..).all(|(event, id)| event.id == id));
}

#[test]
fn events_can_be_neither_changed_nor_deleted() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("calls.log");
    open(&path).add(&event("C-1", Outcome::Reached)).unwrap();
    let raw = rusqlite::Connection::open(&path).unwrap();
    for statement in ["UPDATE events SET outcome = 'done'", "DELETE FROM events"] {
        let error = raw.execute(statement, []).unwrap_err().to_string();
        assert!(error.contains("only added"), "{error}");
    }
    assert_eq!(
        open(&path).list(&Filter::default()).unwrap()[0].outcome,
        Outcome::Reached
    );
}

#[test]
fn a_correction_is_one_more_event_and_the_last_one_counts() {
    let folder = tempfile::tempdir().unwrap();
    let mut log = open(&folder.path().join("calls.log"));
    for outcome in [Outcome::Reached, Outcome::NoAnswer] {
        log.add(&event("C-1", outcome)).unwrap();
    }
    let history = log.history(None).unwrap();
    let standing = history.of("C-1", [].into_iter()).unwrap();
    assert_eq!((standing.last, standing.attempts), (Outcome::NoAnswer, 1));
    assert_eq!(log.count().unwrap(), 2);
}

#[test]
fn damage_in_the_header_sets_the_file_aside_and_begins_anew() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("calls.log");
    open(&path).add(&event("C-1", Outcome::Reached)).unwrap();
    let mut bytes = std::fs::read(&path).unwrap();
    bytes[..64].fill(0);
    std::fs::write(&path, &bytes).unwrap();
    let (mut log, aside) = Log::open(&path, None).unwrap();
    let aside = aside.unwrap();
    // The damaged bytes are kept as they were.
    assert_eq!(std::fs::read(&aside.moved_to).unwrap()[..64], [0; 64]);
    log.add(&event("C-2", Outcome::Done)).unwrap();
    assert!(log.is_whole().unwrap());
}

#[test]
fn damage_inside_the_file_carries_over_what_can_still_be_read() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("calls.log");
    let mut log = open(&path);
    let events: Vec<NewEvent> = (0..5_000)
        .map(|n| event(&format!("C-{n:05}"), Outcome::NoAnswer))
        .collect();
    log.add_all(&events).unwrap();
    drop(log);
    let mut bytes = std::fs::read(&path).unwrap();
    // Two pages in the middle are overwritten.
    let middle = bytes.len() / 2 / 4096 * 4096;
    bytes[middle..middle + 8_192].fill(0xA5);
    std::fs::write(&path, &bytes).unwrap();
    let failed = match Log::open(&path, None) {
        Ok((log, None)) => log.list(&Filter::default()).is_err() || !log.is_whole().unwrap_or(false),
        _ => true,
    };
    assert!(failed, "the damage did not show");
    let (log, aside) = Log::after_damage(&path, None).unwrap();
    let carried = aside.unwrap().carried_over;
    // Two pages of 4 KiB hold under a hundred events of some 100 bytes; an index page may be hit instead, and then none is lost.
    assert!((4_700..=5_000).contains(&carried), "{carried} of 5000");
    assert_eq!(log.count().unwrap() as usize, carried);
    assert!(log.is_whole().unwrap());
}

#[test]
fn another_programs_database_a_text_file_and_a_folder_are_refused_untouched() {
    let folder = tempfile::tempdir().unwrap();
    let other = folder.path().join("other.db");
    rusqlite::Connection::open(&other)
        .unwrap()
        .execute_batch("CREATE TABLE accounts (id INTEGER); PRAGMA application_id = 7;")
        .unwrap();
    let text = folder.path().join("sheet.csv");
    std::fs::write(&text, "contact_id,outcome\nC-1,reached\n").unwrap();
    for (path, code) in [
        (other.as_path(), "BW-L03"),
        (text.as_path(), "BW-L04"),
        (folder.path(), "BW-L01"),
    ] {
        let before = std::fs::read(path).ok();
        assert_eq!(Log::open(path, None).unwrap_err().code, code);
        assert_eq!(std::fs::read(path).ok(), before);
    }
    assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 2);
}

#[test]
fn the_log_of_another_contact_programme_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("calls.log");
    drop(Log::open(&path, Some("north")).unwrap());
    assert_eq!(Log::open(&path, Some("south")).unwrap_err().code, "BW-L03");
    assert!(Log::open(&path, Some("north")).is_ok());
    assert!(Log::open(&path, None).is_ok());
}

#[test]
fn a_later_version_of_the_tables_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("calls.log");
    drop(open(&path));
    rusqlite::Connection::open(&path)
        .unwrap()
        .pragma_update(None, "user_version", 99)
        .unwrap();
    assert_eq!(Log::open(&path, None).unwrap_err().code, "BW-L03");
}

#[test]
fn the_same_event_arriving_twice_is_kept_once() {
    let folder = tempfile::tempdir().unwrap();
    let mut log = open(&folder.path().join("calls.log"));
    let event = NewEvent {
        uid: Some(NewEvent::uid_of(&["C-1", "reached", "2"])),
        ..event("C-1", Outcome::Reached)
    };
    let first = log.add_all(std::slice::from_ref(&event)).unwrap();
    let second = log.add_all(&[event]).unwrap();
    assert_eq!((first.added, first.known, second.added, second.known), (1, 0, 0, 1));
}

#[test]
fn events_without_a_contact_or_a_name_are_refused() {
    let folder = tempfile::tempdir().unwrap();
    let mut log = open(&folder.path().join("calls.log"));
    for (contact, by, code) in [
        ("", "Rosa", "BW-L10"),
        ("C-1", "  ", "BW-L11"),
        ("C\u{0}", "Rosa", "BW-L10"),
    ] {
        let event = NewEvent::now(contact, Outcome::Done, "", by, "command");
        assert_eq!(log.add(&event).unwrap_err().code, code);
    }
    assert_eq!(log.count().unwrap(), 0);
}

fn noon() -> DateTime<Utc> {
    Utc.with_ymd_and_hms(2031, 1, 9, 18, 0, 0).unwrap()
}

fn call(contact: &str, attempt: u8, after_hours: i64, language: &str) -> QueueItem {
    QueueItem {
        position: 0,
        contact: contact.into(),
        attempt,
        caller: Some(1),
        slot_start: Some(noon() + TimeDelta::hours(after_hours)),
        act_by: Some(noon() + TimeDelta::hours(6)),
        language: language.into(),
    }
}

#[test]
fn two_callers_never_get_the_same_call_and_settled_people_get_none() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("calls.log");
    let mut log = open(&path);
    let queue = [
        call("C-1", 1, 0, "en"),
        call("C-2", 1, 0, "es"),
        call("C-3", 1, 0, "en"),
        call("C-1", 2, 3, "en"),
    ];
    assert_eq!(log.load_queue(&queue, noon() - TimeDelta::days(2)).unwrap(), 4);
    let ask = |by: &str, spanish: bool, hours: i64| Ask {
        by: by.into(),
        spanish,
        now: noon() + TimeDelta::hours(hours),
        early_first: true,
    };
    let next = |log: &mut Log, ask: &Ask| log.next_call(ask).unwrap().map(|item| (item.contact, item.attempt));
    let one = |contact: &str| Some((contact.to_owned(), 1));
    assert_eq!(next(&mut log, &ask("Rosa", false, 0)), one("C-1"));
    assert_eq!(
        next(&mut log, &ask("Rosa", false, 0)),
        one("C-1"),
        "asked again, the same call"
    );
    // Without Spanish the second caller passes C-2 over.
    assert_eq!(next(&mut log, &ask("Lee", false, 0)), one("C-3"));
    assert_eq!(next(&mut log, &ask("Iris", true, 0)), one("C-2"));
    assert_eq!(next(&mut log, &ask("Omar", true, 0)), None);
    // No answer: the second attempt waits for its slot.
    log.add(&event("C-1", Outcome::NoAnswer)).unwrap();
    log.add(&event("C-3", Outcome::Reached)).unwrap();
    assert_eq!(next(&mut log, &ask("Omar", false, 0)), None);
    assert_eq!(next(&mut log, &ask("Omar", false, 3)).unwrap(), ("C-1".to_owned(), 2));
    // A claim that nobody followed up comes free.
    assert_eq!(next(&mut log, &ask("Omar", true, 4)), one("C-2"));
    log.add(&event("C-1", Outcome::Reached)).unwrap();
    log.add(&event("C-2", Outcome::Declined)).unwrap();
    assert_eq!(next(&mut log, &ask("Omar", true, 4)), None);
    log.load_queue(&queue, noon() - TimeDelta::days(4_000)).unwrap();
    assert_eq!(
        next(&mut log, &ask("Omar", true, 4)),
        None,
        "loading the list again opens nobody who is settled"
    );
    log.load_queue(&[call("C-7", 1, 0, "en")], noon()).unwrap();
    // After the time to act no call is given out any more.
    assert_eq!(next(&mut log, &ask("Zoe", true, 7)), None);
}

#[test]
fn the_next_call_comes_at_once_beside_two_hundred_thousand_events() {
    // A fifth of a million events here; benches/outreach.rs measures a million. The query plan is held to its index.
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("calls.log");
    let mut log = open(&path);
    let events: Vec<NewEvent> = (0..200_000)
        .map(|n| event(&format!("C-{}", n % 50_000), Outcome::NoAnswer))
        .collect();
    log.add_all(&events).unwrap();
    let queue: Vec<QueueItem> = (0..3_000).map(|n| call(&format!("C-{n}"), 1, 0, "en")).collect();
    log.load_queue(&queue, noon() - TimeDelta::days(4_000)).unwrap();
    let started = std::time::Instant::now();
    for n in 0..20 {
        let ask = Ask {
            by: format!("caller {n}"),
            spanish: true,
            now: noon(),
            early_first: true,
        };
        assert!(log.next_call(&ask).unwrap().is_some());
    }
    let each = started.elapsed() / 20;
    assert!(each.as_millis() < 50, "{each:?}");
}

#[test]
fn a_sheet_taken_in_late_does_not_undo_what_came_after_its_calls() {
    let folder = tempfile::tempdir().unwrap();
    let mut log = open(&folder.path().join("calls.log"));
    let at = |hours: i64, outcome: Outcome| NewEvent {
        at: noon() + TimeDelta::hours(hours),
        ..event("C-1", outcome)
    };
    // The person called back at three and is done; the sheet with the morning's two dials comes in at night.
    log.add(&at(3, Outcome::Done)).unwrap();
    log.add_all(&[at(-2, Outcome::NoAnswer), at(-1, Outcome::MessageLeft)])
        .unwrap();
    let history = log.history(None).unwrap();
    let standing = history.of("C-1", [].into_iter()).unwrap();
    assert_eq!((standing.last, standing.attempts), (Outcome::Done, 0));
    assert_eq!(standing.last_at, noon() + TimeDelta::hours(3));
}

#[test]
fn a_corrected_slip_opens_the_call_again_when_the_list_is_loaded() {
    let folder = tempfile::tempdir().unwrap();
    let mut log = open(&folder.path().join("calls.log"));
    let queue = [call("C-1", 1, 0, "en"), call("C-2", 1, 0, "en")];
    let at = |minutes: i64, contact: &str, outcome: Outcome| NewEvent {
        at: noon() + TimeDelta::minutes(minutes),
        ..event(contact, outcome)
    };
    log.add_all(&[
        at(0, "C-1", Outcome::Reached),
        at(1, "C-2", Outcome::Reached),
        at(2, "C-1", Outcome::NoAnswer),
    ])
    .unwrap();
    assert_eq!(log.load_queue(&queue, noon() - TimeDelta::days(2)).unwrap(), 1);
    let ask = Ask {
        by: "Rosa".into(),
        spanish: false,
        now: noon() + TimeDelta::hours(1),
        early_first: true,
    };
    assert_eq!(log.next_call(&ask).unwrap().unwrap().contact, "C-1");
}

#[test]
fn a_log_that_somebody_holds_is_told_after_its_wait_and_not_set_aside() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("calls.log");
    open(&path).add(&event("C-1", Outcome::Done)).unwrap();
    let holder = rusqlite::Connection::open(&path).unwrap();
    holder.execute_batch("BEGIN EXCLUSIVE").unwrap();
    let start = std::time::Instant::now();
    let told = match Log::open(&path, None) {
        Err(fault) => fault,
        // In write-ahead mode opening may pass; writing then waits its turn.
        Ok((mut log, aside)) => {
            assert!(aside.is_none());
            log.add(&event("C-2", Outcome::Done)).unwrap_err()
        }
    };
    assert_eq!(told.code, "BW-L05", "{told:?}");
    assert!(
        start.elapsed() >= std::time::Duration::from_secs(15),
        "a turn is waited for"
    );
    assert!(told.remedy.contains("try again"), "{told:?}");
    holder.execute_batch("ROLLBACK").unwrap();
    drop(holder);
    assert_eq!(open(&path).count().unwrap(), 1, "nothing was written, nothing lost");
    let files = std::fs::read_dir(folder.path()).unwrap();
    assert!(
        files
            .flatten()
            .all(|entry| !entry.file_name().to_string_lossy().contains("damaged"))
    );
}

/// So many events, some with a note that fills more than a page.
fn many(count: usize) -> Vec<NewEvent> {
    (0..count)
        .map(|n| NewEvent {
            note: if n % 50 == 0 {
                "long ".repeat(790)
            } else {
                String::new()
            },
            ..event(&format!("C-{n:05}"), Outcome::NoAnswer)
        })
        .collect()
}

/// A wrong program that trusts the header, or the tree above the rows, carries over nothing where the pages are readable.
/// Half a file holds half of the rows, less the long ones whose rest lies in the other half. Source: sqlite.org, "Database File Format".
#[test]
fn with_its_header_zeroed_or_half_of_it_cut_off_a_log_gives_what_its_pages_hold() {
    for (what, least) in [("header", 2_000), ("first page", 2_000), ("half", 800)] {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("calls.log");
        let mut log = open(&path);
        log.add_all(&many(2_000)).unwrap();
        drop(log);
        let mut bytes = std::fs::read(&path).unwrap();
        match what {
            "header" => bytes[..100].fill(0),
            "first page" => bytes[..4096].fill(0),
            _ => bytes.truncate(bytes.len() / 2 / 4096 * 4096),
        }
        std::fs::write(&path, &bytes).unwrap();
        let (log, aside) = Log::open_whole(&path, None).unwrap();
        let carried = aside.unwrap().carried_over;
        assert!(carried >= least, "{what}: {carried} carried over");
        let kept = log.list(&Filter::default()).unwrap();
        assert_eq!(kept.len(), carried);
        // Rows that overflow their page come whole.
        assert!(
            kept.iter()
                .all(|event| event.note.is_empty() || event.note.len() == 3_949),
            "a note was cut"
        );
        assert!(log.is_whole().unwrap());
    }
}

#[test]
fn six_programs_that_open_a_damaged_log_at_once_mend_it_once_and_lose_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("calls.log");
    open(&path).add_all(&many(500)).unwrap();
    let mut bytes = std::fs::read(&path).unwrap();
    bytes[..100].fill(0);
    std::fs::write(&path, &bytes).unwrap();
    let writers: Vec<_> = ["A", "B", "C", "D", "E", "F"]
        .map(|who| child(&path, who, 20))
        .into_iter()
        .collect();
    for mut writer in writers {
        let _ = std::io::copy(&mut writer.stdout.take().unwrap(), &mut std::io::sink());
        assert!(writer.wait().unwrap().success(), "a writer was turned away");
    }
    assert_eq!(open(&path).count().unwrap(), 500 + 120);
    let aside = std::fs::read_dir(folder.path())
        .unwrap()
        .filter(|entry| {
            entry
                .as_ref()
                .unwrap()
                .file_name()
                .to_string_lossy()
                .contains("damaged")
        })
        .count();
    assert_eq!(aside, 1, "it was set aside more than once");
}

#[test]
fn six_first_writers_begin_one_log() {
    for _ in 0..5 {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("calls.log");
        let writers: Vec<_> = ["A", "B", "C", "D", "E", "F"]
            .map(|who| child(&path, who, 2))
            .into_iter()
            .collect();
        for mut writer in writers {
            let _ = std::io::copy(&mut writer.stdout.take().unwrap(), &mut std::io::sink());
            assert!(writer.wait().unwrap().success(), "a first writer was turned away");
        }
        assert_eq!(open(&path).count().unwrap(), 12);
    }
}

/// A wrong program writes on into the file that another has moved aside, and the event is in no log.
#[test]
fn what_is_written_after_the_file_was_moved_aside_is_refused_and_not_lost() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("calls.log");
    let mut log = open(&path);
    log.add(&event("C-1", Outcome::Reached)).unwrap();
    std::fs::rename(&path, folder.path().join("moved.log")).unwrap();
    drop(open(&path));
    assert_eq!(log.add(&event("C-2", Outcome::Reached)).unwrap_err().code, "BW-L22");
}

/// A wrong program lets one bent row hide all others.
#[test]
fn a_row_that_says_nothing_sensible_is_left_out_and_told() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("calls.log");
    open(&path).add_all(&many(3)).unwrap();
    let raw = rusqlite::Connection::open(&path).unwrap();
    raw.execute_batch("DROP TRIGGER events_stand; UPDATE events SET at = '2031-01-99T00:00:00Z' WHERE id = 2;")
        .unwrap();
    drop(raw);
    let log = open(&path);
    assert_eq!(log.list(&Filter::default()).unwrap().len(), 2);
    assert_eq!(log.history(None).unwrap().0.len(), 2);
    let bad = log.bad_rows();
    assert_eq!((bad.len(), bad[0].id, bad[0].about.as_str()), (1, 2, "C-00001"));
}

/// Rights hold for everybody but the system's own administrator, who is the one running the tests in a container: there the read-only
/// medium is made by a folder that is gone but for the file.
#[cfg(unix)]
#[test]
fn a_log_is_for_its_owner_alone_and_one_that_may_only_be_read_is_listed() {
    use std::os::unix::fs::PermissionsExt;
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("calls.log");
    let mut log = open(&path);
    log.add(&event("C-1", Outcome::Reached)).unwrap();
    for entry in std::fs::read_dir(folder.path()).unwrap() {
        let entry = entry.unwrap();
        let mode = entry.metadata().unwrap().permissions().mode() & 0o777;
        assert_eq!(mode, 0o600, "{:?} has {mode:o}", entry.file_name());
    }
    let copy = folder.path().join("copy.db");
    assert_eq!(log.backup(&copy).unwrap(), 1);
    assert_eq!(std::fs::metadata(&copy).unwrap().permissions().mode() & 0o777, 0o600);
    assert_eq!(log.backup(&copy).unwrap_err().code, "BW-L09");
    drop(log);
    std::fs::set_permissions(&path, std::fs::Permissions::from_mode(0o400)).unwrap();
    std::fs::set_permissions(folder.path(), std::fs::Permissions::from_mode(0o500)).unwrap();
    let read = Log::open_to_read(&path, None).and_then(|log| log.list(&Filter::default()));
    std::fs::set_permissions(folder.path(), std::fs::Permissions::from_mode(0o700)).unwrap();
    assert_eq!(read.unwrap().len(), 1);
}
