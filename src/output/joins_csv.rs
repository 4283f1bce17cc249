//! `joins.csv`: who joins the list, or moves up in it, in the case of `--what-if`.

use super::defuse::defuse;
use super::plan::{Plan, rounded};
use std::io;

const COLUMNS: [&str; 12] = [
    "rank",
    "tier",
    "tier_as_listed",
    "joins",
    "assembly_id",
    "device_type",
    "nominal_size_in",
    "service",
    "placement",
    "p_damage",
    "p_damage_as_listed",
    "reason",
];

/// The file. Chances are empty in a deterministic run.
///
/// # Errors
/// Those of the CSV writer.
pub fn bytes(plan: &Plan<'_>) -> io::Result<Vec<u8>> {
    let mut csv = csv::Writer::from_writer(Vec::new());
    csv.write_record(COLUMNS)?;
    let reasons: std::collections::HashMap<usize, &str> = plan
        .ranked
        .iter()
        .map(|line| (line.index, line.reason.as_str()))
        .collect();
    let chance = |p: Option<f64>| p.map_or(String::new(), |p| rounded(p, 4).to_string());
    for join in plan.joins {
        let Some(assembly) = plan.assemblies.get(join.index) else {
            continue;
        };
        let now = plan.outlooks.get(join.index).and_then(|outlook| outlook.p_damage);
        let cells = [
            join.rank.to_string(),
            join.tier.words().to_owned(),
            join.listed_tier.words().to_owned(),
            if join.is_new() { "yes" } else { "moves up" }.to_owned(),
            assembly.assembly_id.to_string(),
            assembly.device_type.to_string(),
            assembly.nominal_size.to_string(),
            assembly.service.to_string(),
            assembly.placement.to_string(),
            chance(now),
            chance(join.listed_p_damage),
            reasons.get(&join.index).copied().unwrap_or_default().to_owned(),
        ];
        csv.write_record(cells.iter().map(|cell| defuse(cell).into_owned()))?;
    }
    csv.into_inner().map_err(|error| error.into_error())
}
