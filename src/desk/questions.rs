//! The drip questions as large choices, and the account that their answers make.

use super::data::Data;
use super::form::Form;
use super::sessions::Session;
use super::words::word;
use crate::drip::{
    AIR_RANGE_C, Account, Behind, DeviceFacts, Hazard, Heater, Question, Sign, ToldRate, Water, When, Where,
};
use crate::expansion::readings::reading;
use crate::freeze::Outlook;
use crate::inventory::{Assembly, Service};
use crate::units::{UnitError, UnitSystem, parse_power_w, parse_temperature_c, parse_volume_l, show_temperature};
use chrono::{DateTime, Utc};
use serde::Serialize;
use std::collections::BTreeMap;

/// One choice of a question.
#[derive(Debug, Clone, Serialize)]
pub struct Choice {
    word: String,
    label: String,
    hint: String,
    chosen: bool,
}

/// One question as the page draws it.
#[derive(Debug, Clone, Serialize)]
pub struct Asked {
    kind: &'static str,
    name: &'static str,
    /// Which of the [`STEPS`] asks it.
    step: usize,
    label: String,
    gate: bool,
    choices: Vec<Choice>,
    value: String,
    help: String,
    problem: String,
}

/// What is asked together, in the order of a call: the first three say how urgent it is (danger, where, how much).
pub const STEPS: [&[&str]; 9] = [
    &["hazard"],
    &["where"],
    &["rate", "rate_other"],
    &["fire", "critical"],
    &["when"],
    &["water"],
    &["also"],
    &["air"],
    &["heater", "heat_input"],
];
/// Steps after which an answer may not wait.
pub const URGENT_STEPS: usize = 3;

impl Asked {
    /// What was told, in the words of the choices; empty when nothing was.
    fn told(&self) -> String {
        if self.kind == "text" {
            return self.value.clone();
        }
        let chosen = self
            .choices
            .iter()
            .filter(|choice| choice.chosen && !NOT_TOLD.contains(&choice.word.as_str()));
        chosen
            .map(|choice| choice.label.as_str())
            .collect::<Vec<_>>()
            .join(", ")
    }
}

/// Choices that tell nothing.
const NOT_TOLD: [&str; 2] = ["unsure", "unknown"];

/// How the questions are asked.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Move {
    /// Answer with what is told.
    Answer,
    /// Show this step, without an answer yet.
    Show(usize),
    /// Show all questions from now on, or one after the other.
    All(bool),
    /// Stay at the step, with the answer again where one stood there: language and units were set.
    Stay(bool),
}

impl Move {
    /// The move that a sent form asks for. A form without one wants its answer.
    pub fn of(form: &Form) -> Self {
        let at = at(form);
        match form.get("go") {
            "next" if at + 1 < STEPS.len() => Move::Show(at + 1),
            "back" => Move::Show(at.saturating_sub(1)),
            "all" => Move::All(true),
            "one" => Move::All(false),
            "set" | "same" => Move::Stay(form.get("shown") == "answer"),
            other => match other.strip_prefix("to-").and_then(|step| step.parse().ok()) {
                Some(step) if step < STEPS.len() => Move::Show(step),
                _ => Move::Answer,
            },
        }
    }
}

/// The step that asks what would tell most.
pub fn step_of(question: Question) -> usize {
    let name = match question {
        Question::Where => "where",
        Question::Rate => "rate",
        Question::When => "when",
        Question::Water => "water",
        Question::Air => "air",
        Question::Frost | Question::Ice | Question::AfterTest => "also",
    };
    STEPS.iter().position(|names| names.contains(&name)).unwrap_or(0)
}

/// The step that a form was sent from.
pub fn at(form: &Form) -> usize {
    form.get("at").parse().unwrap_or(0).min(STEPS.len() - 1)
}

/// The first step with something that could not be read.
pub fn unread(questions: &[Asked]) -> usize {
    questions
        .iter()
        .find(|question| !question.problem.is_empty())
        .map_or(0, |question| question.step)
}

/// What each step was told: its number, the question, the answer; steps that were told nothing are left out.
pub fn so_far(questions: &[Asked]) -> Vec<(usize, String, String)> {
    let told = |step: usize| {
        let of_step = questions.iter().filter(move |question| question.step == step);
        let answers: Vec<String> = of_step
            .clone()
            .map(Asked::told)
            .filter(|told| !told.is_empty())
            .collect();
        let label = of_step.map(|question| question.label.clone()).next()?;
        (!answers.is_empty()).then(|| (step, label, answers.join("; ")))
    };
    (0..STEPS.len()).filter_map(told).collect()
}

/// The rates offered as choices: key of the label and the words they stand for.
const RATES: &[(&str, &str)] = &[
    ("rate_none", "none"),
    ("rate_drops", "20 drops/min"),
    ("rate_cup_hour", "1 cup in 60 min"),
    ("rate_cup_ten", "1 cup in 10 min"),
    ("rate_cup_minute", "1 cup in 1 min"),
    ("rate_stream", "steady stream"),
    ("rate_gushing", "gushing"),
];

/// What the form told, and what in it could not be read.
#[derive(Debug, Clone, Default)]
pub struct Told {
    /// The account.
    pub account: Account,
    /// Why the typed rate was not read.
    pub rate_problem: String,
    /// Why the typed air was not read.
    pub air_problem: String,
    /// Why what was typed of the water heater was not read, by the field's name.
    pub heater_problems: BTreeMap<&'static str, String>,
}

/// The account of an assembly before any question is answered.
pub fn start(assembly: Option<&Assembly>) -> Account {
    let mut account = Account::default();
    if let Some(assembly) = assembly {
        account.device = DeviceFacts::of(assembly);
        account.critical = assembly.critical.is_some();
        account.fire = match assembly.service {
            Service::Fire => Some(true),
            _ => None,
        };
    }
    account
}

/// Reads a sent form. A value that is not one of the choices counts as not told.
pub fn read(form: &Form, assembly: Option<&Assembly>, session: &Session) -> Told {
    let mut told = Told {
        account: start(assembly),
        ..Told::default()
    };
    let mut heater_problems = BTreeMap::new();
    let account = &mut told.account;
    account.place = Where::parse(form.get("where")).unwrap_or(Where::Unsure);
    account.when = When::parse(form.get("when")).unwrap_or(When::Unsure);
    account.water = Water::parse(form.get("water"));
    account.fire = match form.get("fire") {
        "yes" => Some(true),
        "no" => Some(false),
        _ => account.fire,
    };
    account.critical |= form.get("critical") == "yes";
    account.hazards = form.all("hazard").into_iter().filter_map(Hazard::parse).collect();
    account.signs = form.all("also").into_iter().filter_map(Sign::parse).collect();
    if let Some(text) = form.told("rate_other").or_else(|| form.told("rate")) {
        match ToldRate::parse(&text, session.system) {
            Ok(rate) => account.rate = Some(rate),
            Err(error) => told.rate_problem = error.sentence(session.language),
        }
    }
    if let Some(text) = form.told("air") {
        match parse_temperature_c(&text, session.system) {
            Ok(air_c) if (AIR_RANGE_C[0]..=AIR_RANGE_C[1]).contains(&air_c) => account.air_c = Some(air_c),
            Ok(_) => {
                let [low, high] = AIR_RANGE_C.map(|edge| show_temperature(edge, session.system));
                told.air_problem = session.language.pick(
                    format!("no place people live in has such air; expected {low} to {high}"),
                    format!("en ningún lugar habitado hay aire así; se espera de {low} a {high}"),
                );
            }
            Err(error) => told.air_problem = error.sentence(session.language),
        }
    }
    let mut read = |name: &'static str, parse: fn(&str, UnitSystem) -> Result<f64, UnitError>| {
        let text = form.told(name)?;
        match parse(&text, session.system) {
            Ok(value) => Some(value),
            Err(error) => {
                heater_problems.insert(name, error.sentence(session.language));
                None
            }
        }
    };
    account.heater = Heater {
        volume_l: read("heater", parse_volume_l),
        heat_input_w: read("heat_input", parse_power_w),
        ..Heater::default()
    };
    told.heater_problems = heater_problems;
    told
}

/// Adds the weather and the model's expectation behind the caller.
pub fn add_weather(account: &mut Account, data: &Data, at: usize, outlook: Option<&Outlook>, now: DateTime<Utc>) {
    let Some(place) = data.programme.site(at).map(|site| site.place) else {
        return;
    };
    let Some(series) = data.programme.loaded.series.get(place.series) else {
        return;
    };
    // Without a drip device on file the model has none to run.
    let outlook = outlook.filter(|_| place.assembly.freeze_drip);
    account.behind = Behind::of(series, place.offset_k, outlook, now);
}

/// The questions in the order in which a desk asks, with what was answered marked.
pub fn asked(told: &Told, form: Option<&Form>, session: &Session) -> Vec<Asked> {
    let language = session.language;
    let account = &told.account;
    let say = |key: &str| word(key, language).to_string();
    let label_of = |prefix: &str, each: &str| {
        let key = format!("{prefix}_{each}");
        let label = word(&key, language).to_string();
        if label == key {
            word(each, language).to_string()
        } else {
            label
        }
    };
    let hint_of = |prefix: &str, each: &str| {
        let key = format!("{prefix}_{each}_hint");
        let hint = word(&key, language).to_string();
        if hint == key { String::new() } else { hint }
    };
    let choice = |prefix: &str, each: &str, chosen: bool| Choice {
        word: each.to_string(),
        label: label_of(prefix, &each.replace('-', if prefix == "also" { "_" } else { "-" })),
        hint: hint_of(prefix, each),
        chosen,
    };
    let question = |kind: &'static str, name: &'static str, choices: Vec<Choice>| Asked {
        kind,
        name,
        step: STEPS.iter().position(|names| names.contains(&name)).unwrap_or(0),
        label: say(name),
        gate: false,
        choices,
        value: String::new(),
        help: String::new(),
        problem: String::new(),
    };
    let sent = |name: &str| form.map_or("", |form| form.get(name)).to_string();
    let hazards = Hazard::ALL
        .iter()
        .map(|each| choice("hazard", each.word(), account.hazards.contains(each)));
    let fire = [
        ("yes", say("yes"), account.fire == Some(true)),
        ("no", say("no"), account.fire == Some(false)),
        ("unknown", say("fire_unknown"), account.fire.is_none()),
    ]
    .map(|(each, label, chosen)| Choice {
        word: each.into(),
        label,
        hint: String::new(),
        chosen,
    });
    let critical = Choice {
        word: "yes".into(),
        label: say("critical_yes"),
        hint: say("critical_hint"),
        chosen: account.critical,
    };
    let rate_sent = sent("rate");
    let rates = RATES.iter().map(|(key, words)| Choice {
        word: (*words).to_string(),
        label: say(key),
        hint: String::new(),
        chosen: rate_sent == *words && sent("rate_other").is_empty(),
    });
    let heater = |name: &'static str| Asked {
        label: say(&format!("ask_{name}")),
        value: sent(name),
        help: reading(&name.replace('_', "-")).map_or_else(String::new, |reading| reading.form_help(session.language)),
        problem: told.heater_problems.get(name).cloned().unwrap_or_default(),
        ..question("text", name, Vec::new())
    };
    vec![
        Asked {
            gate: true,
            ..question("checkbox", "hazard", hazards.collect())
        },
        question(
            "radio",
            "where",
            Where::ALL
                .iter()
                .map(|each| choice("where", each.word(), account.place == *each))
                .collect(),
        ),
        question("radio", "rate", rates.collect()),
        Asked {
            label: say("rate_other"),
            value: sent("rate_other"),
            help: say("rate_other_help"),
            problem: told.rate_problem.clone(),
            ..question("text", "rate_other", Vec::new())
        },
        question("radio", "fire", fire.to_vec()),
        question("checkbox", "critical", vec![critical]),
        question(
            "radio",
            "when",
            When::ALL
                .iter()
                .map(|each| choice("when", each.word(), account.when == *each))
                .collect(),
        ),
        question(
            "radio",
            "water",
            Water::ALL
                .iter()
                .map(|each| choice("water", each.word(), account.water == Some(*each)))
                .collect(),
        ),
        question(
            "checkbox",
            "also",
            Sign::ALL
                .iter()
                .map(|each| choice("also", each.word(), account.signs.contains(each)))
                .collect(),
        ),
        Asked {
            value: sent("air"),
            help: say("air_help"),
            problem: told.air_problem.clone(),
            ..question("text", "air", Vec::new())
        },
        heater("heater"),
        heater("heat_input"),
    ]
}
