//! The hindcast: what the freeze model says on the hours that came, spell by spell, for the assemblies of the records.

use super::common::Common;
use super::inputs::InputArgs;
use super::review_records::Spells;
use crate::faults::{Fault, Faults, Severity};
use crate::freeze::nucleated::by_nucleation;
use crate::freeze::{Measure, Outlook, Place, WhatIf};
use crate::input::load::{Files, load};
use crate::inventory::Assembly;
use crate::language::Language;
use crate::plan::{Plan, Programme, Run};
use crate::ranking::{Tier, Words};
use crate::review::posterior::{Case, Curve};
use crate::review::proposal::{Proposal, Tiers};
use crate::review::{Contact, Row, assess};
use crate::weather::Series;
use crate::weather::local_time::Written;
use crate::weather::stretch::{Edge, Pick};
use crate::weather::window::Stand;
use chrono::{DateTime, TimeDelta, Utc};
use indicatif::ProgressBar;
use std::collections::{BTreeMap, HashMap};
use std::path::PathBuf;
use std::sync::Arc;

/// Temperatures at which ice starts, °C: a grid of twenty covers any mean and spread that is tried, to 0.007 in the root mean square
/// at 256 members (measured against plain runs).
pub const GRID_FROM_C: f64 = -10.0;
const GRID_STEP_K: f64 = 0.5;
const GRID: usize = 20;
/// Members at each temperature of the grid, at most: what is found at a hundred assemblies moves a posterior more than their noise does (measured,
/// `benches/learning.rs`: an interval of 90 % held the truth in 94 % of 200 repetitions).
const MOST_AT_EACH: usize = 128;
/// Hours of a plan that may be missing at either end of the hours given without a word (judgement: they are days before or after the cold).
const MISSING_H: i64 = 6;

/// How the hindcast runs.
pub struct Settings {
    /// Members of each run.
    pub members: usize,
    /// Seed.
    pub seed: u64,
    /// Whether every case is run at each temperature of the grid, for a proposal.
    pub calibrate: bool,
    /// Chance that somebody spoken to acted, where only the contact is known.
    pub acts: f64,
}

/// The temperatures of the grid, °C, rising.
pub fn grid() -> Vec<f64> {
    (0..GRID).map(|at| GRID_FROM_C + GRID_STEP_K * at as f64).collect()
}

/// Gives the rows their chances on the hours that came, in the place of what a plan after the spell said.
///
/// Faults: what is wrong with the files (fatal ones end it); `BW-R17` a spell whose hours are not in the series (its rows keep what the
/// plans say); `BW-R18` assemblies of the records that are not in the list, or have no weather.
pub fn hindcast(
    inputs: &InputArgs,
    spells: &Spells,
    rows: &mut [Row],
    settings: &Settings,
    common: &Common,
) -> Result<Faults, Faults> {
    let mut files = inputs.files().map_err(|fault| Faults(vec![fault]))?;
    let mut faults = Faults::new();
    let mut lost: BTreeMap<String, usize> = BTreeMap::new();
    let all = spans(&files);
    for (spell, (start, end)) in spells {
        // Records of several winters do not share hours: each spell takes those that reach into it.
        files.series = (all.iter())
            .filter(|(_, spans)| spans.is_none_or(|(first, last)| first <= *end && *start <= last))
            .map(|(path, _)| path.clone())
            .collect();
        if files.series.is_empty() {
            faults.push(not_covered(spell, *start, *end));
            continue;
        }
        let instant = |time| Edge::Time(Written::Instant(time));
        files.spell = Some(Pick::Between(instant(*start), instant(*end)));
        let programme = Programme::read(&files);
        let told = programme.loaded.faults.clone();
        // That these hours are looked at is what was asked.
        let (missing, other): (Vec<Fault>, Vec<Fault>) =
            told.0.into_iter().partition(|fault| fault.code.starts_with("BW-P1"));
        if other.iter().any(|fault| fault.severity == Severity::Fatal) {
            return Err(Faults(other));
        }
        faults.append(Faults(
            other.into_iter().filter(|fault| !faults.0.contains(fault)).collect(),
        ));
        let covered = programme.window().filter(|(first, last)| {
            let slack = TimeDelta::hours(MISSING_H);
            *first <= *start + slack && *last >= *end - slack
        });
        if covered.is_none() || missing.iter().any(|fault| fault.severity == Severity::Fatal) {
            faults.push(not_covered(spell, *start, *end));
            continue;
        }
        one_spell(&programme, spell, *end, rows, settings, common, &mut lost);
    }
    if let Some(first) = lost.keys().next() {
        let fault = Fault::new(
            "BW-R18",
            Severity::Warning,
            format!(
                "{} assemblies of the records are not in the list, or have no weather there",
                lost.len()
            ),
        )
        .value(first)
        .expected("the list of the plan, with its stations")
        .remedy("Give the list as it was; their rows keep what the plans say.");
        faults.push(fault);
    }
    Ok(faults)
}

/// First and last hour of each file of series; `None` where it cannot be read, which is told when it is.
fn spans(files: &Files) -> Vec<(PathBuf, Option<(DateTime<Utc>, DateTime<Utc>)>)> {
    let alone = |path: &PathBuf| Files {
        assemblies: None,
        series: vec![path.clone()],
        spell: None,
        ..files.clone()
    };
    let one = |path: &PathBuf| {
        let series = load(&alone(path)).series;
        let first = series.iter().map(|one| one.start).min()?;
        Some((first, series.iter().map(Series::end).max()?))
    };
    files.series.iter().map(|path| (path.clone(), one(path))).collect()
}

fn not_covered(spell: &str, start: DateTime<Utc>, end: DateTime<Utc>) -> Fault {
    Fault::new(
        "BW-R17",
        Severity::Warning,
        format!("the series do not hold the hours of the spell {spell}"),
    )
    .column("--series")
    .expected(format!(
        "observed hours from {} to {}",
        start.format("%Y-%m-%d %H:%M"),
        end.format("%Y-%m-%d %H:%M UTC")
    ))
    .remedy("Get the station's record of these days; until then its rows keep what the plans say.")
}

/// What a proposal makes of the whole list on the hours of the last spell that the series hold.
pub fn tiers(inputs: &InputArgs, spells: &Spells, proposal: &Proposal, settings: &assess::Settings) -> Option<Tiers> {
    let mut files = inputs.files().ok()?;
    let all = spans(&files);
    let held = |(start, end): &(DateTime<Utc>, DateTime<Utc>)| {
        all.iter()
            .any(|(_, span)| span.is_some_and(|(first, last)| first <= *end && *start <= last))
    };
    let (spell, (start, end)) = spells
        .iter()
        .filter(|(_, hours)| held(hours))
        .max_by_key(|(_, hours)| hours.0)?;
    files.series = (all.iter())
        .filter(|(_, span)| span.is_some_and(|(first, last)| first <= *end && *start <= last))
        .map(|(path, _)| path.clone())
        .collect();
    let instant = |time| Edge::Time(Written::Instant(time));
    files.spell = Some(Pick::Between(instant(*start), instant(*end)));
    let mut programme = Programme::read(&files);
    if programme.loaded.faults.is_fatal() {
        return None;
    }
    let run = Run {
        members: settings.members,
        seed: settings.seed,
        what_if: WhatIf::AsListed,
        advice_cases: 0,
        trace: false,
    };
    let words = Words {
        zone: programme.zone,
        us: true,
        language: Language::English,
    };
    let counted = |programme: &Programme| {
        let plan = Plan::find(programme, &programme.sites(), all_come(*end), &run, &words, &|_| {})?;
        let of = |tier: Tier| plan.ranked.iter().filter(|ranked| ranked.tier == tier).count();
        Some(Tier::ALL.map(of))
    };
    let before = counted(&programme)?;
    programme.loaded.config.ensemble.nucleation_mean_c = proposal.nucleation_mean_c;
    Some(Tiers {
        spell: spell.clone(),
        before,
        after: counted(&programme)?,
    })
}

/// All hours have come: none carries a forecast error, and what was reported since does not count, for that is what is learnt from.
fn all_come(end: DateTime<Utc>) -> Stand {
    Stand {
        now: end + TimeDelta::hours(1),
        reported_until: end,
        issued: None,
        over: true,
    }
}

/// A row with its place in the list.
struct Found<'a> {
    row: usize,
    place: Place<'a>,
}

fn one_spell(
    programme: &Programme,
    spell: &str,
    end: DateTime<Utc>,
    rows: &mut [Row],
    settings: &Settings,
    common: &Common,
    lost: &mut BTreeMap<String, usize>,
) {
    let assemblies = &programme.loaded.inventory.assemblies;
    let by_id: HashMap<&str, usize> = (assemblies.iter().enumerate())
        .map(|(at, assembly)| (assembly.assembly_id.trim(), at))
        .collect();
    let mut found = Vec::new();
    for (row, one) in rows.iter().enumerate().filter(|(_, one)| one.spell == spell) {
        match by_id.get(one.assembly_id.trim()).and_then(|at| programme.site(*at)) {
            Some(site) => found.push(Found { row, place: site.place }),
            None => *lost.entry(one.assembly_id.clone()).or_insert(0) += 1,
        }
    }
    let stand = all_come(end);
    let run = Run {
        members: settings.members,
        seed: settings.seed,
        what_if: WhatIf::AsListed,
        advice_cases: 0,
        trace: false,
    };
    let places: Vec<Place<'_>> = found.iter().map(|one| one.place).collect();
    let (outlooks, _) = run.outlooks(programme, &places, stand, &|_| {});
    // Only of those that were protected, or may have been, the chance with a measure is needed.
    let touched: Vec<usize> = (0..found.len())
        .filter(|at| {
            let row = rows.get(found[*at].row);
            row.is_some_and(|row| {
                row.protected == Some(true) || (row.protected.is_none() && row.contact == Contact::Reached)
            })
        })
        .collect();
    let touched_places: Vec<Place<'_>> = touched.iter().map(|at| places[*at]).collect();
    let advised = Run {
        advice_cases: touched.len(),
        ..run
    };
    let (protected, _) = advised.outlooks(programme, &touched_places, stand, &|_| {});
    let protected: HashMap<usize, Arc<Outlook>> = touched.iter().copied().zip(protected).collect();
    for (at, (one, outlook)) in found.iter().zip(&outlooks).enumerate() {
        let Some(row) = rows.get_mut(one.row) else { continue };
        row.p_hindcast = outlook.p_damage;
        if let Some(protected) = protected.get(&at) {
            row.p_protected = protected.p_damage_protected().or(row.p_protected);
        }
    }
    if settings.calibrate {
        curves(programme, &run, stand, &found, &protected, rows, settings, common);
    }
}

/// The case of each row under what was done, by how its chance hangs on nucleation.
#[allow(clippy::too_many_arguments)]
fn curves(
    programme: &Programme,
    run: &Run,
    stand: Stand,
    found: &[Found<'_>],
    protected: &HashMap<usize, Arc<Outlook>>,
    rows: &mut [Row],
    settings: &Settings,
    common: &Common,
) {
    // Behind the places as listed stand those with the wrap that was advised, where a wrap is enough: what people fit.
    let wrapped: Vec<(usize, Assembly)> = found
        .iter()
        .enumerate()
        .filter_map(|(at, one)| Some((at, with_wrap(one.place.assembly, protected.get(&at)?)?)))
        .collect();
    let mut places: Vec<Place<'_>> = found.iter().map(|one| one.place).collect();
    places.extend(wrapped.iter().map(|(at, assembly)| Place {
        assembly,
        ..found[*at].place
    }));
    let config = &programme.loaded.config;
    let temperatures = grid();
    let bar = if common.progress() {
        ProgressBar::new(temperatures.len() as u64)
    } else {
        ProgressBar::hidden()
    };
    let members = settings.members.min(MOST_AT_EACH);
    let found_at = by_nucleation(
        &places,
        &programme.loaded.series,
        &Run { members, ..*run }.options(programme.zone, stand),
        &config.freeze,
        &config.ensemble,
        &temperatures,
        &|done| bar.set_position(done as u64),
    );
    bar.finish_and_clear();
    let curve = |chance: Vec<f64>| {
        Arc::new(Curve {
            nucleation_c: temperatures.clone(),
            chance,
            members,
        })
    };
    let known: Vec<Arc<Curve>> = found_at.chance.iter().cloned().map(curve).collect();
    let of = |place: usize| found_at.case_of.get(place).and_then(|case| known.get(*case));
    let wrapped_at: HashMap<usize, usize> = (found.len()..)
        .zip(&wrapped)
        .map(|(place, (at, _))| (*at, place))
        .collect();
    let mut mixed: HashMap<(*const Curve, *const Curve), Arc<Curve>> = HashMap::new();
    for (at, one) in found.iter().enumerate() {
        let (Some(row), Some(bare)) = (rows.get_mut(one.row), of(at)) else {
            continue;
        };
        let with = wrapped_at.get(&at).and_then(|place| of(*place));
        row.case = match (row.protected, row.contact, with) {
            (Some(true), _, with) => with.map(|with| Case::Curve(Arc::clone(with))),
            (None, Contact::Reached, Some(with)) => {
                let both = mixed.entry((Arc::as_ptr(bare), Arc::as_ptr(with))).or_insert_with(|| {
                    let acts = settings.acts;
                    let mix = bare.chance.iter().zip(&with.chance);
                    curve(mix.map(|(bare, with)| (1.0 - acts) * bare + acts * with).collect())
                });
                Some(Case::Curve(Arc::clone(both)))
            }
            (None, Contact::Reached, None) => None,
            _ => Some(Case::Curve(Arc::clone(bare))),
        };
    }
}

/// The assembly with the wrap that was advised for it; `None` where a wrap is not enough or was not looked for.
fn with_wrap(assembly: &Assembly, outlook: &Outlook) -> Option<Assembly> {
    let wrap = (outlook.advice.iter()).find(|advice| advice.measure == Measure::Wrap && advice.enough)?;
    let mut wrapped = assembly.clone();
    wrapped.wrap_m2k_per_w = wrap.wrap_m2k_per_w?;
    Some(wrapped)
}
