//! The table of the desk's security against its standard says nothing that is not there.
#![allow(clippy::unwrap_used, clippy::panic)]

use std::collections::BTreeSet;
use std::path::Path;

/// X-Val: OWASP Application Security Verification Standard 5.0.0, its list as a table of OWASP's repository (read 27 November 2026): how many
/// items each section has at levels 1 and 2. Those of level 3 stand behind them, so the items are numbered from one without gaps.
const SECTIONS: &[(&str, u32)] = &[
    ("1.1", 2),
    ("1.2", 9),
    ("1.3", 11),
    ("1.4", 3),
    ("1.5", 2),
    ("2.1", 3),
    ("2.2", 3),
    ("2.3", 4),
    ("2.4", 1),
    ("3.2", 2),
    ("3.3", 4),
    ("3.4", 6),
    ("3.5", 5),
    ("3.7", 2),
    ("4.1", 3),
    ("4.2", 1),
    ("4.3", 2),
    ("4.4", 4),
    ("5.1", 1),
    ("5.2", 3),
    ("5.3", 2),
    ("5.4", 3),
    ("6.1", 3),
    ("6.2", 12),
    ("6.3", 4),
    ("6.4", 4),
    ("6.5", 5),
    ("6.6", 3),
    ("6.8", 4),
    ("7.1", 3),
    ("7.2", 4),
    ("7.3", 2),
    ("7.4", 5),
    ("7.5", 2),
    ("7.6", 2),
    ("8.1", 2),
    ("8.2", 3),
    ("8.3", 1),
    ("8.4", 1),
    ("9.1", 3),
    ("9.2", 4),
    ("10.1", 2),
    ("10.2", 2),
    ("10.3", 4),
    ("10.4", 11),
    ("10.5", 5),
    ("10.6", 2),
    ("10.7", 3),
    ("11.1", 2),
    ("11.2", 3),
    ("11.3", 3),
    ("11.4", 4),
    ("11.5", 1),
    ("11.6", 1),
    ("12.1", 3),
    ("12.2", 2),
    ("12.3", 4),
    ("13.1", 1),
    ("13.2", 5),
    ("13.3", 2),
    ("13.4", 5),
    ("14.1", 2),
    ("14.2", 4),
    ("14.3", 3),
    ("15.1", 3),
    ("15.2", 3),
    ("15.3", 7),
    ("16.1", 1),
    ("16.2", 5),
    ("16.3", 4),
    ("16.4", 3),
    ("16.5", 3),
    ("17.1", 1),
    ("17.2", 4),
    ("17.3", 2),
];

/// Items of a list such as `1.2.6 to 1.2.9, 1.3.1`.
fn listed(text: &str) -> Vec<String> {
    let mut items = Vec::new();
    for part in text.split(", ") {
        let (first, last) = part.split_once(" to ").unwrap_or((part, part));
        let (section, from) = first.rsplit_once('.').unwrap();
        let (same, until) = last.rsplit_once('.').unwrap();
        assert_eq!(section, same, "{part}");
        let numbers = from.parse::<u32>().unwrap()..=until.parse().unwrap();
        items.extend(numbers.map(|number| format!("{section}.{number}")));
    }
    items
}

#[test]
fn each_item_of_the_standard_is_answered_or_set_aside_once() {
    let table = std::fs::read_to_string("src/desk/ASVS.md").unwrap();
    let mut told: Vec<String> = table
        .lines()
        .filter_map(|line| line.strip_prefix("- "))
        .flat_map(|line| listed(line.split(": ").next().unwrap()))
        .collect();
    let rows = table.lines().filter_map(|line| line.strip_prefix("| "));
    told.extend(rows.filter_map(|row| {
        let item = row.split(" | ").next().unwrap();
        (item != "item").then(|| item.to_owned())
    }));
    told.sort();
    let mut asked: Vec<String> = SECTIONS
        .iter()
        .flat_map(|(section, count)| (1..=*count).map(move |number| format!("{section}.{number}")))
        .collect();
    asked.sort();
    // 70 items of level 1 and 183 of level 2.
    assert_eq!(asked.len(), 253);
    assert_eq!(told, asked);
}

fn sources(folder: &Path, all: &mut String) {
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            sources(&path, all);
        } else if path.extension().is_some_and(|ending| ending == "rs") {
            all.push_str(&std::fs::read_to_string(path).unwrap());
        }
    }
}

#[test]
fn every_test_and_file_that_the_table_names_exists_and_its_counts_are_right() {
    let table = std::fs::read_to_string("src/desk/ASVS.md").unwrap();
    let mut code = String::new();
    for folder in ["src", "tests"] {
        sources(Path::new(folder), &mut code);
    }
    let mut names = 0;
    for quoted in table.split('`').skip(1).step_by(2) {
        // A test's name has many words; a file's ends in its kind.
        if quoted
            .bytes()
            .all(|b| b.is_ascii_lowercase() || b.is_ascii_digit() || b == b'_')
            && quoted.matches('_').count() >= 4
        {
            names += 1;
            assert!(code.contains(&format!("fn {quoted}(")), "{quoted} is no test");
        } else if quoted.ends_with(".rs") {
            let at = ["", "src/", "src/desk/"]
                .iter()
                .any(|folder| Path::new(folder).join(quoted).exists());
            assert!(at, "{quoted} is no file");
        }
    }
    assert!(names > 50, "{names}");
    let rows: Vec<Vec<&str>> = table
        .lines()
        .filter(|line| line.starts_with("| ") && !line.starts_with("| item"))
        .map(|line| line.trim_matches('|').split(" | ").map(str::trim).collect())
        .collect();
    let items: BTreeSet<&str> = rows.iter().map(|row| row[0]).collect();
    assert_eq!(items.len(), rows.len(), "an item stands twice");
    let count = |word: &str| rows.iter().filter(|row| row[2] == word).count();
    let told = format!(
        "Of the {} that apply {} are met, {} partly, {} not.",
        rows.len(),
        count("met"),
        count("partly"),
        count("not met")
    );
    assert!(table.contains(&told), "{told}");
}
