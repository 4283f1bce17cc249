//! One assembly in full, for a terminal.

use super::plan::Plan;
use super::table::{plain, trimmed};
use crate::freeze::Outlook;
use crate::inventory::Assembly;
use crate::ranking::reason::{percent, what_it_is};
use crate::ranking::words::{advice_in_full, judged_band};
use crate::ranking::{Tier, Words};
use chrono::{DateTime, Utc};
use std::fmt::Write;

/// The answer: what it is, why it stands where it stands in the list, its parts, the cold hour by hour, what would protect it.
/// `plan` holds the line of this assembly alone.
pub fn text(plan: &Plan<'_>, assembly: &Assembly, outlook: &Outlook) -> String {
    let (a, o, words) = (assembly, outlook, &plan.words);
    let mut text = String::new();
    let _ = writeln!(text, "{}: {}", a.assembly_id, what_it_is(a, words.language));
    if let Some(line) = plan.ranked.first() {
        let _ = writeln!(text, "{}. {}", line.tier.words(), line.reason);
    }
    if !a.assumed.is_empty() {
        let blanks: Vec<String> = a.assumed.iter().map(|x| format!("{} ({})", x.field, x.used)).collect();
        let _ = writeln!(text, "assumed where the list is blank: {}", blanks.join(", "));
    }
    let _ = writeln!(
        text,
        "\nweather station {}, {} to {}, times in {}",
        plan.station(0),
        words.moment(o.window_start),
        words.moment(o.window_end),
        words.zone
    );
    let when = |t: Option<DateTime<Utc>>| t.map_or("no ice".to_owned(), |t| words.moment(t));
    let chance = |p: Option<f64>| p.map_or("not computed".to_owned(), percent);
    let _ = writeln!(
        text,
        "lowest air {}, {:.0} h below freezing; coldest water {} (10 %), {} (median)",
        words.temperature(o.min_air_c),
        o.hours_air_below_0c,
        words.temperature(o.coldest_water_c.p10),
        words.temperature(o.coldest_water_c.p50)
    );
    let _ = writeln!(
        text,
        "chance of ice {}, of blockage {}, of damage {}{}",
        chance(o.p_ice),
        chance(o.p_blocked),
        chance(o.p_damage),
        judged_band(o, words.language).map_or(String::new(), |band| format!(" ({band})"))
    );
    let _ = writeln!(
        text,
        "first ice: early edge {}, median {}{}",
        when(o.first_ice.p10),
        when(o.first_ice.p50),
        o.first_part.map_or(String::new(), |part| format!(", in the {part}"))
    );
    let mut parts = plain();
    parts.set_header(["part", "ice", "damage", "repair"]);
    for part in &o.parts {
        parts.add_row([
            part.name.to_owned(),
            format!("{:.0} %", 100.0 * part.ice_fraction),
            part.p_damage.map_or(
                if part.strained {
                    "strained".into()
                } else {
                    "holds".into()
                },
                percent,
            ),
            format!("${:.0}", part.repair_usd),
        ]);
    }
    let _ = writeln!(text, "\n{}", trimmed(&parts.to_string()));
    if let Some(trace) = &o.trace {
        text += &hours(plan, trace, words);
    }
    if o.advice.is_empty() {
        let calm = plan.ranked.first().is_none_or(|line| line.tier == Tier::NoContact);
        if o.is_past_advice() {
            let _ = writeln!(
                text,
                "\nToo late to protect it: leave it as it is, never use a flame, have a licensed plumber or certified tester look at it."
            );
        } else if calm {
            let _ = writeln!(text, "\nNothing needs doing for this spell.");
        } else {
            let _ = writeln!(text, "\nNo measure was tried: the list tells whom to call about it.");
        }
    } else {
        let _ = writeln!(text, "\nwhat would protect it");
        for advice in &o.advice {
            let _ = writeln!(
                text,
                "  {} {}: {}",
                if advice.enough { "enough    " } else { "not enough" },
                advice.measure.word().replace('_', " "),
                advice_in_full(advice, words)
            );
        }
    }
    let _ = writeln!(text, "\n{}", crate::PLANNING_AID);
    text
}

/// Every third hour of the cold.
fn hours(plan: &Plan<'_>, trace: &crate::freeze::Trace, words: &Words) -> String {
    let mut table = plain();
    table.set_header([
        "time",
        "air",
        "coldest water (10 / 50 / 90 %)",
        "ice by then",
        "damage by then",
        "drip",
    ]);
    let cold = |hour: usize| {
        trace.coldest_water_c.get(hour).is_some_and(|w| w[0] < 4.0) || trace.air_c.get(hour).is_some_and(|a| *a < 2.0)
    };
    let mut rows = 0;
    for hour in (0..trace.air_c.len()).step_by(3).filter(|hour| cold(*hour)) {
        let time = plan.window.0 + chrono::TimeDelta::hours(hour as i64);
        let water = trace.coldest_water_c.get(hour).copied().unwrap_or_default();
        table.add_row([
            words.moment(time),
            words.temperature(trace.air_c[hour]),
            water.map(|w| words.temperature(w)).join(" / "),
            trace.p_ice_by.get(hour).map_or(String::new(), |p| percent(*p)),
            trace.p_damage_by.get(hour).map_or(String::new(), |p| percent(*p)),
            trace
                .drip_l
                .get(hour)
                .filter(|d| d[2] > 0.0)
                .map_or(String::new(), |d| {
                    crate::units::show_volume(
                        d[1],
                        if words.us {
                            crate::units::UnitSystem::Us
                        } else {
                            crate::units::UnitSystem::Si
                        },
                    )
                }),
        ]);
        rows += 1;
    }
    if rows == 0 {
        String::new()
    } else {
        format!("\n{}\n", trimmed(&table.to_string()))
    }
}
