//! `run.json`: what is needed to make the same plan again: version, seed, options, hashes of the inputs.

use super::plan::{Counts, stamp};
use crate::freeze::RunStats;
use crate::input::load::Taken;
use crate::plan::assumed::Assumed;
use crate::review::total::Total;
use crate::review::worth::Learning;
use chrono::{DateTime, Utc};
use serde::Serialize;
use std::collections::BTreeMap;
use std::io::{self, Write};

/// The record of a run. The number of threads is left out: it changes nothing.
pub struct Run<'a> {
    /// Identity of the plan, which the record to fill carries too.
    pub plan_id: String,
    /// Whether it was made after the spell, on the hours that came.
    pub over: bool,
    /// Breaks and loss of the town with their ranges; `None` in a deterministic run.
    pub total: Option<Total>,
    /// What looks would teach; `None` before the spell is over.
    pub learning: Option<Learning>,
    /// Judged constants that the config sets otherwise than the program: adopted values.
    pub adopted: BTreeMap<&'static str, f64>,
    /// The time from which the plan looks ahead.
    pub now: DateTime<Utc>,
    /// Seed.
    pub seed: u64,
    /// Members.
    pub members: usize,
    /// Options by name, as they took effect.
    pub options: BTreeMap<&'static str, String>,
    /// Files.
    pub inputs: &'a [Taken],
    /// Counts.
    pub counts: Counts,
    /// What the simulation tells.
    pub stats: &'a RunStats,
    /// What is assumed of the weather.
    pub assumed: Assumed,
    /// Faults by code: how many.
    pub faults: BTreeMap<&'static str, usize>,
}

#[derive(Serialize)]
struct Document<'a> {
    schema: &'static str,
    plan_id: &'a str,
    over: bool,
    total: &'a Option<Total>,
    #[serde(skip_serializing_if = "Option::is_none")]
    learning: Option<Learning>,
    adopted: &'a BTreeMap<&'static str, f64>,
    program: &'static str,
    version: &'static str,
    now: String,
    seed: u64,
    members: usize,
    options: &'a BTreeMap<&'static str, String>,
    inputs: &'a [Taken],
    counts: &'a Counts,
    simulation: Simulation,
    weather_assumed: &'a Assumed,
    faults: &'a BTreeMap<&'static str, usize>,
}

#[derive(Serialize)]
struct Simulation {
    distinct_cases: usize,
    skipped_assemblies: usize,
    part_steps: u64,
}

/// The identity of a plan: a digest of version, time, seed, members, options and the hashes of its inputs.
pub fn plan_id(
    now: DateTime<Utc>,
    seed: u64,
    members: usize,
    options: &BTreeMap<&'static str, String>,
    inputs: &[Taken],
) -> String {
    use sha2::{Digest, Sha256};
    let mut digest = Sha256::new();
    digest.update(format!(
        "{} {} {seed} {members} {options:?}",
        crate::VERSION,
        stamp(now)
    ));
    for input in inputs {
        digest.update(format!("\n{} {}", input.role, input.sha256));
    }
    digest
        .finalize()
        .iter()
        .take(8)
        .map(|byte| format!("{byte:02x}"))
        .collect()
}

/// Writes `run.json`.
///
/// # Errors
/// When the writer fails.
pub fn write(run: &Run<'_>, out: &mut dyn Write) -> io::Result<()> {
    let document = Document {
        schema: "brimwater.run/1",
        plan_id: &run.plan_id,
        over: run.over,
        total: &run.total,
        learning: run.learning,
        adopted: &run.adopted,
        program: "brimwater",
        version: crate::VERSION,
        now: stamp(run.now),
        seed: run.seed,
        members: run.members,
        options: &run.options,
        inputs: run.inputs,
        counts: &run.counts,
        simulation: Simulation {
            distinct_cases: run.stats.cases,
            skipped_assemblies: run.stats.skipped,
            part_steps: run.stats.part_steps,
        },
        weather_assumed: &run.assumed,
        faults: &run.faults,
    };
    serde_json::to_writer_pretty(&mut *out, &document)?;
    out.write_all(b"\n")
}
