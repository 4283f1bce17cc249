//! `run.json`: what is needed to make the same plan again: version, seed, options, hashes of the inputs.

use super::plan::{Counts, stamp};
use crate::freeze::RunStats;
use crate::input::load::Taken;
use chrono::{DateTime, Utc};
use serde::Serialize;
use std::collections::BTreeMap;
use std::io::{self, Write};

/// The record of a run. The number of threads is left out: it changes nothing.
pub struct Run<'a> {
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
    /// Faults by code: how many.
    pub faults: BTreeMap<&'static str, usize>,
}

#[derive(Serialize)]
struct Document<'a> {
    schema: &'static str,
    program: &'static str,
    version: &'static str,
    now: String,
    seed: u64,
    members: usize,
    options: &'a BTreeMap<&'static str, String>,
    inputs: &'a [Taken],
    counts: &'a Counts,
    simulation: Simulation,
    faults: &'a BTreeMap<&'static str, usize>,
}

#[derive(Serialize)]
struct Simulation {
    distinct_cases: usize,
    skipped_assemblies: usize,
    part_steps: u64,
}

/// Writes `run.json`.
///
/// # Errors
/// When the writer fails.
pub fn write(run: &Run<'_>, out: &mut dyn Write) -> io::Result<()> {
    let document = Document {
        schema: "brimwater.run/1",
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
        faults: &run.faults,
    };
    serde_json::to_writer_pretty(&mut *out, &document)?;
    out.write_all(b"\n")
}
