//! A programme before the season: every assembly with each measure that may be offered, through the winters of its station, to what each saves.

use super::choice::{Item, Offer};
use super::config::SeasonConfig;
use super::exposure::{CaseWinter, StationYears, run_case};
use super::losses::{Anyway, by_winter, outlooks};
use super::measures::{Kind, WhyNot, cost_usd, fitted, forbidden, may_be_offered};
use super::offers_log::{Fate, OffersLog};
use super::yearly::annuity;
use crate::freeze::Place;
use crate::freeze::config::FreezeConfig;
use crate::freeze::members::Members;
use crate::freeze::run::case_text;
use crate::inventory::{Assembly, Choice};
use crate::outreach::config::OutreachConfig;
use crate::ranking::config::RankingConfig;
use rayon::prelude::*;
use std::collections::{BTreeMap, HashMap};

/// All that a programme is weighed from.
#[derive(Clone, Copy)]
pub struct Inputs<'a> {
    /// The list.
    pub assemblies: &'a [Assembly],
    /// For each assembly the station that stands for it.
    pub choices: &'a [Option<Choice>],
    /// The winters of each station.
    pub stations: &'a [StationYears],
    /// The members.
    pub members: &'a Members,
    /// The freeze model's part of the config.
    pub freeze: &'a FreezeConfig,
    /// What broken assemblies cost.
    pub ranking: &'a RankingConfig,
    /// Calls that would be made anyway.
    pub outreach: &'a OutreachConfig,
    /// Measures and years.
    pub season: &'a SeasonConfig,
    /// What became of earlier offers; what was fitted is in the list already.
    pub log: &'a OffersLog,
}

/// One distinct thermal case: all assemblies that share it share its winters.
pub struct Case {
    /// What its chances hang on, as text: a key for caches.
    pub text: String,
    /// An assembly of the case.
    pub assembly: Assembly,
    series: usize,
    offset_k: f64,
}

/// An assembly with the cases that its measures lead to.
pub struct Site {
    /// Index into the list.
    pub at: usize,
    /// Station.
    pub series: usize,
    bare: usize,
    /// Share of cases in which it stands full when the cold comes: a fitted drain kit was used in the others.
    full_share: f64,
    offers: Vec<(Kind, u64, usize)>,
    /// Measures that are not offered, and why.
    pub refused: Vec<(Kind, WhyNot)>,
}

/// The distinct cases of a programme.
#[derive(Default)]
pub struct Cases {
    /// The cases, in the order in which they first appear.
    pub cases: Vec<Case>,
    /// The assemblies that have a station with winters.
    pub sites: Vec<Site>,
    /// Money spoken for by accepted offers, whole US dollars.
    pub committed_usd: u64,
}

/// Lists the cases of a programme.
pub fn cases(inputs: &Inputs<'_>) -> Cases {
    let mut found = Cases::default();
    let mut index: HashMap<(usize, String), usize> = HashMap::new();
    let measures = &inputs.season.measures;
    for (at, (assembly, choice)) in inputs.assemblies.iter().zip(inputs.choices).enumerate() {
        let Some(choice) = choice.filter(|choice| {
            let years = inputs.stations.get(choice.series);
            years.is_some_and(|years| !years.seasons.is_empty())
        }) else {
            continue;
        };
        let mut case = |assembly: &Assembly| -> usize {
            let place = Place {
                assembly,
                series: choice.series,
                offset_k: choice.offset_k,
            };
            let text = case_text(&place);
            *index.entry((choice.series, text.clone())).or_insert_with(|| {
                found.cases.push(Case {
                    text,
                    assembly: assembly.clone(),
                    series: choice.series,
                    offset_k: choice.offset_k,
                });
                found.cases.len() - 1
            })
        };
        let bare = case(assembly);
        let mut offers = Vec::new();
        let mut refused = Vec::new();
        let mut settled = false;
        for kind in Kind::ALL {
            let cost = cost_usd(kind, assembly, measures);
            let fate = inputs.log.fate(&assembly.assembly_id, kind);
            match fate {
                Some(Fate::Refused) => continue,
                Some(Fate::Accepted) => {
                    found.committed_usd += cost;
                    settled = true;
                    continue;
                }
                Some(Fate::Fitted) | None => {}
            }
            match may_be_offered(kind, assembly, measures) {
                Ok(()) if fate == Some(Fate::Fitted) => refused.push((kind, WhyNot::HasIt)),
                Ok(()) => offers.push((kind, cost, case(&fitted(kind, assembly, measures, inputs.freeze)))),
                Err(why) => refused.push((kind, why)),
            }
        }
        if settled {
            // One measure an assembly: what was accepted comes.
            offers.clear();
        }
        found.sites.push(Site {
            at,
            series: choice.series,
            bare,
            full_share: full_share(assembly, inputs),
            offers,
            refused,
        });
    }
    found
}

/// Nobody knows who will drain it, so a fitted drain kit is worth the config's share of those that are used.
fn full_share(assembly: &Assembly, inputs: &Inputs<'_>) -> f64 {
    let kind = Kind::DrainKit;
    let fitted = inputs.log.fate(&assembly.assembly_id, kind) == Some(Fate::Fitted);
    if fitted && forbidden(kind, assembly).is_none() {
        1.0 - in_place_share(kind, inputs.season)
    } else {
        1.0
    }
}

fn in_place_share(kind: Kind, season: &SeasonConfig) -> f64 {
    let own = kind.config(&season.measures).in_place_share;
    own.unwrap_or(1.0).clamp(0.0, 1.0)
}

/// Runs the cases through their winters. `known` answers from an earlier run; `done` is told of each case that is new, and of how many are
/// ready. Answers come in the order of the cases, whatever the number of threads.
pub fn solve(
    cases: &Cases,
    inputs: &Inputs<'_>,
    known: &(dyn Fn(&Case, usize) -> Option<Vec<CaseWinter>> + Sync),
    done: &(dyn Fn(&Case, usize, Option<&[CaseWinter]>) + Sync),
) -> Vec<Vec<CaseWinter>> {
    cases
        .cases
        .par_iter()
        .map(|case| {
            let Some(years) = inputs.stations.get(case.series) else {
                return Vec::new();
            };
            if let Some(winters) = known(case, case.series) {
                done(case, case.series, None);
                return winters;
            }
            let place = Place {
                assembly: &case.assembly,
                series: case.series,
                offset_k: case.offset_k,
            };
            let winters = run_case(&place, years, inputs.members, inputs.freeze);
            done(case, case.series, Some(&winters));
            winters
        })
        .collect()
}

/// One measure for one assembly.
#[derive(Debug, Clone, PartialEq)]
pub struct OfferValue {
    /// The measure.
    pub kind: Kind,
    /// What it costs, whole US dollars.
    pub cost_usd: u64,
    /// What it saves in each winter net of calls, US dollars, `[winters]`.
    pub saving_usd: Vec<f32>,
    /// Upkeep, US dollars a year.
    pub upkeep_usd: f64,
    /// Worth today of a dollar a year for as long as it lasts, within the horizon.
    pub annuity: f64,
    /// Mean chance of damage a winter with it in place.
    pub p_with: f64,
}

impl OfferValue {
    /// What it saves over the horizon, US dollars, when winters come so often each; all once when `weights` is empty.
    pub fn benefit_usd(&self, weights: &[f32]) -> f64 {
        let (sum, n) = if weights.is_empty() {
            (
                self.saving_usd.iter().map(|usd| f64::from(*usd)).sum::<f64>(),
                self.saving_usd.len() as f64,
            )
        } else {
            self.saving_usd
                .iter()
                .zip(weights)
                .fold((0.0, 0.0), |(sum, n), (usd, w)| {
                    (sum + f64::from(usd * w), n + f64::from(*w))
                })
        };
        let mean = if n > 0.0 { sum / n } else { 0.0 };
        (mean - self.upkeep_usd) * self.annuity
    }
}

/// One assembly through its winters.
#[derive(Debug, Clone, PartialEq)]
pub struct SiteValue {
    /// Index into the list.
    pub at: usize,
    /// Station.
    pub series: usize,
    /// Mean chance of damage a winter as it stands.
    pub p: f64,
    /// Expected loss of each winter as it stands, before calls, US dollars.
    pub gross_usd: Vec<f64>,
    /// The same net of the calls of a spell, US dollars.
    pub net_usd: Vec<f64>,
    /// Measures that may be offered.
    pub offers: Vec<OfferValue>,
}

fn mean(values: impl Iterator<Item = f64>) -> f64 {
    let (sum, n) = values.fold((0.0, 0.0), |(sum, n), value| (sum + value, n + 1.0));
    if n > 0.0 { sum / n } else { 0.0 }
}

/// What the winters of the cases mean for each assembly.
pub fn value(cases: &Cases, solved: &[Vec<CaseWinter>], inputs: &Inputs<'_>) -> Vec<SiteValue> {
    let season = inputs.season;
    let members = inputs.members.count();
    let looks: Vec<_> = cases
        .cases
        .par_iter()
        .zip(solved)
        .map(|(case, winters)| outlooks(&case.assembly, winters, members, inputs.freeze))
        .collect();
    cases
        .sites
        .par_iter()
        .map(|site| {
            let assembly = &inputs.assemblies[site.at];
            let anyway = Anyway::of(assembly, inputs.outreach);
            let full = |values: Vec<f64>| {
                values
                    .into_iter()
                    .map(|usd| site.full_share * usd)
                    .collect::<Vec<f64>>()
            };
            let cost = |case: usize| {
                let (gross, net) = by_winter(assembly, &looks[case], &anyway, inputs.ranking, &season.calls);
                (full(gross), full(net))
            };
            let chance = |case: usize| site.full_share * mean(solved[case].iter().map(|winter| winter.p));
            let (gross_usd, net_usd) = cost(site.bare);
            let p = chance(site.bare);
            let offers = site
                .offers
                .iter()
                .map(|(kind, cost_usd, case)| {
                    let config = kind.config(&season.measures);
                    let in_place = in_place_share(*kind, season);
                    let (_, with) = cost(*case);
                    let saving = net_usd.iter().zip(&with);
                    let p_fitted = chance(*case);
                    OfferValue {
                        kind: *kind,
                        cost_usd: *cost_usd,
                        saving_usd: saving.map(|(bare, with)| (in_place * (bare - with)) as f32).collect(),
                        upkeep_usd: config.upkeep_usd,
                        annuity: annuity(
                            season.discount_rate,
                            config.life_years.unwrap_or(0.0).min(season.horizon_years),
                        ),
                        p_with: in_place * p_fitted + (1.0 - in_place) * p,
                    }
                })
                .collect();
            SiteValue {
                at: site.at,
                series: site.series,
                p,
                gross_usd,
                net_usd,
                offers,
            }
        })
        .collect()
}

/// The assemblies as the choice takes them, in the order of the sites. `weights` of winters by station; all once when empty.
pub fn items(values: &[SiteValue], inputs: &Inputs<'_>, weights: &[Vec<f32>]) -> Vec<Item> {
    let column = &inputs.season.district_column;
    values
        .par_iter()
        .map(|site| {
            let assembly = &inputs.assemblies[site.at];
            let weights: &[f32] = weights.get(site.series).map_or(&[], Vec::as_slice);
            let district = assembly
                .extra
                .iter()
                .find(|(name, _)| name.trim().eq_ignore_ascii_case(column))
                .map(|(_, value)| value.trim().to_owned());
            Item {
                id: assembly.assembly_id.to_string(),
                district: district.unwrap_or_default(),
                class: assembly.customer_class.word().to_owned(),
                critical: assembly.critical.is_some(),
                offers: site
                    .offers
                    .iter()
                    .map(|offer| Offer {
                        measure: offer.kind as usize,
                        cost_usd: offer.cost_usd,
                        benefit_usd: offer.benefit_usd(weights),
                    })
                    .collect(),
            }
        })
        .collect()
}

/// Words of the measures, by their index in an [`Offer`].
pub fn measure_words() -> Vec<String> {
    Kind::ALL.iter().map(|kind| kind.word().to_owned()).collect()
}

/// How many assemblies each measure is not offered to, by reason.
pub fn refusals(cases: &Cases) -> BTreeMap<(Kind, WhyNot), usize> {
    let mut counts = BTreeMap::new();
    for (kind, why) in cases.sites.iter().flat_map(|site| &site.refused) {
        *counts.entry((*kind, *why)).or_insert(0) += 1;
    }
    counts
}
