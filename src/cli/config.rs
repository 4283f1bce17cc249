//! `brimwater config`: every key of the config file.

use super::Done;
use super::common::{Common, Format, print};
use crate::config::keys::{self, Key};
use crate::faults::{Fault, Severity};
use serde_json::{Value, json};

/// Arguments of `config`.
#[derive(clap::Args)]
#[command(
    after_help = "Example:\n  brimwater config ranking.tiers\n\nA number outside the range that it may have ends a run; outside the usual \
range it is told and used."
)]
pub struct Args {
    /// Only keys with this in their path, such as freeze or call_chance.
    key: Option<String>,
}

/// Runs `config`.
pub fn run(args: &Args, common: &Common) -> Done {
    let wanted = args.key.as_deref().unwrap_or("");
    let found: Vec<&Key> = keys::all().filter(|key| key.path.contains(wanted)).collect();
    if found.is_empty() {
        let near = keys::all().max_by(|a, b| {
            let likeness = |key: &Key| strsim::jaro_winkler(key.path, wanted);
            likeness(a).total_cmp(&likeness(b))
        });
        let fault = Fault::new("BW-C02", Severity::Fatal, "there is no such key").value(wanted);
        return Err(match near {
            Some(key) => fault.remedy(format!("Did you mean {}?", key.path)),
            None => fault,
        }
        .into());
    }
    let defaults = keys::defaults();
    match common.format {
        Format::Table => print(&text(&found, &defaults)),
        Format::Csv => print(&csv(&found, &defaults)),
        Format::Json => print(&format!("{:#}\n", as_json(&found, &defaults))),
    }
}

fn text(keys: &[&Key], defaults: &Value) -> String {
    let mut out = String::new();
    for key in keys {
        let default = key.default_text(defaults);
        out.push_str(key.path);
        if !default.is_empty() {
            out.push_str(&format!(" = {default}"));
        }
        match key.range {
            None => out.push_str(&format!("  ({})\n", key.unit)),
            Some(range) => {
                let ([low, high], [usual_low, usual_high]) = (range.possible, range.plausible);
                let usual = if range.possible == range.plausible {
                    String::new()
                } else {
                    format!(", usually {usual_low} to {usual_high}")
                };
                out.push_str(&format!("  ({}; {low} to {high}{usual})\n", key.unit));
            }
        }
        out.push_str(&format!("    {}\n", key.meaning));
    }
    out
}

fn csv(keys: &[&Key], defaults: &Value) -> String {
    let mut out = String::from("key,default,unit,low,high,usual_low,usual_high,meaning\n");
    let cell = |text: &str| format!("\"{}\"", text.replace('"', "\"\""));
    for key in keys {
        let ends = key.range.map_or(String::from(",,,"), |range| {
            let ([low, high], [usual_low, usual_high]) = (range.possible, range.plausible);
            format!("{low},{high},{usual_low},{usual_high}")
        });
        out.push_str(&format!(
            "{},{},{},{ends},{}\n",
            key.path,
            cell(&key.default_text(defaults)),
            cell(key.unit),
            cell(key.meaning)
        ));
    }
    out
}

fn as_json(keys: &[&Key], defaults: &Value) -> Value {
    let rows: Vec<Value> = keys
        .iter()
        .map(|key| {
            let default = key.path.split('.').try_fold(defaults, |value, part| value.get(part));
            json!({
                "key": key.path,
                "default": default,
                "unit": key.unit,
                "range": key.range.map(|range| range.possible),
                "usual": key.range.map(|range| range.plausible),
                "meaning": key.meaning,
            })
        })
        .collect();
    json!({ "schema": "brimwater.config/1", "keys": rows })
}
