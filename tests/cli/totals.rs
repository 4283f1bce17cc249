//! One set of numbers at every door: the terminal, the ranking, plan.json, the brief, the manager's page, the council's and the desk count
//! the same assemblies, over random programmes; and everybody at risk stands in a list that somebody works from.
//!
//! X-Val: counts made here from `ranking.csv` and `contacts.csv` by the plain `csv` reader.
#![allow(clippy::unwrap_used, clippy::panic, clippy::indexing_slicing)]

use crate::deskside::Client;
use crate::random::{brimwater, draw, words};
use brimwater::freeze::{Report, Seen};
use brimwater::outreach::outcome::Outcome;
use brimwater::store::{Log, NewEvent, NewReport};
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::io::BufRead;
use std::path::Path;
use std::process::{Child, Stdio};

/// Two days before the cold, and the morning before its coldest night, with a night of frost behind.
const BEFORE: &str = "2027-01-18T12:00:00Z";
const MIDDLE: &str = "2027-01-21T15:00:00Z";

type Row = BTreeMap<String, String>;

fn rows(path: &Path) -> Vec<Row> {
    let Ok(mut reader) = csv::ReaderBuilder::new().flexible(true).from_path(path) else {
        return Vec::new();
    };
    reader.deserialize().map(Result::unwrap).collect()
}

/// Words of a page without tags, style and pictures.
fn visible(html: &str) -> String {
    let mut text = html.to_owned();
    for tag in ["style", "svg"] {
        while let (Some(from), Some(to)) = (text.find(&format!("<{tag}")), text.find(&format!("</{tag}>"))) {
            text.replace_range(from..to + tag.len() + 3, " ");
        }
    }
    let mut said = String::new();
    let mut inside = false;
    for sign in text.chars() {
        match sign {
            '<' => inside = true,
            '>' => {
                inside = false;
                said.push(' ');
            }
            _ if !inside => said.push(sign),
            _ => {}
        }
    }
    let said = said.replace("&#x27;", "'").replace("&amp;", "&").replace("&#39;", "'");
    said.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// The number that stands before some words.
fn before(text: &str, words: &str) -> usize {
    let at = text.find(words).unwrap_or_else(|| panic!("{words:?} in {text}"));
    let digits: String = text[..at]
        .trim_end()
        .chars()
        .rev()
        .take_while(char::is_ascii_digit)
        .collect();
    digits
        .chars()
        .rev()
        .collect::<String>()
        .parse()
        .unwrap_or_else(|_| panic!("{words:?} in {text}"))
}

/// A desk beside the test, ended when it is dropped.
struct DeskBeside(Child);

impl Drop for DeskBeside {
    fn drop(&mut self) {
        let _ = self.0.kill();
        let _ = self.0.wait();
    }
}

fn desk(root: &Path, now: &str) -> (DeskBeside, std::net::SocketAddr) {
    let arguments = "desk --quiet --bind 127.0.0.1:0 --members 8 --assemblies list.csv --series town/forecast.csv --stations \
                     town/stations.csv --config config.toml --log calls.db --now";
    let mut child = std::process::Command::new(env!("CARGO_BIN_EXE_brimwater"))
        .current_dir(root)
        .args(words(arguments))
        .arg(now)
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .unwrap();
    let mut first = String::new();
    let mut out = std::io::BufReader::new(child.stdout.take().unwrap());
    out.read_line(&mut first).unwrap();
    std::thread::spawn(move || std::io::copy(&mut out, &mut std::io::sink()));
    let address = first
        .split_once("://")
        .and_then(|(_, rest)| rest.split('/').next())
        .unwrap();
    let address = address.trim().parse().unwrap();
    (DeskBeside(child), address)
}

fn plan(root: &Path, out: &str, now: &str, more: &str) -> (String, String) {
    let arguments = format!(
        "plan --assemblies list.csv --series town/forecast.csv --stations town/stations.csv --config config.toml --now {now} --members 8 \
         --advice-cases 0 --log calls.db --out {out} {more}"
    );
    let done = brimwater(root, &words(&arguments));
    let told = String::from_utf8_lossy(&done.stderr).into_owned();
    assert!(done.status.code() < Some(2), "{told}");
    (String::from_utf8_lossy(&done.stdout).into_owned(), told)
}

/// Takes number, mailbox and address from every fifth row: nobody is known there who could be told.
fn nobody_known(root: &Path) {
    let path = root.join("list.csv");
    let mut reader = csv::ReaderBuilder::new().flexible(true).from_path(&path).unwrap();
    let header = reader.headers().unwrap().clone();
    let gone: Vec<usize> = ["phone", "email", "site_address", "contact_name"]
        .iter()
        .filter_map(|name| header.iter().position(|cell| cell == *name))
        .collect();
    let mut list = csv::WriterBuilder::new().flexible(true).from_writer(Vec::new());
    list.write_record(&header).unwrap();
    for (at, record) in reader.records().map(Result::unwrap).enumerate() {
        let cells = record.iter().enumerate().map(|(column, cell)| {
            if at % 5 == 2 && gone.contains(&column) {
                ""
            } else {
                cell
            }
        });
        list.write_record(cells).unwrap();
    }
    let bytes = list.into_inner().unwrap();
    fs::write(&path, bytes).unwrap();
}

/// Some of the list is noted in the log: people dealt with, assemblies seen.
fn noted(root: &Path, list: &[Row], seed: u64) -> BTreeSet<String> {
    let (mut log, _) = Log::open(&root.join("calls.db"), None).unwrap();
    let mut settled = BTreeSet::new();
    for (at, row) in list.iter().enumerate() {
        let Some(id) = row
            .get("assembly_id")
            .map(|id| id.trim())
            .filter(|id| !id.is_empty() && id.len() < 60)
        else {
            continue;
        };
        let turn = (at as u64 + seed) % 9;
        if turn == 0 {
            let event = NewEvent {
                at: "2027-01-18T11:00:00Z".parse().unwrap(),
                ..NewEvent::now(&format!("C-{id}"), Outcome::Done, "", "Rosa", "command")
            };
            log.add(&event).unwrap();
            settled.insert(id.to_owned());
        } else if turn < 4 {
            let report = NewReport {
                assembly_id: id.to_owned(),
                report: Report {
                    at: "2027-01-21T14:30:00Z".parse().unwrap(),
                    seen: Seen::ALL[turn as usize - 1],
                },
                seen_by: String::new(),
                note: String::new(),
                by: "Rosa".into(),
                uid: None,
            };
            log.record(&report.call()).unwrap();
        }
    }
    settled
}

/// Everybody at risk stands in a list that somebody works from, or is done with according to the log.
fn nobody_falls_out(root: &Path, out: &str, seed: u64) {
    let ranking = rows(&root.join(out).join("ranking.csv"));
    let mut told: BTreeSet<String> = BTreeSet::new();
    for file in ["contacts.csv", "door_hangers.csv"] {
        for row in rows(&root.join(out).join(file)) {
            told.extend(row["assemblies"].split(';').map(|id| id.trim().to_owned()));
        }
    }
    let (log, _) = Log::open(&root.join("calls.db"), None).unwrap();
    let history = log.history(None).unwrap();
    let by_contact: BTreeMap<String, Vec<String>> = ranking.iter().fold(BTreeMap::new(), |mut all, row| {
        all.entry(row["contact_id"].clone())
            .or_insert_with(Vec::new)
            .push(row["assembly_id"].clone());
        all
    });
    for row in ranking.iter().filter(|row| row["tier"] != "no contact") {
        let id = &row["assembly_id"];
        let theirs = by_contact[&row["contact_id"]].iter().map(String::as_str);
        let done = history
            .of(&row["contact_id"], theirs)
            .is_some_and(|standing| standing.last.settles());
        assert!(
            told.contains(id) || done,
            "seed {seed}: {id} ({}) stands nowhere: {row:?}",
            row["tier"]
        );
    }
}

/// Gives how many were reported broken.
fn holds(seed: u64) -> usize {
    let now = if seed.is_multiple_of(2) { MIDDLE } else { BEFORE };
    let root = tempfile::tempdir().unwrap();
    let root = root.path();
    let (list, _) = draw(root, seed);
    nobody_known(root);
    noted(root, &list, seed);
    let (said, _) = plan(root, "out", now, "");
    let ranking = rows(&root.join("out/ranking.csv"));
    let count = |rows: &[Row], tier: &str| rows.iter().filter(|row| row["tier"] == tier).count();
    let tiers = ["call first", "call next", "message", "no contact"].map(|tier| count(&ranking, tier));
    let [first, next, message, none] = tiers;
    let (all, at_risk) = (ranking.len(), ranking.len() - none);
    nobody_falls_out(root, "out", seed);

    // The terminal.
    assert!(
        said.contains(&format!(
            "{at_risk} at risk ({first} call first, {next} call next, {message} message)"
        )),
        "seed {seed}: {said}"
    );
    let unranked = rows(&root.join("out/unranked.csv")).len();
    let rejects = rows(&root.join("out/rejects.csv")).len();
    if unranked > 0 {
        assert_eq!(before(&said, "rows cannot be ranked"), unranked, "seed {seed}: {said}");
    }
    let breaks = said
        .lines()
        .find(|line| line.starts_with("expected to break if nobody acts"))
        .unwrap();

    // plan.json, and the sum of its chances.
    let json: Value = serde_json::from_slice(&fs::read(root.join("out/plan.json")).unwrap()).unwrap();
    let lines = json["assemblies"].as_array().unwrap();
    let of = |tier: &str| lines.iter().filter(|line| line["tier"] == tier).count();
    assert_eq!(
        ["call first", "call next", "message", "no contact"].map(of),
        tiers,
        "seed {seed}"
    );
    let expected: f64 = lines.iter().map(|line| line["p_damage"].as_f64().unwrap()).sum();
    let told: f64 = breaks
        .split(": ")
        .nth(1)
        .unwrap()
        .split(' ')
        .next()
        .unwrap()
        .parse()
        .unwrap();
    // Told to a whole one; each chance in the file is rounded at the sixth place.
    assert!(
        (told - expected).abs() <= 0.5 + 1e-5 * all as f64,
        "seed {seed}: {breaks}, {expected}"
    );

    // What was reported: what was last seen broken is not called, and stands in the list of visits.
    let broken: BTreeSet<&str> = lines
        .iter()
        .filter(|line| {
            line["reported"]["reports"]
                .as_array()
                .is_some_and(|all| all.last().unwrap()["seen"] == "broken")
        })
        .map(|line| line["assembly_id"].as_str().unwrap())
        .collect();
    let visits = rows(&root.join("out/inspection.csv"));
    for id in &broken {
        assert!(
            ranking
                .iter()
                .any(|row| row["assembly_id"] == *id && row["tier"] == "no contact"),
            "seed {seed}: {id}"
        );
        assert!(
            visits
                .iter()
                .any(|row| row["assembly_id"] == *id && row["queue"] == "reported broken"),
            "seed {seed}: {id} in {visits:?}"
        );
    }

    // The brief.
    let brief = visible(&fs::read_to_string(root.join("out/brief.html")).unwrap());
    assert!(
        brief.contains(&format!(
            "{at_risk} of {all} assemblies are at risk: {first} to call first, {next} to call next, {message} to message."
        )),
        "seed {seed}: {brief}"
    );
    assert!(brief.contains(breaks), "seed {seed}: {breaks} in {brief}");
    if unranked > 0 {
        assert_eq!(before(&brief, "rows cannot be ranked"), unranked, "seed {seed}");
    }
    if !broken.is_empty() {
        assert!(
            brief.contains(&format!("{} broken. Those seen broken", broken.len())),
            "seed {seed}: {brief}"
        );
    }
    // Whom nothing reaches is counted by reason, and the reasons add up to those of contacts.csv.
    let contacts = rows(&root.join("out/contacts.csv"));
    let unreached = contacts.iter().filter(|row| row["channel"] == "not reached").count();
    let page = fs::read_to_string(root.join("out/brief.html")).unwrap();
    let cells: Vec<usize> = page[page.find("<tbody id=\"reached\">").unwrap()..]
        .split("class=\"num\">")
        .skip(1)
        .take(6)
        .map(|cell| cell.split('<').next().unwrap().parse().unwrap())
        .collect();
    assert!(cells[3] <= unreached, "seed {seed}: {cells:?}, {unreached}");
    assert_eq!(
        cells[5], 0,
        "seed {seed}: people at risk for whom nothing is said: {cells:?}"
    );

    // The manager's page.
    let manager = visible(&fs::read_to_string(root.join("out/manager_summary.html")).unwrap());
    assert_eq!(
        before(&manager, "assemblies at risk"),
        at_risk,
        "seed {seed}: {manager}"
    );
    assert!(
        manager.contains(&format!(
            "{first} to call first, {next} to call next, {message} to message, of {all} looked at."
        )),
        "seed {seed}: {manager}"
    );
    assert!(manager.contains(breaks), "seed {seed}: {manager}");
    if unranked > 0 {
        assert_eq!(
            before(&manager, "of them have somebody to tell"),
            unranked,
            "seed {seed}"
        );
    }

    // The council's: small counts are blurred, the others are the same.
    let council = visible(&fs::read_to_string(root.join("out/council_summary.html")).unwrap());
    let blurred = |count: usize| match count {
        0 => "none".to_owned(),
        1..5 => "under 5".to_owned(),
        _ => count.to_string(),
    };
    assert!(
        council.contains(&format!(
            "{} backflow assemblies on the list {}{} are at risk",
            blurred(all),
            if rejects > 0 { "that could be looked at " } else { "" },
            blurred(at_risk)
        )),
        "seed {seed}: {council}"
    );

    // The desk, in both languages.
    let (_beside, address) = desk(root, now);
    let mut client = Client::new(address);
    let shown = loop {
        let page = client.get("/plan");
        if page.body.contains("class=\"lead\"") {
            break visible(&page.body);
        }
        std::thread::sleep(std::time::Duration::from_millis(200));
    };
    assert!(
        shown.contains(&format!("{at_risk} of {all} assemblies are at risk")),
        "seed {seed}: {shown}"
    );
    assert!(
        shown.contains(&format!(
            "call first: {first} · call next: {next} · message: {message} · no contact: {none}"
        )),
        "seed {seed}: {shown}"
    );
    let on_desk = breaks.replacen("expected", "Expected", 1);
    assert!(shown.contains(&on_desk), "seed {seed}: {on_desk} in {shown}");
    if unranked > 1 {
        assert_eq!(
            before(&shown, "rows cannot be ranked"),
            unranked,
            "seed {seed}: {shown}"
        );
    }
    broken.len()
}

#[test]
fn every_door_tells_the_same_numbers_over_random_programmes() {
    let broken: usize = (31..=38).map(holds).sum();
    assert!(
        broken > 3,
        "{broken} reported broken in all programmes: the reports were not counted"
    );
}

/// A messy export goes through the proposal to a plan; sheets are filled and taken in, the plan is made again and again, and nothing is lost:
/// what was noted stays noted, what was filled stays, and everybody at risk stands somewhere.
#[test]
fn a_messy_list_goes_through_proposal_plan_and_replans_without_losing_anybody() {
    let root = tempfile::tempdir().unwrap();
    let root = root.path();
    draw(root, 7);
    // The same list under titles, with headers of another make and semicolons.
    let text = fs::read_to_string(root.join("town/assemblies-untidy.csv")).unwrap();
    let mut reader = csv::ReaderBuilder::new()
        .flexible(true)
        .has_headers(false)
        .from_reader(text.as_bytes());
    let mut messy = csv::WriterBuilder::new()
        .flexible(true)
        .delimiter(b';')
        .from_writer(Vec::new());
    messy.write_record(["Backflow programme - annual inventory"]).unwrap();
    messy.write_record([""]).unwrap();
    for (at, record) in reader.records().map(Result::unwrap).enumerate() {
        let renamed: Vec<String> = record
            .iter()
            .map(|cell| match (at, cell) {
                (0, "assembly_id") => "Device ID".to_owned(),
                (0, "device_type") => "Device Type".to_owned(),
                (0, "nominal_size_in") => "Size (in)".to_owned(),
                (0, "phone") => "Telephone".to_owned(),
                (0, "contact_name") => "Customer".to_owned(),
                _ => cell.to_owned(),
            })
            .collect();
        messy.write_record(&renamed).unwrap();
    }
    fs::write(root.join("list.csv"), messy.into_inner().unwrap()).unwrap();
    let config = fs::read_to_string(root.join("config.toml")).unwrap();
    let done = brimwater(
        root,
        &words("check --assemblies list.csv --propose proposed.toml --config config.toml"),
    );
    assert!(
        done.status.code() < Some(2),
        "{}",
        String::from_utf8_lossy(&done.stderr)
    );
    let proposed = fs::read_to_string(root.join("proposed.toml")).unwrap();
    let whole = if proposed.contains("[outreach.shift]") {
        proposed
    } else {
        format!("{config}\n{proposed}")
    };
    fs::write(root.join("config.toml"), whole).unwrap();
    let mut noted = 0;
    let (mut since, mut known) = (String::new(), BTreeSet::new());
    for (nth, now) in [
        "2027-01-18T15:00:00Z",
        "2027-01-18T18:00:00Z",
        "2027-01-18T20:00:00Z",
        "2027-01-19T16:00:00Z",
    ]
    .into_iter()
    .enumerate()
    {
        let out = format!("plan-{nth}");
        plan(root, &out, now, &since);
        since = format!("--since {out}");
        let ranking = rows(&root.join(&out).join("ranking.csv"));
        let rejects = rows(&root.join(&out).join("rejects.csv"));
        let ids: BTreeSet<String> = ranking.iter().map(|row| row["assembly_id"].clone()).collect();
        assert!(!ids.is_empty());
        if nth > 0 {
            assert_eq!(ids, known, "an assembly was lost between plans");
        }
        known = ids;
        assert!(ranking.len() + rejects.len() > 5);
        nobody_falls_out(root, &out, nth as u64);
        // The first open line of each sheet is filled and taken in.
        let sheets = root.join(&out).join("call_sheets");
        let files = fs::read_dir(&sheets)
            .into_iter()
            .flatten()
            .map(|file| file.unwrap().path());
        for sheet in files.filter(|path| path.extension().is_some_and(|ext| ext == "csv")) {
            let mut reader = csv::Reader::from_path(&sheet).unwrap();
            let header = reader.headers().unwrap().clone();
            let at = header.iter().position(|cell| cell == "outcome").unwrap();
            let mut filled = csv::Writer::from_writer(Vec::new());
            filled.write_record(&header).unwrap();
            for (line, record) in reader.records().map(Result::unwrap).enumerate() {
                let mut cells: Vec<String> = record.iter().map(str::to_owned).collect();
                if line == 0 {
                    cells[at] = ["no-answer", "done", "message-left", "reached"][nth].to_owned();
                    noted += 1;
                }
                filled.write_record(&cells).unwrap();
            }
            fs::write(&sheet, filled.into_inner().unwrap()).unwrap();
            let import = format!("log --db calls.db --import {} --by Rosa", sheet.display());
            for _ in 0..2 {
                let done = brimwater(root, &words(&import));
                assert!(done.status.success(), "{}", String::from_utf8_lossy(&done.stderr));
            }
        }
        // Planning again into the same folder keeps what was filled in by hand.
        plan(root, &out, now, "");
        let kept = fs::read_dir(root)
            .unwrap()
            .map(|file| file.unwrap().file_name().to_string_lossy().into_owned());
        assert!(kept.into_iter().any(|name| name.starts_with(&out)), "{out}");
    }
    let (log, _) = Log::open(&root.join("calls.db"), None).unwrap();
    assert!(noted > 0);
    assert_eq!(log.count().unwrap(), noted, "each filled line counts once");
}
