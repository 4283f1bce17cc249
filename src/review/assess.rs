//! From rows to figures, each with its interval, and to refusals with their reasons.

use super::capture::{Captured, Listed, SHARES, captured};
use super::math::{Draws, quantile};
use super::posterior::Prior;
use super::proposal::{Proposal, propose};
use super::reliability::{self, Bin};
use super::row::{Contact, Row, State};
use super::scores::{self, Bins, Corp, Scored};
use super::shift::{Rate, rate};
use super::survey::{self, Estimate, Looked};
use super::total::{Exposed, Predictive, predictive};
use rayon::prelude::*;
use serde::Serialize;
use std::collections::BTreeMap;

/// Damaged and whole ones that must have been looked at before anything but counts is told (rule of thumb, judgement).
pub const LEAST_EACH: usize = 5;
/// Spells from which on whole spells are drawn anew, not assemblies in them.
pub const SPELLS_TO_DRAW: usize = 5;
/// Chance from which on a case counts as listed when sensitivity is told (judgement).
const LISTED_FROM: f64 = 0.2;

/// What the review is told beside the rows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Settings {
    /// Members behind the chances.
    pub members: usize,
    /// Prior of the nucleation mean, and the spell effect.
    pub prior: Prior,
    /// Strength factor of the config.
    pub strength_factor: f64,
    /// Spread that is an assembly's own beside nucleation, K.
    pub local_k: f64,
    /// Share of the variance that forecast error makes one for the town.
    pub shared_issued: f64,
    /// Chance that somebody spoken to acts, where the records do not say.
    pub acts: f64,
    /// Whether a recalibration is asked for.
    pub calibrate: bool,
    /// Seed of the draws behind intervals.
    pub seed: u64,
}

impl Settings {
    /// Share that the spell effect makes one for the town on observed hours.
    pub fn shared_hindcast(&self) -> f64 {
        super::total::shared_share(self.prior.spell_k, self.local_k, self.prior.spread_k)
    }
}

/// Why a figure is not told.
#[derive(Debug, Clone, PartialEq)]
pub enum Refusal {
    /// Nothing was looked at.
    NothingLookedAt,
    /// Too few damaged or whole ones for scores.
    TooFew(usize, usize),
    /// Chances on observed hours are not known.
    NoHindcast(usize),
    /// Protected, but the chance with the measure in place is not known.
    NoProtected(usize),
    /// Looked at, but not by design: kept out of scores.
    NotByDesign(usize),
    /// Records of one or few spells.
    FewSpells(usize),
    /// Complaints are counted, never scored.
    ReportsNotScored(usize),
    /// Without undamaged ones a recalibration would be wrong by kelvins.
    OnlyDamaged,
    /// The posterior ends at the edge of what was tried.
    EdgeOfGrid,
    /// Left out in turn, spells are told no better by the new value.
    NoGain(f64, f64),
    /// Looked at, but nothing tells how: no total of the town may be compared.
    NotToldHow(usize),
    /// Ranks are not known.
    NoRanks,
    /// Losses of broken ones are not known.
    NoLoss,
}

/// Counts, first of all.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize)]
pub struct Counts {
    /// Looked at, and it could be told.
    pub looked_at: usize,
    /// Looked at and damaged.
    pub damaged: usize,
    /// Looked at and whole.
    pub whole: usize,
    /// Reported damaged, not looked at.
    pub reported: usize,
    /// Not looked at, nothing reported.
    pub unknown: usize,
    /// Looked at, cannot tell.
    pub cannot_tell: usize,
    /// Drained or removed.
    pub not_exposed: usize,
    /// Looked at outside the design.
    pub beyond_design: usize,
}

/// One spell.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SpellCount {
    /// Name.
    pub spell: String,
    /// Looked at by design.
    pub looked_at: usize,
    /// Of them damaged.
    pub damaged: usize,
    /// Where the finding falls in the distribution as issued; `None` where a row does not tell how it was looked at.
    pub as_issued: Option<Predictive>,
    /// The same on observed hours under what was done.
    pub hindcast_as_done: Option<Predictive>,
}

/// What a rule would have caught.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Rule {
    /// The rule.
    pub rule: &'static str,
    /// What it catches.
    pub captured: Vec<Captured>,
}

/// Figures of one set of chances.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct Scores {
    /// Rows scored.
    pub n: usize,
    /// Of them damaged.
    pub damaged: usize,
    /// Sum of their chances.
    pub expected_damaged: f64,
    /// Brier score.
    pub brier: Option<f64>,
    /// 90 % interval by drawing anew.
    pub brier_interval: Option<(f64, f64)>,
    /// Brier score, each row for those it stands for.
    pub brier_weighted: Option<f64>,
    /// Log score.
    pub log_score: Option<f64>,
    /// 90 % interval by drawing anew.
    pub log_score_interval: Option<(f64, f64)>,
    /// Damaged over expected.
    pub observed_over_expected: Option<f64>,
    /// Exact 95 % limits as if findings were independent.
    pub observed_over_expected_interval: Option<(f64, f64)>,
    /// Brier score taken apart in bins.
    pub bins: Option<Bins>,
    /// Brier score taken apart without bins.
    pub corp: Option<Corp>,
    /// Chance that a damaged one had the higher chance.
    pub auc: Option<f64>,
    /// Its standard error.
    pub auc_se: Option<f64>,
    /// Spiegelhalter's z, never alone.
    pub spiegelhalter_z: Option<f64>,
    /// Mean of p(1 − p).
    pub sharpness: Option<f64>,
    /// What the list catches, on those nobody protected.
    pub captured: Option<Vec<Captured>>,
    /// 90 % intervals of the same by drawing anew: breaks, loss.
    pub captured_interval: Option<Vec<CapturedInterval>>,
    /// Reliability diagram.
    pub reliability: Option<Vec<Bin>>,
}

/// Interval of what is caught.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct CapturedInterval {
    /// Share of the list.
    pub share_of_list: f64,
    /// Of the breaks.
    pub breaks: Option<(f64, f64)>,
    /// Of the loss.
    pub loss: Option<(f64, f64)>,
}

/// What came of those called and not.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Called {
    /// Contact.
    pub contact: &'static str,
    /// Looked at.
    pub looked_at: usize,
    /// Damaged.
    pub damaged: usize,
    /// Damage expected had nobody acted.
    pub expected_unprotected: Option<f64>,
    /// 95 % exact interval of the share damaged.
    pub share_interval: (f64, f64),
}

/// The review.
#[derive(Debug, Clone, PartialEq)]
pub struct Review {
    /// Counts.
    pub counts: Counts,
    /// Spell by spell.
    pub spells: Vec<SpellCount>,
    /// As issued.
    pub as_issued: Option<Scores>,
    /// On observed hours, what was done ignored.
    pub hindcast: Option<Scores>,
    /// On observed hours, under what was done.
    pub hindcast_as_done: Option<Scores>,
    /// Simple rules beside the list.
    pub rules: Option<Vec<Rule>>,
    /// Calls.
    pub calls: Vec<Called>,
    /// Spoken to, of those tried.
    pub reach: Option<Rate>,
    /// Protected, of those spoken to of whom it is known.
    pub acting: Option<Rate>,
    /// Broken in the town by the design; `None` where a row does not tell how it was looked at.
    pub broken_in_town: Option<Estimate>,
    /// Sensitivity and specificity of a chance of one in five, corrected for who was looked at.
    pub sensitivity: Option<(f64, f64)>,
    /// The recalibration that is proposed.
    pub proposal: Option<Proposal>,
    /// What is not told, and why.
    pub refused: Vec<Refusal>,
}

fn counts(rows: &[Row]) -> Counts {
    let of = |state: State| rows.iter().filter(|row| row.state == state).count();
    Counts {
        looked_at: of(State::Damaged) + of(State::Whole),
        damaged: of(State::Damaged),
        whole: of(State::Whole),
        reported: of(State::Reported),
        unknown: of(State::NotLooked),
        cannot_tell: of(State::CannotTell),
        not_exposed: of(State::NotExposed),
        beyond_design: rows.iter().filter(|row| row.state.seen() && !row.by_design).count(),
    }
}

/// Reads the rows. Every figure that the records cannot carry is left out, with its reason.
pub fn assess(rows: &[Row], settings: &Settings) -> Review {
    let counts = counts(rows);
    let mut refused = Vec::new();
    if counts.looked_at == 0 {
        refused.push(Refusal::NothingLookedAt);
    }
    if counts.reported > 0 {
        refused.push(Refusal::ReportsNotScored(counts.reported));
    }
    if counts.beyond_design > 0 {
        refused.push(Refusal::NotByDesign(counts.beyond_design));
    }
    let seen: Vec<&Row> = rows.iter().filter(|row| row.state.seen() && row.by_design).collect();
    let damaged = seen.iter().filter(|row| row.state == State::Damaged).count();
    let whole = seen.len() - damaged;
    let enough = damaged >= LEAST_EACH && whole >= LEAST_EACH;
    if !enough && !seen.is_empty() {
        refused.push(Refusal::TooFew(damaged, whole));
    }
    let without = seen.iter().filter(|row| row.p_hindcast.is_none()).count();
    if without > 0 {
        refused.push(Refusal::NoHindcast(without));
    }
    let unprotected = seen
        .iter()
        .filter(|row| row.p_hindcast.is_some() && row.p_done(settings.acts).is_none())
        .count();
    if unprotected > 0 {
        refused.push(Refusal::NoProtected(unprotected));
    }
    let untold = seen.iter().filter(|row| !row.told_how).count();
    if untold > 0 {
        refused.push(Refusal::NotToldHow(untold));
    }
    let spells = by_spell(&seen, settings);
    if (1..SPELLS_TO_DRAW).contains(&spells.len()) {
        refused.push(Refusal::FewSpells(spells.len()));
    }
    let free: Vec<&Row> = seen.iter().copied().filter(|row| row.protected != Some(true)).collect();
    if enough && free.iter().any(|row| row.rank.is_none()) {
        refused.push(Refusal::NoRanks);
    }
    if enough
        && free
            .iter()
            .any(|row| row.state == State::Damaged && row.loss_usd.is_none())
    {
        refused.push(Refusal::NoLoss);
    }
    let pick = |p: &(dyn Fn(&Row) -> Option<f64> + Sync), order: Order| scores_of(&seen, p, order, enough, settings);
    let mut review = Review {
        counts,
        as_issued: pick(&|row| Some(row.p_issued), Order::Rank),
        hindcast: pick(&|row| row.p_hindcast, Order::Stake),
        hindcast_as_done: pick(&|row| row.p_done(settings.acts), Order::Stake),
        rules: enough.then(|| rules(&free)),
        calls: calls(&seen),
        reach: reach(rows),
        acting: acting(rows),
        broken_in_town: (!seen.is_empty() && untold == 0).then(|| survey::total_broken(&looked(&seen))),
        sensitivity: sensitivity(rows, &seen),
        proposal: None,
        refused,
        spells,
    };
    if settings.calibrate {
        match propose(rows, settings) {
            Ok(proposal) => review.proposal = Some(proposal),
            Err(why) if review.refused.contains(&why) => {}
            Err(why) => review.refused.push(why),
        }
    }
    review
}

fn by_spell(seen: &[&Row], settings: &Settings) -> Vec<SpellCount> {
    let mut spells: BTreeMap<&str, Vec<&Row>> = BTreeMap::new();
    for row in seen {
        spells.entry(&row.spell).or_default().push(row);
    }
    spells
        .into_iter()
        .map(|(spell, rows)| {
            let damaged = rows.iter().filter(|row| row.state == State::Damaged).count();
            let place = |p: &dyn Fn(&Row) -> Option<f64>, shared: f64| {
                let exposed: Option<Vec<Exposed>> = rows
                    .iter()
                    .map(|row| {
                        Some(Exposed {
                            p: p(row)?,
                            shared,
                            loss_usd: 0.0,
                            area: 0,
                        })
                    })
                    .collect();
                // Those of whom nothing tells how they were found may be the complaints.
                let told = rows.iter().all(|row| row.told_how);
                exposed.filter(|_| told).map(|exposed| predictive(&exposed, damaged))
            };
            SpellCount {
                spell: spell.to_owned(),
                looked_at: rows.len(),
                damaged,
                as_issued: place(&|row| Some(row.p_issued), settings.shared_issued),
                hindcast_as_done: place(&|row| row.p_done(settings.acts), settings.shared_hindcast()),
            }
        })
        .collect()
}

/// What orders the list that is judged.
#[derive(Clone, Copy)]
enum Order {
    /// The list as issued.
    Rank,
    /// Chance times loss.
    Stake,
}

fn scores_of(
    seen: &[&Row],
    p: &(dyn Fn(&Row) -> Option<f64> + Sync),
    order: Order,
    enough: bool,
    settings: &Settings,
) -> Option<Scores> {
    let mut kept: Vec<(&Row, Scored)> = seen
        .iter()
        .filter_map(|row| Some((*row, row.scored(p(row))?)))
        .collect();
    if kept.is_empty() {
        return None;
    }
    // Sorted once, so that later sorts of the same rows find them in order.
    kept.sort_by(|a, b| a.1.p.total_cmp(&b.1.p));
    let weighted: Vec<Scored> = kept.iter().map(|row| row.1).collect();
    let plain = scores::unweighted(&weighted);
    let damaged = plain.iter().filter(|row| row.broke).count();
    let ratio = scores::observed_over_expected(&plain);
    let mut told = Scores {
        n: plain.len(),
        damaged,
        expected_damaged: plain.iter().map(|row| row.p).sum(),
        observed_over_expected: ratio.map(|ratio| ratio.0),
        observed_over_expected_interval: ratio.map(|ratio| ratio.1),
        ..Scores::default()
    };
    if !enough || damaged < LEAST_EACH || plain.len() - damaged < LEAST_EACH {
        return Some(told);
    }
    let simulations = if plain.len() > 10_000 { 99 } else { 499 };
    let auc = scores::auc(&plain);
    told.brier = Some(scores::brier(&plain));
    told.brier_weighted = Some(scores::brier(&weighted));
    told.log_score = Some(scores::log_score(&plain, settings.members));
    told.bins = Some(scores::bins(&plain));
    told.corp = Some(scores::corp(&plain, simulations, settings.seed));
    told.auc = auc;
    told.auc_se = auc.map(|auc| scores::auc_error(auc, damaged, plain.len() - damaged));
    told.spiegelhalter_z = scores::spiegelhalter(&plain).map(|z| z.0);
    told.sharpness = Some(scores::sharpness(&plain));
    told.reliability = Some(reliability::table(&plain));
    let listed: Option<Vec<(usize, Listed)>> = kept
        .iter()
        .enumerate()
        .filter(|(_, (row, _))| row.protected != Some(true))
        .map(|(at, (row, scored))| {
            let order = match order {
                Order::Rank => -row.rank?,
                Order::Stake => scored.p * row.loss_usd?,
            };
            Some((at, listed(row, order)))
        })
        .collect();
    let listed = listed.map(|mut listed| {
        listed.sort_by(|a, b| b.1.order.total_cmp(&a.1.order));
        listed
    });
    told.captured = listed.as_ref().map(|listed| {
        let rows: Vec<Listed> = listed.iter().map(|one| one.1).collect();
        SHARES.iter().map(|share| captured(&rows, *share)).collect()
    });
    drawn_anew(&kept, listed.as_deref(), settings, &mut told);
    Some(told)
}

fn listed(row: &Row, order: f64) -> Listed {
    Listed {
        order,
        broke: row.state == State::Damaged,
        loss_usd: row.loss_usd,
        weight: 1.0 / row.inclusion,
    }
}

/// How often each row is drawn: whole spells from five on, else assemblies within their spell.
fn draw(kept: &[(&Row, Scored)], spells: &BTreeMap<&str, Vec<usize>>, draws: &mut Draws) -> Vec<f64> {
    let mut times = vec![0.0; kept.len()];
    let groups: Vec<&Vec<usize>> = spells.values().collect();
    if groups.len() >= SPELLS_TO_DRAW {
        for _ in 0..groups.len() {
            for at in groups[draws.below(groups.len())] {
                times[*at] += 1.0;
            }
        }
    } else {
        for group in groups {
            for _ in 0..group.len() {
                times[group[draws.below(group.len())]] += 1.0;
            }
        }
    }
    times
}

fn drawn_anew(kept: &[(&Row, Scored)], listed: Option<&[(usize, Listed)]>, settings: &Settings, told: &mut Scores) {
    let mut spells: BTreeMap<&str, Vec<usize>> = BTreeMap::new();
    for (at, (row, _)) in kept.iter().enumerate() {
        spells.entry(&row.spell).or_default().push(at);
    }
    let repeats = if kept.len() > 10_000 { 60 } else { 400 };
    let found: Vec<(f64, f64, Vec<Captured>)> = (0..repeats)
        .into_par_iter()
        .map(|repeat| {
            let mut draws = Draws::new(settings.seed.wrapping_add(1 + repeat as u64));
            let times = draw(kept, &spells, &mut draws);
            let rows: Vec<Scored> = kept
                .iter()
                .zip(&times)
                .map(|((_, scored), times)| Scored {
                    weight: *times,
                    ..*scored
                })
                .collect();
            let caught = listed.map_or(Vec::new(), |listed| {
                let rows: Vec<Listed> = listed
                    .iter()
                    .map(|(at, one)| Listed {
                        weight: one.weight * times[*at],
                        ..*one
                    })
                    .collect();
                SHARES.iter().map(|share| captured(&rows, *share)).collect()
            });
            (scores::brier(&rows), scores::log_score(&rows, settings.members), caught)
        })
        .collect();
    let interval = |values: Vec<f64>| {
        let mut values = values;
        values.sort_by(f64::total_cmp);
        Some((quantile(&values, 0.05)?, quantile(&values, 0.95)?))
    };
    told.brier_interval = interval(found.iter().map(|one| one.0).collect());
    told.log_score_interval = interval(found.iter().map(|one| one.1).collect());
    if listed.is_some() {
        told.captured_interval = Some(
            SHARES
                .iter()
                .enumerate()
                .map(|(at, share)| CapturedInterval {
                    share_of_list: *share,
                    breaks: interval(found.iter().filter_map(|one| one.2.get(at)?.breaks).collect()),
                    loss: interval(found.iter().filter_map(|one| one.2.get(at)?.loss).collect()),
                })
                .collect(),
        );
    }
}

fn rules(free: &[&Row]) -> Vec<Rule> {
    let mut told = Vec::new();
    let mut rule = |name: &'static str, order: &dyn Fn(&Row) -> Option<f64>| {
        let rows: Option<Vec<Listed>> = free.iter().map(|row| Some(listed(row, order(row)?))).collect();
        if let Some(rows) = rows {
            told.push(Rule {
                rule: name,
                captured: SHARES.iter().map(|share| captured(&rows, *share)).collect(),
            });
        }
    };
    rule("the list", &|row| Some(-row.rank?));
    rule("chance only", &|row| Some(row.p_issued));
    // Among equal sizes the dearer one, as a foreman would.
    rule("largest first", &|row| {
        Some(row.traits.size_m? + 1e-9 * row.loss_usd.unwrap_or(0.0))
    });
    rule("bare first", &|row| Some(f64::from(u8::from(row.traits.bare?))));
    rule("coldest site first", &|row| Some(-row.traits.site_k?));
    told
}

fn calls(seen: &[&Row]) -> Vec<Called> {
    [Contact::None, Contact::NotReached, Contact::Reached]
        .into_iter()
        .filter_map(|contact| {
            let rows: Vec<&&Row> = seen.iter().filter(|row| row.contact == contact).collect();
            let n = rows.len();
            let damaged = rows.iter().filter(|row| row.state == State::Damaged).count();
            let (k, rest) = (damaged as f64, (n - damaged) as f64);
            (n > 0).then(|| Called {
                contact: contact.word(),
                looked_at: n,
                damaged,
                expected_unprotected: rows.iter().map(|row| row.p_hindcast).sum(),
                share_interval: (
                    if damaged == 0 {
                        0.0
                    } else {
                        super::math::beta_quantile(0.025, k, rest + 1.0)
                    },
                    if damaged == n {
                        1.0
                    } else {
                        super::math::beta_quantile(0.975, k + 1.0, rest)
                    },
                ),
            })
        })
        .collect()
}

/// Prior of reach and of acting: one half, worth four calls (judgement; the config's own rates are far better known by then).
const RATE_PRIOR: (f64, f64) = (0.5, 4.0);

fn reach(rows: &[Row]) -> Option<Rate> {
    let tried = rows.iter().filter(|row| row.contact != Contact::None).count();
    let reached = rows.iter().filter(|row| row.contact == Contact::Reached).count();
    (tried > 0).then(|| rate(reached, tried, RATE_PRIOR.0, RATE_PRIOR.1))
}

fn acting(rows: &[Row]) -> Option<Rate> {
    let known: Vec<bool> = rows
        .iter()
        .filter(|row| row.contact == Contact::Reached)
        .filter_map(|row| row.protected)
        .collect();
    let acted = known.iter().filter(|acted| **acted).count();
    (!known.is_empty()).then(|| rate(acted, known.len(), RATE_PRIOR.0, RATE_PRIOR.1))
}

fn looked(seen: &[&Row]) -> Vec<Looked> {
    seen.iter()
        .map(|row| Looked {
            // Rows of one list of one spell were drawn with the same chance.
            stratum: format!("{}\u{1f}{:016x}", row.spell, row.inclusion.to_bits()),
            broke: row.state == State::Damaged,
            weight: 1.0 / row.inclusion,
            listed: row.p_hindcast.is_some_and(|p| p >= LISTED_FROM),
        })
        .collect()
}

fn sensitivity(rows: &[Row], seen: &[&Row]) -> Option<(f64, f64)> {
    let known: Option<Vec<bool>> = rows.iter().map(|row| Some(row.p_hindcast? >= LISTED_FROM)).collect();
    let known = known?;
    let listed = known.iter().filter(|on| **on).count();
    survey::sensitivity(&looked(seen), listed, known.len() - listed)
}
