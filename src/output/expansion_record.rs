//! The one-page record that a plumber leaves behind: inputs, formula, result, what to check on site, cautions, room to sign.

use super::charts::escape;
use super::charts_expansion;
use super::expansion_text::{
    capital, found_sentence, headline, relief_sentence, tank_sentence, then_sentence, unprotected_sentence,
    verdict_sentence, water_sentence,
};
use crate::expansion::{Assessment, ClosingDevice, System, Told};
use crate::language::Language;
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

/// The record as one HTML page without script or outside parts, in the system's language.
pub fn html(told: &Told, system: &System, answer: &Assessment) -> String {
    let language = system.language;
    let title = language.pick("Thermal expansion record", "Registro de expansión térmica");
    let mut page = String::with_capacity(24_000);
    let _ = write!(
        page,
        "<!doctype html>\n<html lang=\"{}\">\n<head>\n<meta charset=\"utf-8\">\n\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n\
         <title>{title}</title>\n<style>{STYLE}</style>\n</head>\n<body>\n<main>\n<h1>{title}</h1>\n\
         <p class=\"soft\">Brimwater {}. {}</p>\n",
        language.word(),
        escape(crate::VERSION),
        language.pick(
            "Pressures are gauge readings unless called absolute.",
            "Las presiones son de manómetro salvo que se diga absoluta."
        )
    );
    let _ = write!(
        page,
        "<div class=\"what\"><strong>{}</strong>\n<p>{}</p>\n{}</div>\n",
        escape(&capital(answer.recommendation.measure.words_in(language))),
        escape(&headline(system, answer).join(" ")),
        list(&answer.recommendation.why, "")
    );
    let _ = writeln!(
        page,
        "<div class=\"two\">\n<section>\n<h2>{}</h2>\n{}</section>\n<section>\n<h2>{}</h2>\n{}</section>\n</div>",
        language.pick("Readings used", "Lecturas usadas"),
        table(&inputs(told, system)),
        language.pick("What follows", "Qué resulta"),
        table(&results(system, answer))
    );
    heading(&mut page, language.pick("How it was computed", "Cómo se calculó"));
    for text in formulas(system) {
        let _ = writeln!(page, "<p>{}</p>", escape(&text));
    }
    if !answer.warnings.is_empty() {
        heading(
            &mut page,
            language.pick("Readings to look at again", "Lecturas que hay que revisar"),
        );
        let warnings: Vec<String> = answer
            .warnings
            .iter()
            .map(|fault| {
                let reading = fault.column.as_deref().unwrap_or("");
                format!("{}: {}. {}", reading_words(reading, language), fault.what, fault.remedy)
            })
            .collect();
        page.push_str(&list(&warnings, ""));
    }
    let turns: Vec<String> = answer
        .sensitivity
        .iter()
        .flatten()
        .take(4)
        .map(|turn| turn.sentence.clone())
        .collect();
    if !turns.is_empty() {
        heading(
            &mut page,
            language.pick(
                "Readings that would change the answer",
                "Lecturas que cambiarían la respuesta",
            ),
        );
        page.push_str(&list(&turns, "brief"));
    }
    heading(&mut page, language.pick("Check on site", "Revisar en el lugar"));
    page.push_str(&list(&on_site(system, answer), "box"));
    if let Ok(svg) = charts_expansion::pressure(system, answer) {
        let _ = writeln!(page, "<figure>{svg}</figure>");
    }
    heading(&mut page, language.pick("Mind", "Tenga en cuenta"));
    page.push_str(&list(&answer.cautions, "brief"));
    heading(&mut page, language.pick("Left by", "Lo deja"));
    page.push_str("<div class=\"blank\">\n");
    for [english, spanish] in BLANKS {
        let _ = writeln!(page, "<div>{}</div>", language.pick(english, spanish));
    }
    let aid = language.pick(crate::PLANNING_AID, crate::drip::PLANNING_AID_ES);
    let _ = write!(
        page,
        "</div>\n<p class=\"soft\">{}</p>\n</main>\n</body>\n</html>\n",
        escape(aid)
    );
    page
}

/// Places to fill in by hand.
const BLANKS: [[&str; 2]; 9] = [
    ["Address", "Dirección"],
    ["Date", "Fecha"],
    [
        "Licensed plumber and license number",
        "Plomero con licencia y número de licencia",
    ],
    ["Permit number", "Número de permiso"],
    ["Heater make, age, volume", "Calentador: marca, edad, volumen"],
    ["Highest pressure in 24 h", "Presión más alta en 24 h"],
    ["Precharge set to, by", "Precarga puesta a, por"],
    ["Regulator set to", "Reductora puesta a"],
    ["Signature", "Firma"],
];

fn heading(page: &mut String, text: &str) {
    let _ = writeln!(page, "<h2>{text}</h2>");
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

type Row = (&'static str, String);

fn table(rows: &[Row]) -> String {
    let mut out = String::from("<table>\n");
    for (label, text) in rows {
        let _ = writeln!(out, "<tr><th scope=\"row\">{label}</th><td>{}</td></tr>", escape(text));
    }
    out.push_str("</table>\n");
    out
}

/// A reading of a warning as the form calls it.
fn reading_words(reading: &str, language: Language) -> &str {
    language.pick(
        reading,
        match reading {
            "heater" => "calentador",
            "cold" => "suministro más frío",
            "hot" => "almacenamiento más caliente",
            "static" => "presión estática",
            "limit" => "límite de presión",
            "street" => "presión de la calle",
            "precharge" => "precarga",
            other => other,
        },
    )
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

fn inputs(told: &Told, system: &System) -> Vec<Row> {
    let (words, language) = (system.words, system.language);
    let gauge = |pascal: f64| show_gauge(pascal, words);
    let mut rows: Vec<Row> = Vec::new();
    let mut row = |english: &'static str, spanish: &'static str, text: String| {
        rows.push((language.pick(english, spanish), text));
    };
    for heater in &system.heaters {
        row("Heater", "Calentador", show_volume(heater.volume_l, words));
    }
    for pipe in &system.piping {
        let text = format!("{}: {}", pipe.name, show_volume(pipe.volume_l, words));
        if pipe.heated {
            row("Hot pipe", "Tubo caliente", text);
        } else {
            row("Cold pipe", "Tubo frío", text);
        }
    }
    let from_climate = if told.cold.is_none() {
        language.pick(" (from the climate record)", " (del registro del clima)")
    } else {
        ""
    };
    row(
        "Coldest supply",
        "Suministro más frío",
        format!("{}{from_climate}", show_temperature(system.cold_c, words)),
    );
    let stacked = if told.stacking.is_some() {
        language.pick(" (stacking included)", " (con sobrecalentamiento)")
    } else {
        ""
    };
    row(
        "Hottest storage",
        "Almacenamiento más caliente",
        format!("{}{stacked}", show_temperature(system.hot_c, words)),
    );
    row("Highest static", "Estática más alta", gauge(system.static_gauge_pa));
    if let Some(street) = system.street_gauge_pa {
        row("Highest in the main", "Lo más alto en la calle", gauge(street));
    }
    row("Limit", "Límite", gauge(system.limit_gauge_pa));
    if system.elevation_m != 0.0 {
        row(
            "Height above sea level",
            "Altura sobre el mar",
            show_length(system.elevation_m, words),
        );
    }
    if system.tank_above_gauge_m != 0.0 {
        row(
            "Tank above gauge",
            "Tanque sobre el manómetro",
            show_length(system.tank_above_gauge_m, words),
        );
    }
    if !system.closed_by.is_empty() {
        let names: Vec<&str> = system
            .closed_by
            .iter()
            .map(|device| device_words(*device, language))
            .collect();
        row(
            "Between main and heater",
            "Entre la calle y el calentador",
            names.join(", "),
        );
    }
    if let Some(tank) = &system.existing {
        let (volume, precharge) = (show_volume(tank.volume_l, words), gauge(tank.precharge_gauge_pa));
        let mut text = language.pick(
            format!("{volume}, precharge {precharge}"),
            format!("{volume}, precarga {precharge}"),
        );
        if let Some(most) = tank.max_acceptance_l.map(|most| show_volume(most, words)) {
            text.push_str(&language.pick(format!(", takes at most {most}"), format!(", recibe a lo más {most}")));
        }
        row("Tank there", "Tanque que ya está", text);
    }
    if let Some(at) = system.relief_at_gauge_pa {
        row("Relief asked about", "Alivio consultado", gauge(at));
    }
    row(
        "Heater's relief valve",
        "Alivio del calentador",
        gauge(system.heater_relief_gauge_pa),
    );
    if let Some(input) = system.heat_input_w {
        row(
            "Heat input",
            "Potencia",
            format!("{} × {:.2}", show_power(input, words), system.efficiency),
        );
    }
    if let Some(draw) = system.daily_draw_l {
        row("Hot water a day", "Agua caliente al día", show_volume(draw, words));
    }
    row(
        "Growth of the metal",
        "Crecimiento del metal",
        if system.material_credit {
            language.pick("taken off", "descontado")
        } else {
            language.pick("not taken off (cautious)", "sin descontar (cauto)")
        }
        .to_string(),
    );
    rows
}

fn results(system: &System, answer: &Assessment) -> Vec<Row> {
    let (words, language) = (system.words, system.language);
    let closed = match answer.closed.is_closed {
        Some(true) => language.pick("yes", "sí"),
        Some(false) => language.pick("no", "no"),
        None => language.pick("unclear", "no se sabe"),
    };
    let mut rows = vec![
        (
            language.pick("Closed", "Cerrada"),
            format!("{closed}: {}", answer.closed.because.join("; ")),
        ),
        (language.pick("Water", "Agua"), water_sentence(system, answer)),
        (
            language.pick("With nothing (upper bound)", "Sin nada (máximo)"),
            unprotected_sentence(system, answer),
        ),
        (language.pick("As found", "Como está"), found_sentence(system, answer)),
        (
            language.pick("Once done", "Una vez hecho"),
            then_sentence(system, answer),
        ),
        (language.pick("Tank", "Tanque"), tank_sentence(system, answer)),
    ];
    if let Some(choice) = &answer.tank.from_catalogue {
        rows.push((
            language.pick("Smallest of the list", "El menor de la lista"),
            format!("{} ({})", choice.name, show_volume(choice.volume_l, words)),
        ));
    }
    if let Some(there) = &answer.existing_tank {
        rows.push((
            language.pick("Tank there", "Tanque que ya está"),
            verdict_sentence(system, answer)
                .into_iter()
                .chain(there.findings.iter().cloned())
                .collect::<Vec<_>>()
                .join("; "),
        ));
    }
    rows.push((language.pick("Relief", "Alivio"), relief_sentence(system, answer)));
    for finding in &answer.relief.findings {
        rows.push(("", finding.clone()));
    }
    rows
}

fn formulas(system: &System) -> Vec<String> {
    let language = system.language;
    let limit = show_gauge(system.limit_gauge_pa, system.words);
    let air_kpa = system.air_abs_pa() / 1e3;
    let metal = if system.material_credit {
        language.pick(
            " The metal's growth, 3α ΔT, is taken off.",
            " Se descuenta el crecimiento del metal, 3α ΔT.",
        )
    } else {
        ""
    };
    vec![
        language.pick(
            format!("Gain: V × (v₂/v₁ − 1), specific volumes of water by IAPWS-IF97 (R7-97, 2012) at {limit}.{metal}"),
            format!("Aumento: V × (v₂/v₁ − 1), volúmenes específicos del agua según IAPWS-IF97 (R7-97, 2012) a {limit}.{metal}"),
        ),
        language.pick(
            format!("Tank: gain / (1 − P₁/P₂), absolute pressures with {air_kpa:.1} kPa of air at this height; the diaphragm form of the ASHRAE HVAC Systems and Equipment hydronic chapter (2000 to 2020)."),
            format!("Tanque: aumento / (1 − P₁/P₂), presiones absolutas con {air_kpa:.1} kPa de aire a esta altura; la forma de diafragma del manual de ASHRAE, capítulo de sistemas hidrónicos (2000 a 2020)."),
        ),
        language
            .pick(
                "Limit, relief and tank rules: Uniform Plumbing Code 608 (2015 to 2024) and International Plumbing Code 504, 604 and 607 (2018 to 2021), as adopted locally.",
                "Reglas de límite, alivio y tanque: Uniform Plumbing Code 608 (2015 a 2024) e International Plumbing Code 504, 604 y 607 (2018 a 2021), como estén vigentes en el lugar.",
            )
            .to_string(),
    ]
}

fn on_site(system: &System, answer: &Assessment) -> Vec<String> {
    let (words, language) = (system.words, system.language);
    let plain = |english: &str, spanish: &str| language.pick(english, spanish).to_string();
    let mut checks = vec![
        plain(
            "Static pressure with a maximum-hand gauge over 24 hours, a night included",
            "Presión estática con manómetro con aguja de máxima durante 24 horas, con una noche",
        ),
        plain(
            "Every device from the meter to the heater traced; the utility asked about a check at the meter",
            "Cada dispositivo del medidor al calentador ubicado; preguntado a la empresa de agua por una retención en el medidor",
        ),
        plain(
            "Storage temperature measured at the tap nearest to the heater, not read from the dial",
            "Temperatura del tanque medida en la llave más cercana al calentador, no leída en la perilla",
        ),
    ];
    if let Some(precharge) = answer
        .as_advised
        .precharge_gauge_kpa
        .map(|kpa| show_gauge(kpa * 1e3, words))
    {
        checks.push(language.pick(
            format!("Precharge set to {precharge} with the tank isolated and drained to zero, tag with date left on the tank"),
            format!("Precarga puesta a {precharge} con el tanque aislado y vaciado a cero, etiqueta con fecha en el tanque"),
        ));
        checks.push(plain(
            "Tank on the cold line after the last check, supported, no valve that can shut it off unnoticed",
            "Tanque en la línea fría después de la última retención, con soporte, sin válvula que pueda cerrarlo sin que se note",
        ));
    }
    if let Some(after) = &answer.tank.after_lowering {
        let setting = show_gauge(after.regulator_gauge_kpa * 1e3, words);
        checks.push(language.pick(
            format!("Pressure reducing valve set to {setting}; static read again over a night before the tank is fitted"),
            format!("Válvula reductora puesta a {setting}; estática leída otra vez durante una noche antes de poner el tanque"),
        ));
    }
    if system.existing.is_some() {
        checks.push(plain(
            "Tank there: no water at the air valve; top sounds hollow when tapped",
            "Tanque que ya está: sin agua en la válvula de aire; arriba suena hueco al golpearlo",
        ));
    }
    checks.push(plain(
        "Heater's temperature and pressure relief valve and its drain pipe: present, unobstructed, open to view",
        "Válvula de alivio de temperatura y presión del calentador y su tubo de descarga: presentes, libres y a la vista",
    ));
    checks.push(plain(
        "Heat test after the work: pressure at the end of a heating cycle written down",
        "Prueba de calentamiento después del trabajo: anotada la presión al final de un ciclo",
    ));
    checks
}
