//! The best choice of all, where the case is small: dynamic programming over whole dollars.
//!
//! Dollars are counted in the largest step that divides all costs. With floors the tables of the groups are made one by one, each for
//! every sum that it can spend to the dollar, and joined.

use super::rules::{self, Rule};
use super::{Item, Offer};

/// Bytes of tables that are allowed (judgement: some seconds of work at most).
const MOST_CELLS: usize = 100_000_000;
/// Comparisons that joining groups may take.
const MOST_JOINS: usize = 1_500_000_000;
const NOTHING: u8 = u8::MAX;

/// The best pick, `[items]`; `None` where the case is too large, has several floor rules, or no pick keeps the rules.
pub fn choose(items: &[Item], budget_usd: u64, rules: &[Rule]) -> Option<Vec<Option<usize>>> {
    let critical = rules.contains(&Rule::CriticalFirst);
    let mut with_floors = rules.iter().filter_map(|rule| rules::floors(items, budget_usd, rule));
    let floors = with_floors.next();
    if with_floors.next().is_some() || items.iter().any(|item| item.offers.len() >= usize::from(NOTHING)) {
        return None;
    }
    let unit = unit_usd(items);
    let useful: u64 = items.iter().map(dearest).fold(0, u64::saturating_add);
    let width = usize::try_from(budget_usd.min(useful) / unit).ok()?;
    let groups = floors.as_ref().map_or(1, |(floors, _)| floors.len());
    let cells = width.checked_add(1)?.checked_mul(items.len())?;
    let joins = width.checked_mul(width)?.checked_mul(groups.saturating_sub(1))?;
    if cells > MOST_CELLS || joins > MOST_JOINS {
        return None;
    }
    let tables: Vec<Table> = (0..groups)
        .map(|group| {
            let members: Vec<usize> = (0..items.len())
                .filter(|at| floors.as_ref().is_none_or(|(_, of)| of[*at] == group))
                .collect();
            let least_usd = floors.as_ref().map_or(0.0, |(floors, _)| floors[group].usd);
            let least = (least_usd / unit as f64 - 1e-9).ceil().max(0.0) as usize;
            Table::of(items, members, unit, width, critical, least)
        })
        .collect();
    join(items, &tables, unit, width)
}

fn dearest(item: &Item) -> u64 {
    item.offers.iter().map(|offer| offer.cost_usd).max().unwrap_or(0)
}

fn unit_usd(items: &[Item]) -> u64 {
    let gcd = |mut a: u64, mut b: u64| {
        while b != 0 {
            (a, b) = (b, a % b);
        }
        a
    };
    let costs = items.iter().flat_map(|item| &item.offers).map(|offer| offer.cost_usd);
    costs.fold(0, gcd).max(1)
}

/// The best of one group for every sum spent to the dollar.
struct Table {
    members: Vec<usize>,
    /// Saving at each sum, −∞ where it cannot be spent.
    best: Vec<f64>,
    /// Offer of each member at each sum, `[members][sums]`.
    offer: Vec<Vec<u8>>,
    /// Least sum that counts.
    least: usize,
}

impl Table {
    fn of(items: &[Item], members: Vec<usize>, unit: u64, width: usize, critical: bool, least: usize) -> Self {
        let mut best = vec![f64::NEG_INFINITY; width + 1];
        best[0] = 0.0;
        let mut top = 0;
        let mut offer = Vec::with_capacity(members.len());
        for &at in &members {
            let item = &items[at];
            let must = critical && item.critical && rules::least_offer(item).is_some();
            let mut next = if must {
                vec![f64::NEG_INFINITY; width + 1]
            } else {
                best.clone()
            };
            let mut told = vec![NOTHING; width + 1];
            for (
                k,
                Offer {
                    cost_usd, benefit_usd, ..
                },
            ) in item.offers.iter().enumerate()
            {
                let cost = usize::try_from(cost_usd / unit).unwrap_or(usize::MAX);
                if *benefit_usd <= 0.0 || cost > width {
                    continue;
                }
                for from in 0..=top.min(width - cost) {
                    let value = best[from] + benefit_usd;
                    if value > next[from + cost] {
                        next[from + cost] = value;
                        told[from + cost] = k as u8;
                    }
                }
            }
            top = (top + usize::try_from(dearest(item) / unit).unwrap_or(width)).min(width);
            best = next;
            offer.push(told);
        }
        Self {
            members,
            best,
            offer,
            least,
        }
    }

    /// Writes the offers behind the best at a sum.
    fn trace(&self, items: &[Item], unit: u64, mut sum: usize, pick: &mut [Option<usize>]) -> Option<()> {
        for (member, told) in self.members.iter().zip(&self.offer).rev() {
            let offer = told[sum];
            if offer != NOTHING {
                let offer = usize::from(offer);
                pick[*member] = Some(offer);
                sum = sum.checked_sub(usize::try_from(items[*member].offers[offer].cost_usd / unit).ok()?)?;
            }
        }
        (sum == 0).then_some(())
    }
}

fn join(items: &[Item], tables: &[Table], unit: u64, width: usize) -> Option<Vec<Option<usize>>> {
    let mut all = vec![f64::NEG_INFINITY; width + 1];
    all[0] = 0.0;
    let mut shares: Vec<Vec<u32>> = Vec::with_capacity(tables.len());
    for table in tables {
        let mut next = vec![f64::NEG_INFINITY; width + 1];
        let mut share = vec![0_u32; width + 1];
        for before in (0..=width).filter(|sum| all[*sum].is_finite()) {
            for own in table.least..=(width - before).max(table.least).min(width) {
                if before + own > width {
                    break;
                }
                let value = all[before] + table.best[own];
                if value > next[before + own] {
                    next[before + own] = value;
                    share[before + own] = own as u32;
                }
            }
        }
        all = next;
        shares.push(share);
    }
    // The cheapest of equals.
    let mut sum = (0..=width).fold(0, |best, sum| if all[sum] > all[best] { sum } else { best });
    if !all[sum].is_finite() {
        return None;
    }
    let mut pick = vec![None; items.len()];
    for (table, share) in tables.iter().zip(&shares).rev() {
        let own = share[sum] as usize;
        table.trace(items, unit, own, &mut pick)?;
        sum -= own;
    }
    Some(pick)
}
