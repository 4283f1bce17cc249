//! The one way from what was read to what is told: every door (`plan`, `show`, `drip --id`, the desk) goes through here.
//!
//! [`Programme`] is what was read, with everything decided that two doors could decide differently: the zone that people read, the
//! hours that all series cover, from when a plan looks ahead, how far back the log counts, the templates. [`Plan`] is
//! what the freeze model and the ranking make of it, [`Reach`] who is told what and when.

pub mod assumed;
mod programme;
pub mod proposed;
mod reach;
mod templates;
pub mod total;

pub use programme::{Programme, Site, zone};
pub use reach::Reach;

use crate::freeze::judged::Sample;
use crate::freeze::{Advice, Measure, Outlook, Place, Reports, RunOptions, RunStats, WhatIf, outlooks_told};
use crate::inventory::Assembly;
use crate::outreach::config::{AdviceConfig, RunWater};
use crate::ranking::{self, Ranked, Words};
use crate::weather::window::Stand;
use std::borrow::Cow;
use std::collections::HashMap;
use std::sync::Arc;

/// How the model is run.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Run {
    /// Members.
    pub members: usize,
    /// Seed.
    pub seed: u64,
    /// The case.
    pub what_if: WhatIf,
    /// At most so many distinct cases get advice; 0 asks for none.
    pub advice_cases: usize,
    /// Whether the hours of every outlook are kept.
    pub trace: bool,
}

/// What was found for some assemblies of a programme. Outlooks and rankings refer to places in `assemblies`.
///
/// A plan of the whole list borrows the programme's assemblies: a second copy of a million would not fit.
pub struct Plan<'p> {
    /// Index into the programme's list, `[places]`.
    pub at: Vec<usize>,
    /// The assemblies, `[places]`.
    pub assemblies: Cow<'p, [Assembly]>,
    /// Series and its correction for elevation, K, `[places]`.
    pub sites: Vec<(usize, f64)>,
    /// Outlooks, `[places]`.
    pub outlooks: Vec<Arc<Outlook>>,
    /// Ranking, best rank first.
    pub ranked: Vec<Ranked>,
    /// What the run told beside.
    pub stats: RunStats,
    /// From when it looks ahead.
    pub stand: Stand,
    /// How numbers and times are read in its reasons.
    pub words: Words,
}

impl<'p> Plan<'p> {
    /// Simulates and ranks `sites`, with what the programme's `reports` say. `None` when the model did not answer for each of them.
    /// `progress` is told how many are done.
    pub fn find(
        programme: &'p Programme,
        sites: &[Site<'_>],
        stand: Stand,
        run: &Run,
        words: &Words,
        progress: &(dyn Fn(usize) + Sync),
    ) -> Option<Plan<'p>> {
        Self::find_told(programme, &programme.reports, sites, stand, run, words, progress)
    }

    /// As [`Plan::find`], with reports that came after the programme was read.
    pub fn find_told(
        programme: &'p Programme,
        reports: &Reports,
        sites: &[Site<'_>],
        stand: Stand,
        run: &Run,
        words: &Words,
        progress: &(dyn Fn(usize) + Sync),
    ) -> Option<Plan<'p>> {
        let places: Vec<Place<'_>> = sites.iter().map(|site| site.place).collect();
        let (outlooks, stats) = run.outlooks_told(programme, reports, &places, stand, progress);
        if outlooks.len() != places.len() {
            return None;
        }
        let list = &programme.loaded.inventory.assemblies;
        let in_order = sites.iter().enumerate().all(|(place, site)| site.at == place);
        let assemblies = match list.get(..sites.len()) {
            Some(first) if in_order => Cow::Borrowed(first),
            _ => places.iter().map(|place| place.assembly.clone()).collect(),
        };
        let ranked = ranking::rank(&assemblies, &outlooks, &programme.loaded.config.ranking, words);
        Some(Plan {
            at: sites.iter().map(|site| site.at).collect(),
            sites: places.iter().map(|place| (place.series, place.offset_k)).collect(),
            assemblies,
            outlooks,
            ranked,
            stats,
            stand,
            words: *words,
        })
    }

    /// A plan that needs its programme no longer.
    pub fn into_owned(self) -> Plan<'static> {
        Plan {
            assemblies: Cow::Owned(self.assemblies.into_owned()),
            ..self
        }
    }

    /// The places as the freeze model takes them.
    pub fn places(&self) -> Vec<Place<'_>> {
        let sites = self.assemblies.iter().zip(&self.sites);
        sites
            .map(|(assembly, (series, offset_k))| Place {
                assembly,
                series: *series,
                offset_k: *offset_k,
            })
            .collect()
    }
}

impl Run {
    /// The options of the freeze model for this run.
    pub fn options(&self, programme: &Programme, stand: Stand) -> RunOptions {
        RunOptions {
            members: self.members,
            seed: self.seed,
            now: stand.now,
            reported_until: stand.reported_until,
            zone: programme.zone,
            what_if: self.what_if,
            advice: self.advice_cases > 0,
            advice_cases: self.advice_cases,
            trace: self.trace,
            regions: Some(Arc::clone(&programme.regions)),
        }
    }

    /// The outlooks of some places.
    pub fn outlooks(
        &self,
        programme: &Programme,
        places: &[Place<'_>],
        stand: Stand,
        progress: &(dyn Fn(usize) + Sync),
    ) -> (Vec<Arc<Outlook>>, RunStats) {
        self.outlooks_told(programme, &programme.reports, places, stand, progress)
    }

    /// As [`Run::outlooks`], with reports that came after the programme was read.
    pub fn outlooks_told(
        &self,
        programme: &Programme,
        reports: &Reports,
        places: &[Place<'_>],
        stand: Stand,
        progress: &(dyn Fn(usize) + Sync),
    ) -> (Vec<Arc<Outlook>>, RunStats) {
        let config = &programme.loaded.config;
        let (found, stats) = outlooks_told(
            places,
            &programme.loaded.series,
            &self.options(programme, stand),
            &config.freeze,
            &config.ensemble,
            reports,
            progress,
        );
        (permitted(found, &config.outreach.advice), stats)
    }
}

impl Run {
    /// The outlook of one place with what the judged constants leave open of its chance: what `show` and a card tell.
    pub fn with_band(
        &self,
        programme: &Programme,
        place: Place<'_>,
        stand: Stand,
        mut outlook: Arc<Outlook>,
    ) -> Arc<Outlook> {
        let (options, config) = (self.options(programme, stand), &programme.loaded.config);
        let alone = std::slice::from_ref(&outlook);
        let sample = Sample::new(
            &[place],
            alone,
            &programme.loaded.series,
            &options,
            &config.freeze,
            &config.ensemble,
        );
        let ends = sample.and_then(|sample| sample.band().chance(&outlook));
        Arc::make_mut(&mut outlook).p_damage_judged = ends;
        outlook
    }
}

/// Outlooks without the measures that the utility asks people not to take, so that no reason and no card offers what its messages
/// ask not to do. What was shared stays shared.
pub fn permitted(outlooks: Vec<Arc<Outlook>>, advice: &AdviceConfig) -> Vec<Arc<Outlook>> {
    if advice.run_water != RunWater::DoNotRun {
        return outlooks;
    }
    let mut known: HashMap<*const Outlook, Arc<Outlook>> = HashMap::new();
    outlooks
        .into_iter()
        .map(|outlook| {
            let runs = |advice: &Advice| advice.measure == Measure::Trickle;
            if !outlook.advice.iter().any(runs) {
                return outlook;
            }
            let shared = known.entry(Arc::as_ptr(&outlook)).or_insert_with(|| {
                let mut quiet = Outlook::clone(&outlook);
                quiet.advice.retain(|advice| !runs(advice));
                Arc::new(quiet)
            });
            Arc::clone(shared)
        })
        .collect()
}
