//! What was typed into a form whose session has ended meanwhile: it is offered again, never thrown away.
//!
//! The desk keeps nothing of it: the page that offers it carries it, so that it also lives through a restart and a sign-in.

use super::form::Form;
use super::links;
use super::render::page;
use super::sessions::Session;
use super::state::Desk;
use axum::http::StatusCode;
use axum::response::Response;
use minijinja::{Value, context};

/// Fields that are never carried on.
const NOT_KEPT: [&str; 4] = ["csrf", "password", "draft_action", "draft"];
/// Where forms go that hold nothing worth offering again, or what no page may carry.
const EMPTY: [&str; 9] = [
    "/sign-in",
    "/sign-out",
    "/settings",
    "/plan/again",
    "/plan/take",
    "/plan/seen",
    "/account/password",
    "/account/codes",
    "/account/end",
];
/// Forms that carry another one on.
const CARRIERS: [&str; 2] = ["/sign-in", "/account/codes"];

/// Fields whose text is shown where they are offered again.
const TYPED: [&str; 7] = ["q", "about", "caller", "words", "text", "rate_other", "air"];

/// A form to be sent again.
#[derive(Debug, Clone, PartialEq)]
pub struct Draft {
    action: String,
    fields: Vec<(String, String)>,
}

impl Draft {
    /// What was sent to `path`, or what the form of a sign-in carried. Links that the ended session `old` had made are made anew for `session`.
    pub fn of(path: &str, form: &Form, old: Option<&str>, session: &Session) -> Option<Draft> {
        let renewed = |text: &str| {
            old.and_then(|old| links::open(old, text))
                .map_or_else(|| text.to_owned(), |id| links::seal(&session.id, &id))
        };
        let (action, fields): (String, Vec<(String, String)>) = if CARRIERS.contains(&path) {
            (
                form.told("draft_action")?,
                serde_json::from_str(form.get("draft")).ok()?,
            )
        } else {
            let fields = form.fields().map(|(name, value)| (name.to_owned(), value.to_owned()));
            (path.to_owned(), fields.collect())
        };
        if EMPTY.contains(&action.as_str()) || !is_own(&action) {
            return None;
        }
        Some(Draft {
            action: action.split('/').map(renewed).collect::<Vec<_>>().join("/"),
            fields: fields
                .into_iter()
                .filter(|(name, _)| !NOT_KEPT.contains(&name.as_str()))
                .map(|(name, value)| (name, renewed(&value)))
                .collect(),
        })
    }

    /// The hidden fields that carry it through a sign-in.
    pub fn carried(&self) -> Value {
        context! { action => &self.action, fields => serde_json::to_string(&self.fields).unwrap_or_default() }
    }

    /// The page that offers it again.
    pub fn offered(&self, desk: &Desk, session: &Session) -> Response {
        let (title, text) = session.language.pick(
            (
                "Not sent yet: your session had ended",
                "Nothing is lost. Here is what you typed; send it again.",
            ),
            (
                "Aún no se envió: su sesión había terminado",
                "No se perdió nada. Aquí está lo que escribió; envíelo otra vez.",
            ),
        );
        // What a person typed; what was only chosen goes along unseen.
        let typed = self
            .fields
            .iter()
            .filter(|(name, value)| TYPED.contains(&name.as_str()) && !value.trim().is_empty());
        let typed: Vec<&str> = typed.map(|(_, value)| value.as_str()).collect();
        let note = (!typed.is_empty()).then(|| typed.join(" · "));
        let fields: Vec<Value> = self
            .fields
            .iter()
            .map(|(name, value)| context! { name, value })
            .collect();
        let retry = context! { action => &self.action, fields, note, send => true };
        let mut response = page(desk, session, "message.html", context! { title, text, retry });
        *response.status_mut() = StatusCode::CONFLICT;
        response
    }
}

/// Whether an address is a page of this desk.
fn is_own(action: &str) -> bool {
    action.starts_with('/')
        && !action.starts_with("//")
        && action.chars().all(|c| c.is_ascii_alphanumeric() || "/-_".contains(c))
}
