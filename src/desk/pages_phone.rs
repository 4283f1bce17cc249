//! The phone desk: find, card, questions, answer, note.

use super::audit::Event;
use super::cards;
use super::form::Form;
use super::pages_calls;
use super::questions;
use super::render::{message, off_thread, page};
use super::sessions::{Session, random_token};
use super::settings;
use super::state::Desk;
use super::words::word;
use crate::drip::{self, Answer, Finding, Line, Within};
use crate::inventory::Language;
use crate::outreach::outcome::Outcome;
use crate::ranking::words::percent_in;
use axum::Extension;
use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::response::Response;
use minijinja::value::Serde;
use minijinja::{Value, context};
use std::sync::Arc;

/// Hits shown at once.
const SHOWN: usize = 30;
/// Causes shown with an answer.
const CAUSES: usize = 4;

/// `GET /phone`.
pub async fn start(State(desk): State<Arc<Desk>>, Extension(session): Extension<Session>) -> Response {
    off_thread(move || {
        let more = context! { area => "phone", asked => "", ..pages_calls::owed(&desk, &session) };
        page(&desk, &session, "phone.html", more)
    })
    .await
}

/// `POST /phone/find`.
pub async fn find(State(desk): State<Arc<Desk>>, Extension(session): Extension<Session>, form: Form) -> Response {
    off_thread(move || found(&desk, &session, &form)).await
}

fn found(desk: &Desk, session: &Session, form: &Form) -> Response {
    let set = settings::set(desk, session, form);
    let session = set.as_ref().unwrap_or(session);
    let data = desk.data();
    if set.is_some() && form.get("shown").is_empty() {
        let more = context! { area => "phone", asked => form.get("q"), ..pages_calls::owed(desk, session) };
        return page(desk, session, "phone.html", more);
    }
    let asked = form.get("q").to_string();
    let found = data.index.find(&asked, SHOWN);
    desk.note(session, Event::Search, None, Some(found.total));
    let hits: Vec<Value> = found
        .hits
        .iter()
        .filter_map(|hit| {
            let assembly = data.assemblies().get(hit.index)?;
            let card = cards::card(assembly, None, &data, session, desk.now(), false);
            let (field, fit) = hit.why;
            let why = format!("{}: {}", word(field.word(), session.language), word(fit.word(), session.language));
            Some(context! { link => desk.sessions.link(session, &assembly.assembly_id), why, ..Value::from(Serde(&card)) })
        })
        .collect();
    let n = found.total;
    let total_words = match n {
        1 => session
            .language
            .pick("1 assembly found", "1 conjunto encontrado")
            .to_string(),
        n if n > SHOWN => session.language.pick(
            format!("{n} found, the {SHOWN} nearest shown; tell more to narrow it"),
            format!("{n} encontrados, se muestran los {SHOWN} más cercanos; diga más para reducir"),
        ),
        n => session
            .language
            .pick(format!("{n} assemblies found"), format!("{n} conjuntos encontrados")),
    };
    let more = context! { area => "phone", asked, found => hits, total_words, ..pages_calls::owed(desk, session) };
    page(desk, session, "phone.html", more)
}

/// `GET /phone/drip`: the questions without an assembly.
pub async fn blank(State(desk): State<Arc<Desk>>, Extension(session): Extension<Session>) -> Response {
    show(desk, session, None, None, false).await
}

/// `POST /phone/drip`.
pub async fn blank_answer(
    State(desk): State<Arc<Desk>>,
    Extension(session): Extension<Session>,
    form: Form,
) -> Response {
    show(desk, session, None, Some(form), false).await
}

/// `GET /phone/a/{link}`.
pub async fn card(
    State(desk): State<Arc<Desk>>,
    Extension(session): Extension<Session>,
    Path(link): Path<String>,
) -> Response {
    match desk.sessions.linked(&session, &link) {
        Some(id) => show(desk, session, Some((link, id)), None, true).await,
        None => gone(&desk, &session),
    }
}

/// `POST /phone/a/{link}`.
pub async fn card_answer(
    State(desk): State<Arc<Desk>>,
    Extension(session): Extension<Session>,
    Path(link): Path<String>,
    form: Form,
) -> Response {
    match desk.sessions.linked(&session, &link) {
        Some(id) => show(desk, session, Some((link, id)), Some(form), false).await,
        None => gone(&desk, &session),
    }
}

/// A link that this session does not know: it ended, or the assembly left the list.
pub fn gone(desk: &Desk, session: &Session) -> Response {
    let (title, text) = session.language.pick(
        (
            "Please look it up again",
            "This link was made for an earlier session or an earlier list.",
        ),
        (
            "Búsquelo otra vez",
            "Este enlace es de una sesión o de una lista anterior.",
        ),
    );
    message(desk, session, StatusCode::NOT_FOUND, title, text)
}

/// The assembly of a card left the list while its page was open: what was typed can still be kept as a call about it.
fn left(desk: &Desk, session: &Session, link: &str, form: Option<&Form>) -> Response {
    let typed: Vec<&str> = ["caller", "words", "text"]
        .into_iter()
        .filter_map(|name| form.map(|form| form.get(name)))
        .filter(|text| !text.is_empty())
        .collect();
    let Some(form) = form.filter(|_| !typed.is_empty() && desk.log.is_some()) else {
        return gone(desk, session);
    };
    let fields: Vec<Value> = form
        .fields()
        .filter(|(name, _)| *name != "csrf")
        .map(|(name, value)| context! { name, value })
        .collect();
    let retry = context! {
        action => format!("/phone/a/{link}/note"),
        fields,
        note => typed.join(" · "),
        label => word("save_note", session.language),
        name => session.who.is_none() && form.told("by").is_none(),
    };
    let more = context! {
        title => word("left_list", session.language),
        text => crate::say!(session.language, "desk-left-list"),
        retry,
    };
    let mut response = page(desk, session, "message.html", more);
    *response.status_mut() = StatusCode::CONFLICT;
    response
}

async fn show(
    desk: Arc<Desk>,
    session: Session,
    of: Option<(String, String)>,
    form: Option<Form>,
    opened: bool,
) -> Response {
    off_thread(move || draw(&desk, &session, of, form.as_ref(), opened)).await
}

fn draw(desk: &Desk, session: &Session, of: Option<(String, String)>, form: Option<&Form>, opened: bool) -> Response {
    let set = form.and_then(|form| settings::set(desk, session, form));
    let renamed = set
        .as_ref()
        .zip(form)
        .map(|(set, form)| settings::with_units(form, session.system, set.system));
    let (session, form) = (set.as_ref().unwrap_or(session), renamed.as_ref().or(form));
    let data = desk.data();
    let found = match &of {
        Some((link, id)) => match data.find(id) {
            Some(found) => Some(found),
            None => return left(desk, session, link, form),
        },
        None => None,
    };
    let id = found.map(|(_, assembly)| assembly.assembly_id.as_str());
    let outlook = found.and_then(|(at, _)| desk.card(&data, at));
    let told = match form {
        Some(form) => questions::read(form, found.map(|(_, assembly)| assembly), session),
        None => questions::Told {
            account: questions::start(found.map(|(_, assembly)| assembly)),
            ..questions::Told::default()
        },
    };
    let mut account = told.account.clone();
    if let Some((at, _)) = found {
        questions::add_weather(&mut account, &data, at, outlook.as_deref(), desk.now());
    }
    let wanted = form.map(questions::Move::of);
    let mut session = session.clone();
    if let Some(questions::Move::All(all)) = wanted {
        session.all_questions = all;
        desk.sessions.change(&session.id, |kept| kept.all_questions = all);
    }
    let session = &session;
    let unread = !told.rate_problem.is_empty() || !told.air_problem.is_empty() || !told.heater_problems.is_empty();
    // A slip in the rate must not keep an emergency's answer back.
    let answer = wanted
        .filter(|wanted| matches!(wanted, questions::Move::Answer | questions::Move::Stay(true)))
        .filter(|_| !unread || !account.hazards.is_empty())
        .map(|_| drip::answer(&account, &data.config().drip, session.system));
    if answer.is_some() && set.is_none() {
        desk.note(session, Event::Drip, id, None);
    } else if opened {
        desk.note(session, Event::Card, id, None);
    }
    let card = found.map(|(_, assembly)| cards::card(assembly, outlook.as_deref(), &data, session, desk.now(), true));
    let history = id.map_or(Some(Vec::new()), |id| pages_calls::history(desk, session, id));
    let note_text = answer.as_ref().map(|answer| {
        format!(
            "{} ({})",
            answer.finding.title().text(session.language),
            answer.within.words().text(session.language)
        )
    });
    let asked = questions::asked(&told, form, session);
    let at = match (wanted, form) {
        // What cannot be read is put right where it was asked.
        (Some(_), _) if unread => questions::unread(&asked),
        (Some(questions::Move::Show(step)), _) => step,
        (Some(questions::Move::Stay(_)), Some(form)) => questions::at(form),
        (Some(questions::Move::Answer), Some(form)) => (questions::at(form) + 1).min(questions::STEPS.len() - 1),
        _ => 0,
    };
    let steps = questions::STEPS.len();
    let step_words = session.language.pick(
        format!("Question {} of {steps}", at + 1),
        format!("Pregunta {} de {steps}", at + 1),
    );
    let state = match &answer {
        Some(answer) => super::words::capital(&format!(
            "{}: {}",
            answer.within.words().text(session.language),
            answer.finding.title().text(session.language)
        )),
        None if form.is_some() && !session.all_questions => step_words.clone(),
        None => word("call", session.language).to_string(),
    };
    let more = context! {
        area => "phone",
        state,
        one => !session.all_questions,
        at,
        moved => form.is_some() && answer.is_none(),
        last => at + 1 == steps,
        urgent => at < questions::URGENT_STEPS,
        step_words,
        so_far => questions::so_far(&asked).into_iter().map(|(step, question, told)| context! { step, question, told }).collect::<Vec<_>>(),
        card => card.map(|card| context! { history => &history, ..Value::from(Serde(&card)) }),
        answer => answer.as_ref().map(|answer| answer_value(answer, session, &data.config().utility.emergency_phone)),
        action => of.as_ref().map_or_else(|| "/phone/drip".to_string(), |(link, _)| format!("/phone/a/{link}")),
        questions => Value::from(Serde(asked)),
        log_unread => history.is_none(),
        once => random_token(),
        typed => typed(form, note_text.unwrap_or_default()),
    };
    page(desk, session, "card.html", more)
}

/// What stands in the record of the call: nothing typed is lost on the way from one question to the next. The words of the answer are ours until
/// somebody changes them, and follow the answer.
fn typed(form: Option<&Form>, answered: String) -> Value {
    let get = |name: &str| form.map_or("", |form| form.get(name)).to_owned();
    let (text, was) = (get("text"), get("text_was"));
    let text = if text == was { answered.clone() } else { text };
    context! {
        by => get("by"), about => get("about"), caller => get("caller"), words => get("words"), text, text_was => answered,
        seen => get("seen"), told => get("told"), follow => get("follow"), owner => get("owner"),
    }
}

/// The outcomes as choices.
pub fn outcomes(session: &Session) -> Vec<Value> {
    Outcome::ALL
        .iter()
        .map(|outcome| {
            let key = format!("outcome_{}", outcome.word());
            context! { word => outcome.word(), label => word(&key, session.language).to_string() }
        })
        .collect()
}

/// A number as a telephone dials it; nothing where it holds letters.
fn dialled(number: &str) -> Option<String> {
    let plain = number.chars().all(|c| !c.is_alphabetic());
    let digits: String = number.chars().filter(|c| c.is_ascii_digit() || *c == '+').collect();
    (plain && !digits.is_empty()).then_some(digits)
}

fn answer_value(answer: &Answer, session: &Session, emergency_phone: &str) -> Value {
    let language = session.language;
    let other = match language {
        Language::English => Language::Spanish,
        Language::Spanish => Language::English,
    };
    let texts = |lines: &[Line]| {
        lines
            .iter()
            .map(|line| line.text(language).to_string())
            .collect::<Vec<_>>()
    };
    let likely: Vec<Value> = answer
        .likely
        .iter()
        .filter(|likely| likely.share >= 0.02 && answer.has_evidence())
        .take(CAUSES)
        .map(|likely| {
            context! {
                percent => percent_in(likely.share, language),
                width => format!("{:.1}", likely.share * 100.0),
                words => likely.cause.words().text(language),
                because => crate::output::drip::because(likely, language),
            }
        })
        .collect();
    let strip = match (&answer.told, answer.expected_l_per_h) {
        (Some(told), Some(expected)) => {
            let labels = language.pick(["told", "expected"], ["dicho", "esperado"]);
            crate::output::charts_drip::strip([told.low_l_per_h, told.high_l_per_h], expected, labels, session.system)
                .ok()
        }
        _ => None,
    };
    let strip_words = answer.told.as_ref().map(|told| {
        let told = drip::range_words(told.low_l_per_h, told.high_l_per_h, session.system);
        let expected = answer.expected_l_per_h.map_or_else(
            || "?".into(),
            |[low, high]| drip::range_words(low, high, session.system),
        );
        language.pick(
            format!("Told {told}; expected when all is well {expected}."),
            format!("Dicho {told}; esperado si todo está bien {expected}."),
        )
    });
    let tone = match (answer.finding, answer.within) {
        (Finding::Emergency | Finding::FireLine, _) | (_, Within::Now) => "now",
        (Finding::WorkingAsMeant, _) => "calm",
        _ => "mind",
    };
    // The planning-aid line stands at the foot of every page already.
    let cautions: Vec<String> = texts(&answer.cautions).into_iter().rev().skip(1).rev().collect();
    // Beside the answer, not only at the foot: whoever has to act within the day must not look for it.
    let urgent = matches!(answer.within, Within::Now | Within::Today) && !emergency_phone.trim().is_empty();
    context! {
        tone,
        emergency_line => urgent.then_some(emergency_phone),
        emergency_dial => dialled(emergency_phone),
        title => answer.finding.title().text(language),
        within => answer.within.words().text(language),
        who => answer.who.text(language),
        say => answer.say.text(language),
        say_other => answer.say.text(other),
        other_lang => other.word(),
        do_now => texts(&answer.do_now),
        do_not => texts(&answer.do_not),
        hand_over => answer.hand_over.text(language),
        question_step => answer.question.map(|(question, _)| questions::step_of(question)),
        question => answer.question.map(|(question, _)| drip::words::ask(question).text(language).to_string()),
        likely,
        strip,
        strip_words,
        cautions,
    }
}
