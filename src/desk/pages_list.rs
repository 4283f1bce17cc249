//! The list that the desk was started with: which column is taken for which of ours, which word for which, and the config that says so.
//! It is read afresh for each look and changes nothing.

use super::audit::Event;
use super::render::{message, off_thread, page};
use super::sessions::Session;
use super::state::Desk;
use super::words::word;
use crate::faults::Severity;
use crate::inventory::propose::Sure;
use crate::plan::proposed::{Proposed, proposed};
use axum::Extension;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use minijinja::{Value, context};
use std::sync::Arc;

/// `GET /plan/list`.
pub async fn list(State(desk): State<Arc<Desk>>, Extension(session): Extension<Session>) -> Response {
    off_thread(move || draw(&desk, &session)).await
}

fn draw(desk: &Desk, session: &Session) -> Response {
    desk.note(session, Event::Ranking, None, None);
    let files = &desk.options.files;
    let found = files.assemblies.as_deref().map(|list| proposed(list, files));
    match found {
        Some(Ok(found)) => page(desk, session, "list.html", shown(&found, session)),
        _ => message(
            desk,
            session,
            StatusCode::SERVICE_UNAVAILABLE,
            session
                .language
                .pick("The list cannot be read", "No se puede leer la lista"),
            session.language.pick(
                "Run `brimwater check` on it: it tells what is wrong.",
                "Use `brimwater check` con ella: dice qué está mal.",
            ),
        ),
    }
}

fn shown(found: &Proposed, session: &Session) -> Value {
    let language = session.language;
    let sure = |sure: Sure| match sure {
        Sure::Known => word("list_known", language),
        Sure::Likely => word("list_likely", language),
        Sure::Guess => word("list_guess", language),
    };
    let proposal = &found.proposal;
    let columns: Vec<Value> = proposal
        .columns
        .iter()
        .map(|taken| {
            context! {
                theirs => &taken.header,
                ours => taken.column.name(),
                sure => sure(taken.sure),
                filled => taken.filled,
                readable => taken.readable,
                example => taken.examples.first(),
            }
        })
        .collect();
    let words: Vec<Value> = proposal
        .words
        .iter()
        .map(|word| context! { column => word.column.name(), theirs => &word.theirs, rows => word.rows, ours => &word.ours })
        .collect();
    let missing: Vec<&str> = proposal.missing.iter().map(|column| column.name()).collect();
    context! {
        area => "plan",
        name => &found.name,
        header_line => proposal.header_line,
        rows => proposal.rows,
        used => found.read.assemblies.len(),
        rejected => found.read.rejects.len(),
        doubts => found.read.faults.count(Severity::Warning),
        columns,
        words,
        missing => missing.join(", "),
        unread => proposal.unread.join(", "),
        config => &found.config,
    }
}
