//! The shape of the source: which room may use which, what the pure rooms may not touch, and that sources are real.
#![allow(clippy::unwrap_used, clippy::panic)]

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

use brimwater::source::{SOURCES, source};

/// Rooms that touch no file, clock, network or command-line type.
const PURE: [&str; 7] = ["physics", "freeze", "ranking", "expansion", "drip", "season", "review"];

/// Pure rooms that may spread their work over threads: their answers do not depend on how many.
const PARALLEL: [&str; 4] = ["freeze", "ranking", "season", "review"];

/// What each room may use beside the common ground (`faults`, `language`, `text`, `units`, `source`): the rooms to its left.
const MAY_USE: &[(&str, &[&str])] = &[
    ("physics", &[]),
    ("input", &[]),
    ("weather", &["physics", "input"]),
    ("inventory", &["physics", "input", "weather"]),
    ("freeze", &["physics", "weather", "inventory"]),
    ("expansion", &["physics"]),
    ("ranking", &["physics", "weather", "inventory", "freeze"]),
    (
        "outreach",
        &["physics", "weather", "inventory", "freeze", "ranking", "config"],
    ),
    ("drip", &["physics", "weather", "inventory", "freeze", "expansion"]),
    (
        "season",
        &["physics", "weather", "inventory", "freeze", "ranking", "outreach"],
    ),
    ("review", &[]),
];

/// Files whose reach differs from their room's, each with its reason.
const FILES_MAY_USE: &[(&str, &[&str])] = &[
    // Opens the files of a run together, so it stands to the right of what it fills.
    ("input/load.rs", &["config", "inventory", "weather"]),
    // Reads a station's numbers as the inventory reads its own: the parser of cells lives there.
    ("weather/stations.rs", &["inventory"]),
    // Reads the dates of a filled form as the list reads its own, also those that can be read two ways.
    ("review/record.rs", &["inventory"]),
    // Hands over the figures of a sentence as a list; `say!` does the same for every other room.
    ("expansion/words/tanks.rs", &["words"]),
];

/// Rooms that nobody but the command line, and the desk itself, may use.
const FRONT: [&str; 2] = ["cli", "desk"];

/// Words of the outside world, and what each stands for.
const OUTSIDE: &[(&str, &str)] = &[
    ("std::fs", "files"),
    ("std::io", "files"),
    ("std::path", "files"),
    ("File::", "files"),
    ("std::net", "the network"),
    ("std::env", "the environment"),
    ("std::process", "processes"),
    ("std::thread", "threads"),
    ("SystemTime", "the clock"),
    ("Instant", "the clock"),
    ("Utc::now", "the clock"),
    ("Local::now", "the clock"),
    ("chrono::Local", "the local zone"),
    ("println!", "the terminal"),
    ("clap", "the command line"),
    ("reqwest", "the network"),
    ("tokio", "the network"),
    ("axum", "the network"),
    ("rusqlite", "the database"),
    ("plotters", "drawing"),
    ("getrandom", "the machine's randomness"),
];

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("src")
}

/// Rust files under a folder or of one module, in order.
fn rust_files(folder: &Path) -> Vec<PathBuf> {
    let mut files = Vec::new();
    let mut open = vec![folder.to_path_buf()];
    while let Some(at) = open.pop() {
        if at.is_dir() {
            open.extend(std::fs::read_dir(&at).unwrap().map(|entry| entry.unwrap().path()));
        } else if at.extension().is_some_and(|ext| ext == "rs") {
            files.push(at);
        }
    }
    files.sort();
    files
}

/// The files of a room: its folder, and the file of the same name if there is one.
fn room_files(room: &str) -> Vec<PathBuf> {
    let mut files = Vec::new();
    let folder = root().join(room);
    if folder.is_dir() {
        files = rust_files(&folder);
    }
    let single = root().join(format!("{room}.rs"));
    if single.is_file() {
        files.push(single);
    }
    files
}

/// Code without comments and without the inside of string literals, so that words in prose do not count.
fn code_only(text: &str) -> String {
    let mut code = String::with_capacity(text.len());
    let chars: Vec<char> = text.chars().collect();
    let at = |i: usize| chars.get(i).copied().unwrap_or('\0');
    let mut i = 0;
    while i < chars.len() {
        match (at(i), at(i + 1)) {
            ('/', '/') => {
                while i < chars.len() && at(i) != '\n' {
                    i += 1;
                }
            }
            ('/', '*') => {
                i += 2;
                while i < chars.len() && (at(i), at(i + 1)) != ('*', '/') {
                    i += 1;
                }
                i += 2;
            }
            ('r', '"' | '#') if !at(i.wrapping_sub(1)).is_alphanumeric() && at(i.wrapping_sub(1)) != '_' => {
                let hashes = chars[i + 1..].iter().take_while(|&&c| c == '#').count();
                if at(i + 1 + hashes) == '"' {
                    i += 2 + hashes;
                    while i < chars.len() && !(at(i) == '"' && (0..hashes).all(|k| at(i + 1 + k) == '#')) {
                        i += 1;
                    }
                    i += 1 + hashes;
                } else {
                    code.push('r');
                    i += 1;
                }
            }
            ('"', _) => {
                i += 1;
                while i < chars.len() && at(i) != '"' {
                    i += if at(i) == '\\' { 2 } else { 1 };
                }
                i += 1;
                code.push('"');
            }
            // A quote of a character, so that '"' does not open a string.
            ('\'', '\\') => {
                i += 2;
                while i < chars.len() && at(i) != '\'' {
                    i += 1;
                }
                i += 1;
            }
            ('\'', _) if at(i + 2) == '\'' => i += 3,
            (c, _) => {
                code.push(c);
                i += 1;
            }
        }
    }
    code
}

/// Whether `word` stands in `code` on its own, not inside a longer name.
fn has_word(code: &str, word: &str) -> bool {
    let name = |c: char| c.is_alphanumeric() || c == '_';
    code.match_indices(word).any(|(at, _)| {
        let before = code[..at].chars().next_back().is_some_and(name);
        let after = word.ends_with(name) && code[at + word.len()..].chars().next().is_some_and(name);
        !before && !after
    })
}

/// The rooms that a piece of code names through `crate::`, in a path or a braced `use`.
fn rooms_used(code: &str) -> BTreeSet<String> {
    let mut rooms = BTreeSet::new();
    for (at, _) in code.match_indices("crate::") {
        let rest = &code[at + "crate::".len()..];
        if let Some(list) = rest.strip_prefix('{') {
            let mut depth = 0_i32;
            let mut name = String::new();
            let mut taking = true;
            for c in list.chars() {
                match c {
                    '{' => depth += 1,
                    '}' if depth == 0 => break,
                    '}' => depth -= 1,
                    ',' if depth == 0 => {
                        rooms.insert(std::mem::take(&mut name));
                        taking = true;
                    }
                    c if depth == 0 && taking && (c.is_alphanumeric() || c == '_') => name.push(c),
                    ':' => taking = false,
                    _ => {}
                }
            }
            rooms.insert(name);
        } else {
            rooms.insert(rest.chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect());
        }
    }
    rooms.remove("");
    rooms
}

/// Every room of the program: the folders of `src`.
fn all_rooms() -> Vec<String> {
    let names = std::fs::read_dir(root()).unwrap().map(|entry| entry.unwrap());
    let mut rooms: Vec<String> = names
        .filter(|e| e.path().is_dir())
        .map(|e| e.file_name().into_string().unwrap())
        .collect();
    rooms.sort();
    rooms
}

#[test]
fn the_readers_of_this_test_read_rust_as_it_is() {
    let code = code_only(
        "use a; // clap\nlet s = \"std::fs\"; /* axum */ let c = '\"'; let r = r#\"tokio\"#; fn f<'a>(x: &'a str) {}",
    );
    for word in ["clap", "std::fs", "axum", "tokio"] {
        assert!(!has_word(&code, word), "{word} in {code}");
    }
    assert!(code.contains("fn f<'a>(x: &'a str)"));
    assert!(has_word("use std::time::{Duration, Instant};", "Instant") && !has_word("Instantly", "Instant"));
    let rooms = rooms_used("use crate::{faults::Faults, freeze::{Outlook, run}, units}; crate::desk::open()");
    let expected = ["desk", "faults", "freeze", "units"];
    assert_eq!(rooms.iter().map(String::as_str).collect::<Vec<_>>(), expected);
}

#[test]
fn pure_rooms_touch_no_file_clock_network_or_command_line() {
    let mut wrong = Vec::new();
    for room in PURE {
        let files = room_files(room);
        assert!(!files.is_empty(), "no files in {room}");
        for file in files {
            let code = code_only(&std::fs::read_to_string(&file).unwrap());
            for (word, what) in OUTSIDE {
                if has_word(&code, word) {
                    wrong.push(format!("{} uses {word} ({what})", file.display()));
                }
            }
            if !PARALLEL.contains(&room) && has_word(&code, "rayon") {
                wrong.push(format!(
                    "{} uses rayon, which is for {}",
                    file.display(),
                    PARALLEL.join(" and ")
                ));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn rooms_use_only_the_rooms_to_their_left() {
    // `say!` turns a message's identifier into a sentence; it knows no room and every room's edge may call it.
    let common = [
        "faults",
        "language",
        "text",
        "units",
        "source",
        "say",
        "PLANNING_AID",
        "VERSION",
    ];
    let may_use: BTreeMap<&str, &[&str]> = MAY_USE.iter().copied().collect();
    let mut wrong = Vec::new();
    for room in all_rooms() {
        for file in room_files(&room) {
            let code = code_only(&std::fs::read_to_string(&file).unwrap());
            let own = FILES_MAY_USE.iter().find(|(name, _)| file.ends_with(name));
            for used in rooms_used(&code) {
                let allowed = used == room
                    || own.is_some_and(|(_, more)| more.contains(&used.as_str()))
                    || common.contains(&used.as_str())
                    || match may_use.get(room.as_str()) {
                        Some(left) => left.contains(&used.as_str()),
                        // Writers and the front rooms may use any room that is not in front of them.
                        None => room == "cli" || !FRONT.contains(&used.as_str()),
                    };
                if !allowed {
                    wrong.push(format!("{} uses crate::{used}", file.display()));
                }
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn units_change_in_units_alone() {
    // The factors of US units appear as digits in one place; a second copy could differ from it.
    let factors = [
        "6894.757",
        "6_894.757",
        "3.785_411",
        "3.785411",
        "0.453_592",
        "0.45359237",
        "0.293_071",
    ];
    let mut wrong = Vec::new();
    for file in rust_files(&root()) {
        let in_units = file
            .strip_prefix(root())
            .unwrap()
            .to_string_lossy()
            .starts_with("units");
        let code = code_only(&std::fs::read_to_string(&file).unwrap());
        for factor in factors.iter().filter(|factor| !in_units && code.contains(**factor)) {
            wrong.push(format!("{} has {factor}", file.display()));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// Identifiers quoted in the doc comments of a file: in brackets, with back quotes around them or with the brackets
/// escaped.
///
/// A word without a hyphen is the shape of an array or a section of the config, unless the bibliography has it.
fn quoted_sources(text: &str) -> Vec<String> {
    let docs = text
        .lines()
        .map(str::trim_start)
        .filter(|line| line.starts_with("///") || line.starts_with("//!"));
    let mut found = Vec::new();
    for line in docs {
        for (open, close) in [("`[", "]`"), ("\\[", "\\]")] {
            found.extend(
                line.split(open)
                    .skip(1)
                    .filter_map(|rest| rest.split_once(close))
                    .map(|(id, _)| id.to_owned()),
            );
        }
    }
    let identifier = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-';
    found.retain(|id| id.chars().all(identifier) && (id.contains('-') || source(id).is_some()));
    found
}

#[test]
fn every_quoted_source_is_in_the_bibliography() {
    let mut quoted = 0;
    let mut missing = Vec::new();
    for file in rust_files(&root()) {
        for id in quoted_sources(&std::fs::read_to_string(&file).unwrap()) {
            quoted += 1;
            if source(&id).is_none() {
                missing.push(format!("{}: [{id}]", file.display()));
            }
        }
    }
    assert!(
        quoted > 60,
        "only {quoted} quotations were found: has the form changed?"
    );
    assert!(missing.is_empty(), "{}", missing.join("\n"));
}

#[test]
fn the_bibliography_is_sorted_and_filled() {
    for pair in SOURCES.windows(2) {
        assert!(pair[0].id < pair[1].id, "{} stands before {}", pair[0].id, pair[1].id);
    }
    for entry in SOURCES {
        assert!(entry.citation.len() > 20, "{}", entry.id);
        assert_eq!(source(entry.id), Some(entry));
    }
    assert!(source("no-such-source").is_none());
}

/// Marks of a unit, or of a number without one, in a doc comment.
const UNIT_MARKS: &[&str] = &[
    "°C",
    "K)",
    "K,",
    "K ",
    "K.",
    "K⁴",
    "m²",
    "m³",
    "m)",
    "m,",
    "m/s",
    "Pa",
    "W/",
    "J/",
    "kg",
    " h ",
    "hPa",
    "day",
    " s ",
    " s,",
    " s.",
    "(s)",
    "1/",
    "inch",
    "pure number",
    "0 to 1",
    "0 to 0.5",
    "fraction",
    "share",
    " m.",
    "kPa",
    "λ",
    "ratio",
    "in `unit`",
];

#[test]
fn every_public_number_of_physics_says_its_unit() {
    let mut wrong = Vec::new();
    let mut seen = 0;
    for file in rust_files(&root().join("physics")) {
        let text = std::fs::read_to_string(&file).unwrap();
        let mut docs = String::new();
        let lines: Vec<&str> = text.lines().collect();
        for (number, line) in lines.iter().enumerate() {
            let line = line.trim();
            if let Some(doc) = line.strip_prefix("///") {
                docs.push_str(doc);
                docs.push('\n');
                continue;
            }
            let signature: String = if line.starts_with("pub fn") {
                lines[number..]
                    .iter()
                    .take_while(|l| !l.contains('{'))
                    .chain(lines[number..].iter().find(|l| l.contains('{')))
                    .copied()
                    .collect()
            } else {
                line.to_owned()
            };
            let number_item = line.starts_with("pub ") && signature.contains("f64");
            if number_item {
                seen += 1;
                if !UNIT_MARKS.iter().any(|mark| docs.contains(mark)) {
                    wrong.push(format!("{}:{} {line}", file.display(), number + 1));
                }
            }
            if !line.starts_with("#[") {
                docs.clear();
            }
        }
    }
    assert!(seen > 80, "only {seen} public numbers were found");
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}
