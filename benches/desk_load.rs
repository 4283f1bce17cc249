//! Load on the desk: 50 reps search 100,000 assemblies on this machine, over loopback.
//!
//! `cargo bench --bench desk_load`. `BRIMWATER_LOAD_SECONDS` sets how long (60 when left out; 1800 for the half hour), and
//! `BRIMWATER_LOAD_ASSEMBLIES` how many. Each rep waits between half a second and a second and a half after an answer, as
//! somebody who reads does. Prints the desk's memory each minute, the delays, the answers lost, and the memory after a tenth of
//! the time and at the end; ends with status 1 when 95 % of the answers took 200 ms or more, one was lost, or memory grew by
//! more than a twentieth (an allocator's own unrest is a few percent).
#![allow(clippy::unwrap_used, clippy::panic)]

#[path = "../tests/support/deskside/mod.rs"]
mod deskside;

use deskside::{Client, DeskRun, list, programme};
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

fn main() {
    let seconds = number("BRIMWATER_LOAD_SECONDS", 60, MOST_SECONDS);
    let assemblies = number("BRIMWATER_LOAD_ASSEMBLIES", 100_000, MOST_ASSEMBLIES as u64) as usize;
    let folder = programme(assemblies);
    // Without weather the desk computes no plan, so that the search alone is measured.
    let desk = DeskRun::start_without_weather(folder.path(), &["--requests-per-second", "100000"]);
    let rows: Vec<_> = list(&desk.assemblies)
        .into_iter()
        .filter(|row| row["assembly_id"].starts_with("A-") && !row["site_address"].is_empty())
        .collect();
    println!(
        "{} of {assemblies} assemblies have an address; {REPS} reps for {seconds} s",
        rows.len()
    );
    let end = Instant::now() + Duration::from_secs(seconds);
    let (mut delays, mut lost) = (Vec::new(), 0usize);
    let mut early_kb = 0;
    std::thread::scope(|scope| {
        let reps: Vec<_> = (0..REPS)
            .map(|rep| {
                let (rows, address) = (&rows, desk.address);
                scope.spawn(move || {
                    let mut client = Client::new(address);
                    client.get("/phone");
                    let (mut delays, mut lost) = (Vec::new(), 0usize);
                    let mut at = rep * 7919;
                    while Instant::now() < end {
                        at = (at * 31 + 17) % rows.len();
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
                        let start = Instant::now();
                        let reply = client.post("/phone/find", &[("q", asked)]);
                        delays.push(start.elapsed());
                        // An identifier must be found; the others at least be answered.
                        let found = at % 4 != 2 || reply.body.contains(&row["assembly_id"]);
                        lost += usize::from(reply.status != 200 || !found);
                        std::thread::sleep(Duration::from_millis(500 + (at as u64 * 613) % 1000));
                    }
                    (delays, lost)
                })
            })
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
            let (more, gone) = rep.join().unwrap();
            delays.extend(more);
            lost += gone;
        }
    });
    let late_kb = memory_kb(desk.pid());
    delays.sort();
    let at = |share: f64| delays[((delays.len() - 1) as f64 * share) as usize].as_secs_f64() * 1e3;
    println!(
        "{} answers, {lost} lost; median {:.1} ms, 95 % {:.1} ms, 99 % {:.1} ms, longest {:.1} ms; memory {} MB after a tenth, {} MB at the end",
        delays.len(),
        at(0.5),
        at(0.95),
        at(0.99),
        at(1.0),
        early_kb / 1024,
        late_kb / 1024
    );
    let grew = early_kb > 0 && late_kb as f64 > early_kb as f64 * 1.05;
    if at(0.95) >= 200.0 || lost > 0 || grew {
        drop(desk);
        std::process::exit(1);
    }
}
