//! Two pages before the season: one for the manager, one for the council. Neither holds a name, number or address; the council's holds no
//! identifier either, since a list of exposed devices helps thieves.

use super::charts::Form;
use super::charts_season;
use super::council_summary::{LEAST_TOLD, two_figures};
use super::one_page::render;
use super::season::{rule_word, usd};
use super::season_folder::{Report, measure_words, reason, sentences};
use crate::faults::Fault;
use crate::language::Language;
use crate::season::answer::NEXT_USD;
use crate::season::measures::Kind;
use minijinja::{Value, context};
use std::collections::BTreeMap;

const MANAGER: &str = include_str!("templates/season_manager.html");
const COUNCIL: &str = include_str!("templates/season_council.html");

/// Offers on the manager's page.
const SHOWN: usize = 12;

/// Number and cost of the offers by measure.
fn by_measure(report: &Report<'_>) -> BTreeMap<Kind, (usize, u64, f64)> {
    let mut found: BTreeMap<Kind, (usize, u64, f64)> = BTreeMap::new();
    for line in report.lines().iter().filter(|line| line.status == "offer") {
        let sum = found.entry(line.kind).or_default();
        sum.0 += 1;
        sum.1 += line.cost_usd;
        sum.2 += line.benefit_usd;
    }
    found
}

fn capital(text: &str) -> String {
    let mut chars = text.chars();
    chars
        .next()
        .map_or(String::new(), |first| first.to_uppercase().chain(chars).collect())
}

/// The manager's page.
///
/// # Errors
/// `BW-O04` when it cannot be made.
pub fn manager(report: &Report<'_>) -> Result<String, Fault> {
    let answer = report.answer;
    let choice = &answer.choice;
    let lines = report.lines();
    let offers: Vec<Value> = lines
        .iter()
        .filter(|line| line.status == "offer")
        .take(SHOWN)
        .map(|line| {
            context! {
                rank => line.rank,
                id => line.assembly.assembly_id.as_str(),
                reason => reason(line, report.horizon(), Language::English),
                steady => line.steadiness.map_or(String::new(), |steady| {
                    format!("{} of {}", steady.chosen_in, report.drawn.map_or(0, |drawn| drawn.draws))
                }),
            }
        })
        .collect();
    let measures: Vec<Value> = by_measure(report)
        .into_iter()
        .map(|(kind, (count, cost, benefit))| {
            context! { name => capital(&measure_words(kind, Language::English)), count => count, cost => usd(cost as f64), benefit => usd(benefit) }
        })
        .collect();
    let rules: Vec<Value> = answer
        .prices
        .iter()
        .map(|(rule, share)| context! { rule => rule_word(rule), share => format!("{:.2}", 100.0 * share) })
        .collect();
    let curve: Vec<Value> = answer
        .curve
        .iter()
        .step_by(5)
        .map(|(budget, benefit)| context! { budget => usd(*budget as f64), benefit => usd(*benefit) })
        .collect();
    let offered = lines.iter().filter(|line| line.status == "offer").count();
    let interval = report.drawn.map_or(String::new(), |drawn| {
        format!("{} to {}", usd(drawn.benefit_usd.0), usd(drawn.benefit_usd.1))
    });
    render(
        "season_manager.html",
        MANAGER,
        context! {
            utility => report.config.utility.name.as_str(),
            budget => usd(answer.budget_usd as f64),
            spent => usd(choice.spent_usd as f64),
            offered => offered,
            reserve => lines.len() - offered,
            benefit => usd(choice.benefit_usd),
            interval => interval,
            horizon => format!("{:.0}", report.horizon()),
            shadow => format!("${:.2}", choice.shadow_price),
            next => usd(NEXT_USD as f64),
            next_saves => usd(answer.next_usd),
            told => sentences(report, Language::English),
            measures => measures,
            rules => rules,
            curve => curve,
            chart => charts_season::curve(answer, Form::Wide).unwrap_or_default(),
            chart_narrow => charts_season::curve(answer, Form::Narrow).unwrap_or_default(),
            offers => offers,
            rejected => report.rejects.len(),
            planning_aid => crate::PLANNING_AID,
        },
    )
}

/// A count, blurred when it is small.
fn told(count: usize) -> String {
    match count {
        0 => "none".into(),
        1..LEAST_TOLD => format!("under {LEAST_TOLD}"),
        n => n.to_string(),
    }
}

/// The council's page.
///
/// # Errors
/// `BW-O04` when it cannot be made.
pub fn council(report: &Report<'_>) -> Result<String, Fault> {
    let answer = report.answer;
    let measures: Vec<Value> = by_measure(report)
        .into_iter()
        .map(|(kind, (count, ..))| {
            context! { name => capital(&measure_words(kind, Language::English)), count => told(count) }
        })
        .collect();
    let offered = answer.chosen().len();
    let (_, net) = report.yearly_usd();
    let about = |value: f64| usd(two_figures(value));
    let (low, high) = report.drawn.map_or((0.0, 0.0), |drawn| drawn.benefit_usd);
    let warming: Vec<String> = report
        .warming
        .iter()
        .map(|warming| warming.words(Language::English, report.us))
        .collect();
    render(
        "season_council.html",
        COUNCIL,
        context! {
            utility => report.config.utility.name.as_str(),
            budget => usd(answer.budget_usd as f64),
            all => told(report.values.len()),
            offered => told(offered),
            yearly => about(net),
            benefit => about(answer.choice.benefit_usd),
            interval => if report.drawn.is_some() { format!("{} to {}", about(low), about(high)) } else { String::new() },
            horizon => format!("{:.0}", report.horizon()),
            measures => measures,
            warming => warming,
            chart => charts_season::curve(answer, Form::Wide).unwrap_or_default(),
            chart_narrow => charts_season::curve(answer, Form::Narrow).unwrap_or_default(),
            least => LEAST_TOLD,
            planning_aid => crate::PLANNING_AID,
        },
    )
}
