//! Rules beside money: a floor for each district or class, something for every critical assembly.

use super::hull::{self, Increments, Step};
use super::{Impossible, Item, Offer};

/// A rule that the utility sets.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Rule {
    /// Each district gets at least this share (0 to 1) of its part of the budget, its part being that of its assemblies.
    DistrictFloor(f64),
    /// The same for each customer class.
    ClassFloor(f64),
    /// Every critical assembly gets something.
    CriticalFirst,
}

/// What a group is to have at least.
#[derive(Debug, Clone, PartialEq)]
pub struct Floor {
    /// The rule, in a word: `district` or `class`.
    pub of: &'static str,
    /// Name of the group.
    pub group: String,
    /// Dollars.
    pub usd: f64,
}

/// The groups of a floor rule and which item is in which; `None` for other rules.
pub(super) fn floors(items: &[Item], budget_usd: u64, rule: &Rule) -> Option<(Vec<Floor>, Vec<usize>)> {
    let (of, share, name): (_, _, fn(&Item) -> &str) = match rule {
        Rule::DistrictFloor(share) => ("district", *share, |item| &item.district),
        Rule::ClassFloor(share) => ("class", *share, |item| &item.class),
        Rule::CriticalFirst => return None,
    };
    let mut names: Vec<&str> = items.iter().map(name).collect();
    names.sort_unstable();
    names.dedup();
    let group: Vec<usize> = items
        .iter()
        .map(|item| names.binary_search(&name(item)).unwrap_or(0))
        .collect();
    let mut counts = vec![0_usize; names.len()];
    let mut useful = vec![0_u64; names.len()];
    for (item, &group) in items.iter().zip(&group) {
        counts[group] += 1;
        useful[group] += most_useful_usd(item);
    }
    let floors = names
        .iter()
        .enumerate()
        .map(|(at, name)| Floor {
            of,
            group: (*name).to_owned(),
            // No group is made to spend more than its useful measures cost.
            usd: (share.clamp(0.0, 1.0) * budget_usd as f64 * counts[at] as f64 / items.len() as f64)
                .min(useful[at] as f64),
        })
        .collect();
    Some((floors, group))
}

/// Cost of the dearest measure that saves anything.
fn most_useful_usd(item: &Item) -> u64 {
    let useful = item.offers.iter().filter(|offer| offer.benefit_usd > 0.0);
    useful.map(|offer| offer.cost_usd).max().unwrap_or(0)
}

/// The cheapest offer that a critical item can be given: among those that save something, else none is asked of it.
pub(super) fn least_offer(item: &Item) -> Option<(usize, &Offer)> {
    let useful = item
        .offers
        .iter()
        .enumerate()
        .filter(|(_, offer)| offer.benefit_usd > 0.0);
    useful.min_by(|a, b| {
        let (x, y) = (a.1, b.1);
        x.cost_usd
            .cmp(&y.cost_usd)
            .then(y.benefit_usd.total_cmp(&x.benefit_usd))
    })
}

struct Run<'a> {
    left: u64,
    pick: Vec<Option<usize>>,
    stage: Vec<u32>,
    floors: &'a [(Vec<Floor>, Vec<usize>)],
    spent: Vec<Vec<u64>>,
}

impl Run<'_> {
    fn pay(&mut self, item: usize, cost_usd: u64) {
        self.left -= cost_usd;
        for ((_, group), spent) in self.floors.iter().zip(&mut self.spent) {
            spent[group[item]] += cost_usd;
        }
    }

    fn owed(&self, rule: usize, group: usize) -> f64 {
        (self.floors[rule].0[group].usd - self.spent[rule][group] as f64).max(0.0)
    }

    fn is_owed(&self, item: usize) -> bool {
        (0..self.floors.len()).any(|rule| self.owed(rule, self.floors[rule].1[item]) > 0.0)
    }

    /// Dollars that must be kept for the other groups' floors while this item is paid for.
    fn kept_back(&self, item: usize) -> f64 {
        let others = |rule: usize| -> f64 {
            let (floors, group) = &self.floors[rule];
            (0..floors.len())
                .filter(|at| *at != group[item])
                .map(|at| self.owed(rule, at))
                .sum()
        };
        (0..self.floors.len()).map(others).fold(0.0, f64::max)
    }

    fn try_step(&mut self, step: &Step, keep_back: bool) -> bool {
        let item = step.item as usize;
        let kept = if keep_back { self.kept_back(item) } else { 0.0 };
        if self.stage[item] != step.nth || step.cost_usd as f64 > self.left as f64 - kept {
            return false;
        }
        self.pay(item, step.cost_usd);
        self.pick[item] = Some(step.offer as usize);
        self.stage[item] += 1;
        true
    }
}

/// A pick and the floors that it misses, with the dollars missing.
pub(super) type Kept = (Vec<Option<usize>>, Vec<(Floor, f64)>);

/// Takes increments under the rules: first what every critical assembly must have, then each group's own best until its floor is
/// reached, then the best anywhere. Within a group the order is that of saving per dollar, so that a floor costs as little as it can.
pub(super) fn take(items: &[Item], all: &Increments, budget_usd: u64, rules: &[Rule]) -> Result<Kept, Impossible> {
    let found: Vec<(Vec<Floor>, Vec<usize>)> = rules
        .iter()
        .filter_map(|rule| floors(items, budget_usd, rule))
        .collect();
    let critical = rules.contains(&Rule::CriticalFirst);
    let mut run = Run {
        left: budget_usd,
        pick: all.free.clone(),
        stage: vec![0; items.len()],
        spent: found.iter().map(|(floors, _)| vec![0; floors.len()]).collect(),
        floors: &found,
    };
    let mut own: Option<Vec<Step>> = None;
    if critical {
        let must: Vec<(usize, usize, u64)> = items
            .iter()
            .enumerate()
            .filter(|(at, item)| item.critical && all.free[*at].is_none())
            .filter_map(|(at, item)| least_offer(item).map(|(offer, least)| (at, offer, least.cost_usd)))
            .collect();
        let need: u64 = must.iter().map(|must| must.2).sum();
        if need > budget_usd {
            return Err(Impossible::CriticalNeed(need));
        }
        // Their hulls go on from what they must have.
        let is_must: std::collections::BTreeSet<u32> = must.iter().map(|must| must.0 as u32).collect();
        let mut steps: Vec<Step> = all
            .steps
            .iter()
            .filter(|s| !is_must.contains(&s.item))
            .copied()
            .collect();
        for &(at, offer, cost_usd) in &must {
            run.pay(at, cost_usd);
            run.pick[at] = Some(offer);
            let from = &items[at].offers[offer];
            hull::hull_from(&items[at], at, (from.cost_usd, from.benefit_usd), &mut steps);
        }
        hull::sort(&mut steps, &hull::ranks(items));
        own = Some(steps);
    }
    let steps = own.as_deref().unwrap_or(&all.steps);
    if !found.is_empty() {
        for step in steps {
            if run.is_owed(step.item as usize) {
                run.try_step(step, true);
            }
        }
    }
    for step in steps {
        run.try_step(step, false);
    }
    let missed = (0..found.len())
        .flat_map(|rule| (0..found[rule].0.len()).map(move |group| (rule, group)))
        .filter(|&(rule, group)| run.owed(rule, group) > 0.005)
        .map(|(rule, group)| (found[rule].0[group].clone(), run.owed(rule, group)))
        .collect();
    Ok((run.pick, missed))
}
