//! Who gets what under a budget: one measure an assembly at most, largest saving that the money buys.
//!
//! The multiple-choice knapsack \[sinha-zoltners-1979\]. Quick and within a hair of the best at any size: increments along each
//! assembly's hull in order of saving per dollar ([`hull`]). Exact where the case is small ([`exact`]). Both keep to the rules that the
//! utility sets ([`rules`]).

pub mod exact;
pub mod hull;
pub mod rules;

use hull::Increments;
pub use rules::{Floor, Rule};

/// One measure that may be offered for an assembly.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Offer {
    /// Index of the measure.
    pub measure: usize,
    /// What it costs the programme, whole US dollars.
    pub cost_usd: u64,
    /// What it saves over the horizon, US dollars.
    pub benefit_usd: f64,
}

/// One assembly with all that may be offered for it.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Item {
    /// Its identifier: equal savings per dollar are ordered by it.
    pub id: String,
    /// District, empty when not told.
    pub district: String,
    /// Customer class, empty when not told.
    pub class: String,
    /// Whether it stands before somebody who cannot be without water.
    pub critical: bool,
    /// Its offers, in the order of the measures.
    pub offers: Vec<Offer>,
}

/// What was chosen.
#[derive(Debug, Clone, PartialEq)]
pub struct Choice {
    /// Index into each item's offers, `[items]`; `None` where it gets nothing.
    pub pick: Vec<Option<usize>>,
    /// Sum of what is saved, US dollars.
    pub benefit_usd: f64,
    /// Sum of what is spent, whole US dollars.
    pub spent_usd: u64,
    /// No choice under this budget saves more, US dollars.
    pub bound_usd: f64,
    /// What the next dollar saves, US dollars; 0 where the money does not run out.
    pub shadow_price: f64,
    /// Whether no choice is better.
    pub exact: bool,
    /// Floors that were not reached, with what is missing, US dollars.
    pub missed: Vec<(Floor, f64)>,
}

/// Why there is no choice.
#[derive(Debug, Clone, PartialEq)]
pub enum Impossible {
    /// The critical assemblies alone need so much, whole US dollars.
    CriticalNeed(u64),
}

/// Chooses under a budget: exactly where that is quick, else along the hulls.
///
/// # Errors
/// When the rules cannot be kept with the money.
pub fn choose(items: &[Item], budget_usd: u64, rules: &[Rule]) -> Result<Choice, Impossible> {
    let increments = Increments::of(items);
    choose_from(items, &increments, budget_usd, rules)
}

/// As [`choose`], from increments made before.
///
/// # Errors
/// When the rules cannot be kept with the money.
pub fn choose_from(
    items: &[Item],
    increments: &Increments,
    budget_usd: u64,
    rules: &[Rule],
) -> Result<Choice, Impossible> {
    let quick = along_hulls(items, increments, budget_usd, rules)?;
    if quick.exact {
        return Ok(quick);
    }
    Ok(match exact::choose(items, budget_usd, rules) {
        Some(pick) => sum_up(items, pick, &quick, true),
        None => quick,
    })
}

/// Chooses along the hulls only: quick at any size.
///
/// # Errors
/// When the rules cannot be kept with the money.
pub fn along_hulls(
    items: &[Item],
    increments: &Increments,
    budget_usd: u64,
    rules: &[Rule],
) -> Result<Choice, Impossible> {
    let free = increments.take(budget_usd);
    let (pick, missed) = if rules.is_empty() {
        (free.pick, Vec::new())
    } else {
        rules::take(items, increments, budget_usd, rules)?
    };
    let (benefit_usd, spent_usd) = sums(items, &pick);
    // Everything worth having was bought: nothing is better, whatever the rules.
    let exact = rules.is_empty() && (free.bound_usd - benefit_usd).abs() <= 1e-9 * free.bound_usd.abs();
    Ok(Choice {
        pick,
        benefit_usd,
        spent_usd,
        bound_usd: free.bound_usd.max(benefit_usd),
        shadow_price: free.shadow_price,
        exact,
        missed,
    })
}

fn sum_up(items: &[Item], pick: Vec<Option<usize>>, quick: &Choice, exact: bool) -> Choice {
    let (benefit_usd, spent_usd) = sums(items, &pick);
    Choice {
        pick,
        benefit_usd,
        spent_usd,
        exact,
        missed: Vec::new(),
        ..quick.clone()
    }
}

/// What a pick saves and costs.
pub fn sums(items: &[Item], pick: &[Option<usize>]) -> (f64, u64) {
    items
        .iter()
        .zip(pick)
        .filter_map(|(item, pick)| item.offers.get((*pick)?))
        .fold((0.0, 0), |(benefit, cost), offer| {
            (benefit + offer.benefit_usd, cost + offer.cost_usd)
        })
}

/// What each rule costs: the share of the saving that goes when it is kept alone, and when all are kept.
///
/// The price of fairness \[bertsimas-farias-trichakis-2011\]. Rules that the money cannot keep have none.
pub fn price_of_rules(items: &[Item], increments: &Increments, budget_usd: u64, rules: &[Rule]) -> Vec<(Rule, f64)> {
    let value = |rules: &[Rule]| choose_from(items, increments, budget_usd, rules).map(|choice| choice.benefit_usd);
    let Ok(free) = value(&[]) else { return Vec::new() };
    rules
        .iter()
        .filter_map(|rule| {
            let kept = value(std::slice::from_ref(rule)).ok()?;
            let share = if free > 0.0 { 1.0 - kept / free } else { 0.0 };
            Some((*rule, share))
        })
        .collect()
}

/// A curve of saving against money: `points` budgets from 0 to `most_usd`, along the hulls.
pub fn curve(increments: &Increments, most_usd: u64, points: usize) -> Vec<(u64, f64)> {
    let last = points.max(2) - 1;
    (0..=last)
        .map(|k| (u128::from(most_usd) * k as u128 / last as u128) as u64)
        .map(|budget| (budget, increments.take(budget).benefit_usd))
        .collect()
}
