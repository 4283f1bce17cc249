//! One page for the manager: what is at risk, what the plan reaches, what it avoids. No names, numbers or addresses.

use super::charts::Form;
use super::charts_outreach::{self, dollars};
use super::outreach_files::Campaign;
use crate::faults::Fault;
use crate::ranking::Tier;
use crate::review::total::Total;
use chrono::{DateTime, Utc};
use minijinja::{Value, context};

const PAGE: &str = include_str!("templates/manager_summary.html");

/// How many assemblies stand in each tier, in a sentence.
fn tiers(campaign: &Campaign<'_>) -> String {
    let [first, next, message, _] =
        Tier::ALL.map(|tier| campaign.ranked.iter().filter(|line| line.tier == tier).count());
    if campaign.over {
        format!(
            "{first} were to call first, {next} to call next, {message} to message, of {} looked at.",
            campaign.ranked.len()
        )
    } else {
        format!(
            "{first} to call first, {next} to call next, {message} to message, of {} looked at.",
            campaign.ranked.len()
        )
    }
}

/// The page.
///
/// # Errors
/// `BW-O04` when it cannot be made.
pub fn page(campaign: &Campaign<'_>) -> Result<String, Fault> {
    let Campaign {
        plan,
        config,
        issued,
        window,
        over,
        ..
    } = campaign;
    let words = &campaign.facts.words;
    let summary = &plan.summary;
    let shift = &config.outreach.shift;
    let reached = super::brief::Reached::of(plan);
    let head = |name: &'static str, value: String| context! { name, value };
    let mut heads = vec![
        head(
            if *over {
                "assemblies were at risk"
            } else {
                "assemblies at risk"
            },
            summary.assemblies_at_risk.to_string(),
        ),
        head("people who look after them", summary.people_at_risk.to_string()),
    ];
    let before = vec![
        head("of them called", reached.called.to_string()),
        head("written to, not called", reached.written.to_string()),
        head(
            "not reached, undecided or nothing planned",
            (reached.unreached + reached.decisions + reached.nothing).to_string(),
        ),
        head(
            "expected conversations",
            format!("{:.0}", summary.expected_conversations),
        ),
        head(
            "expected loss if nobody acts on a notice",
            dollars(summary.loss_before_usd),
        ),
        head("expected loss with this plan", dollars(summary.loss_after_usd)),
    ];
    if *over {
        let (visits, drawn) = campaign.visits.unwrap_or_default();
        heads.push(head("assemblies to look at", visits.to_string()));
        heads.push(head("of them drawn at random", drawn.to_string()));
    } else {
        heads.extend(before);
    }
    let outcomes: Vec<Value> = summary
        .outcomes
        .iter()
        .map(|(word, count)| context! { name => word, count => count })
        .collect();
    let count = |word: &str| match word {
        "call" => summary.calls,
        "text" => summary.texts,
        "email" => summary.emails,
        "letter" => summary.letters,
        _ => summary.door_hangers,
    };
    let channels: Vec<Value> = ["call", "text", "email", "letter", "door hanger"]
        .into_iter()
        .filter(|word| count(word) > 0)
        .map(|word| {
            context! {
                name => if word == "email" { "e-mail" } else { word },
                count => count(word),
                avoided => dollars(summary.avoided_usd.get(word).copied().unwrap_or(0.0)),
            }
        })
        .collect();
    let missed: Vec<Value> = summary
        .not_in_time
        .iter()
        .map(|(why, count)| context! { why => why, count => count })
        .collect();
    let pays = charts_outreach::stops_paying(&plan.curve, shift.cost_per_call_usd).map(|point| {
        format!(
            "From about {} callers on, one more call avoids less than the {} that a call is taken to cost.",
            point.callers,
            dollars(shift.cost_per_call_usd)
        )
    });
    let chart = |form| {
        charts_outreach::calls_in(&plan.curve, &plan.steps, shift.callers, shift.cost_per_call_usd, form)
            .unwrap_or_default()
    };
    let moment = |at: DateTime<Utc>| at.with_timezone(&words.zone).format("%a %b %-d, %-I %p").to_string();
    super::one_page::render(
        "manager_summary.html",
        PAGE,
        context! {
                    utility => config.utility.name.as_str(),
                    issued => moment(*issued),
                    window => (moment(window.0), moment(window.1)),
                    over => *over,
                    nights => super::brief::nights(campaign),
                    coming => super::brief::coming(campaign),
                    act_by => super::brief::deadlines(campaign),
                    tiers => tiers(campaign),
                    breaks => campaign.total.as_ref().filter(|_| !*over).map(super::table::breaks).unwrap_or_default(),
                    loss_range => campaign.total.map(|total| loss_range(&total)).unwrap_or_default(),
                    reported => super::brief::reported(campaign),
                    chances => campaign.facts.outlooks.first().is_none_or(|outlook| outlook.p_damage.is_some()),
                    unranked => campaign.unranked.len(),
                    rejected => campaign.rejected,
                    outcomes => outcomes,
                    thaw => campaign.thaw.notices.len(),
                    thaw_without => campaign.thaw.without,
                    zone => words.zone.name(),
                    heads => heads,
                    channels => channels,
                    missed => missed,
                    missed_total => summary.not_in_time.values().sum::<usize>(),
                    decisions => summary.decisions,
                    settled => summary.settled,
                    callers => shift.callers,
                    places => summary.call_places,
                    calls => summary.calls,
                    share => format!("{:.1}", summary.share_of_bound * 100.0),
                    pays => pays.unwrap_or_default(),
                    chart => chart(Form::Wide),
                    chart_narrow => chart(Form::Narrow),
                    planning_aid => crate::PLANNING_AID,
        },
    )
}

fn loss_range(total: &Total) -> String {
    let judged = total.judged.map_or(String::new(), |ends| {
        format!(
            "; {} to {} by other judgement",
            dollars(ends.loss_usd.0),
            dollars(ends.loss_usd.1)
        )
    });
    format!(
        "loss between {} and {} (5 to 95 in 100{judged})",
        dollars(total.loss_usd.p05),
        dollars(total.loss_usd.p95)
    )
}
