//! `check --propose`: what would be taken for what, and the config that says so.

use super::super::common::{Common, Failure, Format, print};
use crate::cli::Done;
use crate::faults::{Fault, Faults, Severity};
use crate::input::file;
use crate::input::load::Files;
use crate::inventory::Inventory;
use crate::inventory::propose::Proposal;
use crate::output::safe::target::{Make, Target, may_write};
use crate::output::table::{plain, trimmed};
use crate::plan::proposed::{Proposed, proposed};
use serde::Serialize;
use std::collections::BTreeMap;
use std::fmt::Write;
use std::path::Path;

/// Widest example that the table shows, characters.
const EXAMPLE: usize = 22;

/// Proposes, shows and writes.
pub(super) fn run(files: &Files, place: &Path, common: &Common) -> Done {
    let Some(list) = &files.assemblies else { return Ok(2) };
    // A link that leads nowhere stands there too.
    if std::fs::symlink_metadata(place).is_ok() {
        return Err(Fault::new(
            "BW-P15",
            Severity::Fatal,
            "this file is there already, and a proposal overwrites nothing",
        )
        .file(file::shown(place))
        .expected("the name of a new file")
        .remedy("Give another name; lay the proposal beside your config and take over what you want of it.")
        .into());
    }
    let target = Target::new("--propose", place, Make::New);
    let inputs: Vec<&Path> = files
        .config
        .iter()
        .map(|path| path.as_path())
        .chain([list.as_path()])
        .collect();
    may_write(&[target], &inputs, common.force)?;
    let Proposed {
        name,
        proposal,
        read,
        config,
    } = proposed(list, files).map_err(Failure::one)?;
    target.write(config.as_bytes()).map_err(Failure::one)?;
    let asked = proposal.words.iter().filter(|word| word.ours.is_none()).count();
    let text = match common.format {
        Format::Table => page(&proposal, &read, &name, &file::shown(place)),
        Format::Json => json(&proposal, &read),
        Format::Csv => super::answer::csv(&read.faults),
    };
    print(&text)?;
    Ok(match read.faults.exit_status() {
        0 if asked > 0 => 1,
        status => status,
    })
}

fn short(text: &str) -> String {
    let plain: String = text.chars().map(|c| if c.is_control() { ' ' } else { c }).collect();
    if plain.chars().count() <= EXAMPLE {
        return plain;
    }
    plain.chars().take(EXAMPLE - 1).chain(['…']).collect()
}

fn page(proposal: &Proposal, read: &Inventory, list: &str, place: &str) -> String {
    let mut text = format!(
        "{list}: header on line {}, {} rows below it.\n\nYour columns and ours\n",
        proposal.header_line, proposal.rows
    );
    let mut columns = plain();
    columns.set_header(vec![
        "yours",
        "is taken for",
        "how sure",
        "filled",
        "read",
        "for instance",
    ]);
    for taken in &proposal.columns {
        columns.add_row(vec![
            short(&taken.header),
            taken.column.name().to_owned(),
            taken.sure.word().to_owned(),
            taken.filled.to_string(),
            taken.readable.to_string(),
            taken.examples.first().map(|example| short(example)).unwrap_or_default(),
        ]);
    }
    let _ = writeln!(text, "{}\n", trimmed(&columns.to_string()));
    if !proposal.missing.is_empty() {
        let names: Vec<&str> = proposal.missing.iter().map(|column| column.name()).collect();
        let _ = writeln!(text, "Not found, and of use: {}", names.join(", "));
    }
    if !proposal.unread.is_empty() {
        let _ = writeln!(text, "Passed through unread: {}", proposal.unread.join(", "));
    }
    if !proposal.words.is_empty() {
        let mut words = plain();
        words.set_header(vec!["column", "your word", "rows", "is taken for"]);
        for word in &proposal.words {
            words.add_row(vec![
                word.column.name().to_owned(),
                short(&word.theirs),
                word.rows.to_string(),
                word.ours.clone().unwrap_or_else(|| "? fill in".into()),
            ]);
        }
        let _ = writeln!(text, "\nWords that are not ours\n{}", trimmed(&words.to_string()));
    }
    let told = first_of_each(&read.faults);
    if !told.is_empty() {
        let _ = writeln!(text, "\nWhat is left, the first of each kind");
        for fault in told {
            super::page::wrapped(&fault, &mut text);
        }
    }
    let _ = writeln!(
        text,
        "\nWith this config {} of {} rows can be used, {} cannot. Written: {place}\nLook at its guesses, then: brimwater check --assemblies {list} --config {place}",
        read.assemblies.len(),
        read.rows,
        read.rejects.len(),
    );
    text
}

fn first_of_each(faults: &Faults) -> Vec<String> {
    let mut counts: BTreeMap<&str, (usize, String)> = BTreeMap::new();
    for fault in faults.0.iter().filter(|fault| fault.severity > Severity::Note) {
        counts.entry(fault.code).or_insert_with(|| (0, fault.to_string())).0 += 1;
    }
    counts
        .into_values()
        .map(|(count, first)| format!("{count} times: {first}"))
        .collect()
}

#[derive(Serialize)]
struct Answer<'p> {
    schema: &'static str,
    header_line: u64,
    rows: usize,
    used: usize,
    rejected: usize,
    columns: BTreeMap<String, String>,
    values: BTreeMap<String, BTreeMap<String, String>>,
    asked: Vec<Asked<'p>>,
    missing: Vec<&'static str>,
    unread_columns: &'p [String],
    faults: &'p [Fault],
}

#[derive(Serialize)]
struct Asked<'p> {
    column: &'static str,
    value: &'p str,
    rows: usize,
}

fn json(proposal: &Proposal, read: &Inventory) -> String {
    let answer = Answer {
        schema: "brimwater.proposal/1",
        header_line: proposal.header_line,
        rows: proposal.rows,
        used: read.assemblies.len(),
        rejected: read.rejects.len(),
        columns: proposal.columns(),
        values: proposal.values(),
        asked: proposal
            .words
            .iter()
            .filter(|word| word.ours.is_none())
            .map(|word| Asked {
                column: word.column.name(),
                value: &word.theirs,
                rows: word.rows,
            })
            .collect(),
        missing: proposal.missing.iter().map(|column| column.name()).collect(),
        unread_columns: &proposal.unread,
        faults: &read.faults.0,
    };
    // Plain strings and numbers: there is nothing that could fail.
    let mut text = serde_json::to_string_pretty(&answer).unwrap_or_default();
    text.push('\n');
    text
}
