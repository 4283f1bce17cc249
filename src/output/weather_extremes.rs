//! What `brimwater weather extremes` prints.

use super::table;
use super::weather::{cautions, rfc3339, rounded};
use crate::units::{UnitSystem, show_temperature, show_temperature_difference};
use crate::weather::extremes::Extremes;
use crate::weather::leverage::{Leverage, YEARS};
use crate::weather::winters::{THRESHOLDS_C, Winter};
use comfy_table::CellAlignment;
use serde_json::{Value, json};
use std::fmt::Write;

fn winter_json(winter: &Winter) -> Value {
    let [h0, h1, h2, h3] = winter.hours_below;
    let [d0, d1, d2, d3] = winter.degree_hours_below.map(|value| (value * 10.0).round() / 10.0);
    let [s0, s1, s2, s3] = winter.longest_spell_h;
    json!({
        "season": winter.season,
        "min_c": rounded(winter.min_c),
        "min_time": rfc3339(winter.min_time),
        "hours_below_0c": h0,
        "hours_below_minus2_22c": h1,
        "hours_below_minus4_44c": h2,
        "hours_below_minus6_67c": h3,
        "hours_uncertainty": (winter.hours_uncertainty * 10.0).round() / 10.0,
        "degree_hours_below_0c": d0,
        "degree_hours_below_minus2_22c": d1,
        "degree_hours_below_minus4_44c": d2,
        "degree_hours_below_minus6_67c": d3,
        "longest_spell_below_0c_h": s0,
        "longest_spell_below_minus2_22c_h": s1,
        "longest_spell_below_minus4_44c_h": s2,
        "longest_spell_below_minus6_67c_h": s3,
        "coverage": (winter.coverage * 1000.0).round() / 1000.0,
        "complete": winter.is_complete(),
    })
}

/// `brimwater.extremes/1`.
pub fn extremes_json(answer: &Extremes) -> Value {
    let levels: Vec<Value> = answer
        .return_levels
        .iter()
        .map(|level| {
            json!({
                "years": level.years as u32,
                "gev_c": level.gev_c.map(rounded),
                "gev_low_c": level.gev_low_c.map(rounded),
                "gev_high_c": level.gev_high_c.map(rounded),
                "handbook_c": rounded(level.handbook_c),
            })
        })
        .collect();
    json!({
        "schema": "brimwater.extremes/1",
        "seasons": answer.seasons,
        "return_levels": levels,
        "trend_c_per_decade": answer.trend.map(|trend| rounded(trend.slope * 10.0)),
        "trend_p_value": answer.trend.map(|trend| rounded(trend.p_value)),
        "design_99_6_c": answer.design_c.map(|design| rounded(design.0)),
        "design_99_c": answer.design_c.map(|design| rounded(design.1)),
        "leverage": answer.leverage.iter().map(|one| json!({
            "time": rfc3339(one.time),
            "value_c": rounded(one.value_c),
            "used": one.used,
            "why": one.why,
            "years": YEARS as u32,
            "level_with_c": rounded(one.with_c),
            "level_without_c": rounded(one.without_c),
        })).collect::<Vec<_>>(),
        "winters": answer.winters.iter().map(winter_json).collect::<Vec<_>>(),
        "cautions": answer.cautions,
    })
}

/// The winters as CSV.
pub fn winters_csv(winters: &[Winter]) -> String {
    let mut text = String::from(
        "season,min_c,hours_below_0c,hours_below_minus2_22c,hours_below_minus4_44c,hours_below_minus6_67c,hours_uncertainty,degree_hours_below_0c,longest_spell_below_0c_h,coverage,complete\n",
    );
    for winter in winters {
        let [h0, h1, h2, h3] = winter.hours_below;
        let _ = writeln!(
            text,
            "{},{},{h0},{h1},{h2},{h3},{:.1},{:.1},{},{:.3},{}",
            winter.season,
            rounded(winter.min_c),
            winter.hours_uncertainty,
            winter.degree_hours_below[0],
            winter.longest_spell_h[0],
            winter.coverage,
            winter.is_complete()
        );
    }
    text
}

/// Return levels and winters for people.
pub fn extremes_table(answer: &Extremes, units: UnitSystem) -> String {
    let mut text = String::new();
    if !answer.return_levels.is_empty() {
        let _ = writeln!(
            text,
            "Coldest air once in so many years, from {} complete winters:",
            answer.seasons
        );
        let mut shown = table::plain();
        shown.set_header([
            "years",
            "extreme value fit",
            "90 % band, colder",
            "warmer",
            "handbook formula",
        ]);
        let degrees = |value: Option<f64>| value.map_or_else(|| "none".into(), |value| show_temperature(value, units));
        for level in &answer.return_levels {
            shown.add_row([
                format!("{:.0}", level.years),
                degrees(level.gev_c),
                degrees(level.gev_low_c),
                degrees(level.gev_high_c),
                degrees(Some(level.handbook_c)),
            ]);
        }
        for at in 0..5 {
            if let Some(column) = shown.column_mut(at) {
                column.set_cell_alignment(CellAlignment::Right);
            }
        }
        let _ = writeln!(text, "{}", table::trimmed(&shown.to_string()));
    }
    match answer.design_c {
        Some((design, warmer)) => {
            let _ = writeln!(
                text,
                "\nExceeded in 99.6 % of all hours: {}; in 99 %: {}. Pipes break in the hours below these.",
                show_temperature(design, units),
                show_temperature(warmer, units)
            );
        }
        None => text.push_str("\nNo 99.6 % and 99 % temperatures: they need eight whole years of hours.\n"),
    }
    if let Some(trend) = answer.trend {
        let _ = writeln!(
            text,
            "Trend of the coldest nights: {} a decade (p = {:.2}).",
            show_temperature_difference(trend.slope * 10.0, units),
            trend.p_value
        );
    }
    leverage(&answer.leverage, units, &mut text);
    let _ = writeln!(
        text,
        "\nWinter by winter: coldest, hours below each threshold, longest spell below freezing, share of the cold months\nin the record. A season is named after the year it ends in."
    );
    let mut shown = table::plain();
    let mut header = vec!["season".to_owned(), "coldest".into()];
    header.extend(THRESHOLDS_C.iter().map(|c| format!("<{}", show_temperature(*c, units))));
    header.extend(["±h".to_owned(), "longest spell".into(), "record".into()]);
    shown.set_header(header);
    for winter in &answer.winters {
        let mut cells = vec![winter.season.to_string(), show_temperature(winter.min_c, units)];
        cells.extend(winter.hours_below.iter().map(|hours| format!("{hours:.0}")));
        cells.push(if winter.hours_uncertainty > 0.0 {
            format!("{:.0}", winter.hours_uncertainty)
        } else {
            String::new()
        });
        cells.push(format!("{:.0} h", winter.longest_spell_h[0]));
        cells.push(format!(
            "{:.0} %{}",
            winter.coverage * 100.0,
            if winter.is_complete() { "" } else { " gaps" }
        ));
        shown.add_row(cells);
    }
    for at in 1..9 {
        if let Some(column) = shown.column_mut(at) {
            column.set_cell_alignment(CellAlignment::Right);
        }
    }
    let _ = writeln!(text, "{}", table::trimmed(&shown.to_string()));
    cautions(&answer.cautions, &mut text);
    text
}

/// What hangs on single values, for people.
fn leverage(all: &[Leverage], units: UnitSystem, text: &mut String) {
    if all.is_empty() {
        return;
    }
    let _ = writeln!(
        text,
        "\nWhat hangs on single values: the coldest air once in {YEARS:.0} years with each and without it."
    );
    for one in all {
        let _ = writeln!(
            text,
            "- {} {}, {}: {} with it, {} without it; {}.",
            one.time.date_naive(),
            show_temperature(one.value_c, units),
            if one.used { "used" } else { "not used" },
            show_temperature(one.with_c, units),
            show_temperature(one.without_c, units),
            one.why
        );
    }
}
