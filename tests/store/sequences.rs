//! Whatever is done in whatever order, both kinds of log say the same afterwards.

use super::both::{ask, event, fresh, item, new_call, noon, on_server};
use brimwater::outreach::outcome::Outcome;
use brimwater::store::{CallFilter, Filter, Log, NewCall, NewEvent, Step, Store};
use chrono::TimeDelta;
use proptest::prelude::*;
use proptest::test_runner::{Config, TestRunner};

/// One thing that somebody does.
#[derive(Debug, Clone)]
enum Act {
    Add {
        contact: u8,
        outcome: usize,
        hours: i64,
        again: bool,
    },
    Record {
        subject: u8,
        told: bool,
        due: Option<i64>,
    },
    Step {
        nth: usize,
        kept: bool,
    },
    Load {
        contacts: Vec<(u8, u8, bool)>,
    },
    Next {
        by: u8,
        spanish: bool,
        hours: i64,
    },
}

fn act() -> impl Strategy<Value = Act> {
    prop_oneof![
        5 => (0..4u8, 0..6usize, -5..5i64, any::<bool>()).prop_map(|(contact, outcome, hours, again)| Act::Add { contact, outcome, hours, again }),
        1 => (0..4u8, any::<bool>(), proptest::option::of(1..5i64)).prop_map(|(subject, told, due)| Act::Record { subject, told, due }),
        1 => (0..4usize, any::<bool>()).prop_map(|(nth, kept)| Act::Step { nth, kept }),
        1 => proptest::collection::vec((0..4u8, 1..3u8, any::<bool>()), 0..5).prop_map(|contacts| Act::Load { contacts }),
        4 => (0..3u8, any::<bool>(), 0..8i64).prop_map(|(by, spanish, hours)| Act::Next { by, spanish, hours }),
    ]
}

/// What a log says, without its own numbers and the clock's times.
fn said(log: &dyn Store) -> Vec<String> {
    let mut said: Vec<String> = Vec::new();
    for event in log.list(&Filter::default()).unwrap() {
        let note = event
            .note
            .rsplit_once(' ')
            .map_or(event.note.as_str(), |(words, _)| words);
        said.push(format!(
            "{} {} {} {note} {} {}",
            event.at,
            event.contact,
            event.outcome.word(),
            event.source,
            event.counts
        ));
    }
    for open in [false, true] {
        for call in log
            .calls(&CallFilter {
                open,
                ..CallFilter::default()
            })
            .unwrap()
        {
            said.push(format!(
                "{open} {} {} {} {:?} {} {:?}",
                call.at, call.subject, call.told, call.due, call.tried, call.ended
            ));
        }
    }
    for since in [
        None,
        Some(noon() - TimeDelta::hours(1)),
        Some(noon() + TimeDelta::hours(2)),
    ] {
        let mut standings: Vec<_> = log.history(since).unwrap().0.into_iter().collect();
        standings.sort_by(|a, b| a.0.cmp(&b.0));
        said.push(format!("{since:?} {standings:?}"));
    }
    said.push(format!("{} open", log.open_calls().unwrap()));
    said
}

fn done(log: &mut dyn Store, act: &Act, uid: &str, calls: &mut Vec<i64>) -> String {
    match act {
        Act::Add {
            contact,
            outcome,
            hours,
            again,
        } => {
            let new = NewEvent {
                uid: Some(uid.to_owned()),
                ..event(&format!("C-{contact}"), Outcome::ALL[*outcome], *hours)
            };
            let twice = if *again { vec![new.clone(), new] } else { vec![new] };
            let added = log.add_all(&twice).unwrap();
            format!("{} {}", added.added, added.known)
        }
        Act::Record { subject, told, due } => {
            let id = log
                .record(&NewCall {
                    uid: Some(uid.to_owned()),
                    ..new_call(&subject.to_string(), *told, *due)
                })
                .unwrap();
            calls.push(id);
            String::new()
        }
        Act::Step { nth, kept } => {
            let id = calls.get(*nth).copied().unwrap_or(999_999);
            let step = if *kept { Step::Kept } else { Step::Tried };
            log.step(id, step, "", "Lee", Some(uid.to_owned()))
                .err()
                .map_or_else(String::new, |fault| fault.code.to_owned())
        }
        Act::Load { contacts } => {
            let queue: Vec<_> = contacts
                .iter()
                .map(|(contact, attempt, spanish)| {
                    item(
                        &format!("C-{contact}"),
                        *attempt,
                        i64::from(attempt - 1) * 2,
                        if *spanish { "es" } else { "en" },
                    )
                })
                .collect();
            log.load_queue(&queue, noon() - TimeDelta::hours(3))
                .unwrap()
                .to_string()
        }
        Act::Next { by, spanish, hours } => format!(
            "{:?}",
            log.next_call(&ask(&format!("caller {by}"), *spanish, *hours)).unwrap()
        ),
    }
}

#[test]
fn after_any_sequence_both_kinds_say_the_same() {
    let Some(on_server) = on_server() else { return };
    let address = on_server.address().clone();
    let on_server = std::cell::RefCell::new(on_server);
    let run = super::server::shared().unwrap();
    let cases = std::env::var("BRIMWATER_SEQUENCES")
        .ok()
        .and_then(|n| n.parse().ok())
        .unwrap_or(40);
    let mut runner = TestRunner::new(Config {
        cases,
        failure_persistence: None,
        ..Config::default()
    });
    runner
        .run(&proptest::collection::vec(act(), 1..40), |acts| {
            // The maker of the server, who is above its rules, empties it without triggers between two sequences.
            run.admin(&address.database)
                .unwrap()
                .batch_execute(
                    "SET session_replication_role = replica; DELETE FROM brimwater.call_steps; DELETE FROM brimwater.calls; \
                     DELETE FROM brimwater.events; DELETE FROM brimwater.standings; DELETE FROM brimwater.queue",
                )
                .unwrap();
            let folder = tempfile::tempdir().unwrap();
            let (mut file, _) = Log::open(&folder.path().join("calls.log"), Some("north")).unwrap();
            let (mut calls_file, mut calls_server) = (Vec::new(), Vec::new());
            for act in &acts {
                let uid = fresh("sequence");
                let one = done(&mut file, act, &uid, &mut calls_file);
                let other = done(&mut *on_server.borrow_mut(), act, &uid, &mut calls_server);
                prop_assert_eq!(one, other, "after {:?}", act);
            }
            prop_assert_eq!(said(&file), said(&*on_server.borrow()));
            Ok(())
        })
        .unwrap();
}
