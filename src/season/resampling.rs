//! How much the choice hangs on which winters the record happens to hold: the choice again on winters drawn anew.

use super::answer::Answer;
use super::choice::hull::Increments;
use super::choice::{Rule, along_hulls};
use super::exposure::StationYears;
use super::programme::{Inputs, SiteValue, items};
use super::yearly::{TAIL, mean, resamples};
use rayon::prelude::*;
use std::collections::BTreeMap;

/// Draws of the winters (judgement: "n of 200" is as fine as people read).
pub const DRAWS: usize = 200;

/// A chosen offer on winters drawn anew.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Steadiness {
    /// In how many of the draws the same measure is chosen for the same assembly.
    pub chosen_in: usize,
    /// 90 % interval of what it saves over the horizon, US dollars.
    pub interval_usd: (f64, f64),
}

/// What the draws say.
#[derive(Debug, Clone, PartialEq)]
pub struct Resampled {
    /// Draws.
    pub draws: usize,
    /// By item and offer of the printed choice.
    pub of: BTreeMap<(usize, usize), Steadiness>,
    /// 90 % interval of what the printed choice saves, US dollars.
    pub benefit_usd: (f64, f64),
    /// 90 % interval of the programme's yearly loss net of calls, US dollars.
    pub yearly_loss_usd: (f64, f64),
}

/// Mean yearly loss of all, US dollars, with weights of winters by station.
fn yearly_loss(values: &[SiteValue], weights: &[Vec<f32>]) -> f64 {
    values
        .iter()
        .map(|site| match weights.get(site.series) {
            None => mean(&site.net_usd),
            Some(weights) => {
                let (sum, n) = site.net_usd.iter().zip(weights).fold((0.0, 0.0), |(sum, n), (usd, w)| {
                    (sum + usd * f64::from(*w), n + f64::from(*w))
                });
                if n > 0.0 { sum / n } else { 0.0 }
            }
        })
        .sum()
}

fn interval(mut values: Vec<f64>) -> (f64, f64) {
    values.sort_by(f64::total_cmp);
    let at = |q| crate::weather::gev::sorted_quantile(&values, q);
    (at(TAIL), at(1.0 - TAIL))
}

/// Draws whole winters, the same for all stations, and chooses again. `None` below two winters, where there is nothing to draw.
pub fn resampled(
    values: &[SiteValue],
    inputs: &Inputs<'_>,
    answer: &Answer,
    rules: &[Rule],
    stations: &[StationYears],
    seed: u64,
) -> Option<Resampled> {
    let mut seasons: Vec<i32> = stations
        .iter()
        .flat_map(|years| years.seasons.iter().copied())
        .collect();
    seasons.sort_unstable();
    seasons.dedup();
    if seasons.len() < 2 {
        return None;
    }
    let chosen = answer.chosen();
    let draws: Vec<(Vec<(bool, f64)>, f64, f64)> = resamples(seasons.len(), DRAWS, seed)
        .par_iter()
        .map(|counts| {
            let weights: Vec<Vec<f32>> = stations
                .iter()
                .map(|years| {
                    years
                        .seasons
                        .iter()
                        .map(|season| seasons.binary_search(season).map_or(0.0, |at| counts[at] as f32))
                        .collect()
                })
                .collect();
            let items = items(values, inputs, &weights);
            let again = along_hulls(&items, &Increments::of(&items), answer.budget_usd, rules);
            let each: Vec<(bool, f64)> = chosen
                .iter()
                .map(|(item, offer)| {
                    let same = again.as_ref().is_ok_and(|again| again.pick[*item] == Some(*offer));
                    (same, items[*item].offers[*offer].benefit_usd)
                })
                .collect();
            let benefit = each.iter().map(|one| one.1).sum();
            (each, benefit, yearly_loss(values, &weights))
        })
        .collect();
    let of = chosen
        .iter()
        .enumerate()
        .map(|(at, key)| {
            let steadiness = Steadiness {
                chosen_in: draws.iter().filter(|draw| draw.0[at].0).count(),
                interval_usd: interval(draws.iter().map(|draw| draw.0[at].1).collect()),
            };
            (*key, steadiness)
        })
        .collect();
    Some(Resampled {
        draws: DRAWS,
        of,
        benefit_usd: interval(draws.iter().map(|draw| draw.1).collect()),
        yearly_loss_usd: interval(draws.iter().map(|draw| draw.2).collect()),
    })
}
