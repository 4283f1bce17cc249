//! Signing in and out.

use super::address::counted;
use super::audit::{Entry, Event};
use super::draft::Draft;
use super::form::Form;
use super::guard::{ClientAddress, session_cookie};
use super::pages_account::codes_page;
use super::passwords::{Passwords, name_is_usable};
use super::render::{page, plain};
use super::sessions::Session;
use super::state::Desk;
use axum::Extension;
use axum::extract::State;
use axum::http::{HeaderValue, StatusCode, header};
use axum::response::{IntoResponse, Redirect, Response};
use minijinja::context;
use std::net::IpAddr;
use std::sync::Arc;
use std::time::{Duration, Instant};

/// Stands for every name that no account can have, so that a guesser fills no memory and no audit with texts of his own.
const NO_NAME: &str = "?";

/// `GET /sign-in`.
pub async fn form_page(State(desk): State<Arc<Desk>>, Extension(session): Extension<Session>) -> Response {
    if desk.options.passwords.is_none() {
        return Redirect::to("/phone").into_response();
    }
    page(&desk, &session, "sign-in.html", context! { area => "sign-in" })
}

/// What a try came to.
pub(super) enum Tried {
    /// It is who it says it is.
    Accepted,
    /// Name, password or code is not right.
    Refused,
    /// It was not looked at: so long must it wait.
    TooSoon(Duration),
}

/// Looks at a try. A hash takes tens of milliseconds on purpose, so few are made at a time, and other people's pages do not wait for
/// them. The limit is looked at again when its turn has come: tries sent all at once would otherwise all pass it before the first is
/// known to be wrong.
pub(super) async fn tried(
    desk: &Arc<Desk>,
    passwords: Arc<Passwords>,
    name: &str,
    address: IpAddr,
    form: &Form,
) -> Tried {
    let wait = || desk.sign_ins.wait(name, counted(address), Instant::now());
    if !wait().is_zero() {
        return Tried::TooSoon(wait());
    }
    let _turn = desk.hashing.acquire().await;
    if !wait().is_zero() {
        return Tried::TooSoon(wait());
    }
    let account = passwords.account(name).cloned();
    let (checked, password) = (name.to_owned(), form.typed("password").to_owned());
    let fits = tokio::task::spawn_blocking(move || passwords.accept(&checked, &password)).await;
    let accepted = fits.unwrap_or(false)
        && account
            .as_ref()
            .is_some_and(|account| desk.second_factor_fits(name, account, form.get("code")));
    if accepted {
        desk.sign_ins.succeeded(name, counted(address), Instant::now());
        Tried::Accepted
    } else {
        desk.sign_ins.failed(name, counted(address), Instant::now());
        Tried::Refused
    }
}

/// `POST /sign-in`.
pub async fn sign_in(
    State(desk): State<Arc<Desk>>,
    Extension(ClientAddress(address)): Extension<ClientAddress>,
    Extension(session): Extension<Session>,
    form: Form,
) -> Response {
    let Some(passwords) = desk.passwords() else {
        return Redirect::to("/phone").into_response();
    };
    let name = Some(form.get("name"))
        .filter(|name| name_is_usable(name))
        .unwrap_or(NO_NAME);
    match tried(&desk, passwords.clone(), name, address, &form).await {
        Tried::Accepted => (),
        Tried::Refused => {
            desk.note_entry(Entry {
                address: Some(address),
                ..Entry::of(name, Event::SignInRefused)
            });
            let mut response = asked_again(&desk, &session, &form, None);
            *response.status_mut() = StatusCode::FORBIDDEN;
            return response;
        }
        Tried::TooSoon(wait) => {
            desk.note_turned_away(name, Event::SignInSlowed, address);
            let seconds = wait.as_secs() + 1;
            let mut response = asked_again(&desk, &session, &form, Some(seconds));
            *response.status_mut() = StatusCode::TOO_MANY_REQUESTS;
            response.headers_mut().insert(header::RETRY_AFTER, seconds.into());
            return response;
        }
    }
    // A new session, so that a cookie planted before signing in is worth nothing.
    desk.sessions.close(&session.id);
    let role = passwords.account(name).map(|account| account.role);
    let opened = role.and_then(|role| {
        desk.sessions
            .open(Some(name.to_owned()), role, session.language, session.system)
    });
    let Some(mut fresh) = opened else {
        return plain(
            StatusCode::SERVICE_UNAVAILABLE,
            [
                "No session can be opened now. Please try again.",
                "Ahora no se puede abrir una sesión. Intente otra vez.",
            ],
        );
    };
    // The password file may have changed while the hash was made. Whoever changes it ends sessions after it stands, so one of the two
    // sees this session.
    if !desk.passwords().is_some_and(|now| now.same_as(&passwords, name)) {
        desk.sessions.close(&fresh.id);
        let mut response = asked_again(&desk, &session, &form, None);
        *response.status_mut() = StatusCode::FORBIDDEN;
        return response;
    }
    if passwords.account(name).is_some_and(|account| desk.owes_codes(account)) {
        fresh.owes_codes = true;
        desk.sessions.change(&fresh.id, |kept| kept.owes_codes = true);
    }
    desk.note_entry(Entry {
        address: Some(address),
        ..Entry::of(name, Event::SignIn)
    });
    let mut response = match Draft::of("/sign-in", &form, Some(&session.id), &fresh) {
        Some(draft) if fresh.owes_codes => codes_page(&desk, &fresh, Some(&draft), None),
        None if fresh.owes_codes => Redirect::to("/account/codes").into_response(),
        Some(draft) => draft.offered(&desk, &fresh),
        None => Redirect::to("/phone").into_response(),
    };
    if let Some(cookie) = session_cookie(&desk, &fresh.id) {
        response.headers_mut().insert(header::SET_COOKIE, cookie);
    }
    response
}

/// The page again, with what was typed elsewhere before it.
fn asked_again(desk: &Desk, session: &Session, form: &Form, wait_s: Option<u64>) -> Response {
    let draft = Draft::of("/sign-in", form, None, session);
    let more = context! {
        area => "sign-in",
        refused => wait_s.is_none(),
        wait_s,
        draft => draft.map(|draft| draft.carried()),
    };
    page(desk, session, "sign-in.html", more)
}

/// `POST /sign-out`.
pub async fn sign_out(State(desk): State<Arc<Desk>>, Extension(session): Extension<Session>, _form: Form) -> Response {
    desk.note(&session, Event::SignOut, None, None);
    desk.sessions.close(&session.id);
    let mut response = Redirect::to("/sign-in").into_response();
    // Nothing of what was looked at stays behind on a shared computer.
    let cleared = HeaderValue::from_static("\"cache\", \"cookies\", \"storage\"");
    response.headers_mut().insert("clear-site-data", cleared);
    response
}
