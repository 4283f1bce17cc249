//! What the desk knows: the list, the weather, the people, and the plan once it is computed.

use super::looks::Look;
use super::search::Index;
use crate::config::Config;
use crate::faults::{Fault, Faults, Severity};
use crate::freeze::{Outlook, Reports};
use crate::input::load::Files;
use crate::inventory::Assembly;
use crate::outreach::about::{Facts, about};
use crate::outreach::line::ContactLine;
use crate::outreach::messages::Kind;
use crate::outreach::outcome::History;
use crate::plan::total::town_total;
use crate::plan::{Plan, Programme, Reach, Run};
use crate::ranking::{self, Ranked, Words};
use crate::review::total::Total;
use crate::text::Text;
use chrono::{DateTime, Utc};
use std::collections::HashMap;
use std::path::PathBuf;
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};
use std::time::SystemTime;

/// Everything that was read, with its search lists.
pub struct Data {
    /// What the files held.
    pub programme: Programme,
    /// Search lists.
    pub index: Index,
    /// When it was read.
    pub read_at: DateTime<Utc>,
    /// Which reading it is, within this run of the desk.
    pub reading: u64,
    by_id: HashMap<Text, usize>,
}

static READINGS: AtomicU64 = AtomicU64::new(1);

/// Name, size and time of change of each file: when they differ, the files are read again.
pub type Stamp = Vec<(PathBuf, Option<(u64, SystemTime)>)>;

/// The stamp of the files as they are now.
pub fn stamp(files: &Files) -> Stamp {
    let paths = files
        .assemblies
        .iter()
        .chain(&files.series)
        .chain(&files.stations)
        .chain(&files.config);
    paths
        .map(|path| {
            let told = std::fs::metadata(path).ok();
            (
                path.clone(),
                told.and_then(|meta| Some((meta.len(), meta.modified().ok()?))),
            )
        })
        .collect()
}

impl Data {
    /// Reads the files.
    ///
    /// # Errors
    /// When a file cannot be used at all, or no assembly is left; all faults at once.
    pub fn read(files: &Files, now: DateTime<Utc>) -> Result<Self, Faults> {
        let mut programme = Programme::read(files);
        let loaded = &mut programme.loaded;
        loaded.faults.append(loaded.config.drip.check());
        if loaded.inventory.assemblies.is_empty() && !loaded.faults.is_fatal() {
            loaded.faults.push(
                Fault::new("BW-D01", Severity::Fatal, "the list holds no assembly that can be used")
                    .file(
                        files
                            .assemblies
                            .as_ref()
                            .map(|path| path.display().to_string())
                            .unwrap_or_default(),
                    )
                    .remedy("Run `brimwater check` on it."),
            );
        }
        if loaded.faults.is_fatal() {
            return Err(std::mem::take(&mut loaded.faults));
        }
        let index = Index::new(&loaded.inventory.assemblies);
        let by_id = loaded
            .inventory
            .assemblies
            .iter()
            .enumerate()
            .map(|(at, assembly)| (assembly.assembly_id.clone(), at))
            .collect();
        Ok(Self {
            programme,
            index,
            read_at: now,
            reading: READINGS.fetch_add(1, Ordering::Relaxed),
            by_id,
        })
    }

    /// The assemblies.
    pub fn assemblies(&self) -> &[Assembly] {
        &self.programme.loaded.inventory.assemblies
    }

    /// The config.
    pub fn config(&self) -> &Config {
        &self.programme.loaded.config
    }

    /// The assembly with this identifier.
    pub fn find(&self, id: &str) -> Option<(usize, &Assembly)> {
        let at = *self.by_id.get(id)?;
        Some((at, self.assemblies().get(at)?))
    }

    /// The zone of the utility.
    pub fn zone(&self) -> chrono_tz::Tz {
        self.programme.zone
    }

    /// Whether the forecast has run out at `now`.
    pub fn forecast_is_over(&self, now: DateTime<Utc>) -> bool {
        self.programme.loaded.series.iter().all(|series| series.end() < now)
    }

    /// The outlook of one assembly with its hours and its advice; `now` is the time given, if any.
    pub fn outlook(&self, at: usize, run: &Run, now: Option<DateTime<Utc>>, reports: &Reports) -> Option<Arc<Outlook>> {
        let site = self.programme.site(at)?;
        let (stand, _) = self.programme.stand(now);
        let run = Run {
            advice_cases: 1,
            trace: true,
            ..*run
        };
        let (outlooks, _) = run.outlooks_told(&self.programme, reports, &[site.place], stand, &|_| {});
        let outlook = outlooks.into_iter().next()?;
        Some(run.with_band(&self.programme, site.place, stand, outlook))
    }
}

/// The plan as the desk shows it.
pub struct Planned {
    /// What was found.
    pub plan: Plan<'static>,
    /// Whom to reach, and what to say.
    pub reach: Reach,
    /// Line of the ranking for an index into the list.
    pub rank_of: HashMap<usize, usize>,
    /// When it was computed.
    pub now: DateTime<Utc>,
    /// Breaks and loss of the town with their ranges; `None` in a cautious run.
    pub total: Option<Total>,
    /// Rows that cannot be ranked and have somebody to tell.
    pub unranked: usize,
    /// What of it is compared with a later one.
    pub look: Arc<Look>,
}

impl Planned {
    /// Computes the plan from what the log says of contacts and of sites: simulates every assembly that has weather, ranks, and plans the contacts. `given` is the time that stands
    /// for now, if any, and
    /// `made` the time of the clock, to the second: an attempt that was noted earlier in the same hour is known to the plan. `None` when the model does not answer.
    pub fn compute(
        data: &Data,
        run: &Run,
        (history, reports): (&History, &Reports),
        given: Option<DateTime<Utc>>,
        made: DateTime<Utc>,
        words: &Words,
    ) -> Option<Self> {
        let programme = &data.programme;
        let (stand, _) = programme.stand(given);
        let plan = Plan::find_told(programme, reports, &programme.sites(), stand, run, words, &|_| {})?.into_owned();
        let rank_of = plan
            .ranked
            .iter()
            .enumerate()
            .filter_map(|(line, ranked)| Some((*plan.at.get(ranked.index)?, line)))
            .collect();
        let (reach, _) = Reach::of(programme, &plan, history);
        let loaded = &programme.loaded;
        Some(Self {
            total: town_total(&plan, programme, run),
            unranked: loaded.inventory.unranked.len(),
            look: Arc::new(Look::of(data, &plan, stand.now, made)),
            plan,
            reach,
            rank_of,
            now: made,
        })
    }

    /// What a caller says on a line of the plan, in the person's language; `None` when the template fails.
    pub fn say(&self, line: &ContactLine) -> Option<String> {
        let facts = Facts {
            people: &self.reach.people,
            assemblies: &self.plan.assemblies,
            outlooks: &self.plan.outlooks,
            words: self.plan.words,
        };
        self.reach
            .messages
            .render(Kind::Call, line.language, &about(line, &facts, line.language))
            .ok()
    }

    /// Why a line of the ranking stands where it stands, in the reader's words.
    pub fn reason(&self, line: &Ranked, words: &Words) -> String {
        match (self.plan.assemblies.get(line.index), self.plan.outlooks.get(line.index)) {
            (Some(assembly), Some(outlook)) => ranking::reason::reason(assembly, outlook, &line.loss, line.tier, words),
            _ => line.reason.to_string(),
        }
    }

    /// Why a person is called, in the reader's words: the reason of the assembly that weighs most, and how many more.
    pub fn reason_of_call(&self, line: &ContactLine, words: &Words) -> String {
        let Some(worst) = line
            .indices
            .first()
            .and_then(|place| self.plan.ranked.iter().find(|ranked| ranked.index == *place))
        else {
            return line.reason.to_string();
        };
        let reason = self.reason(worst, words);
        match line.indices.len().saturating_sub(1) {
            0 => reason,
            more => words.pick(
                format!("{reason} (and {more} more at risk)"),
                format!("{reason} (y {more} más en riesgo)"),
            ),
        }
    }

    /// The line of an assembly, by its index into the list.
    pub fn line(&self, at: usize) -> Option<&Ranked> {
        self.plan.ranked.get(*self.rank_of.get(&at)?)
    }
}
