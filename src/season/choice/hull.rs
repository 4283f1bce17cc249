//! The hull of each assembly's offers, and all hulls' increments in order of saving per dollar.
//!
//! On the upper convex hull of (cost, saving) each further dollar saves less than the one before, so taking increments in order
//! of saving per dollar never takes a later one of an assembly before an earlier. Filling the budget so is the optimum of the relaxed
//! problem up to the first increment that does not fit, which gives the bound and the price of the last dollar
//! \[kellerer-pferschy-pisinger-2004\].

use super::Item;

/// A step along the hull of one assembly.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Step {
    /// Saving per dollar.
    pub per_usd: f64,
    /// Dollars more.
    pub cost_usd: u64,
    /// Saving more, US dollars.
    pub benefit_usd: f64,
    /// The item.
    pub item: u32,
    /// Which step of its item: 0 is the first.
    pub nth: u32,
    /// Offer of the item that stands after the step.
    pub offer: u32,
}

/// All steps of all items, the largest saving per dollar first; equal ones by identifier.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Increments {
    /// The steps.
    pub steps: Vec<Step>,
    /// What each item has at no cost, `[items]`.
    pub free: Vec<Option<usize>>,
    /// Sum of what is saved at no cost, US dollars.
    pub free_benefit_usd: f64,
    /// What all steps together cost, US dollars.
    pub all_usd: u64,
}

/// What a budget takes of the increments.
#[derive(Debug, Clone, PartialEq)]
pub struct Taken {
    /// Offer of each item, `[items]`.
    pub pick: Vec<Option<usize>>,
    /// Sum of savings, US dollars.
    pub benefit_usd: f64,
    /// Dollars spent.
    pub spent_usd: u64,
    /// No choice saves more, US dollars.
    pub bound_usd: f64,
    /// Saving of the first dollar that is not there; 0 where all fits.
    pub shadow_price: f64,
}

impl Increments {
    /// The increments of all items.
    pub fn of(items: &[Item]) -> Self {
        let rank = ranks(items);
        let mut steps = Vec::new();
        let mut free = Vec::with_capacity(items.len());
        let mut free_benefit_usd = 0.0;
        for (at, item) in items.iter().enumerate() {
            let base = at_no_cost(item);
            free_benefit_usd += base.map_or(0.0, |offer| item.offers[offer].benefit_usd);
            free.push(base);
            hull_from(
                item,
                at,
                (0, base.map_or(0.0, |offer| item.offers[offer].benefit_usd)),
                &mut steps,
            );
        }
        sort(&mut steps, &rank);
        Self {
            all_usd: steps.iter().map(|step| step.cost_usd).sum(),
            steps,
            free,
            free_benefit_usd,
        }
    }

    /// Takes steps while the money lasts; what does not fit is passed over, and the rest of its assembly's hull with it.
    pub fn take(&self, budget_usd: u64) -> Taken {
        let mut pick = self.free.clone();
        let mut passed = vec![false; pick.len()];
        let (mut left, mut benefit_usd) = (budget_usd, self.free_benefit_usd);
        let mut bound: Option<(f64, f64)> = None;
        for step in &self.steps {
            let item = step.item as usize;
            if step.cost_usd > left && bound.is_none() {
                bound = Some((benefit_usd + step.per_usd * left as f64, step.per_usd));
            }
            if passed[item] {
                continue;
            }
            if step.cost_usd <= left {
                pick[item] = Some(step.offer as usize);
                left -= step.cost_usd;
                benefit_usd += step.benefit_usd;
            } else {
                passed[item] = true;
            }
        }
        let (bound_usd, shadow_price) = bound.unwrap_or((benefit_usd, 0.0));
        Taken {
            pick,
            benefit_usd,
            spent_usd: budget_usd - left,
            bound_usd,
            shadow_price,
        }
    }
}

/// Order of the items by identifier, `[items]`.
pub(super) fn ranks(items: &[Item]) -> Vec<u32> {
    let mut order: Vec<u32> = (0..items.len() as u32).collect();
    order.sort_by(|&a, &b| items[a as usize].id.cmp(&items[b as usize].id).then(a.cmp(&b)));
    let mut rank = vec![0; items.len()];
    for (place, &item) in order.iter().enumerate() {
        rank[item as usize] = place as u32;
    }
    rank
}

pub(super) fn sort(steps: &mut [Step], rank: &[u32]) {
    steps.sort_unstable_by(|a, b| {
        let place = |step: &Step| rank[step.item as usize];
        b.per_usd
            .total_cmp(&a.per_usd)
            .then_with(|| place(a).cmp(&place(b)))
            .then(a.nth.cmp(&b.nth))
    });
}

/// The best offer that costs nothing, if any saves something.
fn at_no_cost(item: &Item) -> Option<usize> {
    let free = item.offers.iter().enumerate();
    free.filter(|(_, offer)| offer.cost_usd == 0 && offer.benefit_usd > 0.0)
        .max_by(|a, b| a.1.benefit_usd.total_cmp(&b.1.benefit_usd).then(b.0.cmp(&a.0)))
        .map(|(at, _)| at)
}

/// Adds the hull of one item from a point (dollars, saving) on.
pub(super) fn hull_from(item: &Item, at: usize, from: (u64, f64), steps: &mut Vec<Step>) {
    let mut points: Vec<(u64, f64, u32)> = item
        .offers
        .iter()
        .enumerate()
        .filter(|(_, offer)| offer.cost_usd > from.0 && offer.benefit_usd > from.1)
        .map(|(k, offer)| (offer.cost_usd, offer.benefit_usd, k as u32))
        .collect();
    points.sort_unstable_by(|a, b| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)).then(a.2.cmp(&b.2)));
    let mut hull: Vec<(u64, f64, u32)> = vec![(from.0, from.1, u32::MAX)];
    let slope = |a: &(u64, f64, u32), b: &(u64, f64, u32)| (b.1 - a.1, (b.0 - a.0) as f64);
    for point in points {
        if hull.last().is_some_and(|last| point.1 <= last.1) {
            continue;
        }
        while let [.., before, last] = hull.as_slice() {
            let ((rise, run), (rise_before, run_before)) = (slope(last, &point), slope(before, last));
            if rise * run_before < rise_before * run {
                break;
            }
            hull.pop();
        }
        hull.push(point);
    }
    for (nth, pair) in hull.windows(2).enumerate() {
        let (rise, run) = slope(&pair[0], &pair[1]);
        steps.push(Step {
            per_usd: rise / run,
            cost_usd: pair[1].0 - pair[0].0,
            benefit_usd: rise,
            item: at as u32,
            nth: nth as u32,
            offer: pair[1].2,
        });
    }
}
