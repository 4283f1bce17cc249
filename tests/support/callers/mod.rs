//! Callers at many desks who ask one server for calls and note what came of them, in processes that may be killed.
#![allow(clippy::unwrap_used, clippy::panic, dead_code)]

use super::server::{ServerRun, role};
use brimwater::outreach::outcome::Outcome;
use brimwater::store::server::Server;
use brimwater::store::server::address::Address;
use brimwater::store::server::set_up::Job;
use brimwater::store::server::trouble::is_away;
use brimwater::store::{Ask, Filter, NewEvent, QueueItem, Store};
use chrono::{TimeDelta, Utc};
use std::collections::BTreeMap;
use std::io::{BufRead, BufReader, Write};
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::sync::mpsc;
use std::time::{Duration, Instant};

/// How a run goes.
pub struct Run {
    /// How long.
    pub time: Duration,
    /// Processes.
    pub desks: usize,
    /// Callers of all processes together.
    pub callers: usize,
    /// Calls in the queue.
    pub calls: usize,
    /// Longest pause of a caller between a note and the next question.
    pub pause: Duration,
    /// How long the server is away once.
    pub away: Duration,
}

/// What a run came to.
#[derive(Debug, Default)]
pub struct Report {
    /// Time of each question and note that was answered.
    pub delays: Vec<Duration>,
    /// Notes that callers were told are kept.
    pub acknowledged: usize,
    /// Notes on the server.
    pub kept: usize,
    /// People called more than once.
    pub twice: Vec<String>,
    /// Notes that were acknowledged and are not on the server.
    pub lost: Vec<String>,
    /// Calls that nobody ever got, also after the claims of the killed had ended.
    pub never: usize,
    /// Desks that were killed.
    pub killed: usize,
}

/// The work of a process: so many callers until it is killed or the queue is empty. Prints a line for what was kept.
pub fn desk() -> bool {
    let Ok(url) = std::env::var("BRIMWATER_CALLERS_URL") else {
        return false;
    };
    let number = |name: &str| std::env::var(name).unwrap().parse::<u64>().unwrap();
    let (callers, first, pause, seconds) = (
        number("BRIMWATER_CALLERS"),
        number("BRIMWATER_CALLERS_FIRST"),
        number("BRIMWATER_CALLERS_PAUSE_MS"),
        number("BRIMWATER_CALLERS_MS"),
    );
    let end = Instant::now() + Duration::from_millis(seconds);
    let (told, lines) = mpsc::channel::<String>();
    for caller in first..first + callers {
        let (told, url) = (told.clone(), url.clone());
        std::thread::spawn(move || work(&url, &format!("caller {caller}"), caller, pause, end, &told));
    }
    drop(told);
    let mut out = std::io::stdout().lock();
    for line in lines {
        writeln!(out, "\n{line}").unwrap();
        out.flush().unwrap();
    }
    true
}

fn work(url: &str, by: &str, seed: u64, pause_ms: u64, end: Instant, told: &mpsc::Sender<String>) {
    let address = Address::read(Path::new(url)).unwrap();
    let mut server = None;
    let mut at = seed;
    while Instant::now() < end {
        let Ok(log) = server.take().map_or_else(|| Server::open(&address, Some("north")), Ok) else {
            std::thread::sleep(Duration::from_millis(200));
            continue;
        };
        let log = server.insert(log);
        let ask = Ask {
            by: by.to_owned(),
            spanish: true,
            now: Utc::now(),
            early_first: true,
        };
        let start = Instant::now();
        match log.next_call(&ask) {
            Ok(Some(item)) => {
                let asked = start.elapsed();
                let note = NewEvent {
                    uid: Some(NewEvent::uid_of(&["call", &item.contact, by])),
                    ..NewEvent::now(&item.contact, Outcome::Reached, "", by, "command")
                };
                let start = Instant::now();
                // As a rep does: the note is tried again until it is kept.
                loop {
                    match log.add_all(std::slice::from_ref(&note)) {
                        Ok(_) => break,
                        Err(fault) if is_away(&fault) => std::thread::sleep(Duration::from_millis(200)),
                        Err(fault) => panic!("{fault}"),
                    }
                    if Instant::now() > end + Duration::from_secs(120) {
                        return;
                    }
                }
                let line = format!(
                    "kept {} {} {}",
                    item.contact,
                    asked.as_micros(),
                    start.elapsed().as_micros()
                );
                if told.send(line).is_err() {
                    return;
                }
            }
            Ok(None) => std::thread::sleep(Duration::from_millis(50)),
            Err(fault) if is_away(&fault) => std::thread::sleep(Duration::from_millis(200)),
            Err(fault) => panic!("{fault}"),
        }
        at = at
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        std::thread::sleep(Duration::from_millis((at >> 33) % pause_ms.max(1)));
    }
}

fn start(url: &str, run: &Run, desk: usize, left: Duration, args: &[&str], lines: &mpsc::Sender<String>) -> Child {
    let each = run.callers.div_ceil(run.desks);
    let first = desk * each;
    let callers = each.min(run.callers.saturating_sub(first));
    let mut child = Command::new(std::env::current_exe().unwrap())
        .args(args)
        .env("BRIMWATER_CALLERS_URL", url)
        .env("BRIMWATER_CALLERS", callers.to_string())
        .env("BRIMWATER_CALLERS_FIRST", first.to_string())
        .env("BRIMWATER_CALLERS_PAUSE_MS", run.pause.as_millis().to_string())
        .env("BRIMWATER_CALLERS_MS", left.as_millis().to_string())
        .stdout(Stdio::piped())
        .stderr(Stdio::inherit())
        .spawn()
        .unwrap();
    let (out, lines) = (child.stdout.take().unwrap(), lines.clone());
    std::thread::spawn(move || {
        for line in BufReader::new(out).lines().map_while(Result::ok) {
            if lines.send(line).is_err() {
                break;
            }
        }
    });
    child
}

/// Runs it: desks are killed and begun again, the server is restarted, and once it is away for a while. `args` make this very program
/// call [`desk`].
pub fn run(server: &ServerRun, run: &Run, args: &[&str]) -> Report {
    let database = server.database(&["north"]);
    let planner = server.address(&role(&database, "north", Job::Planner), &database);
    let mut log = Server::open(&planner, None).unwrap();
    let queue: Vec<QueueItem> = (0..run.calls)
        .map(|n| QueueItem {
            position: 0,
            contact: format!("C-{n}"),
            attempt: 1,
            caller: None,
            slot_start: None,
            act_by: None,
            language: if n % 5 == 0 { "es" } else { "en" }.to_owned(),
        })
        .collect();
    log.load_queue(&queue, Utc::now() - TimeDelta::days(1)).unwrap();
    let url = server.url(&role(&database, "north", Job::Desk), &database);
    let (told, lines) = mpsc::channel();
    let begin = Instant::now();
    let mut desks: Vec<Child> = (0..run.desks)
        .map(|desk| start(&url, run, desk, run.time, args, &told))
        .collect();
    let mut report = Report::default();
    // Fifths of the time: kill, restart, kill, away, kill.
    for fifth in 0..5usize {
        let until = run.time * (fifth as u32 + 1) / 6;
        std::thread::sleep(until.saturating_sub(begin.elapsed()));
        if fifth % 2 == 0 {
            let desk = (fifth * 3) % run.desks;
            desks[desk].kill().unwrap();
            desks[desk].wait().unwrap();
            report.killed += 1;
            desks[desk] = start(&url, run, desk, run.time.saturating_sub(begin.elapsed()), args, &told);
        } else {
            server.stop();
            if fifth == 3 {
                std::thread::sleep(run.away);
            }
            server.go_on();
        }
    }
    drop(told);
    for mut desk in desks {
        assert!(desk.wait().unwrap().success(), "a desk ended by itself");
    }
    let mut acknowledged = BTreeMap::new();
    for line in lines {
        let words: Vec<&str> = line.split(' ').collect();
        if let ["kept", contact, asked, noted] = words.as_slice() {
            *acknowledged.entry((*contact).to_owned()).or_insert(0usize) += 1;
            report
                .delays
                .extend([asked, noted].map(|us| Duration::from_micros(us.parse().unwrap())));
        }
    }
    let mut kept: BTreeMap<String, usize> = BTreeMap::new();
    for event in log.list(&Filter::default()).unwrap() {
        *kept.entry(event.contact).or_insert(0) += 1;
    }
    report.acknowledged = acknowledged.values().sum();
    report.kept = kept.values().sum();
    report.lost = acknowledged
        .keys()
        .filter(|contact| !kept.contains_key(*contact))
        .cloned()
        .collect();
    let twice = kept.iter().chain(&acknowledged).filter(|(_, times)| **times > 1);
    report.twice = twice.map(|(contact, _)| contact.clone()).collect();
    // What is left is given out, the calls of the killed after their claims have ended.
    let mut left = run.calls - kept.len();
    let later = Utc::now() + TimeDelta::minutes(brimwater::store::queue::CLAIM_MINUTES + 1);
    let mut given = 0;
    loop {
        let ask = Ask {
            by: format!("after {given}"),
            spanish: true,
            now: later,
            early_first: true,
        };
        if given > left || log.next_call(&ask).unwrap().is_none() {
            break;
        }
        given += 1;
    }
    left = left.abs_diff(given);
    report.never = left;
    report.delays.sort();
    report
}

impl Report {
    /// The time that a share of questions and notes did not exceed.
    pub fn share(&self, share: f64) -> Duration {
        self.delays[((self.delays.len() - 1) as f64 * share) as usize]
    }

    /// The report in a line.
    pub fn told(&self) -> String {
        format!(
            "{} notes acknowledged, {} kept, {} lost, {} people called twice, {} calls never given; {} desks killed; \
             median {:.1} ms, 95 % {:.1} ms, 99 % {:.1} ms, longest {:.0} ms",
            self.acknowledged,
            self.kept,
            self.lost.len(),
            self.twice.len(),
            self.never,
            self.killed,
            self.share(0.5).as_secs_f64() * 1e3,
            self.share(0.95).as_secs_f64() * 1e3,
            self.share(0.99).as_secs_f64() * 1e3,
            self.share(1.0).as_secs_f64() * 1e3,
        )
    }
}
