//! A desk whose server is away goes on and delivers later: nothing twice, nothing lost, killed at whatever moment.

use super::both::new_call;
use super::server::{self, ServerRun, role};
use brimwater::desk::log::{Log as DeskLog, Note};
use brimwater::outreach::outcome::Outcome;
use brimwater::store::server::Server;
use brimwater::store::server::address::Address;
use brimwater::store::server::set_up::Job;
use brimwater::store::{CallFilter, Filter, Log, NewEvent, Step, Store};
use chrono::{TimeDelta, Utc};
use std::collections::{BTreeMap, BTreeSet};
use std::io::{BufRead, BufReader};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

fn note(id: &str) -> Note {
    Note {
        at: Utc::now(),
        id: id.to_owned(),
        outcome: Outcome::NoAnswer,
        text: "noted".into(),
        by: "Rosa".into(),
    }
}

fn desk(address: &Address, spool: &Path) -> DeskLog {
    DeskLog::open_on_server(address, spool, Some("north")).unwrap().0
}

/// Waits until something holds, for so long at most.
fn soon(most: Duration, what: &str, holds: impl Fn() -> bool) -> Duration {
    let begin = Instant::now();
    while !holds() {
        assert!(begin.elapsed() < most, "not within {most:?}: {what}");
        std::thread::sleep(Duration::from_millis(20));
    }
    begin.elapsed()
}

fn sees(desk: &DeskLog, id: &str) -> bool {
    desk.history(None).unwrap().0.contains_key(id)
}

/// The requirement is two seconds; the desks ask once a second.
#[test]
fn what_one_desk_notes_shows_on_the_other_within_two_seconds() {
    let Some(run) = server::shared() else { return };
    let database = run.database(&["north", "south"]);
    let folder = tempfile::tempdir().unwrap();
    let address = run.address(&role(&database, "north", Job::Desk), &database);
    let (one, two) = (
        desk(&address, &folder.path().join("one.db")),
        desk(&address, &folder.path().join("two.db")),
    );
    let south = run.address(&role(&database, "south", Job::Desk), &database);
    let (other, _) = DeskLog::open_on_server(&south, &folder.path().join("south.db"), Some("south")).unwrap();
    let mut longest = Duration::ZERO;
    for n in 0..6 {
        let id = format!("C-{n}");
        let (from, to) = if n % 2 == 0 { (&one, &two) } else { (&two, &one) };
        from.save(&note(&id), &format!("form {n}")).unwrap();
        assert!(sees(from, &id), "the desk itself shows it at once");
        longest = longest.max(soon(Duration::from_secs(2), "the other desk shows it", || {
            sees(to, &id)
        }));
        std::thread::sleep(Duration::from_millis(170 * n));
    }
    println!("longest {longest:?}");
    // A promised call-back, kept at the other desk.
    one.record(new_call("A-1", false, Some(2)), "call 1").unwrap();
    soon(Duration::from_secs(2), "the call-back shows", || {
        two.call_backs().unwrap().len() == 1
    });
    let id = two.call_backs().unwrap()[0].id;
    two.step(id, Step::Kept, "", "Lee", "step 1").unwrap();
    soon(Duration::from_secs(2), "it is kept here too", || {
        one.call_backs().unwrap().is_empty()
    });
    assert!(
        other.history(None).unwrap().0.is_empty(),
        "another utility sees none of it"
    );
    assert_eq!(one.standing().unwrap().undelivered, 0);
}

/// The trap of asking for the largest number alone: a row whose number was given out earlier is committed later.
#[test]
fn a_row_that_is_committed_late_is_not_passed_over() {
    let Some(run) = server::shared() else { return };
    let database = run.database(&["north"]);
    let user = role(&database, "north", Job::Desk);
    let folder = tempfile::tempdir().unwrap();
    let mut slow = run.raw(&user, &database).unwrap();
    let mut late = slow.transaction().unwrap();
    late.batch_execute(
        "INSERT INTO brimwater.events (uid, at, contact, outcome, noted_by, source) VALUES ('late-0123456789', now(), 'C-late', 'done', 'x', 'desk')",
    )
    .unwrap();
    let one = desk(&run.address(&user, &database), &folder.path().join("one.db"));
    let mut quick = Server::open(&run.address(&user, &database), None).unwrap();
    quick
        .add(&NewEvent::now("C-quick", Outcome::Done, "", "Lee", "command"))
        .unwrap();
    soon(
        Duration::from_secs(2),
        "the quick one does not wait for the late one",
        || sees(&one, "C-quick"),
    );
    late.commit().unwrap();
    soon(Duration::from_secs(2), "the late one comes", || sees(&one, "C-late"));
}

#[test]
fn a_desk_goes_on_while_its_server_is_away_also_when_it_begins_then_and_delivers_once() {
    let Some(run) = ServerRun::start(&[]) else { return };
    let database = run.database(&["north"]);
    let address = run.address(&role(&database, "north", Job::Desk), &database);
    let folder = tempfile::tempdir().unwrap();
    let spool = folder.path().join("spool.db");
    let first = desk(&address, &spool);
    first.save(&note("C-0"), "form 0").unwrap();
    soon(Duration::from_secs(3), "delivered", || {
        first.standing().unwrap().undelivered == 0
    });
    run.stop();
    first.save(&note("C-1"), "form 1").unwrap();
    // The same form twice is one, there and here.
    first.save(&note("C-1"), "form 1").unwrap();
    soon(Duration::from_secs(8), "told", || {
        first.standing().unwrap().away.is_some()
    });
    assert_eq!(first.standing().unwrap().undelivered, 1);
    assert!(sees(&first, "C-0") && sees(&first, "C-1"), "what was known is known");
    first.record(new_call("A-1", true, Some(2)), "call 1").unwrap();
    let id = first.call_backs().unwrap()[0].id;
    first.step(id, Step::Tried, "", "Lee", "step 1").unwrap();
    drop(first);
    let (again, told) = DeskLog::open_on_server(&address, &spool, Some("north")).unwrap();
    assert!(
        told.iter().any(|fault| fault.to_string().contains("cannot be reached")),
        "{told:?}"
    );
    again.save(&note("C-2"), "form 2").unwrap();
    assert!(again.standing().unwrap().away.is_some());
    run.go_on();
    soon(Duration::from_secs(8), "delivered when it is back", || {
        let standing = again.standing().unwrap();
        standing.away.is_none() && standing.undelivered == 0
    });
    let log = Server::open(&address, None).unwrap();
    let mut contacts: Vec<String> = log
        .list(&Filter::default())
        .unwrap()
        .into_iter()
        .map(|e| e.contact)
        .collect();
    contacts.sort();
    assert_eq!(contacts, ["A-1", "C-0", "C-1", "C-2"]);
    let calls = log.calls(&CallFilter::default()).unwrap();
    assert_eq!((calls.len(), calls[0].tried, calls[0].told), (1, 1, true));
}

#[test]
fn what_the_server_refuses_is_kept_told_and_delivered_when_it_may() {
    let Some(run) = server::shared() else { return };
    let database = run.database(&["north"]);
    let reader = role(&database, "north", Job::Reader);
    let folder = tempfile::tempdir().unwrap();
    let spool = folder.path().join("spool.db");
    let address = run.address(&reader, &database);
    let one = desk(&address, &spool);
    one.save(&note("C-1"), "form 1").unwrap();
    soon(Duration::from_secs(3), "told", || {
        one.standing().unwrap().refused.is_some()
    });
    let standing = one.standing().unwrap();
    assert!(standing.undelivered == 1 && standing.refused.unwrap().contains("BW-L37"));
    assert!(sees(&one, "C-1"));
    drop(one);
    // Whoever runs the server gives the role the job that it needs.
    brimwater::store::server::set_up::enrol(
        &run.address(server::ADMIN, &database),
        &reader,
        "north",
        Job::Desk,
        None,
    )
    .unwrap();
    let again = desk(&address, &spool);
    soon(Duration::from_secs(3), "delivered", || {
        again.standing().unwrap().undelivered == 0
    });
    assert_eq!(Server::open(&address, None).unwrap().count().unwrap(), 1);
}

#[test]
fn a_spool_belongs_to_one_server_and_a_log_is_no_spool() {
    let Some(run) = server::shared() else { return };
    let (a, b) = (run.database(&["north"]), run.database(&["north"]));
    let folder = tempfile::tempdir().unwrap();
    let spool = folder.path().join("spool.db");
    drop(desk(&run.address(&role(&a, "north", Job::Desk), &a), &spool));
    let other = run.address(&role(&b, "north", Job::Desk), &b);
    let refused = |path: &PathBuf| DeskLog::open_on_server(&other, path, Some("north")).err().unwrap().code;
    assert_eq!(refused(&spool), "BW-L45");
    let plain = folder.path().join("calls.log");
    Log::open(&plain, Some("north"))
        .unwrap()
        .0
        .add(&NewEvent::now("C-1", Outcome::Done, "", "Rosa", "command"))
        .unwrap();
    assert_eq!(refused(&plain), "BW-L45");
}

#[test]
fn what_the_server_forgets_its_desks_forget() {
    let Some(run) = server::shared() else { return };
    let database = run.database(&["north"]);
    let folder = tempfile::tempdir().unwrap();
    let spool = folder.path().join("spool.db");
    let one = desk(&run.address(&role(&database, "north", Job::Desk), &database), &spool);
    let mut planner = Server::open(&run.address(&role(&database, "north", Job::Planner), &database), None).unwrap();
    planner
        .add(&NewEvent {
            at: Utc::now() - TimeDelta::days(30),
            ..NewEvent::now("C-old", Outcome::Done, "secret", "Lee", "command")
        })
        .unwrap();
    soon(Duration::from_secs(2), "seen", || sees(&one, "C-old"));
    planner.forget_before(Utc::now() - TimeDelta::days(10)).unwrap();
    soon(Duration::from_secs(3), "forgotten", || !sees(&one, "C-old"));
    one.save(&note("C-new"), "form").unwrap();
    soon(Duration::from_secs(3), "goes on", || planner.count().unwrap() == 2);
}

/// Not a test by itself: the desk that the next one starts and kills. Prints a line for each note that was acknowledged.
#[test]
fn desk_that_notes() {
    let Ok(url) = std::env::var("BRIMWATER_SPOOL_URL") else {
        return;
    };
    let spool = PathBuf::from(std::env::var("BRIMWATER_SPOOL").unwrap());
    let round = std::env::var("BRIMWATER_SPOOL_ROUND").unwrap();
    let (log, _) = DeskLog::open_on_server(&Address::read(Path::new(&url)).unwrap(), &spool, Some("north")).unwrap();
    for n in 0..100_000 {
        let id = format!("{round}-{n}");
        log.save(&note(&id), &id).unwrap();
        println!("\nkept {id}");
        std::thread::sleep(Duration::from_millis(n % 7));
    }
}

fn child(url: &str, spool: &Path, round: usize) -> Child {
    Command::new(std::env::current_exe().unwrap())
        .args(["--exact", "spool::desk_that_notes", "--nocapture"])
        .env("BRIMWATER_SPOOL_URL", url)
        .env("BRIMWATER_SPOOL", spool)
        .env("BRIMWATER_SPOOL_ROUND", format!("R{round}"))
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .unwrap()
}

/// A wrong program marks a note as delivered before it is, or delivers it anew under another identifier; or loses what was only in memory.
#[test]
fn whenever_desk_and_server_are_cut_off_each_acknowledged_note_is_on_the_server_once() {
    let Some(run) = ServerRun::start(&[]) else { return };
    let database = run.database(&["north"]);
    let user = role(&database, "north", Job::Desk);
    let url = run.url(&user, &database);
    let folder = tempfile::tempdir().unwrap();
    let spool = folder.path().join("spool.db");
    let mut kept = BTreeSet::new();
    for round in 0..8usize {
        let mut writer = child(&url, &spool, round);
        let mut lines = BufReader::new(writer.stdout.take().unwrap()).lines();
        let mut seen = 0;
        let stop_at = [usize::MAX, 5, 20, 0][round % 4];
        if stop_at == 0 {
            run.stop();
        }
        while seen <= 10 + round * 7 {
            if seen == stop_at {
                run.stop();
            }
            if let Some(id) = lines.next().unwrap().unwrap().strip_prefix("kept ") {
                kept.insert(id.to_owned());
                seen += 1;
            }
            if seen == stop_at.saturating_add(12) {
                run.go_on();
            }
        }
        writer.kill().unwrap();
        writer.wait().unwrap();
        kept.extend(
            lines
                .map_while(Result::ok)
                .filter_map(|line| line.strip_prefix("kept ").map(str::to_owned)),
        );
        run.go_on();
    }
    let address = run.address(&user, &database);
    let last = desk(&address, &spool);
    soon(Duration::from_secs(20), "all is delivered", || {
        last.standing().unwrap().undelivered == 0
    });
    let mut found: BTreeMap<String, usize> = BTreeMap::new();
    for event in Server::open(&address, None).unwrap().list(&Filter::default()).unwrap() {
        *found.entry(event.contact).or_insert(0) += 1;
    }
    let lost = kept.iter().filter(|id| !found.contains_key(*id)).count();
    let twice = found.values().filter(|times| **times > 1).count();
    assert!(
        kept.len() > 200 && lost == 0 && twice == 0,
        "{} acknowledged, {lost} lost, {twice} twice",
        kept.len()
    );
    let here = last.history(None).unwrap();
    assert!(
        found.keys().all(|id| here.0.contains_key(id)),
        "the desk shows what the server has"
    );
}
