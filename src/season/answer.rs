//! The answer to "who gets what": the choice with its bound, its price of rules, its curve and its order of offers.

use super::choice::hull::Increments;
use super::choice::{self, Choice, Impossible, Item, Rule};
use crate::faults::{Fault, Faults, Severity};

/// Points of the curve (judgement: a smooth line on a page).
const CURVE_POINTS: usize = 41;
/// The step that the manager asks about, US dollars.
pub const NEXT_USD: u64 = 1_000;

/// What is chosen and what a manager asks about it.
#[derive(Debug, Clone, PartialEq)]
pub struct Answer {
    /// Money there is, whole US dollars.
    pub budget_usd: u64,
    /// Words of the measures.
    pub measures: Vec<String>,
    /// The assemblies with their offers.
    pub items: Vec<Item>,
    /// The choice.
    pub choice: Choice,
    /// What each rule costs, as a share of the saving.
    pub prices: Vec<(Rule, f64)>,
    /// Saving against money, US dollars.
    pub curve: Vec<(u64, f64)>,
    /// What [`NEXT_USD`] more would save beside the printed choice, US dollars.
    pub next_usd: f64,
}

impl Answer {
    /// Chooses and tells what belongs to it.
    ///
    /// # Errors
    /// `BW-B07` the money does not reach for every critical assembly (fatal).
    pub fn of(
        measures: Vec<String>,
        items: Vec<Item>,
        budget_usd: u64,
        rules: &[Rule],
    ) -> Result<(Self, Faults), Fault> {
        let increments = Increments::of(&items);
        let found = choice::choose_from(&items, &increments, budget_usd, rules);
        let choice = found.map_err(|Impossible::CriticalNeed(need)| {
            Fault::new(
                "BW-B07",
                Severity::Fatal,
                "the money does not reach for every critical assembly",
            )
            .column("--budget")
            .value(&budget_usd.to_string())
            .expected(format!(
                "at least {need} US dollars: the cheapest useful measure for each"
            ))
            .remedy("Raise the budget, or leave --critical-first out.")
        })?;
        // Against the choice that is printed, made the same way: the difference between two hull points is another question.
        let more = choice::choose_from(&items, &increments, budget_usd.saturating_add(NEXT_USD), rules);
        let next_usd = more.map_or(0.0, |more| (more.benefit_usd - choice.benefit_usd).max(0.0));
        let mut faults = Faults::new();
        for (floor, missing) in &choice.missed {
            faults.push(
                Fault::new(
                    "BW-B08",
                    Severity::Warning,
                    format!(
                        "the floor of {} {} is missed by {missing:.0} US dollars",
                        floor.of, floor.group
                    ),
                )
                .column("--floor")
                .expected(format!("{:.0} US dollars", floor.usd))
                .remedy("Its measures do not divide the money more finely; lower the floor or raise the budget."),
            );
        }
        if increments.all_usd < budget_usd {
            faults.push(
                Fault::new(
                    "BW-B02",
                    Severity::Note,
                    "the money is more than all useful measures cost together",
                )
                .column("--budget")
                .value(&budget_usd.to_string())
                .expected(format!("up to {} US dollars", increments.all_usd)),
            );
        }
        let prices = choice::price_of_rules(&items, &increments, budget_usd, rules);
        let most = increments.all_usd.min(budget_usd.saturating_mul(3).max(NEXT_USD));
        Ok((
            Self {
                budget_usd,
                measures,
                choice,
                prices,
                curve: choice::curve(&increments, most, CURVE_POINTS),
                next_usd,
                items,
            },
            faults,
        ))
    }

    /// Places of the chosen in `items`, the largest saving per dollar first; equal ones by identifier.
    pub fn chosen(&self) -> Vec<(usize, usize)> {
        let mut chosen: Vec<(usize, usize)> = self
            .choice
            .pick
            .iter()
            .enumerate()
            .filter_map(|(item, offer)| Some((item, (*offer)?)))
            .collect();
        self.by_worth(&mut chosen);
        chosen
    }

    /// Sorts offers by saving per dollar, the largest first; equal ones by identifier.
    pub fn by_worth(&self, offers: &mut [(usize, usize)]) {
        let worth = |at: &(usize, usize)| {
            let offer = self.items[at.0].offers[at.1];
            offer.benefit_usd / (offer.cost_usd.max(1) as f64)
        };
        offers.sort_by(|a, b| {
            worth(b)
                .total_cmp(&worth(a))
                .then_with(|| self.items[a.0].id.cmp(&self.items[b.0].id))
        });
    }
}

/// Reads a budget as people write it: `20000`, `$20,000`.
///
/// # Errors
/// `BW-B01` when it is no sum of whole dollars, or below zero (fatal).
pub fn budget(typed: &str) -> Result<u64, Fault> {
    let plain: String = typed.chars().filter(|c| !matches!(c, '$' | ',' | ' ' | '_')).collect();
    let usd = plain.parse::<f64>().ok();
    usd.filter(|usd| (0.0..=super::choices_table::MOST_USD).contains(usd))
        .map(|usd| usd.floor() as u64)
        .ok_or_else(|| {
            Fault::new("BW-B01", Severity::Fatal, "this is no budget")
                .column("--budget")
                .value(typed)
                .expected("US dollars, 0 or more")
                .remedy("Give the sum as a plain number, such as 20000.")
        })
}

/// Reads a floor, a share of each group's part.
///
/// # Errors
/// `BW-B09` when it is no share from 0 to 1 (fatal).
pub fn floor(name: &'static str, share: f64) -> Result<f64, Fault> {
    if (0.0..=1.0).contains(&share) {
        Ok(share)
    } else {
        Err(Fault::new("BW-B09", Severity::Fatal, "this is no share")
            .column(name)
            .value(&share.to_string())
            .expected("0 to 1, such as 0.95"))
    }
}
