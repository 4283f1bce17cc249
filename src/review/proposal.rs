//! The recalibration that is proposed: a person adopts it, or not.

use super::assess::{LEAST_EACH, Refusal, Settings};
use super::case::Case;
use super::math::probit;
use super::posterior::{Evidence, Posterior, posterior};
use super::row::{Row, State};
use super::scores::{Scored, log_score};
use super::shift::log_odds_shift;
use super::worth::looks_to_halve;
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::sync::Arc;

/// Width into which stand-in cases are gathered when there are very many, K: far below what any record can tell.
const GATHER_K: f64 = 0.02;
/// Findings from which on stand-in cases are gathered.
const GATHER_FROM: usize = 2_000;
/// Spells from which on each is left out in turn.
const SPELLS_TO_LEAVE_OUT: usize = 3;
/// Damaged and whole ones from which on a second constant may be asked of the records (judgement: with fewer, half of the factor's deviation is
/// never gone, so the five grids would be run in vain; tests/review/strength.rs).
const EACH_FOR_STRENGTH: usize = 60;
/// Share of the findings whose case must have been run at several strengths (judgement: a stand-in says that strength does not matter, which pulls
/// the factor to what it was).
const SIMULATED_FOR_STRENGTH: f64 = 0.9;
/// Most of the prior's standard deviation that may be left for a strength factor to be told: three quarters of its variance gone (judgement: where
/// less is, a mean of nucleation far off its prior passes for strength, as `demo --winters` showed with a factor of 1.8 for a true 1).
const STRENGTH_LEFT_OPEN: f64 = 0.5;

/// What is proposed.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Proposal {
    /// Mean nucleation temperature, °C.
    pub nucleation_mean_c: f64,
    /// Its standard deviation, K.
    pub sd_k: f64,
    /// 90 % interval, °C.
    pub interval_c: (f64, f64),
    /// Spell effect that was integrated out, K.
    pub spell_effect_k: f64,
    /// Findings behind it.
    pub records: usize,
    /// Of them damaged.
    pub damaged: usize,
    /// Spells behind it.
    pub spells: usize,
    /// Mean of the spread of nucleation, K.
    pub spread_k: f64,
    /// The value of the plan, °C.
    pub was_c: f64,
    /// How chances hang on nucleation: simulated, or the stand-in.
    pub method: &'static str,
    /// The same with reported and silent ones in the likelihood, findings taken as independent, and the chance that a break is reported.
    pub with_reports: Option<WithReports>,
    /// The strength factor, where the records carry it.
    pub strength: Option<Strength>,
    /// Why strength stays as it is, where it does.
    pub strength_kept: Option<Kept>,
    /// One shift of all log odds, as an alarm, and its standard deviation.
    pub log_odds_shift: Option<(f64, f64)>,
    /// Log score of spells left out in turn: as is, and with what the others taught.
    pub left_out_log_score: Option<(f64, f64)>,
    /// What it would make of the list, where the model was run with it.
    pub tiers: Option<Tiers>,
    /// Looks at coin-flips, in so many spells as are there, that would halve the prior's uncertainty.
    pub looks_to_halve: Option<usize>,
}

/// Assemblies of each tier on the hours of one spell, as the constants are and with the proposal: call first, call next, message, no contact.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Tiers {
    /// The spell.
    pub spell: String,
    /// As the constants are.
    pub before: [usize; 4],
    /// With the proposal.
    pub after: [usize; 4],
}

/// A strength factor that records carry.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Strength {
    /// The factor, for the config.
    pub factor: f64,
    /// That of the config.
    pub was: f64,
    /// Standard deviation of its logarithm.
    pub log_sd: f64,
    /// 90 % interval.
    pub interval: (f64, f64),
    /// Log score of spells left out in turn without it, and with it.
    pub left_out_log_score: (f64, f64),
}

/// Why the strength factor stays as it is.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum Kept {
    /// Too few spells, damaged or whole ones.
    TooFew {
        /// Spells asked for.
        spells: usize,
        /// Damaged ones, and whole ones, asked for.
        each: usize,
    },
    /// Too few cases were run at several strengths.
    NotSimulated,
    /// The records leave it open: the share of the prior's standard deviation that is left.
    Open {
        /// 0 to 1.
        left: f64,
    },
    /// The likeliest factor is the last that was tried.
    EdgeOfGrid,
    /// What is in force lies within the interval.
    Holds {
        /// 90 % interval of the factor.
        interval: (f64, f64),
    },
    /// Spells left out in turn are told no better with it: log score without and with.
    NoGain {
        /// Without.
        without: f64,
        /// With.
        with: f64,
    },
}

/// The posterior with reports.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct WithReports {
    /// Mean nucleation temperature, °C.
    pub nucleation_mean_c: f64,
    /// Its standard deviation, K.
    pub sd_k: f64,
    /// Chance that a break is reported.
    pub report_chance: f64,
}

/// The case of a row: simulated, or the stand-in from its chance under what was done.
fn case_of(row: &Row, settings: &Settings) -> Option<Case> {
    if let Some(case) = &row.case {
        return Some(case.clone());
    }
    let p = row.p_done(settings.acts)?;
    // Files carry six decimals; what is rounded to 0 or 1 is half a step inside.
    let z = probit(p.clamp(5e-7, 1.0 - 5e-7));
    let prior = &settings.prior;
    Some(Case::Probit {
        x_k: z * prior.spread_k.hypot(settings.local_k) - prior.mean_c,
        local_k: settings.local_k,
    })
}

/// Gathers rows into findings by spell and case; rows without a chance, and those that say nothing, stay out.
pub fn evidence(rows: &[&Row], settings: &Settings) -> Vec<Evidence> {
    let mut spells: BTreeMap<&str, usize> = BTreeMap::new();
    for row in rows {
        let next = spells.len();
        spells.entry(&row.spell).or_insert(next);
    }
    gathered(rows, settings, &|row| {
        spells.get(row.spell.as_str()).copied().unwrap_or(0)
    })
}

/// Gathers rows into findings by a spell that is told of each, and case.
fn gathered(rows: &[&Row], settings: &Settings, spell_of: &dyn Fn(&Row) -> usize) -> Vec<Evidence> {
    let mut found: Vec<Evidence> = Vec::new();
    let mut index: HashMap<(usize, u64), usize> = HashMap::new();
    for row in rows {
        let Some(mut case) = case_of(row, settings) else {
            continue;
        };
        let key = match &mut case {
            Case::Probit { x_k, .. } => {
                if rows.len() > GATHER_FROM {
                    *x_k = (*x_k / GATHER_K).round() * GATHER_K;
                }
                x_k.to_bits()
            }
            Case::Curve(curve) => Arc::as_ptr(curve) as usize as u64,
        };
        let spell = spell_of(row);
        let at = *index.entry((spell, key)).or_insert_with(|| {
            found.push(Evidence {
                spell,
                case,
                damaged: 0.0,
                whole: 0.0,
                reported: 0.0,
                silent: 0.0,
            });
            found.len() - 1
        });
        match row.state {
            State::Damaged => found[at].damaged += 1.0,
            State::Whole => found[at].whole += 1.0,
            State::Reported => found[at].reported += 1.0,
            State::NotLooked => found[at].silent += 1.0,
            State::CannotTell | State::NotExposed => {}
        }
    }
    found
}

/// Whether records are many enough that a strength factor may be asked of them: only then cases need be run at several.
pub fn may_carry_strength(rows: &[Row]) -> bool {
    let seen: Vec<&Row> = rows.iter().filter(|row| row.state.seen()).collect();
    enough_for_strength(&seen)
}

fn enough_for_strength(seen: &[&Row]) -> bool {
    let damaged = seen.iter().filter(|row| row.state == State::Damaged).count();
    spells_of(seen) >= SPELLS_TO_LEAVE_OUT && damaged.min(seen.len() - damaged) >= EACH_FOR_STRENGTH
}

fn spells_of(rows: &[&Row]) -> usize {
    let spells: BTreeSet<&str> = rows.iter().map(|row| row.spell.as_str()).collect();
    spells.len()
}

/// The posterior with the strength factor let free, where the records carry it: many enough, narrowed to half of what was open, away from what is in force,
/// and the spells that are left out in turn told better than without it.
fn with_strength(usable: &[&Row], settings: &Settings, without: f64) -> Result<(Posterior, Strength), Kept> {
    if !enough_for_strength(usable) {
        return Err(Kept::TooFew {
            spells: SPELLS_TO_LEAVE_OUT,
            each: EACH_FOR_STRENGTH,
        });
    }
    let simulated = |row: &&&Row| matches!(&row.case, Some(Case::Curve(curve)) if curve.ln_strength.len() > 1);
    if (usable.iter().filter(simulated).count() as f64) < SIMULATED_FOR_STRENGTH * usable.len() as f64 {
        return Err(Kept::NotSimulated);
    }
    let free = Settings {
        prior: settings.prior.with_strength(),
        ..*settings
    };
    let found = posterior(&evidence(usable, &free), &free.prior, false);
    if found.strength_at_edge() || found.touches_edge() {
        return Err(Kept::EdgeOfGrid);
    }
    let left = found.strength_open();
    if left > STRENGTH_LEFT_OPEN {
        return Err(Kept::Open { left });
    }
    let (low, high) = found.ln_strength_interval90();
    let was = settings.strength_factor;
    let interval = (was * low.exp(), was * high.exp());
    if (low..=high).contains(&0.0) {
        return Err(Kept::Holds { interval });
    }
    let (_, with) = left_out(usable, &free);
    if with >= without {
        return Err(Kept::NoGain { without, with });
    }
    let strength = Strength {
        factor: was * found.ln_strength().exp(),
        was,
        log_sd: found.ln_strength_sd(),
        interval,
        left_out_log_score: (without, with),
    };
    Ok((found, strength))
}

/// The proposal, or why there is none.
///
/// # Errors
/// The refusal that says what is missing.
pub fn propose(rows: &[Row], settings: &Settings) -> Result<Proposal, Refusal> {
    // Who was looked at hangs on the plan, not on the finding, so the likelihood may use them all.
    let seen: Vec<&Row> = rows.iter().filter(|row| row.state.seen()).collect();
    let usable: Vec<&Row> = seen
        .iter()
        .copied()
        .filter(|row| case_of(row, settings).is_some())
        .collect();
    let damaged = usable.iter().filter(|row| row.state == State::Damaged).count();
    let whole = usable.len() - damaged;
    if seen.is_empty() {
        return Err(Refusal::NothingLookedAt);
    }
    if usable.is_empty() {
        return Err(Refusal::NoHindcast(seen.len()));
    }
    if whole == 0 {
        return Err(Refusal::OnlyDamaged);
    }
    if damaged < LEAST_EACH || whole < LEAST_EACH {
        return Err(Refusal::TooFew(damaged, whole));
    }
    let found = posterior(&evidence(&usable, settings), &settings.prior, false);
    if found.touches_edge() {
        return Err(Refusal::EdgeOfGrid);
    }
    let spells = spells_of(&usable);
    let left_out = (spells >= SPELLS_TO_LEAVE_OUT).then(|| left_out(&usable, settings));
    if let Some((old, new)) = left_out
        && new >= old
    {
        return Err(Refusal::NoGain(old, new));
    }
    let without = left_out.map_or(f64::INFINITY, |(_, new)| new);
    let (found, strength, strength_kept) = match with_strength(&usable, settings, without) {
        Ok((both, strength)) => (both, Some(strength), None),
        Err(kept) => (found, None, Some(kept)),
    };
    let simulated = usable.iter().filter(|row| row.case.is_some()).count();
    let pairs: Vec<(f64, bool)> = usable
        .iter()
        .filter_map(|row| Some((row.p_done(settings.acts)?, row.state == State::Damaged)))
        .collect();
    Ok(Proposal {
        nucleation_mean_c: found.mean_c(),
        sd_k: found.sd_k(),
        interval_c: found.interval90_c(),
        spell_effect_k: settings.prior.spell_k,
        records: usable.len(),
        damaged,
        spells,
        spread_k: found.spread_k(),
        was_c: settings.prior.mean_c,
        method: match simulated {
            0 => "stand-in",
            some if some == usable.len() => "simulated",
            _ => "simulated in part",
        },
        with_reports: with_reports(rows, settings),
        log_odds_shift: (!pairs.is_empty()).then(|| log_odds_shift(&pairs, settings.members)),
        strength,
        strength_kept,
        left_out_log_score: left_out,
        tiers: None,
        looks_to_halve: looks_to_halve(
            spells as f64,
            settings.prior.spread_k.hypot(settings.local_k),
            &settings.prior,
        ),
    })
}

/// Complaints enter the likelihood, never a score.
fn with_reports(rows: &[Row], settings: &Settings) -> Option<WithReports> {
    let all: Vec<&Row> = rows.iter().collect();
    // Taken as independent, all spells are one.
    let found = gathered(&all, settings, &|_| 0);
    if !found.iter().any(|one| one.reported > 0.0) || !found.iter().any(|one| one.silent > 0.0) {
        return None;
    }
    let independent = super::posterior::Prior {
        spell_k: 0.0,
        ..settings.prior
    };
    let found = posterior(&found, &independent, true);
    Some(WithReports {
        nucleation_mean_c: found.mean_c(),
        sd_k: found.sd_k(),
        report_chance: found.report_chance?,
    })
}

/// Log score of each spell as is, and told by the posterior of the others.
pub fn left_out(rows: &[&Row], settings: &Settings) -> (f64, f64) {
    let mut spells: BTreeMap<&str, Vec<&Row>> = BTreeMap::new();
    for row in rows {
        spells.entry(&row.spell).or_default().push(row);
    }
    let (mut old, mut new) = (Vec::new(), Vec::new());
    for (spell, test) in &spells {
        let train: Vec<&Row> = rows.iter().copied().filter(|row| row.spell != **spell).collect();
        let taught = posterior(&evidence(&train, settings), &settings.prior, false);
        let told = taught_chances(&taught, test, settings);
        for (row, p) in test.iter().zip(told) {
            let broke = row.state == State::Damaged;
            if let (Some(is), Some(p)) = (row.p_done(settings.acts), p) {
                old.push(Scored {
                    p: is,
                    broke,
                    weight: 1.0,
                });
                new.push(Scored { p, broke, weight: 1.0 });
            }
        }
    }
    (log_score(&old, settings.members), log_score(&new, settings.members))
}

/// Chances of rows under a posterior; rows that are the same case share the work.
fn taught_chances(taught: &Posterior, rows: &[&Row], settings: &Settings) -> Vec<Option<f64>> {
    let grid = rows.iter().find_map(|row| match &row.case {
        Some(Case::Curve(curve)) => Some(curve.nucleation_c.as_slice()),
        _ => None,
    });
    let taught = taught.over(grid.unwrap_or_default());
    let mut known: HashMap<u64, f64> = HashMap::new();
    rows.iter()
        .map(|row| {
            let mut case = case_of(row, settings)?;
            let key = match &mut case {
                Case::Probit { x_k, .. } => {
                    if rows.len() > GATHER_FROM {
                        *x_k = (*x_k / GATHER_K).round() * GATHER_K;
                    }
                    x_k.to_bits()
                }
                Case::Curve(curve) => Arc::as_ptr(curve) as usize as u64,
            };
            Some(*known.entry(key).or_insert_with(|| taught.chance(&case)))
        })
        .collect()
}
