//! The one-page record that a plumber leaves behind: inputs, formula, result, what to check on site, cautions, room to sign.

use super::charts::{Form, escape};
use super::charts_expansion;
use super::drawing_expansion;
use super::expansion_text::{
    capital, found_sentence, headline, precharge_words, relief_sentence, stays_open, tank_sentence, then_sentence,
    unprotected_sentence, verdict_sentence, water_sentence,
};
use crate::expansion::readings::{Ask, Quantity, READINGS, Reading, reading};
use crate::expansion::{Assessment, ClosingDevice, Measure, Step, System, Told};
use crate::language::Language;
use crate::units::{show_gauge, show_length, show_power, show_temperature, show_volume};
use std::fmt::Write;

/// The style: one page of A4 or Letter in 10 pt, black on white; one column on a phone. What a page does not hold is for the screen.
const STYLE: &str = "
:root { --ink: #1e2a32; --soft: #5d6a72; --line: #c6ced2; --water: #175e73; }
* { box-sizing: border-box; }
body { margin: 0 auto; max-width: 56rem; padding: 1rem; color: var(--ink); background: #fff;
  font: 15px/1.4 system-ui, sans-serif; }
h1 { font-size: 1.35rem; margin: 0 0 .1rem; }
h2 { font-size: 1rem; margin: .9rem 0 .2rem; border-bottom: 1px solid var(--line); padding-bottom: .1rem; }
p { margin: .25rem 0; }
.what { border: 2px solid var(--water); padding: .5rem .8rem; margin: .6rem 0; }
.what strong { font-size: 1.15rem; }
.soft { color: var(--soft); }
ul { margin: .2rem 0; padding-left: 1.1rem; }
.two { display: grid; grid-template-columns: 1fr 1fr; gap: 0 1.4rem; }
table { border-collapse: collapse; width: 100%; }
th, td { text-align: left; padding: .1rem .5rem .1rem 0; vertical-align: top; border-bottom: 1px solid #e6eaec; }
th { font-weight: normal; color: var(--soft); width: 46%; }
.blank { display: grid; grid-template-columns: 1fr 1fr 1fr; gap: .7rem 1.4rem; margin-top: .5rem; }
.blank div { border-bottom: 1px solid var(--ink); padding-top: 1.3rem; color: var(--soft); }
.box::before { content: '\\2610\\00a0'; }
.boxes { list-style: none; padding-left: 0; }
figure { margin: .4rem 0; overflow-x: auto; } figure svg { width: 100%; height: auto; } .drawing svg { min-width: 34rem; }
.slim { display: none; }
@media screen and (max-width: 40rem) { .wide { display: none; } .slim { display: block; } }
@media (max-width: 40rem) { .two, .blank { grid-template-columns: 1fr; } body { padding: .7rem; } }
@media print {
  @page { margin: 9mm 12mm; }
  body { max-width: none; padding: 0; font: 10pt/1.14 'Liberation Sans', Arial, Helvetica, sans-serif; }
  h1 { font-size: 12.5pt; } h2 { margin: .5mm 0 0; font-size: 10pt; padding: 0; } p, ul { margin: 0; }
  .top { display: flex; justify-content: space-between; align-items: baseline; }
  .what { padding: .5mm 2mm; margin: .6mm 0; } .what strong { font-size: 11.5pt; }
  .blank { gap: 0 1rem; margin: 0 0 1mm; }
  .blank div { padding-top: 4.6mm; break-inside: avoid; }
  .boxes { columns: 2; column-gap: 1.2rem; } .boxes li { break-inside: avoid; }
  figure { margin: 0; } figure svg, .drawing svg { min-width: 0; display: block; }
  .two { display: block; } .two h2 { float: left; border: 0; margin: 0 .6em 0 0; } .two section { clear: left; }
  .two table, .two tbody, .two tr, .two th, .two td { display: inline; padding: 0; border: 0; }
  .two th::after { content: ' '; } .two td::after { content: '; '; }
  .screen { display: none; }
  .dense figure + figure svg { max-height: 35mm; }
  .crowded { line-height: 1.08; } .crowded .blank div { padding-top: 3.4mm; }
}
";

/// Characters of readings and results beyond which the chart gives way on paper, so that the page stays one.
const DENSE: usize = 1_100;
/// The same, readings to look at again among them, beyond which the lines stand closer, too.
const CROWDED: usize = 1_500;
/// Checks that a printed page has room for.
const PRINTED: usize = 8;

/// The record as one HTML page without script or outside parts, in the system's language.
pub fn html(told: &Told, system: &System, answer: &Assessment) -> String {
    let language = system.language;
    let title = language.pick("Thermal expansion record", "Registro de expansión térmica");
    let (used, follows) = (inputs(told, system), results(system, answer));
    let length: usize = used
        .iter()
        .chain(&follows)
        .map(|(label, text)| label.chars().count() + text.chars().count())
        .sum();
    let again = warnings(answer, language);
    let crowd = length + again.iter().map(|text| text.chars().count()).sum::<usize>();
    let class = match (length, crowd) {
        (_, CROWDED..) => " class=\"dense crowded\"",
        (DENSE.., _) => " class=\"dense\"",
        _ => "",
    };
    let mut page = String::with_capacity(40_000);
    let _ = write!(
        page,
        "<!doctype html>\n<html lang=\"{}\">\n<head>\n<meta charset=\"utf-8\">\n\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n\
         <title>{title}</title>\n<style>{STYLE}</style>\n</head>\n<body{class}>\n<main>\n<div class=\"top\"><h1>{title}</h1>\n\
         <p class=\"soft\">Brimwater {}. {}</p></div>\n",
        language.word(),
        escape(crate::VERSION),
        language.pick(
            "Pressures are gauge readings unless called absolute.",
            "Las presiones son de manómetro salvo que se diga absoluta."
        )
    );
    let _ = write!(
        page,
        "<div class=\"what\"><strong>{}</strong>\n<p>{}</p>\n<p>{}</p></div>\n<p>{}</p>\n",
        escape(&capital(
            answer.recommendation.measure.words_in(language, system.existing.len())
        )),
        escape(&headline(system, answer).join(" ")),
        escape(&capital(&then_sentence(system, answer))),
        escape(&householder(system, answer))
    );
    if let Ok(picture) = drawing_expansion::installation(system, answer) {
        let _ = writeln!(page, "<figure class=\"drawing\">{picture}</figure>");
    }
    if !stays_open(answer)
        && let Ok(wide) = charts_expansion::pressure_strip(system, answer)
    {
        let slim = charts_expansion::pressure(system, answer, Form::Narrow).unwrap_or_default();
        let _ = writeln!(
            page,
            "<figure><div class=\"wide\">{wide}</div><div class=\"slim\">{slim}</div></figure>"
        );
    }
    let _ = writeln!(
        page,
        "<div class=\"two\">\n<section>\n<h2>{}</h2>\n{}</section>\n<section>\n<h2>{}</h2>\n{}</section>\n</div>",
        language.pick("Readings used", "Lecturas usadas"),
        table(&used),
        language.pick("What follows", "Qué resulta"),
        table(&follows)
    );
    let _ = writeln!(page, "<p>{}</p>", escape(&formula(system)));
    if !again.is_empty() {
        heading(
            &mut page,
            language.pick("Readings to look at again", "Lecturas que hay que revisar"),
        );
        page.push_str(&list(&again, ""));
    }
    heading(&mut page, language.pick("Check on site", "Revisar en el lugar"));
    page.push_str(&list(&on_site(system, answer), "box"));
    let _ = writeln!(
        page,
        "<p>{}</p>",
        escape(&crate::say!(language, "expansion-record-mind"))
    );
    page.push_str("<div class=\"blank\">\n");
    for [english, spanish] in BLANKS {
        let _ = writeln!(page, "<div>{}</div>", language.pick(english, spanish));
    }
    let aid = language.pick(crate::PLANNING_AID, crate::drip::PLANNING_AID_ES);
    let _ = writeln!(page, "</div>\n<p class=\"soft\">{}</p>", escape(aid));
    for_the_screen(&mut page, system, answer);
    page.push_str("</main>\n</body>\n</html>\n");
    page
}

/// Readings to look at again: they print, because the answer leans on them.
fn warnings(answer: &Assessment, language: Language) -> Vec<String> {
    answer
        .warnings
        .iter()
        .map(|fault| {
            let key = fault.column.as_deref().unwrap_or("");
            let label = reading(key).map_or_else(|| key.to_string(), |reading| reading.label(language));
            format!("{label}: {}. {}", fault.what, fault.remedy)
        })
        .collect()
}

/// What a printed page has no room for: reasons, what would turn the answer, every caution.
fn for_the_screen(page: &mut String, system: &System, answer: &Assessment) {
    let language = system.language;
    page.push_str("<div class=\"screen\">\n");
    heading(page, language.pick("Why", "Por qué"));
    page.push_str(&list(&answer.recommendation.why, ""));
    let mut rest: Vec<Row> = vec![
        (
            language.pick("With nothing", "Sin nada").into(),
            unprotected_sentence(system, answer),
        ),
        (
            language.pick("As found", "Como está").into(),
            found_sentence(system, answer),
        ),
        (language.pick("Tank", "Tanque").into(), tank_sentence(system, answer)),
        (
            language.pick("Relief", "Alivio").into(),
            relief_sentence(system, answer),
        ),
    ];
    if let Some(there) = &answer.existing_tank {
        rest.push((tanks_there_label(system), there.findings.join("; ")));
    }
    for finding in &answer.relief.findings {
        rest.push((String::new(), finding.clone()));
    }
    page.push_str(&table(&rest));
    let turns: Vec<String> = answer
        .sensitivity
        .iter()
        .flatten()
        .take(4)
        .map(|turn| turn.sentence.clone())
        .collect();
    if !turns.is_empty() {
        heading(
            page,
            language.pick(
                "Readings that would change the answer",
                "Lecturas que cambiarían la respuesta",
            ),
        );
        page.push_str(&list(&turns, ""));
    }
    heading(page, language.pick("Mind", "Tenga en cuenta"));
    page.push_str(&list(&answer.cautions, ""));
    page.push_str("</div>\n");
}

fn tanks_there_label(system: &System) -> String {
    crate::say!(
        system.language,
        "expansion-tank-there-label",
        tanks = system.existing.len()
    )
}

/// One sentence for whoever lives there.
fn householder(system: &System, answer: &Assessment) -> String {
    let id = match answer.recommendation.measure {
        _ if answer.recommendation.steps.contains(&Step::ShutEnergyOff) => "expansion-householder-danger",
        Measure::Tank
        | Measure::LowerSupplyPressureThenTank
        | Measure::KeepExistingTank
        | Measure::ReplaceExistingTank => "expansion-householder-tank",
        Measure::Relief | Measure::LowerSupplyPressureThenRelief => "expansion-householder-relief",
        Measure::LowerSupplyPressure if answer.as_advised.tank_volume_l.is_some() => "expansion-householder-tank",
        Measure::LowerSupplyPressure => "expansion-householder-supply",
        Measure::NoneNeeded => "expansion-householder-none",
    };
    crate::say!(system.language, id, tanks = tanks_once_done(answer))
}

/// How many tanks are there once all is done: of factory sizes as many as were named.
fn tanks_once_done(answer: &Assessment) -> usize {
    let named = answer
        .tank
        .from_catalogue
        .as_ref()
        .map(|choice| choice.pieces.iter().map(|piece| piece.count).sum());
    named.unwrap_or(answer.as_advised.tanks.len())
}

/// Places to fill in by hand.
const BLANKS: [[&str; 2]; 9] = [
    ["Address", "Dirección"],
    ["Date", "Fecha"],
    ["Permit number", "Número de permiso"],
    ["Licensed plumber, license number", "Plomero con licencia, su número"],
    ["Highest pressure in 24 h", "Presión más alta en 24 h"],
    ["Precharge, regulator set to", "Precarga, reductora puestas a"],
    ["Heater make and age", "Calentador: marca y edad"],
    ["Signature of the plumber", "Firma del plomero"],
    ["Signature of the householder", "Firma de quien vive ahí"],
];

fn heading(page: &mut String, text: &str) {
    let _ = writeln!(page, "<h2>{text}</h2>");
}

fn list(items: &[String], class: &str) -> String {
    let mut out = String::new();
    let (open, item) = match class {
        "box" => ("<ul class=\"boxes\">", "<li class=\"box\">"),
        _ => ("<ul>", "<li>"),
    };
    out.push_str(open);
    for text in items {
        let _ = write!(out, "{item}{}</li>", escape(&capital(text)));
    }
    out.push_str("</ul>\n");
    out
}

type Row = (String, String);

fn table(rows: &[Row]) -> String {
    let mut out = String::from("<table>\n");
    for (label, text) in rows {
        let _ = writeln!(
            out,
            "<tr><th scope=\"row\">{}</th><td>{}</td></tr>",
            escape(label),
            escape(text)
        );
    }
    out.push_str("</table>\n");
    out
}

/// A device between main and heater, as people call it.
fn device_words(device: ClosingDevice, language: Language) -> &'static str {
    language.pick(
        device.name(),
        match device {
            ClosingDevice::BackflowAssembly => "conjunto contra reflujo",
            ClosingDevice::CheckValve => "válvula de retención",
            ClosingDevice::Prv => "reductora de presión",
            ClosingDevice::PrvWithBypass => "reductora con paso de retorno",
            ClosingDevice::MeterCheck => "retención en el medidor",
            ClosingDevice::Softener => "suavizador o filtro",
            ClosingDevice::SoftenerWithCheck => "suavizador o filtro con retención",
            ClosingDevice::RecirculationCheck => "retención de recirculación",
            ClosingDevice::Nothing => "nada",
        },
    )
}

/// The readings that were told, by the one table of them, and what stood in for those that matter and were not.
fn inputs(told: &Told, system: &System) -> Vec<Row> {
    let language = system.language;
    let mut told = told.clone();
    let mut rows: Vec<Row> = Vec::new();
    for reading in READINGS {
        let typed: Vec<String> = reading
            .told(&mut told)
            .into_iter()
            .filter(|text| !text.trim().is_empty())
            .collect();
        // What the answer stands on is told even when it was not typed.
        let always = matches!(reading.key, "cold" | "limit" | "heater-relief");
        if (typed.is_empty() && !always) || reading.ask == Ask::How {
            continue;
        }
        let mut text = shown(reading, system, &typed);
        if reading.key == "cold" && typed.is_empty() {
            text.push_str(language.pick(" (from the climate record)", " (del registro del clima)"));
        }
        rows.push((reading.label(language), text));
    }
    rows
}

/// A reading's value for people: as it was understood where it has a measure, else as it was typed.
fn shown(reading: &Reading, system: &System, typed: &[String]) -> String {
    let words = system.words;
    if reading.quantity == Quantity::Device {
        let names: Vec<&str> = system
            .closed_by
            .iter()
            .map(|device| device_words(*device, system.language))
            .collect();
        return names.join(", ");
    }
    if reading.quantity == Quantity::Pipe {
        let heated = reading.key == "pipe";
        let pipes = system.piping.iter().filter(|pipe| pipe.heated == heated);
        return pipes.map(|pipe| pipe.name.clone()).collect::<Vec<_>>().join("; ");
    }
    let mut values: Vec<String> = Vec::new();
    (reading.values)(system, &mut |value| {
        values.push(match reading.quantity {
            Quantity::Volume => show_volume(value, words),
            Quantity::Temperature => show_temperature(value, words),
            Quantity::Gauge => show_gauge(value, words),
            Quantity::Length => show_length(value, words),
            Quantity::Power => show_power(value, words),
            _ => format!("{value:.2}"),
        });
    });
    if values.is_empty() {
        let language = system.language;
        let said = |text: &String| match text.as_str() {
            "yes" => language.pick("yes", "sí").to_string(),
            other => other.to_string(),
        };
        return typed.iter().map(said).collect::<Vec<_>>().join("; ");
    }
    if reading.key == "heater" && values.len() == system.heaters.len() {
        for (text, heater) in values.iter_mut().zip(&system.heaters) {
            if let Some(own_c) = heater.hot_c {
                let own = show_temperature(own_c, words);
                text.push_str(&system.language.pick(format!(" at {own}"), format!(" a {own}")));
            }
        }
    }
    values.join("; ")
}

fn results(system: &System, answer: &Assessment) -> Vec<Row> {
    let (words, language) = (system.words, system.language);
    let closed = match answer.closed.is_closed {
        Some(true) => language.pick("yes", "sí"),
        Some(false) => language.pick("no", "no"),
        None => language.pick("unclear", "no se sabe"),
    };
    let mut rows: Vec<Row> = vec![
        (
            language.pick("Closed", "Cerrada").into(),
            format!("{closed}: {}", answer.closed.because.first().map_or("", String::as_str)),
        ),
        (language.pick("Water", "Agua").into(), water_sentence(system, answer)),
    ];
    if let Some(choice) = &answer.tank.from_catalogue {
        rows.push((
            language.pick("From the list", "De la lista").into(),
            format!("{} ({})", choice.name, show_volume(choice.volume_l, words)),
        ));
    }
    if answer.existing_tank.is_some() {
        // Their readings stand among those that were used.
        let verdict = verdict_sentence(system, answer).unwrap_or_default();
        rows.push((tanks_there_label(system), verdict));
    }
    rows
}

/// How it was computed, and by which rules.
fn formula(system: &System) -> String {
    let language = system.language;
    crate::say!(
        language,
        if system.material_credit {
            "expansion-record-formula-less-metal"
        } else {
            "expansion-record-formula"
        },
        air = format!("{:.1}", system.air_abs_pa() / 1e3)
    )
}

fn on_site(system: &System, answer: &Assessment) -> Vec<String> {
    let (words, language) = (system.words, system.language);
    let say = |id: &str| crate::say!(language, id);
    let mut checks = vec![
        say("expansion-check-static"),
        say("expansion-check-traced"),
        say("expansion-check-storage"),
    ];
    if let Some(after) = &answer.tank.after_lowering {
        let setting = show_gauge(after.regulator_gauge_kpa * 1e3, words);
        checks.push(crate::say!(language, "expansion-check-regulator", setting = setting));
    }
    if let Some(precharge) = answer
        .as_advised
        .precharge_gauge_kpa
        .map(|kpa| precharge_words(system, kpa))
    {
        checks.push(crate::say!(
            language,
            "expansion-check-precharge",
            tanks = tanks_once_done(answer),
            precharge = precharge
        ));
        checks.push(crate::say!(
            language,
            "expansion-check-tank",
            tanks = tanks_once_done(answer)
        ));
    }
    checks.push(say("expansion-check-heater-relief"));
    checks.push(say("expansion-check-heat"));
    if !system.existing.is_empty() {
        checks.push(crate::say!(
            language,
            "expansion-check-tank-there",
            tanks = system.existing.len()
        ));
    }
    checks.truncate(PRINTED);
    checks
}
