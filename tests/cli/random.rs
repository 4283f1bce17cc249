//! Thirty programmes drawn at random, tidy and untidy, with refusals, odd words and shifts of all kinds; what must hold in every one.
//!
//! X-Val: counts of the list itself, read here by the plain `csv` reader; the invariants are the contract's (interface of the files) and
//! common practice, no source.
#![allow(clippy::unwrap_used, clippy::panic, clippy::indexing_slicing)]

use assert_cmd::Command;
use chrono::{DateTime, TimeDelta, Utc};
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::Path;

/// Words of the column `channels` that allow nothing, or that nobody understands: neither may end in a call.
const NO_CALL: [&str; 9] = [
    "none",
    "DNC",
    "STOP",
    "unsubscribed",
    "refused",
    "ninguno",
    "letter only",
    "email only",
    "qwxz",
];
const ANY: [&str; 5] = ["call", "call;text", "call;text;email;letter", "text", ""];

struct Draw(u64);

impl Draw {
    /// A number below `n` (Knuth's MMIX generator; any would do).
    fn below(&mut self, n: usize) -> usize {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        ((self.0 >> 33) as usize) % n
    }

    fn of<'a>(&mut self, words: &[&'a str]) -> &'a str {
        words[self.below(words.len())]
    }
}

pub(crate) fn brimwater(root: &Path, arguments: &[String]) -> std::process::Output {
    Command::cargo_bin("brimwater")
        .unwrap()
        .current_dir(root)
        .args(arguments)
        .output()
        .unwrap()
}

pub(crate) fn words(text: &str) -> Vec<String> {
    text.split_whitespace().map(str::to_owned).collect()
}

/// Draws a programme; gives its list as rows, and the hours between attempts.
pub(crate) fn draw(root: &Path, seed: u64) -> (Vec<BTreeMap<String, String>>, f64) {
    let mut draw = Draw(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1);
    let rows = 6 + draw.below(30);
    let made = brimwater(
        root,
        &words(&format!("demo --out town --assemblies {rows} --seed {seed}")),
    );
    assert!(made.status.success());
    let name = draw.of(&["town/assemblies.csv", "town/assemblies-untidy.csv"]);
    let mut reader = csv::ReaderBuilder::new()
        .flexible(true)
        .from_path(root.join(name))
        .unwrap();
    let header = reader.headers().unwrap().clone();
    let at = |name: &str| header.iter().position(|cell| cell == name).unwrap();
    let (channels, phone) = (at("channels"), at("phone"));
    let mut list = csv::WriterBuilder::new()
        .flexible(true)
        .from_path(root.join("list.csv"))
        .unwrap();
    list.write_record(&header).unwrap();
    let mut found = Vec::new();
    for record in reader.records() {
        let record = record.unwrap();
        let mut cells: Vec<String> = record.iter().map(str::to_owned).collect();
        if cells.len() > channels.max(phone) {
            cells[channels] = if draw.below(3) == 0 {
                draw.of(&NO_CALL)
            } else {
                draw.of(&ANY)
            }
            .to_owned();
            if draw.below(8) == 0 {
                // Several rows at one number.
                cells[phone] = "202-555-0133".into();
            }
        }
        list.write_record(&cells).unwrap();
        found.push(header.iter().map(str::to_owned).zip(cells).collect());
    }
    list.flush().unwrap();
    let gap = [0.5, 1.0, 2.0, 3.5][draw.below(4)];
    let config = fs::read_to_string(root.join("town/config.toml")).unwrap();
    let callers = draw.below(5);
    let shift = format!(
        "\n[outreach.shift]\ncallers = {callers}\nspanish_callers = {}\nattempts = {}\nhours_between_attempts = {gap:.1}\nminutes_per_call = {:.1}\n",
        callers.min(2),
        1 + draw.below(4),
        [3.0, 5.0, 7.5][draw.below(3)]
    );
    assert!(!config.contains("[outreach.shift]"));
    fs::write(root.join("config.toml"), config + &shift).unwrap();
    (found, gap)
}

fn time(value: &Value) -> Option<DateTime<Utc>> {
    value.as_str()?.parse().ok()
}

fn holds(seed: u64) {
    let root = tempfile::tempdir().unwrap();
    let root = root.path();
    let (list, gap) = draw(root, seed);
    let plan = "plan --assemblies list.csv --series town/forecast.csv --stations town/stations.csv --config config.toml --now \
                2027-01-18T12:00:00Z --members 8 --advice-cases 0 --seed 3 --out out";
    let done = brimwater(root, &words(plan));
    let told = String::from_utf8_lossy(&done.stderr);
    assert!(done.status.code() < Some(2), "seed {seed}: {told}");
    let plan: Value = serde_json::from_slice(&fs::read(root.join("out/plan.json")).unwrap()).unwrap();
    let rejects = csv::ReaderBuilder::new()
        .flexible(true)
        .from_path(root.join("out/rejects.csv"))
        .unwrap()
        .into_records()
        .count();
    let ranked = plan["assemblies"].as_array().unwrap();
    // Nobody vanishes.
    assert_eq!(ranked.len() + rejects, list.len(), "seed {seed}");
    let ids: BTreeSet<&str> = ranked.iter().map(|one| one["assembly_id"].as_str().unwrap()).collect();
    assert_eq!(ids.len(), ranked.len(), "seed {seed}");
    let mut ice: BTreeMap<&str, Option<DateTime<Utc>>> = BTreeMap::new();
    for one in ranked {
        let id = one["assembly_id"].as_str().unwrap();
        let chance = |name: &str| one[name].as_f64().unwrap();
        let (p_ice, p_damage) = (chance("p_ice"), chance("p_damage"));
        assert!(
            (0.0..=1.0).contains(&p_ice) && p_damage >= 0.0 && p_damage <= p_ice,
            "seed {seed}, {id}: {p_damage} and {p_ice}"
        );
        // Ice is not yet a break: what comes too late for it is the cold of the first night that breaks anything.
        ice.insert(id, time(&one["nights"][0]["ice_early"]));
    }
    let refused: BTreeSet<&str> = list
        .iter()
        .filter(|row| row.get("channels").is_some_and(|word| NO_CALL.contains(&word.as_str())))
        .map(|row| row["assembly_id"].trim())
        .collect();
    let mut dials: BTreeMap<&str, Vec<DateTime<Utc>>> = BTreeMap::new();
    for line in plan["contacts"].as_array().unwrap() {
        let (channel, contact) = (line["channel"].as_str().unwrap(), line["contact_id"].as_str().unwrap());
        let theirs: Vec<&str> = line["assemblies"]
            .as_array()
            .unwrap()
            .iter()
            .map(|id| id.as_str().unwrap())
            .collect();
        assert!(theirs.iter().all(|id| ids.contains(id)), "seed {seed}: {line}");
        if channel != "call" {
            continue;
        }
        assert!(
            theirs.iter().all(|id| !refused.contains(id)),
            "seed {seed}: a call against a refusal: {line}"
        );
        dials
            .entry(contact)
            .or_default()
            .push(time(&line["slot_start"]).unwrap());
        // Told in time: before ice of the first night that breaks anything comes to every assembly that the call is about and that leaves a day or more to act (with less the
        // call may be about the night after), and always before the end of the weather.
        let (end, by) = (time(&line["slot_end"]).unwrap(), time(&line["act_by"]).unwrap());
        let mut first = theirs.iter().filter_map(|id| ice[id]);
        assert!(
            first.all(|first| first - end < TimeDelta::hours(24) || by <= first),
            "seed {seed}: {line}"
        );
        assert!(by <= time(&plan["window"]["end"]).unwrap(), "seed {seed}: {line}");
        assert!(time(&line["slot_end"]).unwrap() <= by, "seed {seed}: {line}");
    }
    let gap = TimeDelta::seconds((gap * 3600.0) as i64);
    for (contact, mut times) in dials {
        times.sort();
        assert!(
            times.windows(2).all(|pair| pair[1] - pair[0] >= gap),
            "seed {seed}, {contact}: {times:?}"
        );
    }
}

#[test]
fn what_must_hold_does_in_fifteen_programmes() {
    (1..=15).for_each(holds);
}

#[test]
fn what_must_hold_does_in_fifteen_more() {
    (16..=30).for_each(holds);
}
