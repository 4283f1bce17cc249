//! Calls that come in: their record, the call-backs that are owed, and outcomes of our own calls.

use super::audit::Event;
use super::form::Form;
use super::log::{Log, Note};
use super::pages_phone::gone;
use super::render::{message, page};
use super::sessions::{Session, random_token};
use super::state::Desk;
use super::words::{day_and_time, on, word};
use crate::faults::Fault;
use crate::freeze::{Report, Seen};
use crate::outreach::outcome::Outcome;
use crate::store::{About, Call, NewCall, NewReport, Step, reports};
use axum::Extension;
use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use chrono::TimeDelta;
use minijinja::{Value, context};
use std::sync::Arc;

/// Call-backs shown before the rest is folded away.
const FIRST: usize = 5;
/// Call-backs shown at all.
const SHOWN: usize = 200;
/// What the link of a call-back seals, before the call's number.
const SEALED: &str = "call-back:";

/// Call-backs that are owed; or that the log cannot be read now: an empty list must not be taken for "nobody waits".
pub fn owed(desk: &Desk, session: &Session) -> Value {
    let calls = match desk.log.as_ref().map(Log::call_backs) {
        Some(Ok(calls)) => calls,
        Some(Err(_)) => return context! { log_unread => true },
        None => Vec::new(),
    };
    let more = calls.len().saturating_sub(SHOWN);
    let mut owed: Vec<Value> = calls
        .into_iter()
        .take(SHOWN)
        .map(|call| owed_value(desk, session, call))
        .collect();
    let rest = owed.split_off(FIRST.min(owed.len()));
    let rest_words = session.language.pick(
        format!("{} more", rest.len() + more),
        format!("{} más", rest.len() + more),
    );
    context! { follow_ups => owed, follow_ups_rest => rest, rest_words }
}

fn owed_value(desk: &Desk, session: &Session, call: Call) -> Value {
    let data = desk.data();
    let (zone, language) = (data.zone(), session.language);
    let assembly = data.find(&call.subject).filter(|_| call.about == About::Assembly);
    let address = assembly.and_then(|(_, assembly)| assembly.contact.site_address.as_deref().map(str::to_owned));
    let overdue = call.due.is_some_and(|due| due < desk.now());
    let due = call.due.map_or_else(String::new, |due| {
        let at = day_and_time(due, &zone, language);
        if overdue {
            language.pick(format!("overdue since {at}"), format!("atrasado desde {at}"))
        } else {
            language.pick(format!("by {at}"), format!("antes de {at}"))
        }
    });
    let tried = match call.tried {
        0 => String::new(),
        1 => language
            .pick("tried once, no answer", "un intento, sin respuesta")
            .to_owned(),
        n => language.pick(
            format!("tried {n} times, no answer"),
            format!("{n} intentos, sin respuesta"),
        ),
    };
    context! {
        link => assembly.map(|(_, assembly)| desk.sessions.link(session, &assembly.assembly_id)),
        call => desk.sessions.link(session, &format!("{SEALED}{}", call.id)),
        title => address.unwrap_or_else(|| if call.subject.is_empty() { word("call_about_neither", language).to_owned() } else { call.subject.clone() }),
        caller => call.caller,
        due,
        overdue,
        tried,
        words => if call.words.is_empty() { call.answer } else { call.words },
        owner => call.owner,
        at => on(call.at, &zone, language),
        once => random_token(),
    }
}

/// What the log holds about an assembly, newest first, as lines of its card; `None` when the log cannot be read.
pub fn history(desk: &Desk, session: &Session, id: &str) -> Option<Vec<Value>> {
    let Some(log) = &desk.log else { return Some(Vec::new()) };
    let told = log.about(id).ok()?;
    let (zone, language) = (desk.data().zone(), session.language);
    let mut lines: Vec<_> = told
        .events
        .into_iter()
        .map(|event| {
            let outcome = word(&format!("outcome_{}", event.outcome.word()), language).to_string();
            let line = context! { at => on(event.at, &zone, language), by => event.by, outcome, text => event.note };
            (event.at, line)
        })
        .collect();
    lines.extend(told.calls.into_iter().map(|call| {
        if let Some((report, note)) = reports::of_call(&call) {
            let outcome = word(&format!("seen_{}", report.seen.word()), language).to_owned();
            let text = [call.caller.as_str(), note]
                .into_iter()
                .filter(|text| !text.is_empty())
                .collect::<Vec<_>>()
                .join(": ");
            return (
                call.at,
                context! { at => on(call.at, &zone, language), by => call.by, outcome, text },
            );
        }
        let mut said: Vec<String> = Vec::new();
        for (key, text) in [
            ("caller", &call.caller),
            ("caller_words", &call.words),
            ("answer_given", &call.answer),
        ] {
            if !text.is_empty() {
                said.push(format!("{}: {text}", word(key, language)));
            }
        }
        if call.told {
            said.push(word("told_freeze_done", language).to_owned());
        }
        if let Some(due) = call.due {
            let key = match call.ended.as_deref() {
                Some("kept") => "call_back_kept",
                Some(_) => "call_back_lapsed",
                None => "call_back_owed",
            };
            said.push(format!(
                "{} {} ({})",
                word(key, language),
                on(due, &zone, language),
                call.owner
            ));
        }
        let outcome = word("called_in", language);
        (
            call.at,
            context! { at => on(call.at, &zone, language), by => call.by, outcome, text => said.join(" · ") },
        )
    }));
    lines.sort_by_key(|(at, _)| std::cmp::Reverse(*at));
    Some(lines.into_iter().map(|(_, line)| line).collect())
}

/// `POST /phone/a/{link}/note`: a call about an assembly of the list.
pub async fn about_assembly(
    State(desk): State<Arc<Desk>>,
    Extension(session): Extension<Session>,
    Path(link): Path<String>,
    form: Form,
) -> Response {
    let Some(id) = desk.sessions.linked(&session, &link) else {
        return gone(&desk, &session);
    };
    let card = format!("/phone/a/{link}");
    record(
        &desk,
        &session,
        (About::Assembly, id),
        &form,
        [&format!("{card}/note"), &card],
    )
    .await
}

/// `POST /phone/drip/note`: a call about a place that is on no list, or about none.
pub async fn about_else(State(desk): State<Arc<Desk>>, Extension(session): Extension<Session>, form: Form) -> Response {
    let address: String = form.get("about").chars().take(200).collect();
    let about = if address.is_empty() {
        About::Neither
    } else {
        About::Address
    };
    record(&desk, &session, (about, address), &form, ["/phone/drip/note", "/phone"]).await
}

async fn record(
    desk: &Arc<Desk>,
    session: &Session,
    (about, subject): (About, String),
    form: &Form,
    to: [&str; 2],
) -> Response {
    let Some(by) = named(desk, session, form) else {
        return nameless(desk, session);
    };
    let hours: Option<i64> = form
        .told("follow")
        .and_then(|hours| hours.parse().ok())
        .filter(|hours| (1..=72).contains(hours));
    let cut = |name: &str, most: usize| form.get(name).chars().take(most).collect::<String>();
    let owner = cut("owner", 40);
    let id = (about == About::Assembly).then(|| subject.clone());
    let call = NewCall {
        at: desk.now(),
        about,
        subject,
        caller: cut("caller", 120),
        words: cut("words", 1000),
        answer: cut("text", 1000),
        told: form.get("told") == "yes",
        owner: if owner.is_empty() { by.clone() } else { owner },
        due: hours.map(|hours| desk.now() + TimeDelta::hours(hours)),
        by,
        source: "desk",
        uid: None,
    };
    let seen = id
        .as_ref()
        .zip(Seen::parse(form.get("seen")))
        .map(|(id, seen)| NewReport {
            assembly_id: id.clone(),
            report: Report { at: call.at, seen },
            seen_by: call.caller.clone(),
            note: String::new(),
            by: call.by.clone(),
            uid: None,
        });
    let write = move |log: &Log, once: &str| {
        log.record(call.clone(), once)?;
        match &seen {
            Some(report) => log.record(report.call(), &format!("{once}-seen")),
            None => Ok(()),
        }
    };
    keep(desk, session, id.as_deref(), form, to, write).await
}

/// `POST /phone/call-back`: a call-back was kept, or tried without an answer.
pub async fn call_back(State(desk): State<Arc<Desk>>, Extension(session): Extension<Session>, form: Form) -> Response {
    let sealed = desk.sessions.linked(&session, form.get("call"));
    let Some(call) = sealed.and_then(|sealed| sealed.strip_prefix(SEALED)?.parse::<i64>().ok()) else {
        return gone(&desk, &session);
    };
    let step = match form.get("step") {
        "kept" => Step::Kept,
        "tried" => Step::Tried,
        _ => return gone(&desk, &session),
    };
    let Some(by) = named(&desk, &session, &form) else {
        return nameless(&desk, &session);
    };
    let text = form.get("text").to_owned();
    let write = move |log: &Log, once: &str| log.step(call, step, &text, &by, once);
    keep(&desk, &session, None, &form, ["/phone/call-back", "/phone"], write).await
}

/// Saves an outcome of a call of ours and goes to `after`.
pub async fn outcome(desk: &Arc<Desk>, session: &Session, id: &str, form: &Form, to: [&str; 2]) -> Response {
    let outcome = Outcome::parse(form.get("outcome"));
    let (Some(by), Some(outcome)) = (named(desk, session, form), outcome) else {
        return nameless(desk, session);
    };
    let note = Note {
        at: desk.now(),
        id: id.to_string(),
        outcome,
        text: form.get("text").chars().take(1000).collect(),
        by,
    };
    let write = move |log: &Log, once: &str| log.save(&note, once);
    keep(desk, session, Some(id), form, to, write).await
}

/// Who is at the desk: the name signed in with, or the one typed, which is kept for the session.
pub(super) fn named(desk: &Desk, session: &Session, form: &Form) -> Option<String> {
    let by: String = session
        .who
        .clone()
        .or_else(|| form.told("by"))?
        .chars()
        .take(40)
        .collect();
    if session.who.is_none() {
        desk.sessions.change(&session.id, |kept| kept.who = Some(by.clone()));
    }
    Some(by)
}

pub(super) fn nameless(desk: &Desk, session: &Session) -> Response {
    let (title, text) = session.language.pick(
        ("Not saved", "The note needs your name and what came of the call."),
        ("No se guardó", "La nota necesita su nombre y en qué quedó la llamada."),
    );
    message(desk, session, StatusCode::BAD_REQUEST, title, text)
}

/// Writes and goes to `after`; a log that cannot be written is said in clear words, and the same form can be sent again.
async fn keep(
    desk: &Arc<Desk>,
    session: &Session,
    id: Option<&str>,
    form: &Form,
    [action, after]: [&str; 2],
    write: impl FnOnce(&Log, &str) -> Result<(), Fault> + Send + 'static,
) -> Response {
    let (writer, once) = (desk.clone(), form.get("once").to_string());
    let saved = tokio::task::spawn_blocking(move || match &writer.log {
        Some(log) => write(log, &once).map_err(|fault| fault.to_string()),
        None => Err("no log was named with --log".into()),
    });
    match saved.await.unwrap_or_else(|_| Err("the writer stopped".into())) {
        Ok(()) => {
            desk.note(session, Event::Note, id, None);
            if let Some(id) = id {
                desk.claims.leave(id, desk.now());
            }
            Redirect::to(after).into_response()
        }
        Err(detail) => {
            let (title, text) = session.language.pick(
                (
                    "Not saved",
                    "The log did not take the note. It still stands here: save it again, or write it down if that fails too.",
                ),
                (
                    "No se guardó",
                    "El registro no recibió la nota. Aquí sigue: guárdela otra vez, o anótela si tampoco se puede.",
                ),
            );
            let fields: Vec<Value> = form.fields().map(|(name, value)| context! { name, value }).collect();
            let typed: Vec<&str> = ["caller", "words", "text"]
                .into_iter()
                .map(|name| form.get(name))
                .filter(|text| !text.is_empty())
                .collect();
            let retry = context! { action, fields, note => typed.join(" · "), detail };
            let mut response = page(desk, session, "message.html", context! { title, text, retry });
            *response.status_mut() = StatusCode::SERVICE_UNAVAILABLE;
            response
        }
    }
}
