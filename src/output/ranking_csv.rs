//! `ranking.csv`: the list for a spreadsheet, with the utility's own columns passed through. No personal data
//! but what those columns carry.

use super::defuse::defuse;
use super::plan::{Plan, stamp};
use crate::ranking::Words;
use crate::units;
use chrono::{DateTime, SecondsFormat, Utc};
use std::collections::BTreeMap;
use std::io::{self, Write};

/// Columns before the utility's own, in the units of `words`.
pub fn columns(words: &Words) -> Vec<&'static str> {
    let mut columns = vec![
        "rank",
        "tier",
        "assembly_id",
        "device_type",
        "nominal_size_in",
        "service",
        "customer_class",
        "placement",
        "winter_use",
        "critical",
        "p_damage",
        "p_blocked",
        "p_ice",
        "expected_loss_usd",
        "expected_loss_error_usd",
        "first_ice_early",
        "first_ice_middle",
        "first_ice_late",
        "first_ice_early_utc",
        "first_part",
        "worst_part",
    ];
    columns.extend(if words.us {
        [
            "coldest_water_early_f",
            "coldest_water_f",
            "min_air_f",
            "hours_air_below_32f",
        ]
    } else {
        [
            "coldest_water_early_c",
            "coldest_water_c",
            "min_air_c",
            "hours_air_below_0c",
        ]
    });
    columns.extend(["station_id", "advice", "reason", "assumed"]);
    columns
}

/// Writes the list. Cells that a spreadsheet would run are defused; times are local with their offset.
///
/// An own column whose name is one of ours gets `listed_` in front.
///
/// # Errors
/// When the writer fails.
pub fn write(plan: &Plan<'_>, out: &mut dyn Write) -> io::Result<()> {
    let mut csv = csv::Writer::from_writer(out);
    let ours = columns(&plan.words);
    let own = own_columns(plan);
    let headers = ours.iter().map(|name| (*name).to_owned()).chain(own.iter().map(|name| {
        if ours.contains(&name.as_str()) {
            format!("listed_{name}")
        } else {
            defuse(name).into_owned()
        }
    }));
    csv.write_record(headers)?;
    let places: BTreeMap<&str, usize> = own.iter().enumerate().map(|(i, name)| (name.as_str(), i)).collect();
    let degree = |celsius: f64| {
        let value = if plan.words.us {
            units::f_from_c(celsius)
        } else {
            celsius
        };
        number(value, 1)
    };
    let chance = |p: Option<f64>| p.map_or(String::new(), |p| number(p, 4));
    let local = |time: Option<DateTime<Utc>>| {
        time.map_or(String::new(), |time| {
            time.with_timezone(&plan.words.zone)
                .to_rfc3339_opts(SecondsFormat::Secs, false)
        })
    };
    let mut cells: Vec<String> = Vec::with_capacity(ours.len() + own.len());
    for (line, assembly, outlook) in plan.lines() {
        cells.clear();
        let advice = outlook.advice.iter().find(|advice| advice.enough);
        let assumed: Vec<&str> = assembly.assumed.iter().map(|assumption| assumption.field).collect();
        cells.extend([
            line.rank.to_string(),
            line.tier.words().into(),
            defuse(&assembly.assembly_id).into_owned(),
            assembly.device_type.word().into(),
            assembly.nominal_size.word().into(),
            assembly.service.word().into(),
            assembly.customer_class.word().into(),
            assembly.placement.word().into(),
            assembly.winter_use.word().into(),
            assembly
                .critical
                .as_deref()
                .map_or(String::new(), |word| defuse(word).into_owned()),
            chance(outlook.p_damage),
            chance(outlook.p_blocked),
            chance(outlook.p_ice),
            number(line.expected_loss_usd, 2),
            number(line.loss.error_usd, 2),
            local(outlook.first_ice.p10),
            local(outlook.first_ice.p50),
            local(outlook.first_ice.p90),
            outlook.first_ice.p10.map_or(String::new(), stamp),
            outlook.first_part.unwrap_or("").into(),
            crate::ranking::reason::worst_part(outlook)
                .map_or("", |part| part.name)
                .into(),
            degree(outlook.coldest_water_c.p10),
            degree(outlook.coldest_water_c.p50),
            degree(outlook.min_air_c),
            number(outlook.hours_air_below_0c, 1),
            defuse(plan.station(line.index)).into_owned(),
            advice.map_or(String::new(), |advice| {
                crate::ranking::reason::advice_words(advice, &plan.words)
            }),
            defuse(&line.reason).into_owned(),
            assumed.join(" "),
        ]);
        let first = cells.len();
        cells.resize(first + own.len(), String::new());
        for (name, value) in &assembly.extra {
            if let Some(cell) = places.get(name.as_str()).and_then(|at| cells.get_mut(first + at)) {
                *cell = defuse(value).into_owned();
            }
        }
        csv.write_record(&cells)?;
    }
    csv.flush()
}

/// The utility's own columns, in the order in which they are first met.
fn own_columns(plan: &Plan<'_>) -> Vec<String> {
    let mut names: Vec<String> = Vec::new();
    let mut seen: std::collections::BTreeSet<&str> = std::collections::BTreeSet::new();
    for assembly in plan.assemblies {
        for (name, _) in &assembly.extra {
            if !seen.contains(name.as_str()) {
                seen.insert(name);
                names.push(name.clone());
            }
        }
    }
    names
}

fn number(value: f64, decimals: i32) -> String {
    format!("{:.*}", decimals.max(0) as usize, super::plan::rounded(value, decimals))
}
