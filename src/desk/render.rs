//! Templates to pages.

use super::notices::Notice;
use super::rights::Role;
use super::sessions::Session;
use super::state::Desk;
use super::words::{on, word};
use crate::inventory::Language;
use crate::output::charts::{ChartError, Form};
use crate::units::UnitSystem;
use axum::http::{HeaderValue, StatusCode, header};
use axum::response::{Html, IntoResponse, Response};
use minijinja::value::Serde;
use minijinja::{Environment, Error, State, UndefinedBehavior, Value, context};

/// The page templates, kept in the program.
const TEMPLATES: &[(&str, &str)] = &[
    ("account.html", include_str!("templates/account.html")),
    ("account-codes.html", include_str!("templates/account-codes.html")),
    ("assembly.html", include_str!("templates/assembly.html")),
    ("board.html", include_str!("templates/board.html")),
    ("board-part.html", include_str!("templates/board-part.html")),
    ("base.html", include_str!("templates/base.html")),
    ("call-back.html", include_str!("templates/call-back.html")),
    ("card.html", include_str!("templates/card.html")),
    ("expansion.html", include_str!("templates/expansion.html")),
    ("list.html", include_str!("templates/list.html")),
    ("message.html", include_str!("templates/message.html")),
    ("parts.html", include_str!("templates/parts.html")),
    ("people.html", include_str!("templates/people.html")),
    ("phone.html", include_str!("templates/phone.html")),
    ("plan.html", include_str!("templates/plan.html")),
    ("record.html", include_str!("templates/record.html")),
    ("record-entry.html", include_str!("templates/record-entry.html")),
    ("review.html", include_str!("templates/review.html")),
    crate::output::review::BODY,
    ("season.html", include_str!("templates/season.html")),
    ("sign-in.html", include_str!("templates/sign-in.html")),
];

/// The style sheet.
pub const STYLE: &str = include_str!("templates/style.css");
/// The icon: a drop.
pub const ICON: &str = "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 32 32\"><path d=\"M16 3C11 11 7 15 7 20a9 9 0 0 0 18 0C25 15 21 11 16 3z\" fill=\"#0b5a78\"/></svg>";

/// A picture in both forms, of which the style sheet shows the one that fits the screen; `None` when it cannot be drawn.
pub fn pictured(draw: impl Fn(Form) -> Result<String, ChartError>) -> Option<String> {
    let (wide, narrow) = (draw(Form::Wide).ok()?, draw(Form::Narrow).ok()?);
    Some(format!(
        "<div class=\"at-desk\">{wide}</div><div class=\"at-phone\">{narrow}</div>"
    ))
}

/// The template environment: HTML escaping by file name, `t(key)` in the page's language.
///
/// # Errors
/// When a template does not parse.
pub fn templates() -> Result<Environment<'static>, Error> {
    let mut environment = Environment::new();
    environment.set_undefined_behavior(UndefinedBehavior::Lenient);
    environment.add_function("t", |state: &State<'_, '_>, key: String| -> String {
        let spanish = state.lookup("lang").is_some_and(|lang| lang.as_str() == Some("es"));
        let language = if spanish { Language::Spanish } else { Language::English };
        word(&key, language).to_string()
    });
    for (name, text) in TEMPLATES {
        environment.add_template(name, text)?;
    }
    Ok(environment)
}

/// Renders a page with what every page needs beside its own `more`.
pub fn page(desk: &Desk, session: &Session, template: &str, more: Value) -> Response {
    let data = desk.data();
    let utility = &data.config().utility;
    let lang = session.language.word();
    let numbers: Vec<String> = [
        desk.data().config().drip.emergency_services.clone(),
        utility.emergency_phone.clone(),
    ]
    .into_iter()
    .filter(|number| !number.trim().is_empty())
    .collect();
    let mut notices = desk.notices(session.language, session.system);
    if session.crossed {
        notices.insert(0, Notice::plain(crate::say!(session.language, "desk-crossed")));
        desk.sessions.change(&session.id, |kept| kept.crossed = false);
    }
    let signed_in = (!desk.asks_who() || session.who.is_some()) && !session.owes_codes;
    let base = context! {
        lang,
        units => match session.system {
            UnitSystem::Us => "us",
            UnitSystem::Si => "si",
            UnitSystem::Bar => "bar",
        },
        csrf => &session.csrf,
        utility => &utility.name,
        emergency => numbers.join(" · "),
        planning_aid => match session.language {
            Language::English => crate::PLANNING_AID,
            Language::Spanish => crate::drip::PLANNING_AID_ES,
        },
        version => crate::VERSION,
        read_at => on(data.read_at, &data.zone(), session.language),
        notices => Value::from(Serde(notices)),
        changed => signed_in.then(|| desk.changed_for(session)).flatten(),
        plan_mark => desk.plan_mark(),
        signed_in,
        may_plan => session.role >= Role::Planner,
        may_admin => session.role >= Role::Admin && desk.asks_who(),
        can_sign_out => desk.asks_who() && session.who.is_some(),
        who => session.who.clone().unwrap_or_default(),
        who_known => desk.asks_who() && session.who.is_some(),
        can_log => desk.log.is_some(),
        has_record => desk.record.is_some(),
        has_season => desk.season.is_some(),
    };
    let merged = context! { ..more, ..base };
    match desk
        .templates
        .get_template(template)
        .and_then(|template| template.render(merged))
    {
        Ok(html) => Html(html).into_response(),
        // Nothing of the error is shown: it could quote what stands in the page.
        Err(_) => plain(
            StatusCode::INTERNAL_SERVER_ERROR,
            [
                "This page could not be drawn. Please use the command line and tell who looks after Brimwater.",
                "No se pudo dibujar esta página. Use la línea de comandos y avise a quien cuida Brimwater.",
            ],
        ),
    }
}

/// A short page with a title and a sentence.
pub fn message(desk: &Desk, session: &Session, status: StatusCode, title: &str, text: &str) -> Response {
    let mut response = page(desk, session, "message.html", context! { title, text });
    *response.status_mut() = status;
    response
}

/// A short plain answer where there is no session to draw a page for: English and Spanish, one below the other.
pub fn plain(status: StatusCode, [english, spanish]: [&'static str; 2]) -> Response {
    let mut response = (status, format!("{english}\n{spanish}\n")).into_response();
    response.headers_mut().insert(
        header::CONTENT_TYPE,
        HeaderValue::from_static("text/plain; charset=utf-8"),
    );
    response
}

/// Said where the work behind a page stopped.
pub fn not_drawn() -> Response {
    plain(
        StatusCode::INTERNAL_SERVER_ERROR,
        [
            "This page could not be drawn. Please try again.",
            "No se pudo dibujar esta página. Intente otra vez.",
        ],
    )
}

/// Runs the work of a page off the threads that answer other people: it reads files or runs the model.
pub async fn off_thread(work: impl FnOnce() -> Response + Send + 'static) -> Response {
    tokio::task::spawn_blocking(work).await.unwrap_or_else(|_| not_drawn())
}
