//! `run.json`: what is needed to make the same plan again: version, seed, options, hashes of the inputs.

use super::plan::{Counts, stamp};
use crate::freeze::RunStats;
use chrono::{DateTime, Utc};
use serde::Serialize;
use sha2::{Digest, Sha256};
use std::collections::BTreeMap;
use std::io::{self, Write};

/// One file that was read.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Input {
    /// What it was read as: `assemblies`, `series`, `stations`, `config`.
    pub role: &'static str,
    /// Its name as it was given.
    pub file: String,
    /// Length, bytes.
    pub bytes: u64,
    /// SHA-256 of its bytes, hexadecimal (FIPS 180-4).
    pub sha256: String,
}

impl Input {
    /// Describes a file from its bytes.
    pub fn of(role: &'static str, file: impl Into<String>, bytes: &[u8]) -> Self {
        Self {
            role,
            file: file.into(),
            bytes: bytes.len() as u64,
            sha256: hex(&Sha256::digest(bytes)),
        }
    }
}

fn hex(bytes: &[u8]) -> String {
    use std::fmt::Write;
    bytes
        .iter()
        .fold(String::with_capacity(bytes.len() * 2), |mut text, byte| {
            let _ = write!(text, "{byte:02x}");
            text
        })
}

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
    pub inputs: Vec<Input>,
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
    inputs: &'a [Input],
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
        inputs: &run.inputs,
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
