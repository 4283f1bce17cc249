//! The table of the desk's security against its standard says nothing that is not there.
#![allow(clippy::unwrap_used, clippy::panic)]

use std::collections::BTreeSet;
use std::path::Path;

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
