//! The pages of a shift: next calls with outcomes, who is calling whom, and the board that renews itself.

use super::audit::Event;
use super::cards;
use super::form::Form;
use super::pages_calls::{self, named};
use super::pages_phone::{gone, outcomes};
use super::pages_plan::{made, planned};
use super::render::{off_thread, page};
use super::sessions::{Session, random_token};
use super::settings;
use super::shift::{Calls, Claim, Made, is_overdue};
use super::state::Desk;
use super::words::{day_and_time, word};
use crate::inventory::{Language, Service};
use crate::outreach::outcome::History;
use crate::say;
use axum::Extension;
use axum::extract::{Query, State};
use axum::http::{HeaderName, HeaderValue, StatusCode};
use axum::response::{IntoResponse, Redirect, Response};
use minijinja::{Value, context};
use std::collections::HashMap;
use std::sync::Arc;

/// Calls shown at once.
const CALLS: usize = 15;
/// Calls on the board.
const ROWS: usize = 40;
/// Seconds after which the board comes anew without scripts (judgement: a call takes minutes).
const RENEW_S: u32 = 60;
/// What the page of the board may do beside others: fetch its own part, by the desk's own script.
const POLICY: &str = "default-src 'none'; style-src 'self'; img-src 'self'; script-src 'self'; connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'";
/// The script that renews the board.
pub const SCRIPT: &str = include_str!("templates/board.js");

/// `GET /plan/calls`: who is called next, and how far the shift has come.
pub async fn calls(State(desk): State<Arc<Desk>>, Extension(session): Extension<Session>) -> Response {
    off_thread(move || draw_calls(&desk, &session)).await
}

fn draw_calls(desk: &Desk, session: &Session) -> Response {
    desk.note(session, Event::CallList, None, None);
    let (data, planned) = match planned(desk, session) {
        Ok(both) => both,
        Err(state) => {
            return page(
                desk,
                session,
                "plan.html",
                context! { area => "plan", tab => "calls", state },
            );
        }
    };
    // Without the log nobody is known to have been called, and a count of them would say that nobody has.
    let (history, log_unread) = match desk.history() {
        Ok(history) => (history, false),
        Err(_) => (History::default(), true),
    };
    let read = cards::words(session, &data);
    let english = session.language == Language::English;
    let zone = data.zone();
    let Calls { open, settled } = Calls::of(&planned, &history);
    let claims = desk.claims.all(desk.now());
    let total = settled + open.len();
    let words = if english {
        format!("{settled} of {total} people to call have been tried")
    } else {
        format!("Se ha intentado con {settled} de {total} personas por llamar")
    };
    let width = if total == 0 {
        0.0
    } else {
        settled as f64 / total as f64 * 100.0
    };
    let calls: Vec<Value> = open
        .iter()
        .take(CALLS)
        .map(|line| {
            let slot = line.slot_start.map_or_else(String::new, |time| day_and_time(time, &zone, session.language));
            let shown: Vec<Value> = line
                .assemblies
                .iter()
                .take(6)
                .map(|id| context! { id => id.as_str(), link => desk.sessions.link(session, id) })
                .collect();
            let beyond = line.assemblies.len().saturating_sub(6);
            let fire = line.assemblies.iter().any(|id| data.find(id).is_some_and(|(_, assembly)| assembly.service == Service::Fire));
            context! {
                id => line.contact_id.as_str(),
                link => desk.sessions.link(session, &line.contact_id),
                name => line.name.as_str(),
                slot,
                address => line.address.as_str(),
                language => match line.language { Language::English => "English", Language::Spanish => "Español" },
                claimed => claims.get(line.contact_id.as_str()).map(|claim| claimed(claim, session, &zone)),
                mine => claims.get(line.contact_id.as_str()).is_some_and(|claim| session.who.as_deref() == Some(claim.by.as_str())),
                critical => line.critical.as_deref(),
                fire,
                reason => planned.reason_of_call(line, &read),
                say => planned.say(line),
                say_lang => line.language.word(),
                assemblies => shown,
                more => (beyond > 0).then(|| if english { format!("and {beyond} more") } else { format!("y {beyond} más") }),
                once => random_token(),
            }
        })
        .collect();
    let more = context! {
        area => "plan",
        tab => "calls",
        made => made(desk, &planned, session),
        progress => (!log_unread).then(|| context! { words, width => format!("{width:.1}") }),
        log_unread,
        calls,
        outcomes => outcomes(session),
    };
    page(desk, session, "plan.html", more)
}

/// Who is calling somebody, and since when.
fn claimed(claim: &Claim, session: &Session, zone: &chrono_tz::Tz) -> String {
    let at = day_and_time(claim.since, zone, session.language);
    say!(session.language, "desk-claimed", by = claim.by.as_str(), at = at)
}

/// `POST /plan/outcome`.
pub async fn outcome(State(desk): State<Arc<Desk>>, Extension(session): Extension<Session>, form: Form) -> Response {
    let Some(contact) = desk.sessions.linked(&session, form.get("contact")) else {
        return gone(&desk, &session);
    };
    pages_calls::outcome(&desk, &session, &contact, &form, ["/plan/outcome", "/plan/calls"]).await
}

/// `POST /plan/take`: somebody begins to call a person, takes a call over, or leaves it.
pub async fn take(State(desk): State<Arc<Desk>>, Extension(session): Extension<Session>, form: Form) -> Response {
    let Some(contact) = desk.sessions.linked(&session, form.get("contact")) else {
        return gone(&desk, &session);
    };
    let go = form.get("go");
    if go == "leave" {
        desk.claims.leave(&contact, desk.now());
        return Redirect::to("/plan/calls").into_response();
    }
    let Some(by) = named(&desk, &session, &form) else {
        return pages_calls::nameless(&desk, &session);
    };
    match desk.claims.take(&contact, &by, go == "over", desk.now()) {
        Ok(()) => Redirect::to("/plan/calls").into_response(),
        Err(other) => {
            let language = session.language;
            let text = claimed(&other, &session, &desk.data().zone());
            let fields: Vec<Value> = [("contact", form.get("contact")), ("by", by.as_str()), ("go", "over")]
                .into_iter()
                .map(|(name, value)| context! { name, value })
                .collect();
            let retry = context! { action => "/plan/take", fields, label => word("take_over", language) };
            let more = context! { title => word("taken_already", language), text, retry };
            let mut response = page(&desk, &session, "message.html", more);
            *response.status_mut() = StatusCode::CONFLICT;
            response
        }
    }
}

/// `POST /plan/seen`: somebody has read what changed.
pub async fn seen(State(desk): State<Arc<Desk>>, Extension(session): Extension<Session>, form: Form) -> Response {
    desk.has_looked(&session);
    Redirect::to(settings::back(&form)).into_response()
}

/// `GET /plan/board`: the shift at a glance. `?still=1` is the same page without renewing itself.
pub async fn board(
    State(desk): State<Arc<Desk>>,
    Extension(session): Extension<Session>,
    Query(query): Query<HashMap<String, String>>,
) -> Response {
    let asked = |name: &str| query.get(name).is_some_and(|value| value == "1");
    let (still, auto) = (asked("still"), asked("auto"));
    off_thread(move || {
        // What comes by itself is no look of anybody's.
        if !auto {
            desk.note(&session, Event::CallList, None, None);
        }
        let more = context! {
            area => "plan",
            tab => "board",
            still,
            renew_s => RENEW_S,
            renew_words => say!(session.language, "desk-board-renews", seconds = f64::from(RENEW_S)),
            ..shown(&desk, &session)
        };
        let mut response = page(&desk, &session, "board.html", more);
        if !still {
            let headers = response.headers_mut();
            headers.insert(
                HeaderName::from_static("content-security-policy"),
                HeaderValue::from_static(POLICY),
            );
        }
        response
    })
    .await
}

/// `GET /plan/board/part`: what of the board is renewed.
pub async fn part(State(desk): State<Arc<Desk>>, Extension(session): Extension<Session>) -> Response {
    off_thread(move || page(&desk, &session, "board-part.html", shown(&desk, &session))).await
}

/// What stands on the board.
fn shown(desk: &Desk, session: &Session) -> Value {
    let language = session.language;
    let (data, planned) = match planned(desk, session) {
        Ok(both) => both,
        Err(state) => return context! { state },
    };
    let (Ok(history), Ok(noted)) = (desk.history(), desk.made()) else {
        return context! { log_unread => true, made => made(desk, &planned, session) };
    };
    let (now, zone) = (desk.now(), data.zone());
    let calls = Calls::of(&planned, &history);
    let claims = desk.claims.all(now);
    let at = |time| day_and_time(time, &zone, language);
    let overdue = calls.overdue(now);
    let deadline = calls.next_deadline(now);
    let rows: Vec<Value> = calls
        .open
        .iter()
        .take(ROWS)
        .map(|line| {
            let claim = claims.get(line.contact_id.as_str());
            let late = is_overdue(line, now);
            let (kind, state) = match claim {
                Some(claim) => ("taken", claimed(claim, session, &zone)),
                None if late => ("late", word("board_late", language).to_owned()),
                None => ("open", word("board_open", language).to_owned()),
            };
            context! {
                name => if line.name.is_empty() { line.contact_id.as_str() } else { line.name.as_str() },
                slot => line.slot_start.map_or_else(|| "–".into(), at),
                act_by => line.act_by.map_or_else(|| "–".into(), at),
                past => line.act_by.is_some_and(|by| by < now),
                critical => line.critical.as_deref(),
                kind,
                state,
            }
        })
        .collect();
    let open = calls.open.len();
    let deadline_words = deadline.map_or_else(|| "–".to_owned(), at);
    context! {
        made => made(desk, &planned, session),
        to_make => open,
        overdue,
        tried => noted.count(),
        calling => calling(&calls, &claims),
        deadline => deadline_words.as_str(),
        // What a screen reader is told when it changes: counts, not the table.
        said => say!(language, "desk-board-said", open = open as f64, overdue = overdue as f64, tried = noted.count() as f64, deadline = deadline_words.as_str()),
        outcomes => outcomes_of(&noted, language),
        callers => noted.by.iter().map(|(name, count)| context! { name, count }).collect::<Vec<_>>(),
        beyond => (open > ROWS).then(|| say!(language, "desk-board-beyond", count = (open - ROWS) as f64)),
        rows,
    }
}

/// How many of the open calls are under way.
fn calling(calls: &Calls<'_>, claims: &HashMap<String, Claim>) -> usize {
    let open = calls.open.iter();
    open.filter(|line| claims.contains_key(line.contact_id.as_str()))
        .count()
}

fn outcomes_of(noted: &Made, language: Language) -> Vec<Value> {
    noted
        .noted()
        .map(|(outcome, count)| context! { label => word(&format!("outcome_{}", outcome.word()), language), count })
        .collect()
}
