//! The answer for one system as people read it on a terminal, and as a line of CSV.

use super::defuse::defuse;
use crate::expansion::{Assessment, System};
use crate::faults::Severity;
use crate::units::{UnitSystem, show_flow, show_gauge, show_volume};
use std::fmt::Write;

/// Width of the page of text, characters.
const WIDTH: usize = 100;
/// Column at which the text of a line begins.
const INDENT: usize = 15;

/// The answer as a page of text, not wider than 100 characters.
pub fn text(system: &System, answer: &Assessment) -> String {
    let words = system.words;
    let gauge = |kpa: f64| show_gauge(kpa * 1e3, words);
    let mut out = String::new();
    let measure = answer.recommendation.measure.words();
    line(&mut out, "Do", &capital(measure));
    for why in &answer.recommendation.why {
        line(&mut out, "", &format!("- {why}"));
    }
    out.push('\n');
    line(&mut out, "Closed", closed_word(answer));
    for because in &answer.closed.because {
        line(&mut out, "", &format!("- {because}"));
    }
    for settle in &answer.closed.settle_by {
        line(&mut out, "", &format!("- to settle it: {settle}"));
    }
    line(&mut out, "Water", &water_sentence(system, answer));
    line(&mut out, "With nothing", &unprotected_sentence(system, answer));
    line(&mut out, "", &answer.unprotected.remark);
    line(&mut out, "Tank", &tank_sentence(system, answer));
    if let Some(choice) = &answer.tank.from_catalogue {
        line(
            &mut out,
            "",
            &format!(
                "smallest of the list that fits: {} ({}, takes {})",
                choice.name,
                show_volume(choice.volume_l, words),
                show_volume(choice.max_acceptance_l, words)
            ),
        );
    }
    if let Some(existing) = &answer.existing_tank {
        line(
            &mut out,
            "Tank there",
            if existing.adequate {
                "holds the limit as it is"
            } else {
                "does not hold the limit as it is"
            },
        );
        for finding in &existing.findings {
            line(&mut out, "", &format!("- {finding}"));
        }
        if let Some(kpa) = existing.final_with_give_gauge_kpa {
            line(
                &mut out,
                "",
                &format!("- with the give of heater and pipe the pressure ends at {}", gauge(kpa)),
            );
        }
    }
    line(&mut out, "Relief", &relief_sentence(system, answer));
    for finding in &answer.relief.findings {
        line(&mut out, "", &format!("- {finding}"));
    }
    if !answer.sensitivity.is_empty() {
        out.push('\n');
        line(
            &mut out,
            "Check first",
            "readings that, if wrong, would change the answer (nearest first):",
        );
        for turn in &answer.sensitivity {
            line(&mut out, "", &format!("- {}", turn.sentence));
        }
    }
    out.push('\n');
    for (at, caution) in answer.cautions.iter().enumerate() {
        line(&mut out, if at == 0 { "Mind" } else { "" }, &format!("- {caution}"));
    }
    out.push('\n');
    line(&mut out, "", crate::PLANNING_AID);
    out
}

/// "yes", "no" or "unclear".
pub fn closed_word(answer: &Assessment) -> &'static str {
    match answer.closed.is_closed {
        Some(true) => "yes",
        Some(false) => "no",
        None => "unclear",
    }
}

/// What the water gains.
pub fn water_sentence(system: &System, answer: &Assessment) -> String {
    let tongue = system.tongue();
    let expansion = &answer.expansion;
    let (heated, cold, hot) = (
        tongue.volume(expansion.heated_l),
        tongue.temperature(system.cold_c),
        tongue.temperature(system.hot_c),
    );
    let percent = format!("{:.3} %", 100.0 * expansion.fraction.abs());
    let (gained, loses) = (tongue.volume(expansion.water_l.abs()), expansion.fraction < 0.0);
    let mut text = tongue.pick(
        format!(
            "{heated} heated from {cold} to {hot} {} {percent}, {gained}",
            if loses { "lose" } else { "gain" }
        ),
        format!(
            "{heated} calentados de {cold} a {hot} {} {percent}, {gained}",
            if loses { "pierden" } else { "ganan" }
        ),
    );
    if system.material_credit {
        let (metal, left) = (
            tongue.volume(expansion.material_credit_l),
            tongue.volume(expansion.volume_l),
        );
        text.push_str(&tongue.pick(
            format!("; less {metal} that the metal grows, {left}"),
            format!("; menos {metal} que crece el metal, {left}"),
        ));
    }
    text
}

/// What the pressure does with nothing to take the water.
pub fn unprotected_sentence(system: &System, answer: &Assessment) -> String {
    let tongue = system.tongue();
    let bare = &answer.unprotected;
    let reach = |heating: Option<f64>, what: String| match heating {
        Some(0.0) => tongue.pick(
            format!("it stands at or above {what} without heating"),
            format!("sin calentar ya está en {what} o más arriba"),
        ),
        Some(kelvin) => {
            let warming = tongue.warming(kelvin);
            tongue.pick(
                format!("{warming} of heating reach {what}"),
                format!("calentar {warming} llega a {what}"),
            )
        }
        None => tongue.pick(
            format!("heating does not reach {what}"),
            format!("el calentamiento no llega a {what}"),
        ),
    };
    let start = tongue.gauge(system.static_gauge_pa);
    let end = match bare.final_gauge_kpa.map(|kpa| tongue.gauge(kpa * 1e3)) {
        Some(end) => tongue.pick(format!("{start} rises to {end}"), format!("{start} sube a {end}")),
        None => tongue
            .pick(
                "the pressure would pass 100 MPa (14,500 psi)",
                "la presión pasaría de 100 MPa (14,500 psi)",
            )
            .to_string(),
    };
    let (limit, relief) = (
        tongue.gauge(system.limit_gauge_pa),
        tongue.gauge(system.heater_relief_gauge_pa),
    );
    let limit = tongue.pick(format!("the limit of {limit}"), format!("el límite de {limit}"));
    let relief = tongue.pick(
        format!("the heater's relief valve at {relief}"),
        format!("el alivio del calentador, {relief}"),
    );
    format!(
        "{end}; {}; {}",
        reach(bare.heating_to_limit_k, limit),
        reach(bare.heating_to_heater_relief_k, relief)
    )
}

/// What tank would do.
pub fn tank_sentence(system: &System, answer: &Assessment) -> String {
    let tongue = system.tongue();
    let tank = &answer.tank;
    let mut text = match (tank.min_volume_l, tank.acceptance_factor, tank.precharge_gauge_kpa) {
        (Some(volume_l), Some(factor), Some(precharge_kpa)) => {
            let (volume, precharge) = (tongue.volume(volume_l), tongue.gauge(precharge_kpa * 1e3));
            let percent = 100.0 * factor;
            tongue.pick(
                format!(
                    "at least {volume} in total, of which {percent:.1} % fill; precharge {precharge}, set with the tank isolated and drained"
                ),
                format!(
                    "al menos {volume} en total, de los que se llena el {percent:.1} %; precarga {precharge}, puesta con el tanque aislado y vacío"
                ),
            )
        }
        _ => tank
            .why_not
            .clone()
            .unwrap_or_else(|| tongue.pick("no tank can do it", "ningún tanque basta").to_string()),
    };
    if let Some(after) = &tank.after_lowering {
        let (setting, volume) = (
            tongue.gauge(after.regulator_gauge_kpa * 1e3),
            tongue.volume(after.min_volume_l),
        );
        text.push_str(&tongue.pick(
            format!("; with the supply lowered to {setting}: at least {volume}"),
            format!("; con el suministro bajado a {setting}: al menos {volume}"),
        ));
    }
    text
}

/// What relief would do.
pub fn relief_sentence(system: &System, answer: &Assessment) -> String {
    let tongue = system.tongue();
    let relief = &answer.relief;
    let [lo, hi] = relief.window_gauge_kpa.map(|kpa| tongue.gauge(kpa * 1e3));
    let once = tongue.volume(relief.per_heatup_l);
    let mut text = relief.why_not.clone().unwrap_or_else(|| {
        tongue.pick(
            format!("set from {lo} to {hi}; {once} to the drain in one heating"),
            format!("ajustado de {lo} a {hi}; {once} al desagüe en un calentamiento"),
        )
    });
    if relief.feasible {
        if let (Some(day_l), Some(year_l)) = (relief.per_day_l, relief.per_year_l) {
            let (day, year) = (tongue.volume(day_l), tongue.volume(year_l));
            text.push_str(&tongue.pick(
                format!(", at most {day} a day and {year} a year"),
                format!(", a lo más {day} al día y {year} al año"),
            ));
        }
        if let Some(peak) = relief.peak_l_per_min {
            let flow = show_flow(peak * 60.0, tongue.units);
            text.push_str(&tongue.pick(
                format!("; at most {flow} while it heats"),
                format!("; a lo más {flow} mientras calienta"),
            ));
        }
    }
    text
}

/// First letter large.
pub fn capital(text: &str) -> String {
    let mut chars = text.chars();
    match chars.next() {
        Some(first) => first.to_uppercase().chain(chars).collect(),
        None => String::new(),
    }
}

/// One entry: a label and text wrapped beside it.
fn line(out: &mut String, label: &str, text: &str) {
    let room = WIDTH - INDENT;
    let hang = if text.starts_with("- ") { 2 } else { 0 };
    let mut label = label;
    let mut row = String::new();
    let mut first = true;
    let mut flush = |row: &mut String, label: &str| {
        let _ = writeln!(out, "{label:INDENT$}{row}");
        row.clear();
    };
    for word in text.split_whitespace() {
        let used = row.chars().count();
        if used > 0 && used + 1 + word.chars().count() > room {
            flush(&mut row, label);
            label = "";
            first = false;
        }
        if row.is_empty() {
            if !first {
                row.push_str(&" ".repeat(hang));
            }
        } else if !row.chars().all(|c| c == ' ') {
            row.push(' ');
        }
        row.push_str(word);
    }
    flush(&mut row, label);
}

/// Header of the CSV of results.
pub const CSV_HEADER: [&str; 20] = [
    "system_id",
    "measure",
    "is_closed",
    "expansion_fraction",
    "expansion_l",
    "unprotected_gauge_kpa",
    "heating_to_limit_k",
    "tank_feasible",
    "tank_min_l",
    "tank_acceptance_factor",
    "tank_precharge_gauge_kpa",
    "catalogue_tank",
    "existing_tank_adequate",
    "existing_tank_final_gauge_kpa",
    "regulator_gauge_kpa",
    "relief_feasible",
    "relief_low_gauge_kpa",
    "relief_high_gauge_kpa",
    "why",
    "warnings",
];

/// One result as the cells of [`CSV_HEADER`], SI, harmless to spreadsheets.
pub fn csv_cells(id: &str, answer: &Assessment) -> Vec<String> {
    let number = |value: Option<f64>, decimals: usize| value.map_or(String::new(), |v| format!("{v:.decimals$}"));
    let existing = answer.existing_tank.as_ref();
    let tank = &answer.tank;
    vec![
        defuse(id).into_owned(),
        answer.recommendation.measure.name().to_string(),
        closed_word(answer).to_string(),
        format!("{:.7}", answer.expansion.fraction),
        format!("{:.4}", answer.expansion.volume_l),
        number(answer.unprotected.final_gauge_kpa, 1),
        number(answer.unprotected.heating_to_limit_k, 2),
        yes_no(tank.feasible).to_string(),
        number(tank.min_volume_l, 3),
        number(tank.acceptance_factor, 5),
        number(tank.precharge_gauge_kpa, 1),
        tank.from_catalogue
            .as_ref()
            .map_or(String::new(), |choice| defuse(&choice.name).into_owned()),
        existing.map_or(String::new(), |there| yes_no(there.adequate).to_string()),
        number(existing.and_then(|there| there.final_gauge_kpa), 1),
        number(tank.after_lowering.map(|after| after.regulator_gauge_kpa), 1),
        yes_no(answer.relief.feasible).to_string(),
        number(Some(answer.relief.window_gauge_kpa[0]), 1),
        number(Some(answer.relief.window_gauge_kpa[1]), 1),
        answer.recommendation.why.join("; "),
        answer
            .warnings
            .iter()
            .filter(|fault| fault.severity >= Severity::Warning)
            .map(|fault| format!("{}: {}", fault.column.as_deref().unwrap_or(""), fault.what))
            .collect::<Vec<_>>()
            .join("; "),
    ]
}

fn yes_no(value: bool) -> &'static str {
    if value { "yes" } else { "no" }
}

/// The units in words, for a heading.
pub fn units_word(words: UnitSystem) -> &'static str {
    match words {
        UnitSystem::Us => "US customary",
        UnitSystem::Si => "SI",
    }
}
