//! The page of a review: what the plans said against what was found, as `review` tells it for the same files.

use super::audit::Event;
use super::record_file::Record;
use super::render::{off_thread, page};
use super::sessions::Session;
use super::state::Desk;
use super::words::word;
use crate::faults::{Fault, Faults};
use crate::input::file::shown;
use crate::language::Tongue;
use crate::output::review::told;
use crate::records::{self, Contacts};
use crate::review::{Review, assess};
use axum::Extension;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use minijinja::context;
use std::path::PathBuf;
use std::sync::Arc;

/// Lines of what was set aside that a page shows.
const ASIDE: usize = 50;

/// `GET /review`.
pub async fn review(State(desk): State<Arc<Desk>>, Extension(session): Extension<Session>) -> Response {
    off_thread(move || {
        desk.note(&session, Event::Review, None, None);
        draw(&desk, &session)
    })
    .await
}

fn draw(desk: &Desk, session: &Session) -> Response {
    let language = session.language;
    let Some(record) = &desk.record else {
        let reason = word("record_no_plan", language);
        return page(desk, session, "review.html", context! { area => "review", reason });
    };
    // Reading the plans of a city takes a second and its memory: one at a time.
    let _turn = record.review_turn();
    let filled = record.filled();
    if filled.is_empty() {
        let reason = word("review_nothing_found", language);
        return page(desk, session, "review.html", context! { area => "review", reason });
    }
    let mut faults = Faults::new();
    let found = made(desk, record, &filled, &mut faults);
    let aside: Vec<String> = faults.0.iter().take(ASIDE).map(Fault::to_string).collect();
    let more = context! {
        area => "review",
        aside => aside,
        left => faults.0.len().saturating_sub(ASIDE),
        files => record.plans().iter().chain(&filled).map(|path| shown(path)).collect::<Vec<_>>(),
    };
    match found {
        Ok(review) => {
            let tongue = Tongue {
                language,
                units: session.system,
            };
            page(
                desk,
                session,
                "review.html",
                context! { ..more, ..told(&review, tongue) },
            )
        }
        Err(fatal) => {
            let aside: Vec<String> = fatal.0.iter().take(ASIDE).map(Fault::to_string).collect();
            let reason = word("review_unread", language);
            let mut response = page(desk, session, "review.html", context! { aside, reason, ..more });
            *response.status_mut() = StatusCode::SERVICE_UNAVAILABLE;
            response
        }
    }
}

/// The review of the desk's plans, of what was entered beside them, and of the desk's log.
fn made(desk: &Desk, record: &Record, filled: &[PathBuf], faults: &mut Faults) -> Result<Review, Faults> {
    let read = records::read_all(record.plans(), filled, faults)?;
    let contacts = match &desk.log {
        Some(log) => records::contacts(&log.events()?),
        None => Contacts::new(),
    };
    let (rows, _) = read.rows(&contacts, faults);
    let rows = records::settled(rows, faults);
    let run = &desk.options.run;
    let data = desk.data();
    Ok(assess(
        &rows,
        &records::settings(data.config(), run.members, run.seed, false),
    ))
}
