//! What a watch told against the nights that came, as a table and as JSON.

use crate::units::{UnitSystem, show_temperature};
use crate::watch::verify::{Count, Night};
use chrono_tz::Tz;
use serde_json::{Value, json};
use std::fmt::Write;

/// The value below which so much of a sorted list lies, by the nearest rank; `None` of an empty one.
fn rank(sorted: &[f64], share: f64) -> Option<f64> {
    let last = sorted.len().checked_sub(1)?;
    sorted.get((share * last as f64).round() as usize).copied()
}

/// The count as `brimwater.verify/1`; leads in hours, temperatures in °C.
pub fn verify_json(count: &Count, below_c: f64) -> Value {
    let leads = |sorted: &[f64]| json!({ "shortest_h": rank(sorted, 0.0), "median_h": rank(sorted, 0.5), "longest_h": rank(sorted, 1.0) });
    json!({
        "schema": "brimwater.verify/1",
        "below_c": below_c,
        "words": count.words,
        "nights": count.nights.iter().map(|night| json!({
            "evening": night.evening,
            "began": night.began,
            "low_c": night.low_c,
            "lead_h": night.lead_h,
        })).collect::<Vec<_>>(),
        "misses": count.misses(),
        "spells_told": count.told.iter().map(|told| json!({
            "first_word": told.first,
            "thaw": told.until,
            "nights": told.nights,
            "low_c": told.low_c,
        })).collect::<Vec<_>>(),
        "false_alarms": count.false_alarms(),
        "lead": leads(&count.leads_h()),
        "lead_of_first_nights": leads(&count.first_leads_h()),
    })
}

/// The count as people read it.
pub fn verify_table(count: &Count, below_c: f64, zone: Tz, units: UnitSystem) -> String {
    let threshold = show_temperature(below_c, units);
    let mut text = String::new();
    let told = count.nights.len() - count.misses();
    let _ = writeln!(text, "nights with air at or below {threshold}: {}", count.nights.len());
    let _ = writeln!(text, "  told of before: {told}");
    let _ = writeln!(text, "  missed: {}", count.misses());
    let _ = writeln!(text, "spells told of: {}", count.told.len());
    let _ = writeln!(text, "  false alarms, with no such night: {}", count.false_alarms());
    let _ = writeln!(text, "words in all, reminders among them: {}", count.words);
    lead(
        &mut text,
        "lead of the first word before a spell's first such night",
        &count.first_leads_h(),
    );
    lead(
        &mut text,
        "lead of the first word before each such night",
        &count.leads_h(),
    );
    for night in count.nights.iter().filter(|night| night.lead_h.is_none()) {
        let _ = writeln!(text, "missed: {}", night_line(night, zone, units));
    }
    for spell in count.told.iter().filter(|spell| spell.nights == 0) {
        let low = spell
            .low_c
            .map_or_else(|| "unknown".into(), |low| show_temperature(low, units));
        let at = spell.first.with_timezone(&zone).format("%Y-%m-%d %H:%M");
        let _ = writeln!(text, "false alarm: told {at}, lowest air until its end {low}");
    }
    text
}

fn lead(text: &mut String, what: &str, sorted: &[f64]) {
    if let (Some(low), Some(middle), Some(high)) = (rank(sorted, 0.0), rank(sorted, 0.5), rank(sorted, 1.0)) {
        let _ = writeln!(text, "{what}: {low:.0} to {high:.0} h, median {middle:.0} h");
    }
}

fn night_line(night: &Night, zone: Tz, units: UnitSystem) -> String {
    let began = night.began.with_timezone(&zone).format("%Y-%m-%d %H:%M");
    format!(
        "the night of {}, from {began} on, low {}",
        night.evening,
        show_temperature(night.low_c, units)
    )
}
