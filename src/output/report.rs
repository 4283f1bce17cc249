//! `report.html`: the plan on one self-contained page that prints well and can be read on a phone. No personal data.

use super::brief::coming_words;
use super::plan::Plan;
use crate::faults::{Fault, Severity};
use crate::freeze::Outlook;
use crate::inventory::Assembly;
use crate::plan::assumed::is_one;
use crate::ranking::reason::{advice_words, early_ice, percent, what_it_is};
use crate::ranking::{Ranked, Tier, Words, nights};
use crate::weather::nights::cold_nights;
use chrono::{DateTime, Utc};
use minijinja::{Environment, UndefinedBehavior, Value, context};
use std::collections::BTreeMap;

/// Lines of the list on one printed page.
const TOP: usize = 40;
/// Lines of the list that the page shows in all.
const MOST: usize = 200;

/// A chart and its words.
#[derive(Debug, Clone)]
pub struct Figure {
    /// Heading.
    pub title: &'static str,
    /// The SVG.
    pub svg: String,
    /// The same for a telephone; empty where there is none.
    pub narrow: String,
    /// How to read it.
    pub caption: String,
}

/// Cautions that every page of a plan carries.
pub const CAUTIONS: [&str; 8] = [
    "The list is a forecast about a forecast. An assembly that is not on it can still freeze, and one at the top may ride it out: \
     sites differ from the station by several degrees on calm, clear nights.",
    "Never shut off or drain a fire line, or the water of a hospital, dialysis clinic or other critical customer, because of cold. \
     Damage to a fire line goes to the fire official at once.",
    "Wraps and covers leave the relief port, the air inlet and the drain free. Nothing plugs, caps or bypasses a relief valve or an assembly.",
    "Heat never comes from a flame. Heat trace and heaters are listed for the place, grounded and on a ground-fault breaker; they fail \
     with the power.",
    "A repaired or replaced assembly is tested by a certified tester before it goes back into service.",
    "Damage mostly shows at the thaw: expect calls from some hours to two days after the air rises above freezing.",
    "Wind speeds cooling but does not take metal below the air's temperature; wind chill is not used as a temperature here.",
    "The map and the list show where metal stands unguarded: share them only with those who need them.",
];

/// Writes the page.
///
/// `utility` is the name that the page carries.
///
/// # Errors
/// When the template cannot be rendered, with the reason.
pub fn render(plan: &Plan<'_>, utility: &str, figures: &[Figure]) -> Result<String, String> {
    let mut environment = Environment::new();
    environment.set_undefined_behavior(UndefinedBehavior::Strict);
    environment
        .add_template("report.html", include_str!("templates/report.html"))
        .map_err(|error| error.to_string())?;
    let template = environment
        .get_template("report.html")
        .map_err(|error| error.to_string())?;
    let words = &plan.words;
    let counts = plan.counts();
    let ensemble = plan.members > 1;
    let page = context! {
        utility,
        zone => words.zone.name(),
        window => context! { start => date(plan.window.0, words), end => date(plan.window.1, words) },
        now => date(plan.now, words),
        forecast_issued => plan.forecast_issued.map(|time| date(time, words)),
        what_if => plan.what_if,
        joining => joining(plan),
        notices => notices(plan),
        heads => heads(plan),
        summary => summary(plan),
        at_risk => counts.at_risk,
        chance_name => if ensemble { "Chance of damage" } else { "Severity" },
        top => list(plan, 0..TOP),
        rest => rest(plan),
        page_rows => TOP,
        named => !plan.keepers.is_empty(),
        over => plan.over,
        nights => nights_told(plan),
        coming => coming(plan),
        headline => headline(plan),
        charts => figures.iter().map(|f| context! { title => f.title, svg => f.svg.as_str(), narrow => f.narrow.as_str(), caption => f.caption.as_str() }).collect::<Vec<_>>(),
        assumed => assumed(plan),
        doubts => doubts(plan),
        method => if ensemble {
            format!(
                "{} members differ in forecast error, site, wind, the temperature at which ice starts and the strength of parts; \
                 the chance is the share of members that break.",
                plan.members
            )
        } else {
            "This is one cautious run: ice starts at freezing in it, while water in the field often cools further before it does. \
             It gives the order and the timing, not odds; many assemblies that it freezes ride out mild nights."
                .to_owned()
        },
        stations => stations(plan) + &taken(plan),
        cases => plan.stats.cases,
        skipped => plan.stats.skipped,
        version => crate::VERSION,
        seed => plan.seed,
        cautions => CAUTIONS.to_vec(),
        planning_aid => crate::PLANNING_AID,
    };
    template.render(page).map_err(|error| error.to_string())
}

/// A moment as pages show it, such as `Fri Jan 10 2031, 18:00`.
pub fn date(time: DateTime<Utc>, words: &Words) -> String {
    let local = time.with_timezone(&words.zone);
    local.format("%a %b %-d %Y, %H:%M").to_string()
}

/// Warnings by code: one of them in words, its remedy, how many there are.
fn warnings<'a>(plan: &'a Plan<'_>) -> BTreeMap<&'static str, (&'a Fault, usize)> {
    let mut by_code: BTreeMap<&'static str, (&Fault, usize)> = BTreeMap::new();
    for fault in plan.faults.0.iter().filter(|fault| fault.severity == Severity::Warning) {
        by_code.entry(fault.code).or_insert((fault, 0)).1 += 1;
    }
    by_code
}

/// Whether a warning stands at the head of the page: what bears on the plan as a whole, and drained fire lines.
fn is_grave(code: &str) -> bool {
    !code.starts_with("BW-A") || code == "BW-A16"
}

/// What must be known before the numbers are read.
fn notices(plan: &Plan<'_>) -> Vec<String> {
    let mut notices: Vec<String> = warnings(plan)
        .into_iter()
        .filter(|(code, _)| is_grave(code))
        .map(|(_, (fault, count))| {
            let more = match count {
                1 => String::new(),
                _ => format!(" And {} more like it.", count - 1),
            };
            format!("{} {}{more}", sentence(&fault.what), fault.remedy)
        })
        .collect();
    if plan.rejected > 0 {
        let (row, is, it) = if plan.rejected == 1 {
            ("row", "is", "it")
        } else {
            ("rows", "are", "them")
        };
        notices.push(format!(
            "{} {row} of the list could not be used and {is} in rejects.csv with the reason: nothing is said here about {it}.",
            plan.rejected
        ));
    }
    notices
}

/// What looked wrong in the list and was used with care: what, how often, what to do.
fn doubts(plan: &Plan<'_>) -> Vec<Value> {
    warnings(plan)
        .into_iter()
        .filter(|(code, _)| !is_grave(code))
        .map(|(code, (fault, count))| {
            context! { code, count, what => sentence(&fault.what), remedy => fault.remedy.as_str() }
        })
        .collect()
}

fn sentence(text: &str) -> String {
    let mut chars = text.chars();
    let first = chars.next().map(|c| c.to_uppercase().to_string()).unwrap_or_default();
    let rest = chars.as_str();
    format!("{first}{rest}{}", if text.ends_with('.') { "" } else { "." })
}

fn heads(plan: &Plan<'_>) -> Vec<Value> {
    let counts = plan.counts();
    let head = |name: &'static str, value: String| context! { name, value };
    let mut heads = vec![
        head("assemblies looked at", counts.used.to_string()),
        head("at risk", counts.at_risk.to_string()),
    ];
    if let Some(broken) = counts.expected_broken {
        let text = if broken > 0.0 && broken < 1.0 {
            "under 1".into()
        } else {
            format!("{broken:.0}")
        };
        heads.push(head("expected to break if nobody acts", text));
        if let Some(total) = plan.total {
            heads.push(head(
                "may break, 5 to 95 in 100, the weather's error shared by all",
                format!("{:.0} to {:.0}", total.breaks.p05, total.breaks.p95),
            ));
            heads.push(head(
                "may break if the weather comes exactly as forecast",
                format!("{:.0} to {:.0}", total.breaks_local.p05, total.breaks_local.p95),
            ));
            if let Some(ends) = total.judged {
                heads.push(head(
                    "expected to break by other judgement of what nobody has measured",
                    format!("{:.0} to {:.0}", ends.breaks.0, ends.breaks.1),
                ));
            }
        }
    }
    if let Some(strained) = counts.strained {
        heads.push(head("strained in the cautious run", strained.to_string()));
    }
    heads.push(head(
        "expected loss of all looked at, if nobody acts",
        dollars(counts.expected_loss_usd),
    ));
    if let Some(total) = plan.total {
        heads.push(head(
            "loss, 5 to 95 in 100",
            format!("{} to {}", dollars(total.loss_usd.p05), dollars(total.loss_usd.p95)),
        ));
        if let Some(ends) = total.judged {
            heads.push(head(
                "expected loss by other judgement",
                format!("{} to {}", dollars(ends.loss_usd.0), dollars(ends.loss_usd.1)),
            ));
        }
    }
    if let Some(air) = plan
        .series
        .iter()
        .filter_map(|s| s.coldest())
        .map(|c| c.1)
        .reduce(f64::min)
    {
        heads.push(head("coldest air at a station", plan.words.temperature(air)));
    }
    let earliest = plan.lines().filter_map(|(_, _, outlook)| outlook.first_ice.p10).min();
    heads.push(head(
        "first ice, early edge",
        earliest.map_or("none".into(), |time| plan.words.moment(time)),
    ));
    heads
}

/// Whole dollars with separators.
pub fn dollars(usd: f64) -> String {
    let digits = format!("{:.0}", usd.max(0.0));
    let mut out = String::from("$");
    for (i, c) in digits.chars().enumerate() {
        if i > 0 && (digits.len() - i) % 3 == 0 {
            out.push(',');
        }
        out.push(c);
    }
    out
}

fn summary(plan: &Plan<'_>) -> String {
    let counts = plan.counts();
    let ice = plan
        .lines()
        .filter(|(_, _, outlook)| outlook.first_ice.p50.is_some())
        .count();
    if counts.at_risk == 0 {
        return format!(
            "Ice is {} in {} of {} assemblies, and none needs a contact.",
            if plan.members > 1 {
                "more likely than not"
            } else {
                "seen"
            },
            ice,
            counts.used
        );
    }
    let critical = plan
        .lines()
        .filter(|(line, assembly, _)| line.tier == Tier::CallFirst && assembly.critical.is_some())
        .count();
    let fire = plan
        .lines()
        .filter(|(line, assembly, _)| {
            line.tier == Tier::CallFirst && assembly.service == crate::inventory::Service::Fire
        })
        .count();
    format!(
        "Ice is {} in {} of {} assemblies. Of those to call first, {} serve critical customers and {} are fire lines.",
        if plan.members > 1 {
            "more likely than not"
        } else {
            "seen by the cautious run"
        },
        ice,
        counts.used,
        critical,
        fire
    )
}

/// Rows of the list, those at risk.
fn list(plan: &Plan<'_>, rows: std::ops::Range<usize>) -> Vec<Value> {
    plan.lines()
        .take_while(|(line, _, _)| line.tier != Tier::NoContact)
        .skip(rows.start)
        .take(rows.len())
        .map(|(line, assembly, outlook)| {
            let keeper = plan.keepers.get(line.index).cloned().unwrap_or_default();
            context! {
                rank => line.rank,
                tier => line.tier.words(),
                tier_at => line.tier as usize,
                assembly => assembly.assembly_id.as_str(),
                chance => percent(line.loss.chance),
                loss => dollars(line.expected_loss_usd),
                ice => early_ice(outlook, &plan.words),
                what => what(&plan.words, line, assembly, outlook),
                contact => keeper.contact_id.as_str(),
                by => keeper.act_by.map(|by| plan.words.moment(by)).unwrap_or_default(),
            }
        })
        .collect()
}

/// The rows after the first page of them: the rest of those to call first.
fn rest(plan: &Plan<'_>) -> Vec<Value> {
    let first = plan.ranked.iter().filter(|line| line.tier == Tier::CallFirst).count();
    list(plan, TOP..first.clamp(TOP, MOST))
}

/// What it is and what would do, without the weather: that is told once, above the list.
pub(super) fn what(words: &Words, line: &Ranked, assembly: &Assembly, outlook: &Outlook) -> String {
    let mut what = what_it_is(assembly, words.language);
    if line.tier != Tier::NoContact
        && let Some(advice) = outlook.advice.iter().find(|advice| advice.enough)
    {
        what.push_str("; ");
        what.push_str(&advice_words(advice, words));
    }
    what
}

/// The cold nights of the window in one sentence.
fn nights_told(plan: &Plan<'_>) -> String {
    let zone = plan.words.zone;
    let clock = |at: DateTime<Utc>| at.with_timezone(&zone).format("%a %-I %P").to_string();
    let each: Vec<String> = cold_nights(plan.series, zone)
        .iter()
        .map(|night| {
            format!(
                "{}, down to {} and {} h below freezing, {} to {}",
                night.evening.format("%A, %B %-d"),
                plan.words.temperature(night.min_air_c),
                night.hours,
                clock(night.from),
                clock(night.to)
            )
        })
        .collect();
    match each.len() {
        0 => "No hour is below freezing at any station.".to_owned(),
        _ => format!("Nights with frost: {}.", each.join("; ")),
    }
}

/// What the coming night adds; empty in a cautious run, after the spell, and when nothing is to come.
fn coming(plan: &Plan<'_>) -> String {
    if plan.over || plan.members == 1 {
        return String::new();
    }
    let sums = nights::town(plan.ranked, plan.outlooks, plan.words.zone);
    nights::coming(&sums, plan.now, plan.words.zone).map_or_else(String::new, |coming| coming_words(&coming))
}

/// The first thing to read.
fn headline(plan: &Plan<'_>) -> String {
    let counts = plan.counts();
    let [first, next, message, _] = counts.by_tier;
    match (counts.at_risk, plan.over) {
        (0, _) => "Nobody needs to be called.".to_owned(),
        (at_risk, true) => format!("{at_risk} assemblies were at risk. Look at them: inspection.csv has the order."),
        (_, false) => format!("{first} to call first, {next} to call next, {message} to message."),
    }
}

/// Who joins the list in the case of `--what-if`; none as listed.
fn joining(plan: &Plan<'_>) -> Option<Value> {
    let (case, new, up) = plan.joining()?;
    let by_rank: std::collections::HashMap<usize, &crate::ranking::Ranked> =
        plan.ranked.iter().map(|line| (line.index, line)).collect();
    let lines: Vec<Value> = plan
        .joins
        .iter()
        .take(TOP)
        .filter_map(|join| {
            let (line, assembly) = (by_rank.get(&join.index)?, plan.assemblies.get(join.index)?);
            Some(context! {
                rank => join.rank,
                tier => join.tier.words(),
                tier_at => join.tier as usize,
                listed => join.listed_tier.words(),
                assembly => assembly.assembly_id.as_str(),
                chance => percent(line.loss.chance),
                reason => line.reason.as_str(),
            })
        })
        .collect();
    Some(context! { case => case, new => new, up => up, lines => lines })
}

/// How often each blank was filled, and with what: the commonest columns first, the three commonest fillings of each.
fn assumed(plan: &Plan<'_>) -> Vec<Value> {
    type Fillings<'a> = BTreeMap<&'a str, usize>;
    let mut tally: BTreeMap<(&'static str, &'static str), Fillings<'_>> = BTreeMap::new();
    for assumption in plan.assemblies.iter().flat_map(|assembly| assembly.assumed.iter()) {
        let fillings = tally.entry((assumption.field, assumption.direction)).or_default();
        *fillings.entry(&assumption.used).or_insert(0) += 1;
    }
    let mut rows: Vec<_> = tally
        .into_iter()
        .map(|(key, fillings)| (key, fillings.values().sum::<usize>(), fillings))
        .collect();
    rows.sort_by(|a, b| b.1.cmp(&a.1).then_with(|| a.0.cmp(&b.0)));
    rows.into_iter()
        .map(|((field, direction), count, fillings)| {
            let mut fillings: Vec<_> = fillings.into_iter().collect();
            fillings.sort_by(|a, b| b.1.cmp(&a.1).then_with(|| a.0.cmp(b.0)));
            let more = fillings.len().saturating_sub(3);
            let mut used = fillings
                .iter()
                .take(3)
                .map(|(used, _)| *used)
                .collect::<Vec<_>>()
                .join(", ");
            if more > 0 {
                used.push_str(&format!(" and {more} more"));
            }
            let share = format!("{:.0} %", 100.0 * count as f64 / plan.assemblies.len().max(1) as f64);
            context! { field => field.replace('_', " "), used => used.replace('_', " "), count, share, direction }
        })
        .collect()
}

/// What was assumed of the weather, told where its hours are.
fn taken(plan: &Plan<'_>) -> String {
    let told = plan.faults.0.iter().filter(|fault| is_one(fault.code));
    told.map(|fault| {
        let mut letters = fault.what.chars();
        let first = letters.next().map(|letter| letter.to_uppercase().to_string());
        format!(" {}{}.", first.unwrap_or_default(), letters.as_str())
    })
    .collect()
}

fn stations(plan: &Plan<'_>) -> String {
    let names: Vec<&str> = plan
        .series
        .iter()
        .map(|series| series.station.station_id.as_str())
        .filter(|name| !name.is_empty())
        .take(12)
        .collect();
    let hours = plan.series.first().map_or(0, crate::weather::Series::hours);
    match names.len() {
        0 => format!("Weather: one series of {hours} hours."),
        _ => format!("Weather: {hours} hours of {}.", names.join(", ")),
    }
}
