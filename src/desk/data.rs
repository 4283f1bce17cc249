//! What the desk knows: the list, the weather, the people, and the plan once it is computed.

use super::search::Index;
use crate::config::Config;
use crate::faults::{Fault, Faults, Severity};
use crate::freeze::{Outlook, Place, RunOptions, WhatIf, outlooks};
use crate::input::load::{Files, Loaded, load};
use crate::inventory::Assembly;
use crate::outreach::about::{Facts, about};
use crate::outreach::line::ContactLine;
use crate::outreach::messages::{Kind, Messages};
use crate::outreach::people::{self, Person};
use crate::outreach::schedule::{self, ContactPlan, PlanInput};
use crate::outreach::{clock, outcome::History};
use crate::ranking::{self, Ranked, Words};
use chrono::{DateTime, Utc};
use std::collections::HashMap;
use std::path::PathBuf;
use std::sync::Arc;
use std::time::SystemTime;

/// Everything that was read, with its search lists.
pub struct Data {
    /// What the files held.
    pub loaded: Loaded,
    /// Search lists.
    pub index: Index,
    /// When it was read.
    pub read_at: DateTime<Utc>,
    by_id: HashMap<String, usize>,
}

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
        let mut loaded = load(files);
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
            return Err(loaded.faults);
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
            loaded,
            index,
            read_at: now,
            by_id,
        })
    }

    /// The assemblies.
    pub fn assemblies(&self) -> &[Assembly] {
        &self.loaded.inventory.assemblies
    }

    /// The config.
    pub fn config(&self) -> &Config {
        &self.loaded.config
    }

    /// The assembly with this identifier.
    pub fn find(&self, id: &str) -> Option<(usize, &Assembly)> {
        let at = *self.by_id.get(id)?;
        Some((at, self.assemblies().get(at)?))
    }

    /// The zone of the utility.
    pub fn zone(&self) -> chrono_tz::Tz {
        self.config().utility.zone.parse().unwrap_or(chrono_tz::UTC)
    }

    /// An assembly with the weather that stands for its site.
    pub fn place(&self, at: usize) -> Option<Place<'_>> {
        let assembly = self.assemblies().get(at)?;
        let choice = self.loaded.choices.get(at).copied().flatten()?;
        Some(Place {
            assembly,
            series: choice.series,
            offset_k: choice.offset_k,
        })
    }

    /// Whether the forecast has run out at `now`.
    pub fn forecast_is_over(&self, now: DateTime<Utc>) -> bool {
        self.loaded.series.iter().all(|series| series.end() < now)
    }

    /// The outlook of one assembly with its hours and its advice.
    pub fn outlook(&self, at: usize, run: &Run, now: DateTime<Utc>) -> Option<Arc<Outlook>> {
        let place = self.place(at)?;
        let (outlooks, _) = outlooks(
            &[place],
            &self.loaded.series,
            &run.options(now, self.zone(), true),
            &self.config().freeze,
            &self.config().ensemble,
            &|_| (),
        );
        outlooks.into_iter().next()
    }
}

/// How the model is run.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Run {
    /// Members.
    pub members: usize,
    /// Seed.
    pub seed: u64,
}

impl Run {
    fn options(&self, now: DateTime<Utc>, zone: chrono_tz::Tz, single: bool) -> RunOptions {
        RunOptions {
            members: self.members,
            seed: self.seed,
            now,
            zone,
            what_if: WhatIf::AsListed,
            advice: single,
            advice_cases: usize::from(single),
            trace: single,
        }
    }
}

/// The plan as the desk shows it.
pub struct Planned {
    /// Index into the list for each place in the plan.
    pub assemblies: Vec<usize>,
    /// The assemblies themselves, `[places]`.
    pub listed: Vec<Assembly>,
    /// What to say to people.
    pub messages: Messages,
    /// How numbers and times are read in reasons and messages.
    pub words: Words,
    /// Outlooks, `[places]`.
    pub outlooks: Vec<Arc<Outlook>>,
    /// Ranking, best rank first; its `index` is a place.
    pub ranked: Vec<Ranked>,
    /// Line of `ranked` for an index into the list.
    pub rank_of: HashMap<usize, usize>,
    /// People to reach; their `assemblies` are places.
    pub people: Vec<Person>,
    /// Contacts.
    pub contacts: ContactPlan,
    /// When it was computed.
    pub now: DateTime<Utc>,
}

impl Planned {
    /// Computes the plan: simulates every assembly that has weather, ranks, and plans the contacts.
    pub fn compute(data: &Data, run: &Run, history: &History, now: DateTime<Utc>, words: &Words) -> Self {
        let placed: Vec<(usize, Place<'_>)> = (0..data.assemblies().len())
            .filter_map(|at| Some((at, data.place(at)?)))
            .collect();
        let places: Vec<Place<'_>> = placed.iter().map(|(_, place)| *place).collect();
        let (outlooks, _) = outlooks(
            &places,
            &data.loaded.series,
            &run.options(now, data.zone(), false),
            &data.config().freeze,
            &data.config().ensemble,
            &|_| (),
        );
        let assemblies: Vec<Assembly> = places.iter().map(|place| place.assembly.clone()).collect();
        let ranked = ranking::rank(&assemblies, &outlooks, &data.config().ranking, words);
        let indices: Vec<usize> = placed.iter().map(|(at, _)| *at).collect();
        let rank_of = ranked
            .iter()
            .enumerate()
            .filter_map(|(line, ranked)| Some((*indices.get(ranked.index)?, line)))
            .collect();
        let outreach = &data.config().outreach;
        let (people, _) = people::merge(&assemblies, &outreach.people, "");
        let input = PlanInput {
            people: &people,
            assemblies: &assemblies,
            outlooks: &outlooks,
            ranked: &ranked,
            now,
            zone: data.zone(),
            daylight: &clock::clock_daylight(data.zone(), &outreach.shift),
            history,
        };
        let (contacts, _) = schedule::plan(&input, outreach);
        Self {
            assemblies: indices,
            listed: assemblies,
            messages: Messages::built_in(&data.config().utility, outreach),
            words: *words,
            outlooks,
            ranked,
            rank_of,
            people,
            contacts,
            now,
        }
    }

    /// What a caller says on a line of the plan, in the person's language; `None` when the template fails.
    pub fn say(&self, line: &ContactLine) -> Option<String> {
        let facts = Facts {
            people: &self.people,
            assemblies: &self.listed,
            outlooks: &self.outlooks,
            words: self.words,
        };
        self.messages
            .render(Kind::Call, line.language, &about(line, &facts, line.language))
            .ok()
    }

    /// Why a line of the ranking stands where it stands, in the reader's words.
    pub fn reason(&self, line: &Ranked, words: &Words) -> String {
        match (self.listed.get(line.index), self.outlooks.get(line.index)) {
            (Some(assembly), Some(outlook)) => ranking::reason::reason(assembly, outlook, &line.loss, line.tier, words),
            _ => line.reason.clone(),
        }
    }

    /// Why a person is called, in the reader's words: the reason of the assembly that weighs most, and how many more.
    pub fn reason_of_call(&self, line: &ContactLine, words: &Words) -> String {
        let Some(worst) = line
            .indices
            .first()
            .and_then(|place| self.ranked.iter().find(|ranked| ranked.index == *place))
        else {
            return line.reason.clone();
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
        self.ranked.get(*self.rank_of.get(&at)?)
    }
}
