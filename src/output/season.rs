//! Who gets what before the season: JSON, CSV, a table for people, the curve.

use super::defuse::defuse;
use crate::season::answer::{Answer, NEXT_USD};
use crate::season::choice::Rule;
use serde_json::{Value, json};
use std::fmt::Write;

/// Name of a rule in files.
pub fn rule_word(rule: &Rule) -> String {
    match rule {
        Rule::DistrictFloor(share) => format!("district floor {share}"),
        Rule::ClassFloor(share) => format!("class floor {share}"),
        Rule::CriticalFirst => "critical first".into(),
    }
}

/// A benefit to the cent: more digits would promise more than there is.
fn cents(usd: f64) -> f64 {
    (usd * 100.0).round() / 100.0
}

/// The contract's JSON.
pub fn json(answer: &Answer) -> Value {
    let choice = &answer.choice;
    let chosen: Vec<Value> = answer
        .chosen()
        .into_iter()
        .map(|(item, offer)| {
            let (item, offer) = (&answer.items[item], &answer.items[item].offers[offer]);
            json!({
                "assembly_id": item.id,
                "measure": answer.measures.get(offer.measure),
                "cost_usd": offer.cost_usd,
                "benefit_usd": cents(offer.benefit_usd),
            })
        })
        .collect();
    json!({
        "schema": "brimwater.season/1",
        "budget_usd": answer.budget_usd,
        "spent_usd": choice.spent_usd,
        "benefit_usd": cents(choice.benefit_usd),
        "upper_bound_usd": (choice.bound_usd * 1e4).round() / 1e4,
        "shadow_price": choice.shadow_price,
        "exact": choice.exact,
        "next_1000_usd": cents(answer.next_usd),
        "chosen": chosen,
        "price_of_rules": answer.prices.iter().map(|(rule, share)| json!({"rule": rule_word(rule), "share": share})).collect::<Vec<_>>(),
        "curve": answer.curve.iter().map(|(budget, benefit)| json!({"budget_usd": budget, "benefit_usd": cents(*benefit)})).collect::<Vec<_>>(),
    })
}

/// The chosen, one a row.
pub fn chosen_csv(answer: &Answer) -> String {
    let mut writer = csv::Writer::from_writer(Vec::new());
    // Writing to memory cannot fail.
    let _ = writer.write_record(["assembly_id", "measure", "cost_usd", "benefit_usd"]);
    for (item, offer) in answer.chosen() {
        let (item, offer) = (&answer.items[item], &answer.items[item].offers[offer]);
        let measure = answer.measures.get(offer.measure).map_or("", String::as_str);
        let _ = writer.write_record([
            defuse(&item.id).as_ref(),
            defuse(measure).as_ref(),
            &offer.cost_usd.to_string(),
            &format!("{:.2}", offer.benefit_usd),
        ]);
    }
    String::from_utf8(writer.into_inner().unwrap_or_default()).unwrap_or_default()
}

/// The curve, one point a row.
pub fn curve_csv(answer: &Answer) -> String {
    let mut out = String::from("budget_usd,benefit_usd\n");
    for (budget, benefit) in &answer.curve {
        // Writing to a string cannot fail.
        let _ = writeln!(out, "{budget},{benefit:.2}");
    }
    out
}

/// A sum of whole dollars with its thousands marked.
pub fn usd(value: f64) -> String {
    let whole = format!("{:.0}", value.abs());
    let mut out = String::new();
    for (at, digit) in whole.chars().enumerate() {
        if at > 0 && (whole.len() - at).is_multiple_of(3) {
            out.push(',');
        }
        out.push(digit);
    }
    if value <= -0.5 {
        format!("-${out}")
    } else {
        format!("${out}")
    }
}

/// What people read on a terminal.
pub fn table(answer: &Answer, top: usize) -> String {
    let choice = &answer.choice;
    let chosen = answer.chosen();
    let mut out = String::new();
    let _ = writeln!(
        out,
        "{} of {} spent on {} of {} assemblies; avoids an expected {} over the horizon.",
        usd(choice.spent_usd as f64),
        usd(answer.budget_usd as f64),
        chosen.len(),
        answer.items.len(),
        usd(choice.benefit_usd)
    );
    let _ = writeln!(
        out,
        "{} The next dollar saves ${:.2}; the next {} would save {}.",
        if choice.exact {
            "No choice saves more.".to_owned()
        } else {
            format!("No choice can save more than {}.", usd(choice.bound_usd))
        },
        choice.shadow_price,
        usd(NEXT_USD as f64),
        usd(answer.next_usd)
    );
    for (rule, share) in &answer.prices {
        let _ = writeln!(
            out,
            "Price of the rule \"{}\": {:.2} % of the saving.",
            rule_word(rule),
            share * 100.0
        );
    }
    let _ = writeln!(
        out,
        "\n{:<16} {:<18} {:>10} {:>14} {:>12}",
        "assembly", "measure", "cost", "avoids", "a dollar"
    );
    for (item, offer) in chosen.iter().take(top) {
        let (item, offer) = (&answer.items[*item], &answer.items[*item].offers[*offer]);
        let _ = writeln!(
            out,
            "{:<16} {:<18} {:>10} {:>14} {:>12}",
            item.id,
            answer.measures.get(offer.measure).map_or("", String::as_str),
            usd(offer.cost_usd as f64),
            usd(offer.benefit_usd),
            format!("${:.2}", offer.benefit_usd / offer.cost_usd.max(1) as f64)
        );
    }
    if chosen.len() > top {
        let _ = writeln!(out, "and {} more", chosen.len() - top);
    }
    let _ = writeln!(out, "\n{:>12} {:>14}", "budget", "avoids");
    for (budget, benefit) in answer.curve.iter().step_by(4) {
        let _ = writeln!(out, "{:>12} {:>14}", usd(*budget as f64), usd(*benefit));
    }
    let _ = writeln!(out, "\n{}", crate::PLANNING_AID);
    out
}
