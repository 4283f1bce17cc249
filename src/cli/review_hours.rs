//! The hindcast: what the freeze model says on the hours that came, spell by spell, for the assemblies of the records.

use super::common::Common;
use super::inputs::InputArgs;
use super::review_curves::hang;
use crate::faults::{Fault, Faults, Severity};
use crate::freeze::{Outlook, Place, WhatIf};
use crate::input::load::{Files, load};
use crate::language::Language;
use crate::plan::{Plan, Programme, Run};
use crate::ranking::{Tier, Words};
use crate::records::Spells;
use crate::review::proposal::{Proposal, Tiers};
use crate::review::{Contact, Row, assess};
use crate::weather::local_time::Written;
use crate::weather::series::{Kind, Series};
use crate::weather::stretch::{Edge, Pick};
use crate::weather::window::Stand;
use chrono::{DateTime, TimeDelta, Utc};
use std::collections::{BTreeMap, HashMap};
use std::path::PathBuf;
use std::sync::Arc;

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
    /// Whether each is run at several strength factors as well.
    pub strengths: bool,
    /// Chance that somebody spoken to acted, where only the contact is known.
    pub acts: f64,
}

/// Gives the rows their chances on the hours that came, in the place of what a plan after the spell said.
///
/// Faults: what is wrong with the files (fatal ones end it); `BW-R17` a spell whose hours are not in the series (its rows keep what the
/// plans say); `BW-R20` hours that are told as forecast; `BW-R18` assemblies of the records that are not in the list, or have no weather.
pub fn hindcast(
    inputs: &InputArgs,
    spells: &Spells,
    rows: &mut [Row],
    settings: &Settings,
    common: &Common,
) -> Result<Faults, Faults> {
    let hours = Hours::read(inputs.files()?);
    let mut faults = Faults::new();
    let mut lost: BTreeMap<String, usize> = BTreeMap::new();
    for (spell, window) in spells {
        let Some(programme) = hours.over(*window)? else {
            faults.push(not_covered(spell, *window));
            continue;
        };
        let told = programme.loaded.faults.0.iter();
        let fresh = told.filter(|fault| !STRETCH.contains(&fault.code) && !faults.0.contains(fault));
        faults.append(Faults(fresh.cloned().collect()));
        if has_forecast(&programme) {
            faults.push(forecast_taken(spell));
        }
        one_spell(&programme, spell, window.1, rows, settings, common, &mut lost);
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

/// First and last hour.
type Window = (DateTime<Utc>, DateTime<Utc>);

/// What tells of the stretch that is cut out of a series: here it is what was asked for.
const STRETCH: [&str; 3] = ["BW-P16", "BW-P17", "BW-P18"];

/// The files, and which hours each of series holds.
struct Hours {
    files: Files,
    /// `None` where a file cannot be read, which is told when it is.
    spans: Vec<(PathBuf, Option<Window>)>,
}

impl Hours {
    fn read(files: Files) -> Self {
        let one = |path: &PathBuf| {
            let alone = Files {
                assemblies: None,
                series: vec![path.clone()],
                spell: None,
                ..files.clone()
            };
            let series = load(&alone).series;
            let first = series.iter().map(|one| one.start).min()?;
            Some((first, series.iter().map(Series::end).max()?))
        };
        let spans = files.series.iter().map(|path| (path.clone(), one(path))).collect();
        Self { files, spans }
    }

    /// The programme on the hours of a spell; nothing where the series do not hold them. Records of several winters do not share hours: each
    /// spell takes those that reach into it.
    fn over(&self, (start, end): Window) -> Result<Option<Programme>, Faults> {
        let reaches = |span: &Option<Window>| span.is_none_or(|(first, last)| first <= end && start <= last);
        let instant = |time| Edge::Time(Written::Instant(time));
        let files = Files {
            series: (self.spans.iter())
                .filter(|(_, span)| reaches(span))
                .map(|(path, _)| path.clone())
                .collect(),
            spell: Some(Pick::Between(instant(start), instant(end))),
            ..self.files.clone()
        };
        if files.series.is_empty() {
            return Ok(None);
        }
        let programme = Programme::read(&files);
        let fatal = |fault: &&Fault| fault.severity == Severity::Fatal;
        let (missing, other): (Vec<&Fault>, Vec<&Fault>) =
            (programme.loaded.faults.0.iter()).partition(|fault| STRETCH.contains(&fault.code));
        if other.iter().any(fatal) {
            return Err(Faults(other.into_iter().cloned().collect()));
        }
        let slack = TimeDelta::hours(MISSING_H);
        let held = programme
            .window()
            .is_some_and(|(first, last)| first <= start + slack && last >= end - slack);
        let whole = held && !missing.iter().any(fatal);
        Ok(whole.then_some(programme))
    }
}

/// Whether an hour of the series is told as forecast.
fn has_forecast(programme: &Programme) -> bool {
    let mut series = programme.loaded.series.iter();
    series.any(|one| one.kind.contains(&Kind::Forecast))
}

fn forecast_taken(spell: &str) -> Fault {
    Fault::new(
        "BW-R20",
        Severity::Warning,
        format!("hours of the spell {spell} are told as forecast; they were taken as if they had come so"),
    )
    .column("--series")
    .expected("observed hours")
    .remedy("Give the station's record: what a forecast says of itself tests nothing.")
}

/// Members without advice: what a hindcast runs.
fn plain_run(members: usize, seed: u64) -> Run {
    Run {
        members,
        seed,
        what_if: WhatIf::AsListed,
        advice_cases: 0,
        trace: false,
    }
}

fn not_covered(spell: &str, (start, end): Window) -> Fault {
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
    let hours = Hours::read(inputs.files().ok()?);
    let mut last: Vec<(&String, &Window)> = spells.iter().collect();
    last.sort_by_key(|(_, window)| std::cmp::Reverse(window.0));
    // Spells that the series do not hold were told of by the hindcast.
    let held = |(spell, window): (&String, &Window)| Some((spell.clone(), *window, hours.over(*window).ok()??));
    let (spell, window, mut programme) = last.into_iter().find_map(held)?;
    let run = plain_run(settings.members, settings.seed);
    let words = Words {
        zone: programme.zone,
        us: true,
        language: Language::English,
    };
    let counted = |programme: &Programme| {
        let plan = Plan::find(programme, &programme.sites(), all_come(window.1), &run, &words, &|_| {})?;
        let of = |tier: Tier| plan.ranked.iter().filter(|ranked| ranked.tier == tier).count();
        Some(Tier::ALL.map(of))
    };
    let before = counted(&programme)?;
    programme.loaded.config.ensemble.nucleation_mean_c = proposal.nucleation_mean_c;
    if let Some(strength) = &proposal.strength {
        programme.loaded.config.freeze.damage.strength_factor = strength.factor;
    }
    Some(Tiers {
        spell,
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
pub(super) struct Found<'a> {
    pub(super) row: usize,
    pub(super) place: Place<'a>,
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
    let run = plain_run(settings.members, settings.seed);
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
        hang(programme, &run, stand, &found, &protected, rows, settings, common);
    }
}
