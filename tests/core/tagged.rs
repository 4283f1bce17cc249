//! Every number of the core says where it comes from: a tag of the bibliography, or a word that says that it is nobody's measurement.
//!
//! Read from the files themselves. A literal is tagged by the comments of its item (function, constant, field), by the fields' own where it
//! is a default, by the line it stands on, or by the head of its file where that says what its untagged numbers are.
#![allow(clippy::indexing_slicing)]

use brimwater::source::source;
use regex::Regex;
use std::path::{Path, PathBuf};

/// Rooms whose numbers decide a chance.
const CORE: [&str; 3] = ["physics", "freeze", "ranking"];
/// Counting, halves, percent, powers of ten, seconds and hours: no facts about the world.
const NO_FACT: [f64; 13] = [
    0.0, 1.0, 2.0, 0.5, 10.0, 100.0, 1000.0, 1e6, 24.0, 60.0, 3600.0, 86_400.0, 1e-6,
];
/// Words that say that a number is nobody's measurement.
const WORDS: [&str; 6] = [
    "judgement",
    "geometry",
    "exact",
    "common practice",
    "rounding",
    "definition",
];
/// What the head of a file says of its numbers begins so.
const HEAD: &str = "Numbers without a tag";

fn tagged(text: &str, tag: &Regex) -> bool {
    let low = text.to_lowercase();
    WORDS.iter().any(|word| low.contains(word)) || tag.captures_iter(&low).any(|found| source(&found[1]).is_some())
}

fn is_fact(text: &str) -> bool {
    let value: f64 = text.replace('_', "").parse().unwrap_or(f64::NAN);
    !NO_FACT.contains(&value) && !(value > 0.0 && value < 1e-6)
}

fn files(folder: &Path, found: &mut Vec<PathBuf>) {
    for entry in std::fs::read_dir(folder).unwrap().map(Result::unwrap) {
        let path = entry.path();
        if path.is_dir() {
            files(&path, found);
        } else if path.extension().is_some_and(|ending| ending == "rs") {
            found.push(path);
        }
    }
}

/// Comments above a line in its item, in their order, and those on the line.
fn comments(lines: &[&str], at: usize, item: &Regex) -> String {
    let mut told = vec![lines[at].split_once("//").map_or("", |parts| parts.1)];
    for above in (0..at).rev() {
        let line = lines[above].trim();
        let next = lines[above + 1];
        if line.is_empty() && next.len() - next.trim_start().len() <= 4 && item.is_match(next) {
            break;
        }
        if line.starts_with("//") {
            told.push(line.trim_start_matches('/').trim());
        }
    }
    told.reverse();
    told.join(" ")
}

/// The comments of a struct, for the values of its default.
fn of_struct(text: &str, lines: &[&str], at: usize) -> String {
    let head = lines[..=at].iter().rev().find(|line| line.starts_with("impl"));
    let Some(name) = head.and_then(|head| head.strip_prefix("impl Default for ")) else {
        return String::new();
    };
    let name = name.trim_end_matches(" {");
    let Some(start) = text.find(&format!("pub struct {name} {{")) else {
        return String::new();
    };
    let above = text[..start].rfind("\n\n").unwrap_or(0);
    let end = text[start..].find("\n}").map_or(text.len(), |end| start + end);
    text[above..end].replace("///", " ").replace('\n', " ")
}

/// The literals of one file that nothing tags, and how many it has.
fn untagged(text: &str) -> (Vec<(usize, String)>, usize) {
    let tag = Regex::new(r"\[([a-z0-9.-]+)\\?\]").unwrap();
    let number = Regex::new(r"(?:^|[^\w.])(\d[\d_]*\.\d[\d_]*(?:e[-+]?\d+)?|\d[\d_]*e[-+]?\d+)").unwrap();
    let words = Regex::new(r#""(\\.|[^"\\])*""#).unwrap();
    let item = Regex::new(r"^\s*(///|#\[|pub |fn |const |static |impl|struct|enum|let |//)").unwrap();
    let text = text.split("#[cfg(test)]").next().unwrap();
    let lines: Vec<&str> = text.lines().collect();
    let head: Vec<&str> = lines.iter().filter_map(|line| line.strip_prefix("//!")).collect();
    let head = head.join(" ");
    if head.split_once(HEAD).is_some_and(|parts| tagged(parts.1, &tag)) {
        return (Vec::new(), usize::MAX);
    }
    let (mut open, mut seen) = (Vec::new(), 0);
    for (at, line) in lines.iter().enumerate() {
        if line.trim().starts_with("//") {
            continue;
        }
        let code = words.replace_all(line, "\"\"");
        let code = code.split("//").next().unwrap();
        let facts: Vec<&str> = number
            .captures_iter(code)
            .map(|found| found.get(1).unwrap().as_str())
            .filter(|text| is_fact(text))
            .collect();
        seen += facts.len();
        if !facts.is_empty() {
            let told = comments(&lines, at, &item) + " " + &of_struct(text, &lines, at);
            if !tagged(&told, &tag) {
                open.push((at + 1, line.trim().to_owned()));
            }
        }
    }
    (open, seen)
}

#[test]
fn every_number_of_the_core_says_where_it_comes_from() {
    let mut all = Vec::new();
    for room in CORE {
        files(&Path::new(env!("CARGO_MANIFEST_DIR")).join("src").join(room), &mut all);
    }
    assert!(all.len() > 40, "{}", all.len());
    let mut wrong = Vec::new();
    for path in all {
        let (open, _) = untagged(&std::fs::read_to_string(&path).unwrap());
        wrong.extend(
            open.into_iter()
                .map(|(line, text)| format!("{}:{line} {text}", path.display())),
        );
    }
    assert!(
        wrong.is_empty(),
        "{} numbers without a source or a word:\n{}",
        wrong.len(),
        wrong.join("\n")
    );
}

/// The check can fail: a number slipped in without a word is found, and each way of tagging it is taken.
#[test]
fn a_number_without_a_word_is_found() {
    let bare = "/// Conductivity, W/(m·K).\npub const K: f64 = 2.14;\n";
    assert_eq!(untagged(bare), (vec![(2, "pub const K: f64 = 2.14;".into())], 1));
    for told in [
        "/// Conductivity, W/(m·K) `[crc-handbook]`.\npub const K: f64 = 2.14;\n",
        "/// Conductivity, W/(m·K) (judgement).\npub const K: f64 = 2.14;\n",
        "/// Conductivity.\npub const K: f64 = 2.14; // [crc-handbook]\n",
        "pub struct S {\n    /// Judgement.\n    pub k: f64,\n}\n\nimpl Default for S {\n    fn default() -> Self {\n        Self { k: 2.14 }\n    }\n}\n",
        "//! Numbers without a tag of their own: judgement.\n\npub const K: f64 = 2.14;\n",
    ] {
        assert!(untagged(told).0.is_empty(), "{told}");
    }
    // A source that is not in the bibliography is none.
    assert_eq!(
        untagged(&bare.replace("W/(m·K).", "W/(m·K) `[nobody-1900]`.")).0.len(),
        1
    );
    // Plain counting needs no word.
    assert!(untagged("fn f() -> f64 {\n    0.5 * 100.0 / 3600.0\n}\n").0.is_empty());
}
