//! The page of budgets: who gets what before the season, and what more money would do.

use super::render::{message, off_thread, page, pictured};
use super::sessions::Session;
use super::state::Desk;
use crate::faults::Faults;
use crate::input::file::{read_whole, shown};
use crate::output::charts_season;
use crate::output::season::usd;
use crate::output::season_folder::measure_words;
use crate::say;
use crate::season::answer::{Answer, NEXT_USD, budget as read_budget};
use crate::season::choice::Item;
use crate::season::choices_table;
use crate::season::measures::Kind;
use axum::Extension;
use axum::extract::{Query, State};
use axum::http::StatusCode;
use axum::response::Response;
use minijinja::{Value, context};
use std::collections::HashMap;
use std::path::Path;
use std::sync::Arc;

/// Offers shown at once.
const ROWS: usize = 100;
/// Budget that stands in the field at first, US dollars (judgement).
const FIRST_USD: u64 = 20_000;

/// What may be offered, as `season` wrote it.
pub struct Choices {
    measures: Vec<String>,
    items: Vec<Item>,
}

/// Reads a folder that `season` wrote, or its `choices.csv`.
///
/// Faults: those of the table.
pub fn read(path: &Path) -> (Option<Choices>, Faults) {
    let file = if path.is_dir() {
        path.join("choices.csv")
    } else {
        path.to_path_buf()
    };
    match read_whole(&file) {
        Ok(bytes) => {
            let (table, told) = choices_table::read(&bytes, &shown(&file));
            let choices = (!told.is_fatal()).then_some(Choices {
                measures: table.measures,
                items: table.items,
            });
            (choices, told)
        }
        Err(fault) => (None, fault.into()),
    }
}

/// `GET /season`.
pub async fn budget(
    State(desk): State<Arc<Desk>>,
    Extension(session): Extension<Session>,
    Query(query): Query<HashMap<String, String>>,
) -> Response {
    off_thread(move || draw(&desk, &session, query.get("budget").map(String::as_str))).await
}

fn draw(desk: &Desk, session: &Session, asked: Option<&str>) -> Response {
    let language = session.language;
    let Some(choices) = &desk.season else {
        let text = language.pick(
            "The desk was opened without --season.",
            "La mesa se abrió sin --season.",
        );
        let title = language.pick("There is no such page", "No existe esta página");
        return message(desk, session, StatusCode::NOT_FOUND, title, text);
    };
    let asked = asked.map_or_else(|| FIRST_USD.to_string(), |text| text.chars().take(20).collect());
    let found =
        read_budget(&asked).and_then(|usd| Answer::of(choices.measures.clone(), choices.items.clone(), usd, &[]));
    match found {
        Ok((answer, _)) => page(desk, session, "season.html", told(desk, session, &asked, &answer)),
        Err(_) => {
            let problem = language.pick(
                "This is no budget. Write a sum in US dollars, 0 or more, such as 20000.",
                "Esto no es un presupuesto. Escriba una suma en dólares, 0 o más, como 20000.",
            );
            let mut response = page(
                desk,
                session,
                "season.html",
                context! { area => "season", asked, problem },
            );
            *response.status_mut() = StatusCode::UNPROCESSABLE_ENTITY;
            response
        }
    }
}

fn told(desk: &Desk, session: &Session, asked: &str, answer: &Answer) -> Value {
    let language = session.language;
    let choice = &answer.choice;
    let chosen = answer.chosen();
    let data = desk.data();
    let rows: Vec<Value> = chosen
        .iter()
        .take(ROWS)
        .enumerate()
        .map(|(at, (item, offer))| {
            let (item, offer) = (&answer.items[*item], &answer.items[*item].offers[*offer]);
            let word = answer.measures.get(offer.measure).map_or("", String::as_str);
            context! {
                rank => at + 1,
                id => item.id.as_str(),
                link => data.find(&item.id).map(|_| desk.sessions.link(session, &item.id)),
                measure => Kind::read(word).map_or_else(|| word.to_owned(), |kind| measure_words(kind, language)),
                cost => usd(offer.cost_usd as f64),
                benefit => usd(offer.benefit_usd),
                ratio => format!("${:.2}", offer.benefit_usd / offer.cost_usd.max(1) as f64),
            }
        })
        .collect();
    let summary = say!(
        language,
        "season-desk-summary",
        spent = usd(choice.spent_usd as f64),
        budget = usd(answer.budget_usd as f64),
        chosen = chosen.len().to_string(),
        all = answer.items.len().to_string(),
        benefit = usd(choice.benefit_usd),
        shadow = format!("${:.2}", choice.shadow_price),
        next = usd(NEXT_USD as f64),
        more = usd(answer.next_usd),
    );
    let bound = if choice.exact {
        say!(language, "season-desk-best")
    } else {
        say!(language, "season-desk-bound", bound = usd(choice.bound_usd))
    };
    let curve: Vec<Value> = answer
        .curve
        .iter()
        .step_by(5)
        .map(|(budget, benefit)| context! { budget => usd(*budget as f64), benefit => usd(*benefit) })
        .collect();
    context! {
        area => "season",
        asked,
        summary => format!("{summary} {bound}"),
        shown => say!(language, "season-desk-shown", shown = rows.len().to_string(), all = chosen.len().to_string()),
        chart => pictured(|form| charts_season::curve(answer, form)).unwrap_or_default(),
        curve,
        rows,
    }
}
