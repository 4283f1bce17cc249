//! The brief: one page for the morning meeting. Which nights, who is called by whom until when, what it should avoid, who is not
//! reached, what is not known. It holds no name, number or address, and its numbers add up.

use super::charts_outreach::dollars;
use super::outreach_files::Campaign;
use crate::faults::Fault;
use crate::freeze::Seen;
use crate::inventory::Unranked;
use crate::outreach::line::Way;
use crate::outreach::schedule::ContactPlan;
use crate::ranking::Tier;
use crate::ranking::nights::{self, Coming};
use crate::weather::nights::Night;
use chrono::{DateTime, NaiveDate, Utc};
use chrono_tz::Tz;
use minijinja::{Value, context};
use std::collections::{BTreeMap, BTreeSet};

const PAGE: &str = include_str!("templates/brief.html");

/// What becomes of everybody at risk: each person counts once, by the most that is done.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Reached {
    /// A caller dials.
    pub called: usize,
    /// A text, e-mail, letter or door hanger, and no call.
    pub written: usize,
    /// Somebody must decide first.
    pub decisions: usize,
    /// Nothing reaches them, or not in time.
    pub unreached: usize,
    /// Done with according to the log.
    pub settled: usize,
    /// No line of the plan: nothing pays, or nothing is left to save.
    pub nothing: usize,
}

impl Reached {
    /// Counts the persons of a plan.
    pub fn of(plan: &ContactPlan) -> Self {
        let with = |ways: &[Way]| -> BTreeSet<usize> {
            let lines = plan.lines.iter().filter(|line| ways.contains(&line.channel));
            lines.flat_map(|line| line.persons().collect::<Vec<_>>()).collect()
        };
        let called = with(&[Way::Call]);
        let mut seen = called.clone();
        let mut more = |ways: &[Way]| {
            let found = with(ways);
            let fresh = found.difference(&seen).count();
            seen.extend(found);
            fresh
        };
        let written = more(&[Way::Text, Way::Email, Way::Letter, Way::DoorHanger]);
        let decisions = more(&[Way::Decision]);
        let unreached = more(&[Way::Unreached]);
        let settled = plan.summary.settled;
        let sum = called.len() + written + decisions + unreached + settled;
        Self {
            called: called.len(),
            written,
            decisions,
            unreached,
            settled,
            nothing: plan.summary.people_at_risk.saturating_sub(sum),
        }
    }

    /// Everybody at risk.
    pub fn total(&self) -> usize {
        self.called + self.written + self.decisions + self.unreached + self.settled + self.nothing
    }
}

/// The nights as lines of a page: those with frost by the series, and those without it in which an assembly may break all the same.
pub(super) fn nights(campaign: &Campaign<'_>) -> Vec<Value> {
    let words = &campaign.facts.words;
    let clock = |at: DateTime<Utc>| at.with_timezone(&words.zone).format("%a %-I %p").to_string();
    let sums = nights::town(campaign.ranked, campaign.facts.outlooks, words.zone);
    let from = nights::coming_from(campaign.issued, words.zone);
    let mut evenings: BTreeSet<NaiveDate> = campaign.nights.iter().map(|night| night.evening).collect();
    evenings.extend(
        sums.iter()
            .filter(|(_, sum)| sum.breaks >= 0.05 || sum.loss_usd >= 0.5)
            .map(|(night, _)| *night),
    );
    evenings
        .into_iter()
        .map(|evening| {
            let frost = campaign.nights.iter().find(|night| night.evening == evening);
            let sum = sums.get(&evening).copied().unwrap_or_default();
            let told = |make: &dyn Fn(&Night) -> String| frost.map(make).unwrap_or_default();
            context! {
                evening => evening.format("%A, %B %-d").to_string(),
                coldest => told(&|night| words.temperature(night.min_air_c)),
                at => told(&|night| clock(night.coldest)),
                from => told(&|night| clock(night.from)),
                to => told(&|night| clock(night.to)),
                hours => told(&|night| night.hours.to_string()),
                behind => evening < from,
                breaks => format!("{:.1}", sum.breaks),
                loss => dollars(sum.loss_usd),
            }
        })
        .collect()
}

/// The sum of all nights, to stand below them; `None` for the chance of damage in a cautious run, which has none.
fn night_totals(campaign: &Campaign<'_>) -> Value {
    let sums = nights::town(campaign.ranked, campaign.facts.outlooks, campaign.facts.words.zone);
    let breaks: f64 = sums.values().map(|sum| sum.breaks).sum();
    let loss_usd: f64 = sums.values().map(|sum| sum.loss_usd).sum();
    context! { breaks => format!("{breaks:.1}"), loss => dollars(loss_usd) }
}

/// What the coming night adds, in one sentence; empty when nothing is to come.
pub(super) fn coming(campaign: &Campaign<'_>) -> String {
    let zone = campaign.facts.words.zone;
    let sums = nights::town(campaign.ranked, campaign.facts.outlooks, zone);
    nights::coming(&sums, campaign.issued, zone).map_or_else(String::new, |coming| coming_words(&coming))
}

/// The sentence of the coming night.
pub fn coming_words(coming: &Coming) -> String {
    let night = coming.evening.format("%A, %B %-d");
    let (adds, loss) = (coming.adds.breaks, dollars(coming.adds.loss_usd));
    let mut text = format!(
        "The coming night, of {night}, adds {} assemblies expected to break and {loss} of expected loss.",
        whole_or_few(adds)
    );
    if coming.before.breaks >= 0.5 || coming.before.loss_usd >= 1.0 {
        text.push_str(&format!(
            " The nights behind hold {} and {}, which no call saves any more.",
            whole_or_few(coming.before.breaks),
            dollars(coming.before.loss_usd)
        ));
    }
    if coming.later.breaks >= 0.5 || coming.later.loss_usd >= 1.0 {
        text.push_str(&format!(
            " The nights after it add {} and {}.",
            whole_or_few(coming.later.breaks),
            dollars(coming.later.loss_usd)
        ));
    }
    text
}

/// A count of what is expected to break; one that rounds to nothing beside a loss in dollars would read as a slip.
fn whole_or_few(breaks: f64) -> String {
    if breaks < 0.5 {
        "less than one".to_owned()
    } else {
        format!("{breaks:.0}")
    }
}

/// Calls day by day, with what each caller makes.
fn shifts(campaign: &Campaign<'_>) -> Vec<Value> {
    let zone = campaign.facts.words.zone;
    #[derive(Default)]
    struct Day {
        from: Option<DateTime<Utc>>,
        to: Option<DateTime<Utc>>,
        critical: usize,
        calls: BTreeMap<u16, usize>,
    }
    let mut days: BTreeMap<NaiveDate, Day> = BTreeMap::new();
    for line in campaign.plan.lines.iter().filter(|line| line.channel == Way::Call) {
        let (Some(caller), Some(start), Some(end)) = (line.caller, line.slot_start, line.slot_end) else {
            continue;
        };
        let day = days.entry(start.with_timezone(&zone).date_naive()).or_default();
        day.from = Some(day.from.map_or(start, |from| from.min(start)));
        day.to = day.to.max(Some(end));
        day.critical += usize::from(line.critical.is_some());
        *day.calls.entry(caller).or_default() += 1;
    }
    let clock = |at: Option<DateTime<Utc>>| at.map(|at| at.with_timezone(&zone).format("%-I:%M %p").to_string());
    days.into_iter()
        .map(|(date, day)| {
            let each: Vec<String> = day
                .calls
                .iter()
                .map(|(caller, calls)| format!("{caller}: {calls}"))
                .collect();
            context! {
                day => date.format("%A, %B %-d").to_string(),
                callers => each.join(", "),
                calls => day.calls.values().sum::<usize>(),
                critical => day.critical,
                from => clock(day.from).unwrap_or_default(),
                to => clock(day.to).unwrap_or_default(),
            }
        })
        .collect()
}

/// What is not known, in sentences with counts.
fn unknowns(campaign: &Campaign<'_>) -> Vec<String> {
    let assemblies = campaign.facts.assemblies;
    let mut out = Vec::new();
    let blank = |field: &str| {
        assemblies
            .iter()
            .filter(|one| one.assumed.iter().any(|had| had.field == field))
            .count()
    };
    for (field, what) in [
        ("placement", "say nothing of where they stand and are taken as open"),
        ("service", "say nothing of what they serve"),
        ("winter_use", "say nothing of their use in winter"),
    ] {
        let count = blank(field);
        if count > 0 {
            out.push(format!("{count} of {} assemblies {what}.", assemblies.len()));
        }
    }
    let unranked = campaign.unranked.len();
    if campaign.rejected > 0 {
        out.push(format!(
            "{} rows of the list could not be used (rejects.csv); {unranked} of them have somebody to tell.",
            campaign.rejected
        ));
    }
    out.push(
        "Sites differ from the station by several degrees on calm, clear nights, and the chance that somebody acts is judgement.".into(),
    );
    out
}

/// Reasons of the rows that cannot be ranked, with counts.
fn why_unranked(rows: &[Unranked]) -> Vec<Value> {
    let mut counts: BTreeMap<&str, usize> = BTreeMap::new();
    for row in rows {
        *counts.entry(row.why.as_str()).or_default() += 1;
    }
    let mut counts: Vec<_> = counts.into_iter().collect();
    counts.sort_by(|a, b| b.1.cmp(&a.1).then(a.0.cmp(b.0)));
    counts
        .into_iter()
        .take(4)
        .map(|(why, count)| context! { why => why, count => count })
        .collect()
}

/// What was reported from the sites, in sentences; empty where nothing was.
pub(super) fn reported(campaign: &Campaign<'_>) -> String {
    let told = || {
        campaign
            .facts
            .outlooks
            .iter()
            .filter_map(|outlook| outlook.reported.as_ref())
    };
    let last = |seen: Seen| {
        told()
            .filter(|told| told.last().is_some_and(|last| last.seen == seen))
            .count()
    };
    if told().next().is_none() {
        return String::new();
    }
    let [fine, ice, broken, whole] = Seen::ALL.map(last);
    let mut text = format!(
        "Reported from the sites and counted in the chances: {fine} last seen fine, {ice} with ice, {broken} broken"
    );
    if whole > 0 {
        text.push_str(&format!(", {whole} whole without a look for ice"));
    }
    text.push('.');
    if broken > 0 {
        text.push_str(" Those seen broken are not called, not counted as at risk, and stand in inspection.csv.");
    }
    let odd = told().filter(|told| told.contradicted()).count();
    if odd > 0 {
        text.push_str(&format!(
            " Of {odd} the model has it otherwise in every case: somebody must look at them."
        ));
    }
    text
}

fn moment(at: DateTime<Utc>, zone: Tz) -> String {
    at.with_timezone(&zone).format("%a %b %-d, %-I:%M %p").to_string()
}

/// The first and the last time by which somebody who is called must act; empty where nobody is.
pub(super) fn deadlines(campaign: &Campaign<'_>) -> (String, String) {
    let calls = campaign.plan.lines.iter().filter(|line| line.channel == Way::Call);
    let times: Vec<DateTime<Utc>> = calls.filter_map(|line| line.act_by).collect();
    let told = |at: Option<&DateTime<Utc>>| at.map(|at| moment(*at, campaign.facts.words.zone)).unwrap_or_default();
    (told(times.iter().min()), told(times.iter().max()))
}

/// The page.
///
/// # Errors
/// `BW-O04` when it cannot be made.
pub fn page(campaign: &Campaign<'_>) -> Result<String, Fault> {
    let words = &campaign.facts.words;
    let plan = campaign.plan;
    let reached = Reached::of(plan);
    let (low, high) = plan.summary.avoided_range_usd();
    let middle: f64 = plan.summary.avoided_usd.values().sum();
    let tiers = |tier: Tier| campaign.ranked.iter().filter(|line| line.tier == tier).count();
    let (act_from, act_to) = deadlines(campaign);
    let missed: Vec<Value> = plan
        .summary
        .not_in_time
        .iter()
        .map(|(why, count)| context! { why => why, count => count })
        .collect();
    super::one_page::render(
        "brief.html",
        PAGE,
        context! {
                    utility => campaign.config.utility.name.as_str(),
                    issued => moment(campaign.issued, words.zone),
                    zone => words.zone.name(),
                    nights => self::nights(campaign),
                    night_totals => night_totals(campaign),
                    coming => coming(campaign),
                    chances => campaign.facts.outlooks.first().is_none_or(|outlook| outlook.p_damage.is_some()),
                    first => tiers(Tier::CallFirst),
                    next => tiers(Tier::CallNext),
                    message => tiers(Tier::Message),
                    at_risk => plan.summary.assemblies_at_risk,
                    breaks => campaign.total.as_ref().map(super::table::breaks).unwrap_or_default(),
                    reported => reported(campaign),
                    looked_at => campaign.ranked.len(),
                    shifts => shifts(campaign),
                    calls => plan.summary.calls,
                    act_from => act_from,
                    act_to => act_to,
                    loss => dollars(plan.summary.loss_before_usd),
                    middle => dollars(middle),
                    low => dollars(low),
                    high => dollars(high),
                    reached => context! {
                        called => reached.called, written => reached.written, decisions => reached.decisions,
                        unreached => reached.unreached, settled => reached.settled, nothing => reached.nothing, total => reached.total(),
                    },
                    to_call => plan.summary.people_to_call,
                    missed => missed,
                    unranked => campaign.unranked.len(),
                    why_unranked => why_unranked(campaign.unranked),
                    unknowns => unknowns(campaign),
                    planning_aid => crate::PLANNING_AID,
        },
    )
}
