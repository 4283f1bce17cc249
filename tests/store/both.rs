//! One suite over both kinds of log: the embedded file and a server.

use super::server::{self, role};
use brimwater::outreach::outcome::Outcome;
use brimwater::store::server::Server;
use brimwater::store::server::set_up::Job;
use brimwater::store::{About, Ask, CallFilter, Filter, Log, NewCall, NewEvent, QueueItem, Step, Store};
use chrono::{DateTime, TimeDelta, TimeZone, Utc};
use std::sync::atomic::{AtomicU32, Ordering};

/// Runs a test over each kind, with a fresh log of the programme `north`.
pub fn over_both(test: impl Fn(&str, &mut dyn Store)) {
    let folder = tempfile::tempdir().unwrap();
    let (mut log, _) = Log::open(&folder.path().join("calls.log"), Some("north")).unwrap();
    test("file", &mut log);
    if let Some(mut log) = on_server() {
        test("server", &mut log);
    }
}

/// A fresh log on the shared server: a database for several, a utility for each.
pub fn on_server() -> Option<Server> {
    let run = server::shared()?;
    let database = run.database(&["north"]);
    let address = run.address(&role(&database, "north", Job::Planner), &database);
    Some(Server::open(&address, Some("north")).unwrap())
}

pub fn noon() -> DateTime<Utc> {
    Utc.with_ymd_and_hms(2031, 1, 9, 18, 0, 0).unwrap()
}

pub fn event(contact: &str, outcome: Outcome, hours: i64) -> NewEvent {
    NewEvent {
        at: noon() + TimeDelta::hours(hours),
        ..NewEvent::now(contact, outcome, "", "Rosa", "command")
    }
}

pub fn new_call(subject: &str, told: bool, due: Option<i64>) -> NewCall {
    NewCall {
        at: noon(),
        about: About::Assembly,
        subject: subject.into(),
        caller: "the neighbour".into(),
        words: "it drips".into(),
        answer: "will look".into(),
        told,
        owner: "Lee".into(),
        due: due.map(|hours| noon() + TimeDelta::hours(hours)),
        by: "Rosa".into(),
        source: "desk",
        uid: None,
    }
}

pub fn item(contact: &str, attempt: u8, after_hours: i64, language: &str) -> QueueItem {
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

pub fn ask(by: &str, spanish: bool, hours: i64) -> Ask {
    Ask {
        by: by.into(),
        spanish,
        now: noon() + TimeDelta::hours(hours),
        early_first: true,
    }
}

#[test]
fn the_last_event_counts_and_the_same_event_is_kept_once() {
    over_both(|kind, log| {
        for outcome in [Outcome::Reached, Outcome::NoAnswer] {
            log.add(&event("C-1", outcome, 0)).unwrap();
        }
        let history = log.history(None).unwrap();
        let standing = history.of("C-1", [].into_iter()).unwrap();
        assert_eq!((standing.last, standing.attempts), (Outcome::NoAnswer, 1), "{kind}");
        let known = NewEvent {
            uid: Some(NewEvent::uid_of(&["C-2", "reached"])),
            ..event("C-2", Outcome::Reached, 1)
        };
        let first = log.add_all(&[known.clone(), known.clone()]).unwrap();
        let second = log.add_all(&[known]).unwrap();
        assert_eq!(
            (first.added, first.known, second.added, second.known),
            (1, 1, 0, 1),
            "{kind}"
        );
        assert_eq!(log.count().unwrap(), 3, "{kind}");
        assert_eq!(log.programme().unwrap(), "north", "{kind}");
    });
}

#[test]
fn what_cannot_be_kept_is_refused_with_the_same_code_and_nothing_of_it_is_written() {
    over_both(|kind, log| {
        for (contact, by, code) in [
            ("", "Rosa", "BW-L10"),
            ("C-1", "  ", "BW-L11"),
            ("C\u{0}", "Rosa", "BW-L10"),
        ] {
            let bad = NewEvent::now(contact, Outcome::Done, "", by, "command");
            let told = log.add_all(&[event("C-9", Outcome::Done, 0), bad]).unwrap_err();
            assert_eq!(told.code, code, "{kind}");
        }
        let long = NewEvent {
            note: "x".repeat(4_001),
            ..event("C-1", Outcome::Done, 0)
        };
        assert_eq!(log.add(&long).unwrap_err().code, "BW-L12", "{kind}");
        let mut call = new_call("", false, None);
        assert_eq!(log.record(&call).unwrap_err().code, "BW-L16", "{kind}");
        call = NewCall {
            owner: String::new(),
            ..new_call("A-1", false, Some(2))
        };
        assert_eq!(log.record(&call).unwrap_err().code, "BW-L17", "{kind}");
        assert_eq!(
            log.step(12_345, Step::Kept, "", "Rosa", None).unwrap_err().code,
            "BW-L18",
            "{kind}"
        );
        assert_eq!(
            log.step(1, Step::Kept, "", "", None).unwrap_err().code,
            "BW-L11",
            "{kind}"
        );
        assert_eq!(log.count().unwrap(), 0, "{kind}");
    });
}

#[test]
fn words_of_every_script_quotes_and_line_ends_come_back_as_they_were() {
    let note = "año ñandú 水 🚰 'quoted' \"twice\" \\ -- ; DROP TABLE events; \n second line";
    over_both(|kind, log| {
        let id = log
            .add(&NewEvent {
                note: note.into(),
                ..event("C-ü'1", Outcome::Reached, 0)
            })
            .unwrap();
        let listed = log.list(&Filter::default()).unwrap();
        assert_eq!(
            (listed[0].id, listed[0].note.as_str(), listed[0].contact.as_str()),
            (id, note, "C-ü'1"),
            "{kind}"
        );
        assert_eq!(listed[0].at, noon(), "{kind}");
        let filter = Filter {
            contact: Some("C-ü'1".into()),
            ..Filter::default()
        };
        assert_eq!(log.list(&filter).unwrap().len(), 1, "{kind}");
    });
}

#[test]
fn a_listing_is_in_order_and_takes_only_what_was_asked_for() {
    over_both(|kind, log| {
        for n in 0..30 {
            log.add(&event(&format!("C-{}", n % 3), Outcome::NoAnswer, n)).unwrap();
        }
        let contacts = |filter: Filter| -> Vec<(String, DateTime<Utc>)> {
            log.list(&filter)
                .unwrap()
                .into_iter()
                .map(|e| (e.contact, e.at))
                .collect()
        };
        let all = contacts(Filter::default());
        assert!(all.is_sorted_by_key(|(_, at)| *at) && all.len() == 30, "{kind}");
        let last = contacts(Filter {
            last: Some(2),
            ..Filter::default()
        });
        assert_eq!(last, all[28..], "{kind}");
        let one = contacts(Filter {
            contact: Some("C-1".into()),
            last: Some(4),
            ..Filter::default()
        });
        assert!(
            one.len() == 4 && one[3] == all[28] && one.iter().all(|(c, _)| c == "C-1"),
            "{kind}: {one:?}"
        );
        let since = contacts(Filter {
            since: Some(noon() + TimeDelta::hours(25)),
            ..Filter::default()
        });
        assert_eq!(since, all[25..], "{kind}");
    });
}

#[test]
fn a_sheet_taken_in_late_does_not_undo_what_came_after_its_calls() {
    over_both(|kind, log| {
        log.add(&event("C-1", Outcome::Done, 3)).unwrap();
        log.add_all(&[
            event("C-1", Outcome::NoAnswer, -2),
            event("C-1", Outcome::MessageLeft, -1),
        ])
        .unwrap();
        let history = log.history(None).unwrap();
        let standing = history.of("C-1", [].into_iter()).unwrap();
        assert_eq!(
            (standing.last, standing.attempts, standing.message_left),
            (Outcome::Done, 0, true),
            "{kind}"
        );
        assert_eq!(standing.last_at, noon() + TimeDelta::hours(3), "{kind}");
        // Since an hour after the attempts only the last one is known.
        let later = log.history(Some(noon())).unwrap();
        assert!(!later.of("C-1", [].into_iter()).unwrap().message_left, "{kind}");
        assert!(
            log.history(Some(noon() + TimeDelta::hours(4))).unwrap().0.is_empty(),
            "{kind}"
        );
    });
}

#[test]
fn a_call_back_is_owed_until_it_is_kept_and_only_who_was_told_counts_as_reached() {
    over_both(|kind, log| {
        let owed = log.record(&new_call("A-1", false, Some(4))).unwrap();
        let told = log
            .record(&NewCall {
                uid: Some("told-once-0123456789".into()),
                ..new_call("A-2", true, Some(2))
            })
            .unwrap();
        assert!(owed > 0 && told > owed, "{kind}");
        let again = log.record(&NewCall {
            uid: Some("told-once-0123456789".into()),
            ..new_call("A-2", true, Some(2))
        });
        assert_eq!(again.unwrap(), 0, "{kind}: the same call twice is one");
        log.step(
            owed,
            Step::Tried,
            "no answer",
            "Lee",
            Some("step-one-0123456789".into()),
        )
        .unwrap();
        log.step(
            owed,
            Step::Tried,
            "no answer",
            "Lee",
            Some("step-one-0123456789".into()),
        )
        .unwrap();
        let open = log
            .calls(&CallFilter {
                open: true,
                ..CallFilter::default()
            })
            .unwrap();
        let ids: Vec<_> = open.iter().map(|call| (call.id, call.tried)).collect();
        assert_eq!(ids, [(told, 0), (owed, 1)], "{kind}: the earliest due first");
        log.step(owed, Step::Kept, "", "Lee", None).unwrap();
        let open = log
            .calls(&CallFilter {
                open: true,
                ..CallFilter::default()
            })
            .unwrap();
        assert_eq!(open.len(), 1, "{kind}");
        let all = log
            .calls(&CallFilter {
                subject: Some("A-1".into()),
                ..CallFilter::default()
            })
            .unwrap();
        assert_eq!(all[0].ended.as_deref(), Some("kept"), "{kind}");
        let history = log.history(None).unwrap();
        assert!(
            history.0.contains_key("A-2") && !history.0.contains_key("A-1"),
            "{kind}"
        );
    });
}

#[test]
fn two_callers_never_get_the_same_call_and_settled_people_get_none() {
    over_both(|kind, log| {
        let queue = [
            item("C-1", 1, 0, "en"),
            item("C-2", 1, 0, "es"),
            item("C-3", 1, 0, "en"),
            item("C-1", 2, 3, "en"),
        ];
        assert_eq!(
            log.load_queue(&queue, noon() - TimeDelta::days(2)).unwrap(),
            4,
            "{kind}"
        );
        let next =
            |log: &mut dyn Store, ask: &Ask| log.next_call(ask).unwrap().map(|item| (item.contact, item.attempt));
        let one = |contact: &str| Some((contact.to_owned(), 1));
        assert_eq!(next(log, &ask("Rosa", false, 0)), one("C-1"), "{kind}");
        assert_eq!(
            next(log, &ask("Rosa", false, 0)),
            one("C-1"),
            "{kind}: asked again, the same call"
        );
        assert_eq!(next(log, &ask("Lee", false, 0)), one("C-3"), "{kind}");
        assert_eq!(next(log, &ask("Iris", true, 0)), one("C-2"), "{kind}");
        assert_eq!(next(log, &ask("Omar", true, 0)), None, "{kind}");
        log.add(&event("C-1", Outcome::NoAnswer, 0)).unwrap();
        log.add(&event("C-3", Outcome::Reached, 0)).unwrap();
        assert_eq!(log.open_calls().unwrap(), 2, "{kind}");
        assert_eq!(next(log, &ask("Omar", false, 0)), None, "{kind}");
        assert_eq!(next(log, &ask("Omar", false, 3)), Some(("C-1".to_owned(), 2)), "{kind}");
        // A claim that nobody followed up comes free.
        assert_eq!(next(log, &ask("Omar", true, 4)), one("C-2"), "{kind}");
        log.add(&event("C-1", Outcome::Reached, 4)).unwrap();
        log.add(&event("C-2", Outcome::Declined, 4)).unwrap();
        assert_eq!(next(log, &ask("Omar", true, 4)), None, "{kind}");
        assert!(
            log.is_queued("C-2").unwrap() && !log.is_queued("C-9").unwrap(),
            "{kind}"
        );
        assert_eq!(
            log.load_queue(&queue, noon() - TimeDelta::days(4_000)).unwrap(),
            0,
            "{kind}"
        );
        // Who was told in a call that came in is not called.
        log.record(&new_call("8", true, None)).unwrap();
        assert_eq!(
            log.load_queue(&[item("C-7", 1, 0, "en"), item("C-8", 1, 0, "en")], noon())
                .unwrap(),
            1,
            "{kind}"
        );
        assert_eq!(next(log, &ask("Zoe", true, 7)), None, "{kind}: after the time to act");
    });
}

#[test]
fn a_corrected_slip_opens_the_call_again_when_the_list_is_loaded() {
    over_both(|kind, log| {
        let corrected = [
            event("C-1", Outcome::Reached, 0),
            event("C-2", Outcome::Reached, 1),
            event("C-1", Outcome::NoAnswer, 2),
        ];
        log.add_all(&corrected).unwrap();
        let queue = [item("C-1", 1, 0, "en"), item("C-2", 1, 0, "en")];
        assert_eq!(
            log.load_queue(&queue, noon() - TimeDelta::days(2)).unwrap(),
            1,
            "{kind}"
        );
        assert_eq!(
            log.next_call(&ask("Rosa", false, 1)).unwrap().unwrap().contact,
            "C-1",
            "{kind}"
        );
    });
}

/// Numbers for names that do not repeat within the tests of this binary.
pub fn fresh(prefix: &str) -> String {
    static NEXT: AtomicU32 = AtomicU32::new(0);
    format!("{prefix}-{:016}", NEXT.fetch_add(1, Ordering::Relaxed))
}
