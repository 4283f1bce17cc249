//! What the writers of a plan are given, and what they share.

use crate::faults::{Fault, Faults, Severity};
use crate::freeze::{Outlook, RunStats};
use crate::inventory::Assembly;
use crate::ranking::{Join, Ranked, Tier, Words};
use crate::review::total::Total;
use crate::text::Text;
use crate::weather::Series;
use chrono::{DateTime, SecondsFormat, Utc};
use serde::{Serialize, Serializer};
use std::sync::Arc;

/// Who looks after an assembly, and until when they must act. No personal data: who the contact is stands in `contacts.csv`.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Keeper {
    /// Identifier of the contact.
    pub contact_id: Text,
    /// The next time by which acting still helps.
    pub act_by: Option<DateTime<Utc>>,
}

/// A finished plan. `outlooks[i]` and `series_of[i]` are of `assemblies[i]`; `ranked` is in order of rank.
pub struct Plan<'a> {
    /// Assemblies that were used.
    pub assemblies: &'a [Assembly],
    /// Their outlooks.
    pub outlooks: &'a [Arc<Outlook>],
    /// Index of the series that stands for each site.
    pub series_of: &'a [usize],
    /// The list.
    pub ranked: &'a [Ranked],
    /// The weather.
    pub series: &'a [Series],
    /// How people read numbers and times.
    pub words: Words,
    /// The time from which the plan looks ahead.
    pub now: DateTime<Utc>,
    /// When the forecast was issued, if told.
    pub forecast_issued: Option<DateTime<Utc>>,
    /// The window that all series cover.
    pub window: (DateTime<Utc>, DateTime<Utc>),
    /// Members of the ensemble; 1 is the deterministic run.
    pub members: usize,
    /// Seed.
    pub seed: u64,
    /// The case that was run, in words; empty as listed.
    pub what_if: &'a str,
    /// Who joins the list or moves up in it in that case, in order of rank; empty as listed.
    pub joins: &'a [Join],
    /// Who looks after each, `[assemblies]`; empty where it is not known.
    pub keepers: &'a [Keeper],
    /// Whether the spell is over.
    pub over: bool,
    /// Rows set aside.
    pub rejected: usize,
    /// What the run tells.
    pub stats: RunStats,
    /// Breaks and loss of the town with their ranges; `None` in a deterministic run.
    pub total: Option<Total>,
    /// All faults of the run.
    pub faults: &'a Faults,
}

/// Counts for the last line and the headlines.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize)]
pub struct Counts {
    /// Assemblies used.
    pub used: usize,
    /// Rows set aside.
    pub rejected: usize,
    /// Assemblies in any tier but `no contact`.
    pub at_risk: usize,
    /// Assemblies in each tier, in the order of [`Tier::ALL`].
    pub by_tier: [usize; 4],
    /// Sum of the chances of damage: assemblies that are expected to break; `None` in a deterministic run.
    pub expected_broken: Option<f64>,
    /// Assemblies with a strained part in a deterministic run; `None` with an ensemble.
    pub strained: Option<usize>,
    /// Sum of the expected losses, US dollars.
    pub expected_loss_usd: f64,
}

impl Plan<'_> {
    /// The case in words that follow "if", and how many join the list and how many move up; `None` as listed.
    pub fn joining(&self) -> Option<(&'static str, usize, usize)> {
        let case = match self.what_if {
            "" => return None,
            "power-out" => "the power fails",
            "supply-off" => "the main gives no water",
            _ => "this comes",
        };
        let new = self.joins.iter().filter(|join| join.is_new()).count();
        Some((case, new, self.joins.len() - new))
    }

    /// The outlook of a line.
    pub fn outlook(&self, line: &Ranked) -> Option<&Outlook> {
        self.outlooks.get(line.index).map(Arc::as_ref)
    }

    /// The station that stands for an assembly.
    pub fn station(&self, index: usize) -> &str {
        self.series_of
            .get(index)
            .and_then(|at| self.series.get(*at))
            .map_or("", |series| series.station.station_id.as_str())
    }

    /// Lines with their assembly and outlook, in order of rank.
    pub fn lines(&self) -> impl Iterator<Item = (&Ranked, &Assembly, &Outlook)> {
        self.ranked
            .iter()
            .filter_map(|line| Some((line, self.assemblies.get(line.index)?, self.outlook(line)?)))
    }

    /// The counts.
    pub fn counts(&self) -> Counts {
        let ensemble = self.members > 1;
        let mut counts = Counts {
            used: self.ranked.len(),
            rejected: self.rejected,
            expected_broken: ensemble.then_some(0.0),
            strained: (!ensemble).then_some(0),
            ..Counts::default()
        };
        for (line, _, outlook) in self.lines() {
            counts.by_tier[line.tier as usize] += 1;
            counts.expected_loss_usd += line.expected_loss_usd;
            if line.tier != Tier::NoContact {
                counts.at_risk += 1;
            }
            if let (Some(sum), Some(p)) = (counts.expected_broken.as_mut(), outlook.p_damage) {
                *sum += p;
            }
            if let Some(strained) = counts.strained.as_mut() {
                *strained += usize::from(outlook.parts.iter().any(|part| part.strained));
            }
        }
        counts
    }
}

/// A moment as files carry it: RFC 3339 in UTC, to the second.
pub fn stamp(time: DateTime<Utc>) -> String {
    time.to_rfc3339_opts(SecondsFormat::Secs, true)
}

/// Rounded to so many decimals, so that files carry what is known and not the noise of the sum.
pub fn rounded(value: f64, decimals: i32) -> f64 {
    let scale = 10f64.powi(decimals);
    let round = (value * scale).round() / scale;
    // Also turns -0 into 0.
    if round == 0.0 { 0.0 } else { round }
}

/// A sequence that is serialised as it is walked, without being built.
pub struct Walk<F>(pub F);

impl<F, I, T> Serialize for Walk<F>
where
    F: Fn() -> I,
    I: Iterator<Item = T>,
    T: Serialize,
{
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_seq((self.0)())
    }
}

/// Turns a writer's failure into a fault that names the file.
pub fn unwritten(name: &str, error: impl std::fmt::Display) -> Fault {
    Fault::new("BW-O02", Severity::Fatal, format!("this cannot be written: {error}"))
        .file(name)
        .remedy("Check that you may write there and that the disk is not full.")
}
