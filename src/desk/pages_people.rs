//! Who may sign in, who is signed in, and the end of somebody's sessions.

use super::audit::{Entry, Event};
use super::form::Form;
use super::render::page;
use super::sessions::Session;
use super::state::Desk;
use super::words::word;
use axum::Extension;
use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};
use minijinja::{Value, context};
use std::sync::Arc;

/// `GET /people`.
pub async fn list(State(desk): State<Arc<Desk>>, Extension(session): Extension<Session>) -> Response {
    let open = desk.sessions.by_name();
    let passwords = desk.passwords();
    let people: Vec<Value> = passwords
        .iter()
        .flat_map(|passwords| passwords.all())
        .map(|(name, account)| {
            context! {
                name,
                role => word(account.role.word(), session.language),
                codes => account.codes.is_some(),
                owes => desk.owes_codes(account),
                open => open.get(name).copied().unwrap_or(0),
            }
        })
        .collect();
    page(&desk, &session, "people.html", context! { area => "people", people })
}

/// `POST /people/end`: ends all sessions of a name, one's own too.
pub async fn end(State(desk): State<Arc<Desk>>, Extension(session): Extension<Session>, form: Form) -> Response {
    let who = form.get("who").to_owned();
    if !super::passwords::name_is_usable(&who) {
        return Redirect::to("/people").into_response();
    }
    let before = desk.sessions.by_name().get(&who).copied().unwrap_or(0);
    desk.sessions.keep_only(|name| name != who);
    desk.note_entry(Entry {
        account: Some(&who),
        count: Some(before),
        ..Entry::of(session.name(), Event::SessionsEnded)
    });
    Redirect::to("/people").into_response()
}
