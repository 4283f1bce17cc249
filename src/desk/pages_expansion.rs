//! The plumber's form and its answer.

use super::form::Form;
use super::render::{page, pictured};
use super::sessions::Session;
use super::settings;
use super::state::Desk;
use super::words::word;
use crate::expansion::readings::{Ask, Quantity, READINGS, Reading, Slot, reading};
use crate::expansion::{Assessment, Measure, Step, System, Told, assess};
use crate::faults::{Fault, Faults};
use crate::language::Language;
use crate::output::{charts_expansion, expansion_record, expansion_text};
use crate::units::{UnitSystem, show_gauge, show_temperature_difference, show_volume, show_volume_at_least};
use axum::Extension;
use axum::extract::State;
use axum::http::{HeaderValue, header};
use axum::response::{Html, IntoResponse, Response};
use base64::prelude::{BASE64_STANDARD, Engine};
use minijinja::{Value, context};
use sha2::{Digest, Sha256};
use std::sync::Arc;

/// Closing devices offered, by the names of the command line.
const CLOSING: [&str; 9] = [
    "backflow-assembly",
    "check-valve",
    "meter-check",
    "prv",
    "prv-with-bypass",
    "softener",
    "softener-with-check",
    "recirculation-check",
    "nothing",
];
/// `GET /expansion`.
pub async fn blank(State(desk): State<Arc<Desk>>, Extension(session): Extension<Session>) -> Response {
    let groups = groups(&Form::default(), &session);
    page(
        &desk,
        &session,
        "expansion.html",
        context! { area => "expansion", groups },
    )
}

/// `POST /expansion`.
pub async fn answer(State(desk): State<Arc<Desk>>, Extension(session): Extension<Session>, form: Form) -> Response {
    let (mut session, mut form) = (session, form);
    if let Some(set) = settings::set(&desk, &session, &form) {
        form = settings::with_units(&form, session.system, set.system);
        session = set;
        if form.get("shown").is_empty() {
            let more = context! { area => "expansion", groups => groups(&form, &session) };
            return page(&desk, &session, "expansion.html", more);
        }
    }
    let told = told(&form, session.language);
    let (answer, problems) = match work_out(&told, session.system) {
        Ok((system, assessment)) => (Some(answer_value(&system, &assessment, &form, &session)), Vec::new()),
        Err(problems) => (None, problems),
    };
    let more = context! { area => "expansion", groups => groups(&form, &session), answer, problems };
    page(&desk, &session, "expansion.html", more)
}

/// `POST /expansion/record`: the record as one page to print.
pub async fn record(State(desk): State<Arc<Desk>>, Extension(session): Extension<Session>, form: Form) -> Response {
    let told = told(&form, session.language);
    match work_out(&told, session.system) {
        Ok((system, assessment)) => {
            let html = expansion_record::html(&told, &system, &assessment);
            let policy = record_policy(&html);
            let mut response = Html(html).into_response();
            if let Ok(policy) = HeaderValue::from_str(&policy) {
                response.headers_mut().insert(header::CONTENT_SECURITY_POLICY, policy);
            }
            response
        }
        Err(problems) => {
            let more = context! { area => "expansion", groups => groups(&form, &session), problems };
            page(&desk, &session, "expansion.html", more)
        }
    }
}

/// The policy of the record: its own style sheet stands in the page, so it is allowed by its hash and nothing else is.
fn record_policy(html: &str) -> String {
    let hashes: Vec<String> = html
        .split("<style>")
        .skip(1)
        .filter_map(|rest| rest.split("</style>").next())
        .map(|style| format!("'sha256-{}'", BASE64_STANDARD.encode(Sha256::digest(style.as_bytes()))))
        .collect();
    format!(
        "default-src 'none'; style-src {}; form-action 'none'; base-uri 'none'; frame-ancestors 'none'",
        if hashes.is_empty() {
            "'none'".to_string()
        } else {
            hashes.join(" ")
        }
    )
}

/// The readings of a form: a field a reading, by the one table of them.
fn told(form: &Form, language: Language) -> Told {
    let mut told = Told {
        language,
        ..Told::default()
    };
    for reading in READINGS {
        let field = reading.field();
        match reading.slot {
            Slot::One(slot) => *slot(&mut told) = form.told(&field),
            Slot::Many(slot) => *slot(&mut told) = form.all(&field).into_iter().map(str::to_string).collect(),
            Slot::Flag(slot) => *slot(&mut told) = form.get(&field) == "yes",
        }
    }
    told
}

fn work_out(told: &Told, system: UnitSystem) -> Result<(System, Assessment), Vec<String>> {
    let words = |faults: Faults| {
        faults
            .0
            .iter()
            .map(|fault| fault_words(fault, told.language))
            .collect::<Vec<_>>()
    };
    let system = told.read(system).map_err(words)?;
    let assessment = assess(&system).map_err(words)?;
    Ok((system, assessment))
}

/// A fault as the form's reader understands it: the field by its label, then what is wrong, what was expected, what to do.
fn fault_words(fault: &Fault, language: Language) -> String {
    let column = fault.column.as_deref().unwrap_or("");
    let label = reading(column).map_or_else(|| column.to_string(), |reading| reading.label(language));
    let mut text = format!("{label}: {}", fault.what);
    if let Some(value) = &fault.value {
        text.push_str(&language.pick(format!(" (read: {value})"), format!(" (leído: {value})")));
    }
    if !fault.expected.is_empty() {
        text.push_str(language.pick("; expected ", "; se espera "));
        text.push_str(&fault.expected);
    }
    text.push('.');
    if !fault.remedy.is_empty() {
        text.push(' ');
        text.push_str(&fault.remedy);
    }
    text
}

fn groups(form: &Form, session: &Session) -> Vec<Value> {
    let say = |key: &str| word(key, session.language).to_string();
    Ask::ALL
        .iter()
        .map(|(ask, heading)| {
            let fields: Vec<Value> = READINGS
                .iter()
                .filter(|reading| reading.ask == *ask)
                .flat_map(|reading| fields(reading, form, session))
                .collect();
            // What most answers do not need stays folded until something is told there.
            let folded = !matches!(ask, Ask::Needed | Ask::Closed | Ask::First);
            let used = READINGS
                .iter()
                .any(|reading| reading.ask == *ask && !form.get(&reading.field()).is_empty());
            context! { label => say(heading), fields, folded, open => used }
        })
        .collect()
}

/// The fields of a reading: one, or a box for each device that may close the line.
fn fields(reading: &Reading, form: &Form, session: &Session) -> Vec<Value> {
    let (name, language) = (reading.field(), session.language);
    if reading.quantity == Quantity::Device {
        let chosen = form.all(&name);
        return CLOSING
            .iter()
            .map(|device| {
                context! {
                    kind => "checkbox",
                    name => name.clone(),
                    word => *device,
                    label => word(&format!("closed_by_{device}"), language),
                    chosen => chosen.contains(device),
                }
            })
            .collect();
    }
    let label = reading.label(language);
    vec![match reading.slot {
        Slot::Flag(_) => context! {
            kind => "checkbox",
            word => "yes",
            chosen => form.get(&name) == "yes",
            name,
            label,
        },
        _ => context! {
            kind => "text",
            help => reading.form_help(language),
            value => form.all(&name).join("; "),
            // A well's cut-out stands for static.
            needed => reading.ask == Ask::Needed && !matches!(reading.key, "limit" | "static"),
            name,
            label,
        },
    }]
}

/// The pressure with nothing to take the water. Where the heater's relief valve opens first, that is what happens, and the
/// figure beyond it is only how far a sealed system would go.
fn unprotected_figure(system: &System, answer: &Assessment, language: Language) -> Value {
    let gauge = |pascal: f64| show_gauge(pascal, system.words);
    let relief = gauge(system.heater_relief_gauge_pa);
    let bare = &answer.unprotected;
    let mut notes: Vec<String> = Vec::new();
    if let Some(warming) = bare
        .heating_to_limit_k
        .map(|kelvin| show_temperature_difference(kelvin, system.words))
    {
        // What counts, not what was read: the street where nothing regulates it.
        let supply = &answer.as_found.supply;
        notes.push(if supply.static_gauge_kpa >= supply.limit_gauge_kpa {
            language
                .pick(
                    "the limit is passed before any heating",
                    "el límite ya se pasa sin calentar",
                )
                .to_string()
        } else {
            language.pick(
                format!("the limit is reached after {warming} of heating"),
                format!("se llega al límite tras calentar {warming}"),
            )
        });
    }
    let value = match bare.final_gauge_kpa.map(|kpa| kpa * 1e3) {
        Some(pascal) if pascal < system.heater_relief_gauge_pa => language.pick(
            format!("{} at most", gauge(pascal)),
            format!("a lo más {}", gauge(pascal)),
        ),
        beyond => {
            if let Some(sealed) = beyond.map(gauge) {
                notes.push(language.pick(
                    format!("sealed, up to {sealed}: something gives before that"),
                    format!("sellado, hasta {sealed}: antes cede algo"),
                ));
            }
            language.pick(
                format!("the heater's relief valve opens ({relief})"),
                format!("abre el alivio del calentador ({relief})"),
            )
        }
    };
    if expansion_text::stays_open(answer) {
        // Open plumbing that stays so has nothing to foresee: what closing it would bring is a note.
        return context! {
            label => language.pick("Pressure when heated", "Presión al calentar"),
            value => language.pick(
                format!("stays at {}", gauge(answer.as_advised.static_gauge_kpa * 1e3)),
                format!("queda en {}", gauge(answer.as_advised.static_gauge_kpa * 1e3)),
            ),
            note => language.pick(
                format!("heated water goes back; were the plumbing closed: {value}"),
                format!("el agua caliente regresa; si la tubería se cerrara: {value}"),
            ),
        };
    }
    context! {
        label => if answer.closed.is_closed == Some(false) {
            language.pick("Pressure, were the plumbing closed", "Presión, si la tubería se cerrara")
        } else {
            language.pick("Pressure with nothing to take it", "Presión sin nada que la reciba")
        },
        value,
        note => notes.join("; "),
    }
}

/// The figures beside the recommendation. In open plumbing nothing has to be fitted, so tank and relief are left out and the
/// pressure is told as what closing it would bring.
fn figures(system: &System, answer: &Assessment, language: Language) -> Vec<Value> {
    let gauge = |kpa: f64| show_gauge(kpa * 1e3, system.words);
    let volume = |litres: f64| show_volume(litres, system.words);
    let figure = |english: &str, spanish: &str, value: String, note: String| {
        context! { label => language.pick(english, spanish), value, note }
    };
    let plain = |english: &str, spanish: &str| language.pick(english, spanish).to_string();
    let mut figures = vec![figure(
        "Room the water needs",
        "Espacio que necesita el agua",
        volume(answer.expansion.volume_l),
        format!("{:.2} %", answer.expansion.fraction * 100.0),
    )];
    let open = answer.closed.is_closed == Some(false);
    figures.push(unprotected_figure(system, answer, language));
    figures.push(figure(
        "Once done",
        "Una vez hecho",
        gauge(answer.as_advised.static_gauge_kpa),
        expansion_text::then_sentence(system, answer),
    ));
    figures.push(figure(
        "As found",
        "Como está",
        gauge(answer.as_found.supply.static_gauge_kpa),
        expansion_text::found_sentence(system, answer),
    ));
    let fits = answer
        .recommendation
        .steps
        .iter()
        .any(|step| matches!(step, Step::FitTank { .. }));
    if fits && let Some(volume_l) = answer.tank.min_volume_l {
        let precharge = answer.tank.precharge_gauge_kpa;
        let precharge = precharge
            .map(|kpa| expansion_text::precharge_words(system, kpa))
            .unwrap_or_default();
        figures.push(figure(
            "Smallest tank",
            "Tanque más pequeño",
            show_volume_at_least(volume_l, system.words),
            language.pick(format!("precharge {precharge}"), format!("precarga {precharge}")),
        ));
    }
    if let Some(existing) = &answer.existing_tank {
        let does = expansion_text::verdict_sentence(system, answer).unwrap_or_default();
        let label = crate::say!(language, "expansion-the-tank-there", tanks = existing.count);
        figures.push(context! { label, value => does, note => existing.findings.join("; ") });
    }
    if !open {
        // Only the settings that also hold the limit are shown as settings; what else is possible stands in the note.
        let relief = &answer.relief;
        let value = match relief.window_within_limit_gauge_kpa {
            Some([low, high]) => format!("{} – {}", gauge(low), gauge(high)),
            None => plain("no setting holds the limit", "ningún ajuste mantiene el límite"),
        };
        let notes: Vec<String> = relief.why_not.iter().chain(&relief.findings).cloned().collect();
        figures.push(figure(
            "A relief instead, set between",
            "Un alivio en su lugar, ajustado entre",
            value,
            notes.join("; "),
        ));
    }
    figures
}

fn answer_value(system: &System, answer: &Assessment, form: &Form, session: &Session) -> Value {
    let language = session.language;
    let figures = figures(system, answer, language);
    let title = expansion_text::capital(answer.recommendation.measure.words_in(language, system.existing.len()));
    // A tank that does once its precharge is set does not do as it stands.
    let calm = match answer.recommendation.measure {
        Measure::NoneNeeded => true,
        Measure::KeepExistingTank => answer.recommendation.steps.is_empty(),
        _ => false,
    };
    let kept: Vec<Value> = form
        .fields()
        .filter(|(name, _)| !["go", "shown", "language", "units"].contains(name))
        .map(|(name, value)| context! { name, value })
        .collect();
    context! {
        tone => if calm { "calm" } else { "mind" },
        title,
        measure => answer.recommendation.measure.name(),
        steps => expansion_text::headline(system, answer),
        why => answer.recommendation.why.iter().chain(&answer.closed.because).cloned().collect::<Vec<_>>(),
        figures,
        chart => pictured(|form| charts_expansion::pressure(system, answer, form)).filter(|_| !expansion_text::stays_open(answer)),
        turns => answer.sensitivity.iter().flatten().map(|turn| turn.sentence.clone()).collect::<Vec<_>>(),
        warnings => answer.warnings.iter().map(|fault| fault_words(fault, language)).collect::<Vec<_>>(),
        cautions => answer.cautions.clone(),
        kept,
    }
}
