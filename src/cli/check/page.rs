//! What `check` found, for people: at most 100 columns, counts first, then each problem in full.

use super::answer::{blanks, hours_below_freezing, serves, severity_word, without_series};
use crate::cli::common::Units;
use crate::faults::{Fault, Severity};
use crate::input::load::Loaded;
use crate::inventory::place::FAR_KM;
use crate::output::table::{WIDTH, plain, trimmed};
use crate::units::f_from_c;
use crate::weather::stations::differences;
use comfy_table::{CellAlignment, Table};
use std::collections::BTreeMap;
use std::fmt::Write;

/// The whole page.
pub fn page(loaded: &Loaded, units: Units, details: usize) -> String {
    let mut text = String::new();
    read(loaded, &mut text);
    weather(loaded, units, &mut text);
    spread(loaded, units, &mut text);
    blank_columns(loaded, &mut text);
    by_code(loaded, &mut text);
    in_full(loaded, details, &mut text);
    last_line(loaded, &mut text);
    text
}

fn table(header: &[&str], right: &[usize]) -> Table {
    let mut table = plain();
    table.set_header(header.to_vec());
    for at in right {
        if let Some(column) = table.column_mut(*at) {
            column.set_cell_alignment(CellAlignment::Right);
        }
    }
    table
}

/// A title and a table below it; cells carry no trailing blanks.
fn section(text: &mut String, title: &str, table: &Table) {
    let _ = writeln!(text, "{title}");
    let _ = writeln!(text, "{}\n", trimmed(&table.to_string()));
}

fn read(loaded: &Loaded, text: &mut String) {
    for taken in &loaded.taken {
        let _ = writeln!(text, "{:<11} {}", taken.role, taken.file);
    }
    if loaded.inventory.rows > 0 {
        let _ = writeln!(
            text,
            "{} rows: {} can be used, {} are rejected",
            loaded.inventory.rows,
            loaded.inventory.assemblies.len() - without_series(loaded),
            loaded.inventory.rejects.len() + without_series(loaded)
        );
    }
    if !loaded.inventory.unread_columns.is_empty() {
        let _ = writeln!(
            text,
            "Columns passed through unread: {}",
            loaded.inventory.unread_columns.join(", ")
        );
    }
    if !text.is_empty() {
        text.push('\n');
    }
}

fn degrees(celsius: f64, units: Units) -> String {
    match units {
        Units::Us => format!("{:.0} °F", f_from_c(celsius)),
        Units::Si | Units::Bar => format!("{celsius:.1} °C"),
    }
}

/// A difference of temperatures, with its sign.
fn kelvins(kelvin: f64, units: Units) -> String {
    match units {
        Units::Us => format!("{:+.1} °F", kelvin * 1.8),
        Units::Si | Units::Bar => format!("{kelvin:+.1} K"),
    }
}

fn weather(loaded: &Loaded, units: Units, text: &mut String) {
    if loaded.series.is_empty() {
        return;
    }
    let zone = loaded.config.utility.zone.parse().unwrap_or(chrono_tz::UTC);
    let shown = |time: chrono::DateTime<chrono::Utc>| time.with_timezone(&zone).format("%Y-%m-%d %H:%M").to_string();
    let mut out = table(
        &[
            "station", "from", "hours", "coldest", "on", "freezing", "filled", "serves",
        ],
        &[2, 3, 5, 6, 7],
    );
    let serves = serves(loaded);
    for (index, one) in loaded.series.iter().enumerate() {
        let (coldest, on) = one.coldest().map_or_else(Default::default, |(hour, air)| {
            (degrees(air, units), shown(one.time(hour)))
        });
        out.add_row(vec![
            if one.station.station_id.is_empty() {
                "(not named)".into()
            } else {
                one.station.station_id.clone()
            },
            shown(one.start),
            one.hours().to_string(),
            coldest,
            on,
            format!("{} h", hours_below_freezing(one)),
            format!("{} h", one.interpolated.iter().filter(|filled| **filled).count()),
            serves.get(index).copied().unwrap_or(0).to_string(),
        ]);
    }
    section(text, &format!("Series (times in {zone})"), &out);
}

fn spread(loaded: &Loaded, units: Units, text: &mut String) {
    let (all, count) = differences(&loaded.series, FAR_KM, 20);
    if all.is_empty() {
        return;
    }
    let name = |index: usize| {
        loaded
            .series
            .get(index)
            .map_or("", |one| one.station.station_id.as_str())
    };
    let mut out = table(
        &["stations", "apart", "mean", "coldest", "largest of any hour"],
        &[1, 2, 3, 4],
    );
    for one in &all {
        let apart = match units {
            Units::Us => format!("{:.1} mi", one.distance_km / 1.609_344),
            Units::Si | Units::Bar => format!("{:.1} km", one.distance_km),
        };
        out.add_row(vec![
            format!("{} less {}", name(one.pair.0), name(one.pair.1)),
            apart,
            kelvins(one.mean_k, units),
            kelvins(one.coldest_k, units),
            kelvins(one.largest_k, units).trim_start_matches('+').to_owned(),
        ]);
    }
    section(
        text,
        "How near stations differ: what the choice of a station is worth",
        &out,
    );
    if count > all.len() {
        let _ = writeln!(text, "and {} more pairs\n", count - all.len());
    }
}

fn blank_columns(loaded: &Loaded, text: &mut String) {
    if loaded.inventory.assemblies.is_empty() {
        return;
    }
    let mut out = table(&["column", "blank", "", "taken where blank", "leans"], &[1, 2]);
    for blank in blanks(loaded).iter().filter(|blank| blank.blank > 0) {
        out.add_row(vec![
            blank.column.to_owned(),
            blank.blank.to_string(),
            format!("{:.0} %", 100.0 * blank.share),
            blank.taken.unwrap_or("nothing").to_owned(),
            blank.direction.unwrap_or("").to_owned(),
        ]);
    }
    section(
        text,
        "Blanks in the usable rows (also cells that cannot be read where a warning says so)",
        &out,
    );
}

fn by_code(loaded: &Loaded, text: &mut String) {
    if loaded.faults.0.is_empty() {
        return;
    }
    let mut groups: BTreeMap<(std::cmp::Reverse<Severity>, &str), (usize, &Fault)> = BTreeMap::new();
    for fault in &loaded.faults.0 {
        groups
            .entry((std::cmp::Reverse(fault.severity), fault.code))
            .or_insert((0, fault))
            .0 += 1;
    }
    let mut out = table(&["code", "", "count", "first of them"], &[2]);
    for ((severity, code), (count, first)) in groups {
        let line = first.line.map_or_else(String::new, |line| format!("line {line}: "));
        out.add_row(vec![
            code.to_owned(),
            severity_word(severity.0).to_owned(),
            count.to_string(),
            format!("{line}{}", first.what),
        ]);
    }
    section(text, "Problems by code, worst first", &out);
}

fn in_full(loaded: &Loaded, details: usize, text: &mut String) {
    if details == 0 || loaded.faults.0.is_empty() {
        return;
    }
    let mut told: BTreeMap<&str, usize> = BTreeMap::new();
    let mut left = 0;
    let _ = writeln!(text, "In full");
    for fault in &loaded.faults.0 {
        let count = told.entry(fault.code).or_default();
        *count += 1;
        if *count > details {
            left += 1;
            continue;
        }
        wrapped(&format!("{}: {fault}", severity_word(fault.severity)), text);
    }
    if left > 0 {
        wrapped(
            &format!(
                "and {left} more like these; --details {} or --format csv tells all",
                loaded.faults.0.len()
            ),
            text,
        );
    }
    text.push('\n');
}

/// A line broken at blanks to keep the width, its continuation indented.
pub(super) fn wrapped(line: &str, text: &mut String) {
    let options = textwrap::Options::new(usize::from(WIDTH))
        .subsequent_indent("    ")
        // A name or a number is never cut; a word longer than the page stands out of it.
        .break_words(false)
        .word_splitter(textwrap::WordSplitter::NoHyphenation)
        .wrap_algorithm(textwrap::WrapAlgorithm::FirstFit);
    text.push_str(&textwrap::fill(line, options));
    text.push('\n');
}

fn last_line(loaded: &Loaded, text: &mut String) {
    let count = |severity| loaded.faults.count(severity);
    let _ = writeln!(
        text,
        "{} used, {} rejected; {} errors, {} warnings, {} notes. Nothing was written.",
        loaded.inventory.assemblies.len() - without_series(loaded),
        loaded.inventory.rejects.len() + without_series(loaded),
        count(Severity::Fatal),
        count(Severity::Warning),
        count(Severity::Note)
    );
}
