//! What people do with their own account: another password, one-time codes, the end of their sessions elsewhere.
//!
//! Each of it asks for the password again, and for a code where the account has them: who finds a desk open changes nothing.

use super::accounts::{Changer, NotChanged};
use super::audit::{Entry, Event};
use super::draft::Draft;
use super::form::Form;
use super::guard::{ClientAddress, session_cookie};
use super::passwords::{Account, LONGEST, Passwords, SHORTEST, Unusable, is_usable};
use super::render::{page, plain};
use super::rights::Role;
use super::second_factor::Codes;
use super::sessions::Session;
use super::sign_in::{Tried, tried};
use super::state::Desk;
use super::words::{on, word};
use axum::Extension;
use axum::extract::State;
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Redirect, Response};
use chrono::{DateTime, TimeDelta, Utc};
use minijinja::{Value, context};
use qrcode::QrCode;
use qrcode::render::svg;
use std::net::IpAddr;
use std::sync::Arc;
use std::time::Duration;

/// Why nothing was changed, in the words of the page.
struct Problem {
    key: &'static str,
    status: StatusCode,
    wait_s: Option<u64>,
    /// What a file or the system told, in English: for administrators alone, for it names places on the computer.
    detail: String,
}

impl Problem {
    fn of(key: &'static str, status: StatusCode) -> Self {
        Self {
            key,
            status,
            wait_s: None,
            detail: String::new(),
        }
    }

    /// What was typed does not do.
    fn typed(key: &'static str) -> Self {
        Self::of(key, StatusCode::UNPROCESSABLE_ENTITY)
    }

    /// Something within the desk does not do.
    fn within(key: &'static str, detail: String) -> Self {
        Self {
            detail,
            ..Self::of(key, StatusCode::INTERNAL_SERVER_ERROR)
        }
    }

    fn told(&self, session: &Session) -> Value {
        let text = word(self.key, session.language);
        let text = text
            .replace("{shortest}", &SHORTEST.to_string())
            .replace("{longest}", &LONGEST.to_string());
        let detail = (session.role == Role::Admin).then_some(&self.detail);
        context! { text, wait_s => self.wait_s, detail }
    }

    fn answered(&self, mut response: Response) -> Response {
        *response.status_mut() = self.status;
        if let Some(seconds) = self.wait_s {
            response.headers_mut().insert(header::RETRY_AFTER, seconds.into());
        }
        response
    }
}

impl From<Unusable> for Problem {
    fn from(why: Unusable) -> Self {
        match why {
            Unusable::Length => Self::typed("password_length"),
            Unusable::Guessable(_) => Self::typed("password_guessable"),
            Unusable::Hash(error) => Self::within("account_not_written", error),
        }
    }
}

impl From<NotChanged> for Problem {
    fn from(why: NotChanged) -> Self {
        match why {
            NotChanged::Meanwhile => Self::of("account_meanwhile", StatusCode::CONFLICT),
            NotChanged::File(why) => Self::within("account_not_written", why),
        }
    }
}

/// Somebody who signed in, with the account as it is.
struct Own {
    name: String,
    passwords: Arc<Passwords>,
    account: Account,
    address: IpAddr,
}

/// Whose account it is; nobody's where nobody signs in.
fn own_of(desk: &Desk, session: &Session, address: IpAddr) -> Option<Own> {
    let passwords = desk.passwords()?;
    let name = session.who.clone()?;
    let account = passwords.account(&name)?.clone();
    Some(Own {
        name,
        passwords,
        account,
        address,
    })
}

fn nobody() -> Response {
    Redirect::to("/phone").into_response()
}

/// Runs what takes long off the threads that answer other people.
async fn aside<T: Send + 'static>(work: impl FnOnce() -> T + Send + 'static) -> Result<T, Problem> {
    let done = tokio::task::spawn_blocking(work).await;
    done.map_err(|error| Problem::within("account_not_written", error.to_string()))
}

/// Whether it is really the person: password, and code where there is one.
async fn proved(desk: &Arc<Desk>, own: &Own, form: &Form) -> Result<(), Problem> {
    match tried(desk, own.passwords.clone(), &own.name, own.address, form).await {
        Tried::Accepted => Ok(()),
        Tried::Refused => {
            desk.note_entry(Entry {
                address: Some(own.address),
                ..Entry::of(&own.name, Event::ChangeRefused)
            });
            Err(Problem::typed("account_refused"))
        }
        Tried::TooSoon(wait) => {
            desk.note_turned_away(&own.name, Event::ChangeSlowed, own.address);
            Err(Problem {
                wait_s: Some(wait.as_secs() + 1),
                ..Problem::of("sign_in_wait", StatusCode::TOO_MANY_REQUESTS)
            })
        }
    }
}

/// Puts another account in the place of one's own. The session goes on under a new name.
async fn changed(desk: &Arc<Desk>, session: &Session, own: &Own, after: Account) -> Result<Session, Problem> {
    let (writer, id) = (desk.clone(), session.id.clone());
    let (name, before, address) = (own.name.clone(), own.account.clone(), own.address);
    let owes = desk.owes_codes(&after);
    aside(move || {
        let by = Changer {
            name: &name,
            session: &id,
            address,
        };
        writer.change_account(by, &before, &after)
    })
    .await??;
    desk.sessions.change(&session.id, |kept| kept.owes_codes = owes);
    let renewed = desk.sessions.renew(&session.id);
    Ok(renewed.unwrap_or_else(|| Session {
        owes_codes: owes,
        ..session.clone()
    }))
}

fn with_cookie(desk: &Desk, session: &Session, mut response: Response) -> Response {
    if let Some(cookie) = session_cookie(desk, &session.id) {
        response.headers_mut().insert(header::SET_COOKIE, cookie);
    }
    response
}

/// The page of one's account, with what was done or why it was not.
fn account_page(desk: &Desk, session: &Session, own: &Own, done: Option<&str>, problem: Option<&Problem>) -> Response {
    let zone = desk.data().zone();
    let at = |ago: Duration| -> String {
        let ago = TimeDelta::from_std(ago).unwrap_or_default();
        let then: DateTime<Utc> = desk.now() - ago;
        on(then, &zone, session.language)
    };
    let open: Vec<Value> = desk
        .sessions
        .of(&own.name)
        .iter()
        .map(|one| context! { opened => at(one.opened_ago), seen => at(one.seen_ago), this => one.id == session.id })
        .collect();
    let more = context! {
        area => "account",
        role => word(own.account.role.word(), session.language),
        has_codes => own.account.codes.is_some(),
        others => open.len() > 1,
        open,
        done,
        shortest => SHORTEST,
        longest => LONGEST,
        problem => problem.map(|problem| problem.told(session)),
    };
    let response = page(desk, session, "account.html", more);
    match problem {
        Some(problem) => problem.answered(response),
        None => response,
    }
}

/// `GET /account`.
pub async fn own(
    State(desk): State<Arc<Desk>>,
    Extension(ClientAddress(address)): Extension<ClientAddress>,
    Extension(session): Extension<Session>,
) -> Response {
    match own_of(&desk, &session, address) {
        Some(own) => account_page(&desk, &session, &own, None, None),
        None => nobody(),
    }
}

/// The account with the new password that a form holds.
async fn with_new_password(desk: &Arc<Desk>, own: &Own, form: &Form) -> Result<Account, Problem> {
    let new = form.typed("new_password").to_owned();
    if new != form.typed("new_again") {
        return Err(Problem::typed("password_differs"));
    }
    if new == form.typed("password") {
        return Err(Problem::typed("password_same"));
    }
    // What is wrong with the new one is told before a one-time code is spent on it.
    let (name, checked) = (own.name.clone(), new.clone());
    aside(move || is_usable(&name, &checked)).await??;
    proved(desk, own, form).await?;
    let _turn = desk.hashing.acquire().await;
    let (name, role, codes) = (own.name.clone(), own.account.role, own.account.codes.clone());
    Ok(aside(move || Account::new(&name, &new, role, codes)).await??)
}

/// `POST /account/password`.
pub async fn change_password(
    State(desk): State<Arc<Desk>>,
    Extension(ClientAddress(address)): Extension<ClientAddress>,
    Extension(session): Extension<Session>,
    form: Form,
) -> Response {
    let Some(own) = own_of(&desk, &session, address) else {
        return nobody();
    };
    let renewed = match with_new_password(&desk, &own, &form).await {
        Ok(after) => changed(&desk, &session, &own, after).await,
        Err(problem) => Err(problem),
    };
    match renewed {
        Ok(session) => {
            let response = account_page(&desk, &session, &own, Some("password_changed"), None);
            with_cookie(&desk, &session, response)
        }
        Err(problem) => account_page(&desk, &session, &own, None, Some(&problem)),
    }
}

/// `POST /account/end`: ends the sessions of one's name elsewhere.
pub async fn end_others(
    State(desk): State<Arc<Desk>>,
    Extension(ClientAddress(address)): Extension<ClientAddress>,
    Extension(session): Extension<Session>,
    form: Form,
) -> Response {
    let Some(own) = own_of(&desk, &session, address) else {
        return nobody();
    };
    if let Err(problem) = proved(&desk, &own, &form).await {
        return account_page(&desk, &session, &own, None, Some(&problem));
    }
    let ended = desk.sessions.end_others(&own.name, &session.id);
    desk.note_entry(Entry {
        account: Some(&own.name),
        count: Some(ended),
        address: Some(address),
        ..Entry::of(&own.name, Event::SessionsEnded)
    });
    account_page(&desk, &session, &own, Some("sessions_ended"), None)
}

/// A link as a picture that an authenticator reads from a screen; `None` when it is too long for one.
fn picture(link: &str) -> Option<String> {
    let code = QrCode::new(link.as_bytes()).ok()?;
    let drawn = code.render::<svg::Color<'_>>().min_dimensions(220, 220).build();
    // Without the line that a file would begin with.
    drawn.find("<svg").and_then(|at| drawn.get(at..)).map(str::to_owned)
}

/// The page that sets up one-time codes, with what was typed elsewhere before.
pub(super) fn codes_page(desk: &Desk, session: &Session, draft: Option<&Draft>, refused: Option<Value>) -> Response {
    let (Some(name), Some(codes)) = (session.who.as_deref(), desk.sessions.offered_codes(&session.id)) else {
        return plain(
            StatusCode::SERVICE_UNAVAILABLE,
            [
                "One-time codes cannot be set up now. Please try again.",
                "Ahora no se pueden configurar los códigos de un solo uso. Intente otra vez.",
            ],
        );
    };
    let link = codes.link(name);
    let written = codes.written();
    let groups: Vec<String> = written
        .as_bytes()
        .chunks(4)
        .map(|four| String::from_utf8_lossy(four).into_owned())
        .collect();
    let has_codes = desk
        .passwords()
        .and_then(|passwords| Some(passwords.account(name)?.codes.is_some()));
    let more = context! {
        area => "account",
        picture => link.as_deref().and_then(picture),
        link,
        written => groups.join(" "),
        has_codes,
        owed => session.owes_codes,
        draft => draft.map(Draft::carried),
        problem => refused,
    };
    page(desk, session, "account-codes.html", more)
}

/// `GET /account/codes`.
pub async fn codes(State(desk): State<Arc<Desk>>, Extension(session): Extension<Session>) -> Response {
    if session.who.is_none() || !desk.asks_who() {
        return nobody();
    }
    codes_page(&desk, &session, None, None)
}

/// The account with the codes that this session was offered, when the form proves that an authenticator has them; and the step of the
/// code that proved it.
async fn with_new_codes(
    desk: &Arc<Desk>,
    session: &Session,
    own: &Own,
    form: &Form,
) -> Result<(Account, u64), Problem> {
    let unix_s = u64::try_from(Utc::now().timestamp()).unwrap_or(0);
    let offered: Option<Codes> = desk.sessions.offered_codes(&session.id);
    let proof = offered.and_then(|codes| Some((codes.step_of(form.get("new_code"), unix_s)?, codes)));
    let Some((step, codes)) = proof else {
        return Err(Problem::typed("new_code_wrong"));
    };
    proved(desk, own, form).await?;
    Ok((own.account.with_codes(codes), step))
}

/// `POST /account/codes`.
pub async fn set_up_codes(
    State(desk): State<Arc<Desk>>,
    Extension(ClientAddress(address)): Extension<ClientAddress>,
    Extension(session): Extension<Session>,
    form: Form,
) -> Response {
    let Some(own) = own_of(&desk, &session, address) else {
        return nobody();
    };
    let renewed = match with_new_codes(&desk, &session, &own, &form).await {
        Ok((after, step)) => changed(&desk, &session, &own, after)
            .await
            .map(|session| (session, step)),
        Err(problem) => Err(problem),
    };
    match renewed {
        Ok((fresh, step)) => {
            desk.code_was_used(&own.name, step);
            let response = match Draft::of("/account/codes", &form, Some(&session.id), &fresh) {
                Some(draft) => draft.offered(&desk, &fresh),
                None => match own_of(&desk, &fresh, address) {
                    Some(own) => account_page(&desk, &fresh, &own, Some("codes_set"), None),
                    None => nobody(),
                },
            };
            with_cookie(&desk, &fresh, response)
        }
        Err(problem) => {
            let draft = Draft::of("/account/codes", &form, None, &session);
            problem.answered(codes_page(
                &desk,
                &session,
                draft.as_ref(),
                Some(problem.told(&session)),
            ))
        }
    }
}
