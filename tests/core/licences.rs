//! Every package that goes into the program comes from the registry under a licence that deny.toml allows.
#![allow(clippy::unwrap_used, clippy::panic)]

use std::collections::BTreeSet;
use std::process::Command;

/// Whether a licence expression can be met with allowed licences: OR needs one side, AND both.
fn allowed(expression: &str, list: &BTreeSet<String>) -> bool {
    // Old crates write "MIT/Apache-2.0" for OR.
    let expression = expression.replace('/', " OR ");
    let tokens: Vec<String> = expression
        .replace('(', " ( ")
        .replace(')', " ) ")
        .split_whitespace()
        .map(str::to_owned)
        .collect();
    let mut at = 0;
    let met = either(&tokens, &mut at, list);
    met && at == tokens.len()
}

fn either(tokens: &[String], at: &mut usize, list: &BTreeSet<String>) -> bool {
    let mut met = both(tokens, at, list);
    while tokens.get(*at).is_some_and(|t| t == "OR") {
        *at += 1;
        met |= both(tokens, at, list);
    }
    met
}

fn both(tokens: &[String], at: &mut usize, list: &BTreeSet<String>) -> bool {
    let mut met = one(tokens, at, list);
    while tokens.get(*at).is_some_and(|t| t == "AND") {
        *at += 1;
        met &= one(tokens, at, list);
    }
    met
}

fn one(tokens: &[String], at: &mut usize, list: &BTreeSet<String>) -> bool {
    let Some(token) = tokens.get(*at) else { return false };
    *at += 1;
    if token == "(" {
        let met = either(tokens, at, list);
        *at += 1;
        return met;
    }
    let mut name = token.clone();
    if tokens.get(*at).is_some_and(|t| t == "WITH") {
        name = format!("{name} WITH {}", tokens.get(*at + 1).cloned().unwrap_or_default());
        *at += 2;
    }
    list.contains(&name)
}

#[test]
fn expressions_are_read_as_spdx_says() {
    let list: BTreeSet<String> = ["MIT", "Zlib"].map(str::to_owned).into();
    // X-Val: SPDX specification, annex on licence expressions: AND binds tighter than OR.
    assert!(allowed("MIT OR GPL-3.0-only", &list));
    assert!(!allowed("MIT AND GPL-3.0-only", &list));
    assert!(allowed("GPL-3.0-only AND MIT OR Zlib", &list));
    assert!(!allowed("GPL-3.0-only AND (MIT OR Zlib)", &list));
    assert!(allowed("MIT/Apache-2.0", &list));
}

#[test]
fn every_dependency_is_from_the_registry_and_under_an_allowed_licence() {
    let root = env!("CARGO_MANIFEST_DIR");
    let deny: toml::Table = std::fs::read_to_string(format!("{root}/deny.toml"))
        .unwrap()
        .parse()
        .unwrap();
    let list: BTreeSet<String> = deny["licenses"]["allow"]
        .as_array()
        .unwrap()
        .iter()
        .map(|v| v.as_str().unwrap().to_owned())
        .collect();
    let output = Command::new(env!("CARGO"))
        .args([
            "metadata",
            "--format-version",
            "1",
            "--locked",
            "--filter-platform",
            "x86_64-unknown-linux-gnu",
            "--manifest-path",
        ])
        .arg(format!("{root}/Cargo.toml"))
        .output()
        .unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let metadata: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    let packages = metadata["packages"].as_array().unwrap();
    assert!(packages.len() > 100, "{} packages", packages.len());
    let mut wrong = Vec::new();
    for package in packages {
        let name = package["name"].as_str().unwrap();
        if name == "brimwater" {
            continue;
        }
        let licence = package["license"].as_str().unwrap_or("");
        if !allowed(licence, &list) {
            wrong.push(format!("{name}: {licence:?}"));
        }
        let source = package["source"].as_str().unwrap_or("");
        if !source.starts_with("registry+") {
            wrong.push(format!("{name}: from {source:?}"));
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
}
