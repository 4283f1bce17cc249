//! What somebody saw on site while the spell goes on, and how much each member of the ensemble counts by it.
//!
//! A member is one history of the assembly. A report is likelier in some histories than in others, so by Bayes' rule each member
//! counts in the ratio of those chances. A report can be wrong: `[freeze.reports]` says how often (judgement), none of its rates is 0, and
//! so no report silences every member. Where all members contradict it alike nothing changes, and the outlook says so.
//!
//! Numbers without a tag of their own: judgement.

use super::simulate::Simulated;
use super::weights::Weights;
use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use std::collections::HashMap;

/// What was seen.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Seen {
    /// Looked at: no ice, nothing broken.
    Fine,
    /// Ice in or on it, or no water comes.
    Ice,
    /// Broken or leaking.
    Broken,
    /// Looked at for damage alone: nothing broken; of ice nothing is told.
    Whole,
}

impl Seen {
    /// Everything that can be seen.
    pub const ALL: [Seen; 4] = [Seen::Fine, Seen::Ice, Seen::Broken, Seen::Whole];

    /// The word that the log and files use.
    pub fn word(self) -> &'static str {
        match self {
            Seen::Fine => "fine",
            Seen::Ice => "ice",
            Seen::Broken => "broken",
            Seen::Whole => "whole",
        }
    }

    /// Reads the word; upper case and blanks around it are forgiven.
    pub fn parse(text: &str) -> Option<Seen> {
        let folded = text.trim().to_lowercase();
        Seen::ALL.into_iter().find(|seen| seen.word() == folded)
    }
}

/// One report.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct Report {
    /// When it was seen.
    pub at: DateTime<Utc>,
    /// What.
    pub seen: Seen,
}

/// Reports by the identifier of the assembly.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Reports(pub HashMap<String, Vec<Report>>);

impl Reports {
    /// Adds one.
    pub fn add(&mut self, assembly_id: &str, report: Report) {
        self.0.entry(assembly_id.to_owned()).or_default().push(report);
    }

    /// Those of an assembly that count between `from` and `until`, in the order in which they were seen.
    ///
    /// Looks at the same thing share their error (the ice inside that nobody sees at eight nobody sees at nine), so that of several alike in a
    /// row one counts: the last `fine` or `whole` and the first of the others, which say most.
    pub fn of(&self, assembly_id: &str, from: DateTime<Utc>, until: DateTime<Utc>) -> Vec<Report> {
        let mut all: Vec<Report> = self.0.get(assembly_id).map_or_else(Vec::new, |reports| {
            let inside = reports.iter().filter(|report| (from..=until).contains(&report.at));
            inside.copied().collect()
        });
        all.sort_unstable();
        let mut counted: Vec<Report> = Vec::with_capacity(all.len());
        for report in all {
            match counted.last_mut() {
                Some(last) if last.seen == report.seen => {
                    if matches!(report.seen, Seen::Fine | Seen::Whole) {
                        *last = report;
                    }
                }
                _ => counted.push(report),
            }
        }
        counted
    }
}

/// The `[freeze.reports]` section: how often a report is wrong (judgement throughout; nobody has published it).
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct ReportErrors {
    /// Chance that ice is reported where the water holds none: frost on the metal, an icicle below a drip.
    pub false_ice: f64,
    /// Chance that ice inside is not seen.
    pub missed_ice: f64,
    /// Chance that a break is reported where there is none: a relief that drips, a test cock that was left open.
    pub false_break: f64,
    /// Chance that a break is not seen once the ice is gone; before that it is missed as ice is.
    pub missed_break: f64,
}

impl Default for ReportErrors {
    fn default() -> Self {
        Self {
            false_ice: 0.1,
            missed_ice: 0.3,
            false_break: 0.05,
            missed_break: 0.1,
        }
    }
}

/// How one member stands at the time of a report.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Standing {
    /// Whole, and no ice in it: it never froze or has thawed.
    Clear,
    /// Whole with ice in it.
    Iced,
    /// A part has broken, and there is ice.
    BrokenIced,
    /// A part has broken, and the ice is gone.
    BrokenThawed,
}

impl Standing {
    /// How a member stands so many seconds after the start of a run whose hours were kept.
    pub fn of(run: &Simulated, member: usize, seconds: f64) -> Self {
        let by = |time: f64| time <= seconds;
        let hour = (seconds.max(0.0) / 3600.0) as usize;
        let hour = run.hour_coldest_c.get(hour).or(run.hour_coldest_c.last());
        // Water beside ice is at 0 °C, so that where all water is warmer there is none.
        let cold = hour
            .and_then(|hour| hour.get(member))
            .is_none_or(|coldest_c| *coldest_c <= 0.0);
        let ice = by(run.first_ice_s[member]) && cold;
        let broken = run.damage_s.iter().any(|part| by(part[member]));
        match (broken, ice) {
            (false, false) => Standing::Clear,
            (false, true) => Standing::Iced,
            (true, true) => Standing::BrokenIced,
            (true, false) => Standing::BrokenThawed,
        }
    }

    /// Whether a report tells of this standing.
    pub fn agrees(self, seen: Seen) -> bool {
        match seen {
            Seen::Fine => self == Standing::Clear,
            // What is broken under ice shows the ice.
            Seen::Ice => matches!(self, Standing::Iced | Standing::BrokenIced),
            Seen::Broken => matches!(self, Standing::BrokenIced | Standing::BrokenThawed),
            Seen::Whole => matches!(self, Standing::Clear | Standing::Iced),
        }
    }
}

impl ReportErrors {
    /// Chance of such a report of an assembly that stands so.
    pub fn chance(&self, seen: Seen, standing: Standing) -> f64 {
        // Rates of 0 and 1 would silence members for good; the config refuses them, and so does this.
        let rate = |rate: f64| rate.clamp(0.001, 0.499);
        let (false_ice, missed_ice) = (rate(self.false_ice), rate(self.missed_ice));
        let (false_break, missed_break) = (rate(self.false_break), rate(self.missed_break));
        match (seen, standing) {
            (Seen::Fine, Standing::Clear) => 1.0 - false_ice,
            (Seen::Fine, Standing::Iced | Standing::BrokenIced) => missed_ice,
            (Seen::Fine, Standing::BrokenThawed) => missed_break,
            (Seen::Ice, Standing::Clear) => false_ice,
            (Seen::Ice, _) => 1.0 - missed_ice,
            (Seen::Broken, Standing::Clear | Standing::Iced) => false_break,
            (Seen::Broken, _) => 1.0 - missed_break,
            // Who looks for damage alone tells one or the other.
            (Seen::Whole, standing) => 1.0 - self.chance(Seen::Broken, standing),
        }
    }
}

/// What an outlook says of the reports that it counts.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Reported {
    /// The reports that count, in the order in which they were seen; never empty.
    pub reports: Vec<Report>,
    /// Share of the members that agree with all of them, before they were weighed, 0 to 1.
    pub agree: f64,
    /// As many members of equal weight would say as much as these; all of them where the reports change nothing.
    pub effective_members: f64,
    /// Whether members were weighed by it; not in a run of one member, nor where nothing can freeze.
    pub weighed: bool,
}

impl Reported {
    /// The report that holds: the last one.
    pub fn last(&self) -> Option<Report> {
        self.reports.last().copied()
    }

    /// Whether it was last seen with ice or a break in it. Who looked for damage alone takes back a break, and says nothing of ice.
    pub fn iced_or_broken(&self) -> bool {
        let looked_for_ice = self.reports.iter().rev().find(|report| report.seen != Seen::Whole);
        looked_for_ice.is_some_and(|report| report.seen == Seen::Ice) || self.broken()
    }

    /// Whether it was last seen broken.
    pub fn broken(&self) -> bool {
        self.last().is_some_and(|report| report.seen == Seen::Broken)
    }

    /// Whether no member agrees, so that model or report is wrong.
    pub fn contradicted(&self) -> bool {
        self.agree <= 0.0
    }

    /// What is said of reports that weigh nothing: of an assembly in which the model has no ice at all.
    pub fn unweighed(reports: Vec<Report>, members: usize) -> Self {
        let clear = reports.iter().all(|report| Standing::Clear.agrees(report.seen));
        Self {
            reports,
            agree: if clear { 1.0 } else { 0.0 },
            effective_members: members as f64,
            weighed: false,
        }
    }
}

/// Weighs the members of a run by reports. `start` is the first moment of the run.
pub fn weigh(
    run: &Simulated,
    start: DateTime<Utc>,
    reports: &[Report],
    errors: &ReportErrors,
) -> (Weights, Option<Reported>) {
    let count = run.coldest_c.len();
    if reports.is_empty() {
        return (Weights::alike(), None);
    }
    if count < 2 {
        return (Weights::alike(), Some(Reported::unweighed(reports.to_vec(), count)));
    }
    let mut weights = vec![1.0; count];
    let mut agreeing = 0usize;
    for (member, weight) in weights.iter_mut().enumerate() {
        let mut agrees = true;
        for report in reports {
            let seconds = (report.at - start).num_seconds() as f64;
            let standing = Standing::of(run, member, seconds);
            *weight *= errors.chance(report.seen, standing);
            agrees &= standing.agrees(report.seen);
        }
        agreeing += usize::from(agrees);
    }
    let weights = Weights::of(weights);
    let told = Reported {
        reports: reports.to_vec(),
        agree: agreeing as f64 / count as f64,
        effective_members: weights.effective(count),
        weighed: true,
    };
    (weights, Some(told))
}
