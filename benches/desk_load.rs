//! Load on the desk: 50 reps at 100,000 assemblies with their weather on this machine, over loopback.
//!
//! `cargo bench --bench desk_load`. `BRIMWATER_LOAD_SECONDS` sets how long (60 when left out; 1800 for the half hour),
//! `BRIMWATER_LOAD_ASSEMBLIES` how many, `BRIMWATER_LOAD_MEMBERS` the members behind plan and cards (256 when left out). Each rep looks a
//! caller up (by name, with a slip, by identifier, by address), opens the card with its outlook, answers the drip, and notes every other call; between two
//! pages it waits as somebody who talks: from half to one and a half of `BRIMWATER_LOAD_PAUSE` seconds (6 when left out). Prints the desk's memory each
//! minute, the delays by page, what was lost, and the memory after a tenth of
//! the time and at the end; ends with status 1 when 95 % of the answers took 200 ms or more, of the searches 50 ms, an answer or a note was lost, or
//! memory grew by more than a twentieth after the first tenth.
#![allow(clippy::unwrap_used, clippy::panic)]

#[path = "../tests/support/deskside/mod.rs"]
mod deskside;

use deskside::{Client, DeskRun, Reply, link, list, programme};
use std::collections::HashMap;
use std::time::{Duration, Instant};

const REPS: usize = 50;
/// Longest run and largest list that the script takes: it is bounded on purpose.
const MOST_SECONDS: u64 = 3600;
const MOST_ASSEMBLIES: usize = 200_000;

fn number(name: &str, usual: u64, most: u64) -> u64 {
    std::env::var(name)
        .ok()
        .and_then(|text| text.parse().ok())
        .unwrap_or(usual)
        .clamp(1, most)
}

/// Resident memory of a process, kB; 0 where it cannot be read.
fn memory_kb(pid: u32) -> u64 {
    std::fs::read_to_string(format!("/proc/{pid}/status"))
        .ok()
        .and_then(|text| {
            text.lines()
                .find_map(|line| line.strip_prefix("VmRSS:")?.split_whitespace().next()?.parse().ok())
        })
        .unwrap_or(0)
}

/// What one rep has seen: delays by page, answers lost, notes that the desk said it keeps.
#[derive(Default)]
struct Seen {
    delays: Vec<(&'static str, Duration)>,
    lost: usize,
    noted: Vec<String>,
}

impl Seen {
    fn timed(&mut self, page: &'static str, ask: impl FnOnce() -> Reply) -> Reply {
        let start = Instant::now();
        let reply = ask();
        self.delays.push((page, start.elapsed()));
        reply
    }
}

/// One rep, until the end.
fn rep(number: usize, desk: &DeskRun, rows: &[HashMap<String, String>], pause_s: u64, end: Instant) -> Seen {
    let mut client = Client::new(desk.address);
    client.get("/phone");
    let mut seen = Seen::default();
    let (mut at, mut calls) = (number * 7919, 0);
    let pause = |at: usize| {
        std::thread::sleep(Duration::from_millis(
            500 * pause_s + (at as u64 * 613) % (1000 * pause_s),
        ))
    };
    while Instant::now() < end {
        at = (at * 31 + 17) % rows.len();
        calls += 1;
        let row = &rows[at];
        // Address, name, a slip in the address, identifier: as callers tell it.
        let mut slipped: Vec<char> = row["site_address"].chars().collect();
        let middle = slipped.len() / 2;
        slipped.swap(middle, middle.saturating_sub(1));
        let slipped: String = slipped.into_iter().collect();
        let asked = match at % 4 {
            0 => row["contact_name"].as_str(),
            1 => slipped.as_str(),
            2 => row["assembly_id"].as_str(),
            _ => row["site_address"].as_str(),
        };
        let found = seen.timed("search", || client.post("/phone/find", &[("q", asked)]));
        // An identifier must be found; the others at least be answered.
        let hit = at % 4 != 2 || found.body.contains(&row["assembly_id"]);
        seen.lost += usize::from(found.status != 200 || !hit);
        pause(at);
        let Some(card) = link(&found.body, "/phone/a/") else {
            continue;
        };
        let reply = seen.timed("card", || client.get(&card));
        seen.lost += usize::from(reply.status != 200);
        pause(at + 1);
        let told = [
            ("where", "relief-port"),
            ("rate", "1 cup in 10 min"),
            ("when", "cold-nights"),
            ("go", "answer"),
        ];
        let reply = seen.timed("answer", || client.post(&card, &told));
        seen.lost += usize::from(reply.status != 200 || !reply.body.contains("id=\"answer\""));
        pause(at + 2);
        if calls % 2 == 0 {
            let text = format!("call {calls} of rep {number}");
            let once = format!("r{number}c{calls}");
            let fields = [
                ("by", "Rosa"),
                ("caller", ""),
                ("text", text.as_str()),
                ("once", once.as_str()),
            ];
            let reply = seen.timed("note", || client.post(&format!("{card}/note"), &fields));
            if reply.status == 303 {
                seen.noted.push(text);
            } else {
                seen.lost += 1;
            }
            pause(at + 3);
        }
    }
    seen
}

fn at(delays: &[Duration], share: f64) -> f64 {
    delays[((delays.len() - 1) as f64 * share) as usize].as_secs_f64() * 1e3
}

fn main() {
    let seconds = number("BRIMWATER_LOAD_SECONDS", 60, MOST_SECONDS);
    let assemblies = number("BRIMWATER_LOAD_ASSEMBLIES", 100_000, MOST_ASSEMBLIES as u64) as usize;
    let members = number("BRIMWATER_LOAD_MEMBERS", 256, 4_096).to_string();
    let pause_s = number("BRIMWATER_LOAD_PAUSE", 6, 60);
    let folder = programme(assemblies);
    let desk = DeskRun::start(
        folder.path(),
        &["--requests-per-second", "100000", "--members", &members],
    );
    let rows: Vec<_> = list(&desk.assemblies)
        .into_iter()
        .filter(|row| row["assembly_id"].starts_with("A-") && !row["site_address"].is_empty())
        .collect();
    let begun = Instant::now();
    let mut planner = Client::new(desk.address);
    while !planner.get("/plan").body.contains("<table") {
        std::thread::sleep(Duration::from_secs(1));
    }
    println!(
        "{} of {assemblies} assemblies have an address; {members} members, planned in {:.0} s; {REPS} reps for {seconds} s",
        rows.len(),
        begun.elapsed().as_secs_f64()
    );
    let end = Instant::now() + Duration::from_secs(seconds);
    let mut all = Seen::default();
    let mut early_kb = 0;
    std::thread::scope(|scope| {
        let (rows, desk) = (&rows, &desk);
        let reps: Vec<_> = (0..REPS)
            .map(|number| scope.spawn(move || rep(number, desk, rows, pause_s, end)))
            .collect();
        let start = Instant::now();
        let (mut next, early) = (Duration::ZERO, Duration::from_secs(seconds) / 10);
        while Instant::now() < end {
            let passed = start.elapsed();
            if passed >= early && early_kb == 0 {
                early_kb = memory_kb(desk.pid());
            }
            if passed >= next {
                eprintln!("{:>5} s  {} kB", passed.as_secs(), memory_kb(desk.pid()));
                next += Duration::from_secs(60);
            }
            std::thread::sleep(Duration::from_millis(500));
        }
        for rep in reps {
            let seen = rep.join().unwrap();
            all.delays.extend(seen.delays);
            all.lost += seen.lost;
            all.noted.extend(seen.noted);
        }
    });
    let late_kb = memory_kb(desk.pid());
    // Each note that the desk took stands in the log; the log is read by another process.
    let listed = deskside::program()
        .args(["log", "--calls", "--format", "json", "--quiet", "--db"])
        .arg(&desk.log)
        .output()
        .unwrap();
    let listed = String::from_utf8_lossy(&listed.stdout);
    let gone = all
        .noted
        .iter()
        .filter(|text| !listed.contains(&format!("\"{text}\"")))
        .count();
    let mut bad = all.lost + gone > 0;
    for (page, most_ms) in [
        ("search", 50.0),
        ("card", f64::INFINITY),
        ("answer", f64::INFINITY),
        ("note", f64::INFINITY),
        ("all", 200.0),
    ] {
        let of_page = all.delays.iter().filter(|(name, _)| page == "all" || *name == page);
        let mut delays: Vec<Duration> = of_page.map(|(_, delay)| *delay).collect();
        if delays.is_empty() {
            continue;
        }
        delays.sort();
        println!(
            "{page}: {} answers; median {:.1} ms, 95 % {:.1} ms, 99 % {:.1} ms, longest {:.1} ms",
            delays.len(),
            at(&delays, 0.5),
            at(&delays, 0.95),
            at(&delays, 0.99),
            at(&delays, 1.0)
        );
        bad |= at(&delays, 0.95) >= most_ms;
    }
    println!(
        "{} answers lost; {} notes taken, {gone} of them not in the log; memory {} MB after a tenth, {} MB at the end",
        all.lost,
        all.noted.len(),
        early_kb / 1024,
        late_kb / 1024
    );
    bad |= early_kb > 0 && late_kb as f64 > early_kb as f64 * 1.05;
    if bad {
        drop(desk);
        std::process::exit(1);
    }
}
