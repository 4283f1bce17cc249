//! Load on a log that many desks share: fifty callers in eight processes at one PostgreSQL server, desks killed, the server restarted
//! and away for a minute; then a million events of 60,000 people.
//!
//! `cargo bench --bench callers`. `BRIMWATER_CALLERS_SECONDS` sets how long the callers work (600 when left out), `BRIMWATER_EVENTS` how many
//! events are loaded for the second part (1,000,000; 0 leaves it out). Ends with status 1 when a call was given twice, a note was lost, 95 %
//! of questions and notes took 100 ms or more, the next call beside the events took 50 ms, or the standing of everybody a second.
#![allow(clippy::unwrap_used, clippy::panic)]

#[path = "../tests/support/callers/mod.rs"]
mod callers;
#[path = "../tests/support/server/mod.rs"]
mod server;

use brimwater::outreach::outcome::Outcome;
use brimwater::store::server::Server;
use brimwater::store::server::set_up::Job;
use brimwater::store::{Ask, NewEvent, QueueItem, Store};
use chrono::{TimeDelta, Utc};
use std::time::{Duration, Instant};

const PEOPLE: usize = 60_000;

fn number(name: &str, usual: u64, most: u64) -> u64 {
    let given = std::env::var(name).ok().and_then(|text| text.parse().ok());
    given.unwrap_or(usual).min(most)
}

fn main() {
    // The processes that this one starts and kills are this very program.
    if callers::desk() {
        return;
    }
    let Some(run) = server::ServerRun::start(&["shared_buffers=256MB"]) else {
        return;
    };
    let seconds = number("BRIMWATER_CALLERS_SECONDS", 600, 3_600);
    let mut bad = false;
    if seconds > 0 {
        let plan = callers::Run {
            time: Duration::from_secs(seconds),
            desks: 8,
            callers: 50,
            calls: 120 * seconds as usize,
            pause: Duration::from_millis(1_500),
            away: Duration::from_secs((seconds / 10).max(1)),
        };
        let report = callers::run(&run, &plan, &[]);
        println!("{seconds} s, server away {} s: {}", plan.away.as_secs(), report.told());
        bad |= !report.lost.is_empty() || !report.twice.is_empty() || report.never > 0;
        bad |= report.share(0.95) >= Duration::from_millis(100);
    }
    let events = number("BRIMWATER_EVENTS", 1_000_000, 5_000_000) as usize;
    if events > 0 {
        bad |= beside(&run, events);
    }
    drop(run);
    if bad {
        std::process::exit(1);
    }
}

/// The next call, and everybody's standing, beside so many events.
fn beside(run: &server::ServerRun, events: usize) -> bool {
    let database = run.database(&["north"]);
    let address = run.address(&server::role(&database, "north", Job::Planner), &database);
    let mut log = Server::open(&address, None).unwrap();
    let first = Utc::now() - TimeDelta::days(60);
    let begin = Instant::now();
    for chunk in 0..events.div_ceil(20_000) {
        let rows: Vec<NewEvent> = (chunk * 20_000..((chunk + 1) * 20_000).min(events))
            .map(|n| NewEvent {
                at: first + TimeDelta::seconds((n as i64 * 5_000_000) / events as i64),
                ..NewEvent::now(
                    &format!("C-{}", (n * 7_919) % PEOPLE),
                    Outcome::ALL[n % 6],
                    "",
                    "Rosa",
                    "command",
                )
            })
            .collect();
        log.add_all(&rows).unwrap();
    }
    println!("{events} events loaded in {:.1} s", begin.elapsed().as_secs_f64());
    let queue: Vec<QueueItem> = (0..PEOPLE)
        .map(|n| QueueItem {
            position: 0,
            contact: format!("N-{n}"),
            attempt: 1,
            caller: None,
            slot_start: None,
            act_by: None,
            language: "en".into(),
        })
        .collect();
    let begin = Instant::now();
    log.load_queue(&queue, first).unwrap();
    println!(
        "queue of {PEOPLE} calls loaded in {:.2} s",
        begin.elapsed().as_secs_f64()
    );
    let mut next: Vec<Duration> = (0..200)
        .map(|n| {
            let ask = Ask {
                by: format!("caller {n}"),
                spanish: true,
                now: Utc::now(),
                early_first: true,
            };
            let begin = Instant::now();
            assert!(log.next_call(&ask).unwrap().is_some());
            begin.elapsed()
        })
        .collect();
    next.sort();
    let mut bad = next[190] >= Duration::from_millis(50);
    println!(
        "next call: median {:.1} ms, 95 % {:.1} ms",
        next[100].as_secs_f64() * 1e3,
        next[190].as_secs_f64() * 1e3
    );
    for (words, since) in [
        ("ever", None),
        ("of the last ten days", Some(Utc::now() - TimeDelta::days(10))),
    ] {
        let begin = Instant::now();
        let people = log.history(since).unwrap().0.len();
        let took = begin.elapsed();
        println!(
            "standing of {people} people by events {words}: {:.2} s",
            took.as_secs_f64()
        );
        bad |= took >= Duration::from_secs(1);
    }
    bad
}
