//! The front door of the freeze model: places and a spell in, outlooks out.

use super::advice::{Subject, advice};
use super::config::{EnsembleConfig, FreezeConfig};
use super::members::Members;
use super::outlook::Outlook;
use super::regions::Regions;
use super::reports::{Report, Reported, Reports, weigh};
use super::setup::{Setup, Surround};
use super::simulate::{Simulated, simulate};
use super::spell::Spell;
use super::summary::{CaseView, damaged_share, drain_failed, summarise, unexposed};
use super::weights::Weights;
use crate::inventory::{
    Assembly, CustomerClass, DeviceType, NominalSize, Placement, RiserMaterial, Service, WindExposure, WinterUse,
};
use crate::units::ZERO_C_IN_K;
use crate::weather::Series;
use chrono::{DateTime, Utc};
use rayon::prelude::*;
use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};

/// An assembly and the weather that stands for its site.
#[derive(Debug, Clone, Copy)]
pub struct Place<'a> {
    /// The assembly.
    pub assembly: &'a Assembly,
    /// Index into the list of series.
    pub series: usize,
    /// Kelvin added to the station's air for the site (elevation rule; never positive for a low site).
    pub offset_k: f64,
}

/// A case that differs from the listed one in one thing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum WhatIf {
    /// As listed.
    #[default]
    AsListed,
    /// Heaters and heat trace have no power.
    PowerOut,
    /// The main gives no water: no draws, no drip, no trickle.
    SupplyOff,
}

impl WhatIf {
    /// Whether the case makes any difference to the heat balance of an assembly.
    pub fn touches(self, assembly: &Assembly) -> bool {
        match self {
            WhatIf::AsListed => false,
            WhatIf::PowerOut => assembly.placement == Placement::HeatedEnclosure || assembly.heat_trace_w > 0.0,
            WhatIf::SupplyOff => assembly.freeze_drip || is_drawn(assembly),
        }
    }
}

/// Whether water is drawn through it in winter.
fn is_drawn(assembly: &Assembly) -> bool {
    assembly.winter_use == WinterUse::InUse && !matches!(assembly.service, Service::Irrigation | Service::Fire)
}

/// How to run.
#[derive(Debug, Clone)]
pub struct RunOptions {
    /// Members; 1 is the deterministic run with nucleation at 0 °C, the cautious edge.
    pub members: usize,
    /// Seed of the ensemble.
    pub seed: u64,
    /// The time from which hours are forecast; earlier hours carry no forecast error.
    pub now: DateTime<Utc>,
    /// Until when what was reported from the sites counts.
    pub reported_until: DateTime<Utc>,
    /// Time zone of the draws' hours.
    pub zone: chrono_tz::Tz,
    /// The case.
    pub what_if: WhatIf,
    /// Whether to compute what would protect those at risk.
    pub advice: bool,
    /// At most so many distinct cases get advice, those with the most repair cost behind them first.
    pub advice_cases: usize,
    /// Whether to keep the hourly trace of every outlook.
    pub trace: bool,
    /// Areas with one forecast error each, of all series at which anybody of the programme stands: one card and the whole list must draw the
    /// same. `None` makes areas of all series.
    pub regions: Option<Arc<Regions>>,
}

/// What a run tells beside the outlooks.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct RunStats {
    /// Distinct thermal cases simulated.
    pub cases: usize,
    /// Assemblies that no member can bring below +1 °C by a proven bound, and that were not simulated.
    pub skipped: usize,
    /// Distinct cases at risk, and how many of them got advice.
    pub at_risk_cases: usize,
    /// Distinct cases that got advice.
    pub advised_cases: usize,
    /// Parts × steps × members simulated.
    pub part_steps: u64,
}

/// Temperature that no part of a skipped assembly can go below, °C.
const SAFE_C: f64 = 1.0;

/// Steps to which the elevation rule is rounded, downward, so that neighbours share a simulation, K.
const OFFSET_STEP_K: f64 = 0.5;

/// All of an assembly that the heat balance looks at: equal keys are the same case and get the same bits.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
struct CaseKey {
    device: DeviceType,
    size: NominalSize,
    placement: Placement,
    wrap_bits: u64,
    material: RiserMaterial,
    height_bits: u64,
    exposure: WindExposure,
    drip: bool,
    trace_bits: u64,
    drained: bool,
    /// Whose draws pass through it; `None` where nothing is drawn.
    draws: Option<CustomerClass>,
    south: bool,
    series: usize,
    offset_bits: u64,
}

impl CaseKey {
    fn of(place: &Place<'_>) -> Self {
        let a = place.assembly;
        // Businesses and unknown customers draw alike.
        let class = if a.customer_class == CustomerClass::Unknown {
            CustomerClass::Commercial
        } else {
            a.customer_class
        };
        Self {
            device: a.device_type,
            size: a.nominal_size,
            placement: a.placement,
            wrap_bits: a.wrap_m2k_per_w.to_bits(),
            material: a.riser_material,
            height_bits: a.riser_height_m.to_bits(),
            exposure: a.wind_exposure,
            drip: a.freeze_drip,
            trace_bits: a.heat_trace_w.to_bits(),
            drained: a.winter_use == WinterUse::Drained,
            draws: is_drawn(a).then_some(class),
            south: a.latitude_deg.is_some_and(|latitude| latitude < 0.0),
            series: place.series,
            offset_bits: offset_k(place).to_bits(),
        }
    }
}

/// All of a place that its heat balance looks at, the station left out, as text: equal texts are the same case. Made for keys of caches.
pub fn case_text(place: &Place<'_>) -> String {
    let key = CaseKey {
        series: 0,
        ..CaseKey::of(place)
    };
    format!("{key:?}")
}

/// All that a place's outlook and advice look at, its station included, as text: where nothing was reported equal texts have the same outlook.
pub fn outlook_text(place: &Place<'_>) -> String {
    format!("{:?} {:?}", CaseKey::of(place), AdviceKey::of(place))
}

/// What an assembly may be told, beyond its heat balance.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
struct AdviceKey {
    /// Draining and trickling: idle, in use.
    winter_use: WinterUse,
    service: Service,
    critical: bool,
}

impl AdviceKey {
    fn of(place: &Place<'_>) -> Self {
        let a = place.assembly;
        Self {
            winter_use: a.winter_use,
            service: a.service,
            critical: a.critical.is_some(),
        }
    }
}

/// Kelvin added to the station's air: the elevation rule rounded to the colder step.
pub fn offset_k(place: &Place<'_>) -> f64 {
    (place.offset_k / OFFSET_STEP_K).floor() * OFFSET_STEP_K
}

/// The members of a run.
pub fn members_of(options: &RunOptions, freeze: &FreezeConfig, ensemble: &EnsembleConfig) -> Members {
    Members::new(options.members, options.seed, freeze.damage.strength_log_sd, ensemble)
}

/// Runs the model for every place. Outlooks come in the order of the places, whatever the number of threads;
/// assemblies that are the same thermal case in the same weather share one outlook.
///
/// A place whose series index is out of range, or whose series is empty, gets an outlook without exposure; callers
/// check their series first.
///
/// `progress` is told how many assemblies are done.
pub fn outlooks(
    places: &[Place<'_>],
    series: &[Series],
    options: &RunOptions,
    freeze: &FreezeConfig,
    ensemble: &EnsembleConfig,
    progress: &(dyn Fn(usize) + Sync),
) -> (Vec<Arc<Outlook>>, RunStats) {
    outlooks_told(places, series, options, freeze, ensemble, &Reports::default(), progress)
}

/// As [`outlooks`], with the members of each assembly weighed by what was reported of it up to `options.reported_until`.
///
/// In another case than the listed one a member counts by how it stands as listed, for that is what was seen.
pub fn outlooks_told(
    places: &[Place<'_>],
    series: &[Series],
    options: &RunOptions,
    freeze: &FreezeConfig,
    ensemble: &EnsembleConfig,
    reports: &Reports,
    progress: &(dyn Fn(usize) + Sync),
) -> (Vec<Arc<Outlook>>, RunStats) {
    let members = members_of(options, freeze, ensemble);
    let spells = spells_of(places, series, &members, options, freeze, ensemble);
    let cases = cases_of(places);
    let done = AtomicUsize::new(0);
    let solved: Vec<Solved> = cases
        .par_iter()
        .map(|case| {
            let world = World {
                series,
                spells: &spells,
                members: &members,
                options,
                freeze,
            };
            let solved = world.solve(case, places, reports);
            progress(done.fetch_add(case.len(), Ordering::Relaxed) + case.len());
            solved
        })
        .collect();

    let mut stats = RunStats::default();
    for (case, solved) in cases.iter().zip(&solved) {
        if solved.part_steps == 0 {
            stats.skipped += case.len();
        } else {
            stats.cases += 1;
            stats.part_steps += solved.part_steps;
        }
    }
    let groups: Vec<Group> = solved.into_iter().flat_map(|solved| solved.groups).collect();
    let mut by_place: Vec<Option<Arc<Outlook>>> = vec![None; places.len()];
    for group in &groups {
        for &at in &group.at {
            by_place[at] = Some(Arc::clone(&group.outlook));
        }
    }
    if options.advice {
        let world = World {
            series,
            spells: &spells,
            members: &members,
            options,
            freeze,
        };
        world.advise(&mut by_place, &groups, places, &mut stats);
    }
    // Every place belongs to exactly one case, so nothing is left out.
    (by_place.into_iter().flatten().collect(), stats)
}

/// The spell of each series at which somebody stands, `[series]`, as the members of its area see it: one card needs one station.
pub(super) fn spells_of(
    places: &[Place<'_>],
    series: &[Series],
    members: &Members,
    options: &RunOptions,
    freeze: &FreezeConfig,
    ensemble: &EnsembleConfig,
) -> Vec<Option<Spell>> {
    let asked: BTreeSet<usize> = places.iter().map(|place| place.series).collect();
    let regions = (options.regions.clone()).unwrap_or_else(|| Arc::new(Regions::new(series, ensemble)));
    let last = asked.iter().map(|at| regions.of(*at)).max().unwrap_or(0);
    let independent = Regions::independent(last, members, options.seed, ensemble);
    let mut spells: Vec<Option<Spell>> = vec![None; series.len()];
    for area in 0..regions.count() {
        let here: Vec<usize> = asked.iter().copied().filter(|at| regions.of(*at) == area).collect();
        if here.is_empty() {
            continue;
        }
        let own = regions.mixed(area, members, &independent);
        for at in here {
            if let (Some(slot), Some(series)) = (spells.get_mut(at), series.get(at)) {
                *slot = Spell::new(series, &own, options.now, options.zone, freeze, ensemble);
            }
        }
    }
    spells
}

/// Indices of the places of each thermal case, `[cases]`, in the order in which cases first appear.
pub(super) fn cases_of(places: &[Place<'_>]) -> Vec<Vec<usize>> {
    let mut index: HashMap<CaseKey, usize> = HashMap::new();
    let mut cases: Vec<Vec<usize>> = Vec::new();
    for (at, place) in places.iter().enumerate() {
        let case = *index.entry(CaseKey::of(place)).or_insert_with(|| {
            cases.push(Vec::new());
            cases.len() - 1
        });
        cases[case].push(at);
    }
    cases
}

/// What a case is run in.
#[derive(Clone, Copy)]
struct World<'a> {
    series: &'a [Series],
    spells: &'a [Option<Spell>],
    members: &'a Members,
    options: &'a RunOptions,
    freeze: &'a FreezeConfig,
}

/// Places of one case of which the same was reported: they share an outlook.
struct Group {
    at: Vec<usize>,
    outlook: Arc<Outlook>,
    weights: Weights,
}

struct Solved {
    groups: Vec<Group>,
    part_steps: u64,
}

impl Solved {
    /// Everywhere the same, whatever was reported: reports are kept, and weigh nothing.
    fn alike(outlook: Outlook, told: BTreeMap<Vec<Report>, Vec<usize>>) -> Self {
        let groups = told.into_iter().map(|(reports, at)| {
            let mut outlook = outlook.clone();
            outlook.reported = (!reports.is_empty()).then(|| Reported::unweighed(reports, outlook.members));
            Group {
                at,
                outlook: Arc::new(outlook),
                weights: Weights::alike(),
            }
        });
        Self {
            groups: groups.collect(),
            part_steps: 0,
        }
    }
}

impl World<'_> {
    /// The outlooks of a case: one, and one more for each different thing that was reported of its places.
    fn solve(&self, case: &[usize], places: &[Place<'_>], reports: &Reports) -> Solved {
        let (options, freeze, members) = (self.options, self.freeze, self.members);
        let place = &places[case[0]];
        let found = self
            .series
            .get(place.series)
            .zip(self.spells.get(place.series).and_then(Option::as_ref));
        let since = found.map_or(options.now, |(_, spell)| spell.start);
        let mut told: BTreeMap<Vec<Report>, Vec<usize>> = BTreeMap::new();
        for &at in case {
            let reports = reports.of(&places[at].assembly.assembly_id, since, options.reported_until);
            told.entry(reports).or_default().push(at);
        }
        let Some((one, spell)) = found else {
            return Solved::alike(nothing_known(members.count(), options), told);
        };
        let setup = case_of(place, spell, members, options, freeze);
        let offset_k = offset_k(place);
        let alike = Weights::alike();
        let view = CaseView {
            assembly: place.assembly,
            setup: &setup,
            series: one,
            spell,
            members,
            offset_k,
            weights: &alike,
        };
        let warm = safe_bound_c(&setup, spell, members, offset_k);
        let steps_per_hour = (3600.0 / setup.step_s).round().max(1.0) as u64;
        let part_steps = setup.net.parts.len() as u64 * spell.hours() as u64 * steps_per_hour * members.count() as u64;
        if place.assembly.winter_use == WinterUse::Drained {
            // No water stands in it: what is left to tell is the water waiting in the main, and what comes if the drain failed.
            let empty = unexposed(&view, freeze, setup.supply_c, options.trace);
            let failed = freeze.drain_failed.clamp(0.0, 1.0);
            if failed == 0.0 || members.count() == 1 || warm.is_some() {
                return Solved::alike(empty, told);
            }
            let run = simulate(&setup, spell, members, offset_k, options.trace);
            let full = summarise(&view, &run, freeze, options.trace);
            return Solved {
                part_steps,
                ..Solved::alike(drain_failed(empty, full, failed), told)
            };
        }
        if let Some(bound_c) = warm {
            return Solved::alike(unexposed(&view, freeze, bound_c, options.trace), told);
        }
        let weighs = told.keys().any(|reports| !reports.is_empty());
        let run = simulate(&setup, spell, members, offset_k, options.trace || weighs);
        // What was seen is what came of the listed case, whatever else is asked.
        let seen = (weighs && options.what_if.touches(place.assembly)).then(|| {
            let listed = RunOptions {
                what_if: WhatIf::AsListed,
                ..options.clone()
            };
            simulate(
                &case_of(place, spell, members, &listed, freeze),
                spell,
                members,
                offset_k,
                true,
            )
        });
        let groups = told.into_iter().map(|(reports, at)| {
            let (weights, reported) = weigh(seen.as_ref().unwrap_or(&run), spell.start, &reports, &freeze.reports);
            let view = CaseView {
                weights: &weights,
                ..view
            };
            let mut outlook = summarise(&view, &run, freeze, options.trace);
            outlook.reported = reported;
            Group {
                at,
                outlook: Arc::new(outlook),
                weights,
            }
        });
        let groups = groups.collect();
        Solved { groups, part_steps }
    }

    /// Adds advice to the groups at risk, those with the most repair cost behind them first. Assemblies of one group that may
    /// be told different things get outlooks of their own.
    fn advise(
        &self,
        by_place: &mut [Option<Arc<Outlook>>],
        cases: &[Group],
        places: &[Place<'_>],
        stats: &mut RunStats,
    ) {
        let (options, freeze, members) = (self.options, self.freeze, self.members);
        let mut groups: Vec<(&Group, Vec<usize>)> = Vec::new();
        // What protects a drained line is that it is drained.
        let drained = |case: &Group| {
            let first = case.at.first().and_then(|at| places.get(*at));
            first.is_some_and(|place| place.assembly.winter_use == WinterUse::Drained)
        };
        let at_risk =
            |case: &&Group| is_at_risk(&case.outlook, freeze) && !drained(case) && !case.outlook.is_past_advice();
        for case in cases.iter().filter(at_risk) {
            let mut alike: BTreeMap<AdviceKey, Vec<usize>> = BTreeMap::new();
            for &at in &case.at {
                alike.entry(AdviceKey::of(&places[at])).or_default().push(at);
            }
            groups.extend(alike.into_values().map(|at| (case, at)));
        }
        stats.at_risk_cases = groups.len();
        groups.sort_by(|x, y| {
            let weight = |group: &(&Group, Vec<usize>)| group.0.outlook.expected_repair_usd * group.1.len() as f64;
            weight(y).total_cmp(&weight(x)).then(x.1.cmp(&y.1))
        });
        groups.truncate(options.advice_cases);
        stats.advised_cases = groups.len();
        let found: Vec<Option<Arc<Outlook>>> = groups
            .par_iter()
            .map(|(case, alike)| {
                let place = &places[*alike.first()?];
                self.series.get(place.series)?;
                let spell = self.spells.get(place.series)?.as_ref()?;
                let setup = case_of(place, spell, members, options, freeze);
                let offset_k = offset_k(place);
                // The hours of a fitted drip device are part of the advice.
                let run: Simulated = if setup.drip.is_some() {
                    simulate(&setup, spell, members, offset_k, true)
                } else {
                    Simulated::default()
                };
                let subject = Subject {
                    assembly: place.assembly,
                    what_if: options.what_if,
                    setup: &setup,
                    spell,
                    members,
                    offset_k,
                    run: &run,
                    weights: &case.weights,
                };
                let mut outlook = Outlook::clone(&case.outlook);
                outlook.advice = advice(&subject, freeze);
                Some(Arc::new(outlook))
            })
            .collect();
        for ((_, alike), outlook) in groups.iter().zip(found) {
            for &at in alike {
                if let Some(outlook) = &outlook {
                    by_place[at] = Some(Arc::clone(outlook));
                }
            }
        }
    }
}

/// The case of a place, stepped as its run needs.
pub(super) fn case_of(
    place: &Place<'_>,
    spell: &Spell,
    members: &Members,
    options: &RunOptions,
    freeze: &FreezeConfig,
) -> Setup {
    let setup = Setup::new(place.assembly, spell.day_of_year, options.what_if, freeze);
    if members.count() > 1 {
        setup.for_ensemble(freeze)
    } else {
        setup
    }
}

fn nothing_known(members: usize, options: &RunOptions) -> Outlook {
    use super::outlook::Spread;
    Outlook {
        members,
        window_start: options.now,
        window_end: options.now,
        p_ice: None,
        p_blocked: None,
        p_damage: None,
        p_damage_judged: None,
        parts: Vec::new(),
        first_ice: Spread {
            p10: None,
            p50: None,
            p90: None,
        },
        coldest_water_c: Spread {
            p10: 0.0,
            p50: 0.0,
            p90: 0.0,
        },
        first_part: None,
        hours_air_below_0c: 0.0,
        min_air_c: 0.0,
        expected_repair_usd: 0.0,
        expected_repair_se_usd: 0.0,
        reported: None,
        nights: Vec::new(),
        advice: Vec::new(),
        trace: None,
    }
}

/// The bound of [`warm_bound_c`] where it proves that nothing can freeze, so that the case needs no run.
pub(super) fn safe_bound_c(setup: &Setup, spell: &Spell, members: &Members, offset_k: f64) -> Option<f64> {
    warm_bound_c(setup, spell, members, offset_k).filter(|bound| *bound >= SAFE_C)
}

/// A temperature that no part can go below in any member, °C, by the maximum principle: every part exchanges heat
/// only with other parts, its surroundings, the ground and supply water, so none goes below the coldest of those and
/// of the start. `None` where the surroundings' bound is not worth working out (bare parts in a cold spell).
pub fn warm_bound_c(setup: &Setup, spell: &Spell, members: &Members, offset_k: f64) -> Option<f64> {
    let lowest_site_k = members.site_k.iter().copied().fold(f64::INFINITY, f64::min);
    let air_c = spell.coldest_air_c + lowest_site_k + offset_k - spell.most_below_k();
    let sky_drop = (1.0 - spell.lowest_sky_ratio) * (air_c.max(-80.0) + 60.0 + ZERO_C_IN_K);
    // The start is never below 4 °C, see the kernel.
    let others = setup.ground_c.iter().copied().fold(setup.supply_c.min(4.0), f64::min);
    let around = match setup.surround {
        Surround::Room { air_c } => air_c,
        // Less than half of what a bare part sees of its surroundings is sky.
        Surround::Open => air_c - setup.sky_view * sky_drop,
        Surround::Enclosed {
            out_w_per_k,
            ground_w_per_k,
            ground_c,
            heater_w,
            hold_c,
        } => {
            let walls = out_w_per_k + ground_w_per_k;
            let empty = (out_w_per_k * (air_c - 0.125 * sky_drop) + ground_w_per_k * ground_c + heater_w) / walls;
            // Parts inside pull the air toward their own temperature, which the bound below already covers.
            if heater_w > 0.0 { empty.min(hold_c) } else { empty }
        }
    };
    let bound = around.min(others);
    bound.is_finite().then_some(bound)
}

/// Whether something should be done about it.
fn is_at_risk(outlook: &Outlook, freeze: &FreezeConfig) -> bool {
    match outlook.p_damage {
        Some(p) => p > freeze.advice_target,
        None => outlook.parts.iter().any(|part| part.strained),
    }
}

/// The share of members in which any part of a case is damaged, for tests and the desk.
pub fn chance_of_damage(run: &Simulated) -> f64 {
    damaged_share(run)
}
