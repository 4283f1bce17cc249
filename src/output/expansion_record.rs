//! The one-page record that a plumber leaves behind: inputs, formula, result, what to check on site, cautions, room to sign.

use super::charts::escape;
use super::charts_expansion;
use super::expansion_text::{
    capital, closed_word, relief_sentence, tank_sentence, unprotected_sentence, water_sentence,
};
use crate::expansion::{Assessment, System, Told};
use crate::units::{show_gauge, show_length, show_power, show_temperature, show_volume};
use std::fmt::Write;

/// The style: one page of A4 or Letter in black on white, one column on a phone.
const STYLE: &str = "
:root { --ink: #1e2a32; --soft: #5d6a72; --line: #c6ced2; --water: #175e73; }
* { box-sizing: border-box; }
body { margin: 0 auto; max-width: 56rem; padding: 1rem; color: var(--ink); background: #fff;
  font: 15px/1.4 system-ui, sans-serif; }
h1 { font-size: 1.35rem; margin: 0 0 .1rem; }
h2 { font-size: .95rem; margin: .9rem 0 .2rem; border-bottom: 1px solid var(--line); padding-bottom: .1rem; }
p { margin: .25rem 0; }
.what { border: 2px solid var(--water); padding: .5rem .8rem; margin: .6rem 0; }
.what strong { font-size: 1.15rem; }
.soft { color: var(--soft); }
ul { margin: .2rem 0; padding-left: 1.1rem; }
.two { display: grid; grid-template-columns: 2fr 3fr; gap: 0 1.4rem; }
table { border-collapse: collapse; width: 100%; }
th, td { text-align: left; padding: .1rem .5rem .1rem 0; vertical-align: top; border-bottom: 1px solid #e6eaec; }
th { font-weight: normal; color: var(--soft); width: 46%; }
section + section th { width: 22%; }
.blank { display: grid; grid-template-columns: 1fr 1fr; gap: .7rem 1.4rem; margin-top: .5rem; }
.blank div { border-bottom: 1px solid var(--ink); padding-top: 1.1rem; font-size: .8rem; color: var(--soft); }
.box::before { content: '\\2610\\00a0'; }
.boxes { list-style: none; padding-left: 0; }
figure { margin: .4rem 0; } figure svg { width: 100%; height: auto; }
@media (max-width: 40rem) { .two, .blank { grid-template-columns: 1fr; } body { padding: .7rem; } }
@media print {
  @page { margin: 8mm 9mm; }
  body { max-width: none; padding: 0; font-size: 7.3pt; line-height: 1.15; }
  h1 { font-size: 12pt; } h2 { margin: .3rem 0 .08rem; font-size: 8.3pt; } p, ul { margin: .08rem 0; }
  .what { padding: .2rem .6rem; margin: .25rem 0; } .what strong { font-size: 10pt; }
  .blank { grid-template-columns: 1fr 1fr 1fr; gap: .1rem 1rem; margin-top: .2rem; }
  .blank div { padding-top: .75rem; font-size: 7pt; }
  .two { grid-template-columns: 2fr 3fr; }
  .boxes, .brief { columns: 2; column-gap: 1.4rem; } .boxes li, .brief li { break-inside: avoid; }
  .blank div { break-inside: avoid; }
  figure { display: none; }
  th, td { padding-top: 0; padding-bottom: 0; }
}
";

/// The record as one HTML page without script or outside parts.
pub fn html(told: &Told, system: &System, answer: &Assessment) -> String {
    let mut page = String::with_capacity(24_000);
    page.push_str("<!doctype html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n");
    page.push_str("<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n");
    let _ = write!(
        page,
        "<title>Thermal expansion record</title>\n<style>{STYLE}</style>\n</head>\n<body>\n<main>\n<h1>Thermal expansion record</h1>\n\
         <p class=\"soft\">Brimwater {}. Pressures are gauge readings unless called absolute.</p>\n",
        escape(crate::VERSION)
    );
    let _ = write!(
        page,
        "<div class=\"what\"><strong>{}</strong>\n{}</div>\n",
        escape(&capital(answer.recommendation.measure.words())),
        list(&answer.recommendation.why, "")
    );
    page.push_str("<div class=\"two\">\n<section>\n<h2>Readings used</h2>\n");
    page.push_str(&inputs(told, system));
    page.push_str("</section>\n<section>\n<h2>What follows</h2>\n<table>\n");
    for (label, text) in results(system, answer) {
        let _ = writeln!(
            page,
            "<tr><th scope=\"row\">{}</th><td>{}</td></tr>",
            escape(&label),
            escape(&text)
        );
    }
    page.push_str("</table>\n</section>\n</div>\n");
    page.push_str("<h2>How it was computed</h2>\n");
    for text in formulas(system) {
        let _ = writeln!(page, "<p>{}</p>", escape(&text));
    }
    if !answer.warnings.is_empty() {
        page.push_str("<h2>Readings to look at again</h2>\n");
        let warnings: Vec<String> = answer
            .warnings
            .iter()
            .map(|fault| {
                format!(
                    "{}: {}. {}",
                    fault.column.as_deref().unwrap_or("reading"),
                    fault.what,
                    fault.remedy
                )
            })
            .collect();
        page.push_str(&list(&warnings, ""));
    }
    if !answer.sensitivity.is_empty() {
        page.push_str("<h2>Readings that would change the answer</h2>\n");
        let turns: Vec<String> = answer
            .sensitivity
            .iter()
            .take(4)
            .map(|turn| turn.sentence.clone())
            .collect();
        page.push_str(&list(&turns, "brief"));
    }
    page.push_str("<h2>Check on site</h2>\n");
    page.push_str(&list(&on_site(system, answer), "box"));
    if let Ok(svg) = charts_expansion::pressure(system, answer) {
        let _ = writeln!(page, "<figure>{svg}</figure>");
    }
    page.push_str("<h2>Mind</h2>\n");
    page.push_str(&list(&answer.cautions, "brief"));
    page.push_str("<h2>Left by</h2>\n<div class=\"blank\">\n");
    for label in [
        "Address",
        "Date",
        "Licensed plumber and license number",
        "Permit number",
        "Heater make, age, volume",
        "Highest pressure in 24 h",
        "Precharge set to, by",
        "Regulator set to",
        "Signature",
    ] {
        let _ = writeln!(page, "<div>{label}</div>");
    }
    let _ = write!(
        page,
        "</div>\n<p class=\"soft\">{}</p>\n</main>\n</body>\n</html>\n",
        escape(crate::PLANNING_AID)
    );
    page
}

fn list(items: &[String], class: &str) -> String {
    let mut out = String::new();
    let (open, item) = match class {
        "box" => ("<ul class=\"boxes\">", "<li class=\"box\">"),
        "brief" => ("<ul class=\"brief\">", "<li>"),
        _ => ("<ul>", "<li>"),
    };
    out.push_str(open);
    for text in items {
        let _ = write!(out, "{item}{}</li>", escape(&capital(text)));
    }
    out.push_str("</ul>\n");
    out
}

fn inputs(told: &Told, system: &System) -> String {
    let words = system.words;
    let gauge = |pascal: f64| show_gauge(pascal, words);
    let mut rows: Vec<(&str, String)> = Vec::new();
    for heater in &system.heaters {
        rows.push(("Heater", show_volume(heater.volume_l, words)));
    }
    for pipe in &system.piping {
        rows.push((
            if pipe.heated { "Hot pipe" } else { "Cold pipe" },
            format!("{}: {}", pipe.name, show_volume(pipe.volume_l, words)),
        ));
    }
    rows.push((
        "Coldest supply",
        format!(
            "{}{}",
            show_temperature(system.cold_c, words),
            if told.cold.is_none() {
                " (from the climate record)"
            } else {
                ""
            }
        ),
    ));
    rows.push((
        "Hottest storage",
        format!(
            "{}{}",
            show_temperature(system.hot_c, words),
            if told.stacking.is_some() {
                " (stacking included)"
            } else {
                ""
            }
        ),
    ));
    rows.push(("Highest static", gauge(system.static_gauge_pa)));
    if let Some(street) = system.street_gauge_pa {
        rows.push(("Highest in the main", gauge(street)));
    }
    rows.push(("Limit", gauge(system.limit_gauge_pa)));
    if system.elevation_m != 0.0 {
        rows.push(("Height above sea level", show_length(system.elevation_m, words)));
    }
    if system.tank_above_gauge_m != 0.0 {
        rows.push(("Tank above gauge", show_length(system.tank_above_gauge_m, words)));
    }
    if !system.closed_by.is_empty() {
        let names: Vec<&str> = system.closed_by.iter().map(|device| device.name()).collect();
        rows.push(("Between main and heater", names.join(", ")));
    }
    if let Some(tank) = &system.existing {
        rows.push((
            "Tank there",
            format!(
                "{}, precharge {}{}",
                show_volume(tank.volume_l, words),
                gauge(tank.precharge_gauge_pa),
                tank.max_acceptance_l.map_or(String::new(), |most| format!(
                    ", takes at most {}",
                    show_volume(most, words)
                ))
            ),
        ));
    }
    if let Some(at) = system.relief_at_gauge_pa {
        rows.push(("Relief asked about", gauge(at)));
    }
    rows.push(("Heater's relief valve", gauge(system.heater_relief_gauge_pa)));
    if let Some(input) = system.heat_input_w {
        rows.push((
            "Heat input",
            format!("{} × {:.2}", show_power(input, words), system.efficiency),
        ));
    }
    if let Some(draw) = system.daily_draw_l {
        rows.push(("Hot water a day", show_volume(draw, words)));
    }
    rows.push((
        "Growth of the metal",
        if system.material_credit {
            "taken off"
        } else {
            "not taken off (cautious)"
        }
        .to_string(),
    ));
    let mut out = String::from("<table>\n");
    for (label, text) in rows {
        let _ = writeln!(out, "<tr><th scope=\"row\">{label}</th><td>{}</td></tr>", escape(&text));
    }
    out.push_str("</table>\n");
    out
}

fn results(system: &System, answer: &Assessment) -> Vec<(String, String)> {
    let words = system.words;
    let mut rows = vec![
        (
            "Closed".to_string(),
            format!("{}: {}", closed_word(answer), answer.closed.because.join("; ")),
        ),
        ("Water".to_string(), water_sentence(system, answer)),
        (
            "With nothing (upper bound)".to_string(),
            unprotected_sentence(system, answer),
        ),
        ("Tank".to_string(), tank_sentence(system, answer)),
    ];
    if let Some(choice) = &answer.tank.from_catalogue {
        rows.push((
            "Smallest of the list".to_string(),
            format!("{} ({})", choice.name, show_volume(choice.volume_l, words)),
        ));
    }
    if let Some(there) = &answer.existing_tank {
        rows.push(("Tank there".to_string(), there.findings.join("; ")));
    }
    rows.push(("Relief".to_string(), relief_sentence(system, answer)));
    for finding in &answer.relief.findings {
        rows.push((String::new(), finding.clone()));
    }
    rows
}

fn formulas(system: &System) -> Vec<String> {
    let words = system.words;
    vec![
        format!(
            "Gain: V × (v₂/v₁ − 1), specific volumes of water by IAPWS-IF97 (R7-97, 2012) at {}.{}",
            show_gauge(system.limit_gauge_pa, words),
            if system.material_credit { " The metal's growth, 3α ΔT, is taken off." } else { "" }
        ),
        format!(
            "Tank: gain / (1 − P₁/P₂), absolute pressures with {:.1} kPa of air at this height; the diaphragm form of the ASHRAE HVAC Systems and Equipment hydronic chapter (2000 to 2020).",
            system.air_abs_pa() / 1e3
        ),
        "Limit, relief and tank rules: Uniform Plumbing Code 608 (2015 to 2024) and International Plumbing Code 504, 604 and 607 (2018 to 2021), as adopted locally."
            .to_string(),
    ]
}

fn on_site(system: &System, answer: &Assessment) -> Vec<String> {
    let words = system.words;
    let mut checks = vec![
        "Static pressure with a maximum-hand gauge over 24 hours, a night included".to_string(),
        "Every device from the meter to the heater traced; the utility asked about a check at the meter".to_string(),
        "Storage temperature measured at the tap nearest to the heater, not read from the dial".to_string(),
    ];
    if let Some(kpa) = answer.tank.precharge_gauge_kpa {
        checks.push(format!(
            "Precharge set to {} with the tank isolated and drained to zero, tag with date left on the tank",
            show_gauge(kpa * 1e3, words)
        ));
        checks.push(
            "Tank on the cold line after the last check, supported, no valve that can shut it off unnoticed"
                .to_string(),
        );
    }
    if let Some(after) = &answer.tank.after_lowering {
        let setting = show_gauge(after.regulator_gauge_kpa * 1e3, words);
        checks.push(format!(
            "Pressure reducing valve set to {setting}; static read again over a night before the tank is fitted; precharge then set to the same"
        ));
    }
    if system.existing.is_some() {
        checks.push("Tank there: no water at the air valve; top sounds hollow when tapped".to_string());
    }
    checks.push(
        "Heater's temperature and pressure relief valve and its drain pipe: present, unobstructed, open to view"
            .to_string(),
    );
    checks.push("Heat test after the work: pressure at the end of a heating cycle written down".to_string());
    checks
}
