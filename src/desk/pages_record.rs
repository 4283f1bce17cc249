//! The inspection record on a telephone: what is to be looked at, and what was found, entered on site.

use super::audit::Event;
use super::cards;
use super::form::Form;
use super::pages_calls::named;
use super::pages_phone::gone;
use super::record_file::{Record, Saved, Sheet, Visit};
use super::render::{message, off_thread, page};
use super::sessions::Session;
use super::state::Desk;
use super::words::word;
use crate::faults::Fault;
use crate::inventory::Service;
use crate::output::after::RECORD_WORDS;
use crate::review::State as Found;
use axum::Extension;
use axum::extract::{Path, Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use chrono::NaiveDate;
use minijinja::{Value, context};
use std::collections::HashMap;
use std::sync::Arc;

/// Assemblies on a page.
const ROWS: usize = 50;
/// What may be said of an assembly that somebody went to, in the order of the page.
const STATES: [Found; 5] = [
    Found::Damaged,
    Found::Whole,
    Found::CannotTell,
    Found::NotExposed,
    Found::NotLooked,
];
/// Who may say it.
const INSPECTORS: [&str; 2] = ["tester", "inspector"];

/// `GET /record`: what is still to be looked at, and what has been.
pub async fn list(
    State(desk): State<Arc<Desk>>,
    Extension(session): Extension<Session>,
    Query(query): Query<HashMap<String, String>>,
) -> Response {
    off_thread(move || {
        desk.note(&session, Event::RecordList, None, None);
        let saved = query.get("saved").and_then(|link| desk.sessions.linked(&session, link));
        let here = query.get("page").and_then(|page| page.parse().ok()).unwrap_or(1);
        with_sheet(&desk, &session, |_, sheet| {
            let all = sheet.visits();
            let (done, open): (Vec<Visit<'_>>, Vec<Visit<'_>>) = all.iter().partition(|visit| visit.is_looked_at());
            let pages = open.len().div_ceil(ROWS).max(1);
            let here: usize = std::cmp::Ord::clamp(here, 1, pages);
            let shown = open.iter().skip((here - 1) * ROWS).take(ROWS);
            let more = context! {
                counts => counts(&session, &all),
                saved => saved.as_deref().and_then(|id| sheet.visit(id)).filter(Visit::is_entered).map(|visit| line(&desk, &session, &visit)),
                open => shown.map(|visit| line(&desk, &session, visit)).collect::<Vec<_>>(),
                pages => if pages > 1 { (1..=pages).map(|page| context! { number => page, here => page == here }).collect() } else { Vec::new() },
                done => done.iter().take(4 * ROWS).map(|visit| line(&desk, &session, visit)).collect::<Vec<_>>(),
                kept => kept(&session, sheet),
                place => crate::input::file::shown(&sheet.place),
            };
            page(&desk, &session, "record.html", context! { area => "record", ..more })
        })
    })
    .await
}

/// `POST /record/find`.
pub async fn find(State(desk): State<Arc<Desk>>, Extension(session): Extension<Session>, form: Form) -> Response {
    off_thread(move || {
        let asked = form.get("q").to_owned();
        with_sheet(&desk, &session, |_, sheet| {
            let all = sheet.visits();
            let by_id: HashMap<&str, &Visit<'_>> = all.iter().map(|visit| (visit.id(), visit)).collect();
            let data = desk.data();
            let hits = data.index.find(&asked, usize::MAX).hits;
            let mut found: Vec<&Visit<'_>> = hits
                .iter()
                .filter_map(|hit| by_id.get(data.assemblies().get(hit.index)?.assembly_id.as_str()).copied())
                .collect();
            // Assemblies of the form that the desk's list does not hold are found by their identifier.
            let typed = asked.to_lowercase();
            let unlisted = |visit: &&Visit<'_>| data.find(visit.id()).is_none() && visit.id().to_lowercase().contains(&typed);
            if !typed.is_empty() {
                found.extend(all.iter().filter(unlisted));
            }
            desk.note(&session, Event::Search, None, Some(found.len()));
            let more = context! {
                asked,
                counts => counts(&session, &all),
                found => found.iter().take(ROWS).map(|visit| line(&desk, &session, visit)).collect::<Vec<_>>(),
                found_words => say(&session, "record_found", &[("count", found.len()), ("shown", found.len().min(ROWS))]),
            };
            page(&desk, &session, "record.html", context! { area => "record", ..more })
        })
    })
    .await
}

/// `GET /record/a/{link}`: one assembly.
pub async fn one(
    State(desk): State<Arc<Desk>>,
    Extension(session): Extension<Session>,
    Path(link): Path<String>,
) -> Response {
    let Some(id) = desk.sessions.linked(&session, &link) else {
        return gone(&desk, &session);
    };
    off_thread(move || {
        desk.note(&session, Event::Card, Some(&id), None);
        with_sheet(&desk, &session, |_, sheet| match sheet.visit(&id) {
            Some(visit) => entry(
                &desk,
                &session,
                (&link, &visit),
                &Typed::of_row(&visit, &today(&desk)),
                None,
            ),
            None => not_of_form(&desk, &session),
        })
    })
    .await
}

/// `POST /record/a/{link}`: what was found there.
pub async fn save(
    State(desk): State<Arc<Desk>>,
    Extension(session): Extension<Session>,
    Path(link): Path<String>,
    form: Form,
) -> Response {
    let Some(id) = desk.sessions.linked(&session, &link) else {
        return gone(&desk, &session);
    };
    off_thread(move || {
        with_sheet(&desk, &session, |record, sheet| {
            let Some(visit) = sheet.visit(&id) else {
                return not_of_form(&desk, &session);
            };
            keep(&desk, &session, record, (&link, &visit), &form)
        })
    })
    .await
}

fn keep(desk: &Desk, session: &Session, record: &Record, (link, visit): (&str, &Visit<'_>), form: &Form) -> Response {
    let today = today(desk);
    let mut typed = Typed::of_form(form, &today);
    let by = named(desk, session, form);
    let problem = match &by {
        None => Some("record_needs_name"),
        Some(_) => typed.problem(&today),
    };
    let refused = |typed: &Typed, key: &str, status: StatusCode| {
        let mut response = entry(
            desk,
            session,
            (link, visit),
            typed,
            Some(word(key, session.language).to_owned()),
        );
        *response.status_mut() = status;
        response
    };
    let (Some(by), None) = (by, problem) else {
        return refused(
            &typed,
            problem.unwrap_or("record_needs_name"),
            StatusCode::UNPROCESSABLE_ENTITY,
        );
    };
    let now = desk.now().with_timezone(&desk.data().zone());
    let hour = if typed.date == today {
        now.format("%H:%M").to_string()
    } else {
        String::new()
    };
    let cells = typed.cells(&by, &hour, visit.cell("how_found"));
    match record.save(visit.id(), form.get("stood"), &cells) {
        Ok(Saved::Written) => {
            desk.note(session, Event::Inspected, Some(visit.id()), None);
            Redirect::to(&format!("/record?saved={link}")).into_response()
        }
        Ok(Saved::Already) => Redirect::to(&format!("/record?saved={link}")).into_response(),
        Ok(Saved::Gone) => not_of_form(desk, session),
        Ok(Saved::Meanwhile) => {
            // What stands there now, as it was read after the refusal; what was typed stays in the fields.
            typed.details = true;
            with_sheet(desk, session, |_, sheet| match sheet.visit(visit.id()) {
                Some(now) => {
                    let told = say_of(session, "record_meanwhile", &summary(session, &now));
                    let mut response = entry(desk, session, (link, &now), &typed, Some(told));
                    *response.status_mut() = StatusCode::CONFLICT;
                    response
                }
                None => not_of_form(desk, session),
            })
        }
        Err(fault) => unsaved(desk, session, link, form, &fault),
    }
}

/// Hands the sheet over, or says why there is none.
fn with_sheet(desk: &Desk, session: &Session, work: impl FnOnce(&Record, &Sheet) -> Response) -> Response {
    let why = |reason: &str, detail: String| {
        let reason = word(reason, session.language);
        page(
            desk,
            session,
            "record.html",
            context! { area => "record", reason, detail },
        )
    };
    let Some(record) = &desk.record else {
        return why("record_no_plan", String::new());
    };
    match record.sheet() {
        Ok(Some(sheet)) => work(record, &sheet),
        Ok(None) => why("record_no_form", String::new()),
        Err(fault) => {
            let mut response = why("record_unread", fault.to_string());
            *response.status_mut() = StatusCode::SERVICE_UNAVAILABLE;
            response
        }
    }
}

fn not_of_form(desk: &Desk, session: &Session) -> Response {
    let [title, text] = ["record_gone", "record_gone_text"].map(|key| word(key, session.language));
    message(desk, session, StatusCode::NOT_FOUND, title, text)
}

/// Not saved, in clear words; what was typed stands in the page to be sent again.
fn unsaved(desk: &Desk, session: &Session, link: &str, form: &Form, fault: &Fault) -> Response {
    let [title, text] = ["record_unsaved", "record_unsaved_text"].map(|key| word(key, session.language));
    let fields: Vec<Value> = form.fields().map(|(name, value)| context! { name, value }).collect();
    let retry = context! { action => format!("/record/a/{link}"), fields, note => form.get("text"), detail => fault.to_string() };
    let mut response = page(desk, session, "message.html", context! { title, text, retry });
    *response.status_mut() = StatusCode::SERVICE_UNAVAILABLE;
    response
}

/// The day in the programme's zone.
fn today(desk: &Desk) -> String {
    let now = desk.now().with_timezone(&desk.data().zone());
    now.format("%Y-%m-%d").to_string()
}

/// What stands in the fields of the page.
#[derive(Debug, Clone, Default, PartialEq)]
struct Typed {
    state: Option<Found>,
    part: String,
    severity: String,
    ice: String,
    inspected_by: String,
    date: String,
    note: String,
    /// Whether the one button was pressed, which says no damage and nothing else.
    whole: bool,
    /// Whether the longer form is shown open.
    details: bool,
}

/// The word of a list that was sent; nothing where it is no word of the list.
fn of_list(column: &str, sent: &str) -> String {
    let words = RECORD_WORDS.iter().find(|(name, _)| *name == column);
    let known = words.is_some_and(|(_, words)| words.contains(&sent) && sent != "none");
    if known { sent.to_owned() } else { String::new() }
}

impl Typed {
    fn of_row(visit: &Visit<'_>, today: &str) -> Self {
        let entered = visit.is_entered();
        let inspected_by = visit.cell("inspected_by");
        Self {
            state: visit.filled().filter(|_| entered).map(|filled| filled.state),
            part: of_list("damage_part", visit.cell("damage_part")),
            severity: of_list("severity", visit.cell("severity")),
            ice: of_list("ice", visit.cell("ice")),
            inspected_by: inspected_by.to_owned(),
            // Whoever looks again looks today.
            date: today.to_owned(),
            note: visit.cell("note").to_owned(),
            whole: false,
            details: entered,
        }
    }

    fn of_form(form: &Form, today: &str) -> Self {
        let whole = form.get("go") == "whole";
        Self {
            state: if whole {
                Some(Found::Whole)
            } else {
                Found::read(form.get("state"))
            },
            part: of_list("damage_part", form.get("part")),
            severity: of_list("severity", form.get("severity")),
            ice: of_list("ice", form.get("ice")),
            inspected_by: of_list("inspected_by", form.get("inspected_by")),
            date: form.told("date").unwrap_or_else(|| today.to_owned()),
            // A line of the file is a row.
            note: form
                .get("text")
                .split_whitespace()
                .collect::<Vec<_>>()
                .join(" ")
                .chars()
                .take(1000)
                .collect(),
            whole,
            details: !whole,
        }
    }

    /// What is wrong with it, by the key of its sentence.
    fn problem(&self, today: &str) -> Option<&'static str> {
        let Some(state) = self.state.filter(|state| STATES.contains(state)) else {
            return Some("record_needs_state");
        };
        if state != Found::Damaged && !(self.part.is_empty() && self.severity.is_empty()) {
            return Some("record_contradicts");
        }
        let day = NaiveDate::parse_from_str(&self.date, "%Y-%m-%d").ok();
        // Days written alike are ordered as their letters are.
        if day.is_none_or(|day| day.format("%Y-%m-%d").to_string().as_str() > today) {
            return Some("record_date_wrong");
        }
        None
    }

    /// The cells of the row.
    fn cells(&self, by: &str, hour: &str, how_found: &str) -> Vec<(&'static str, String)> {
        let state = self.state.unwrap_or(Found::NotLooked);
        let looked = state != Found::NotLooked;
        let when_looked = |text: &str| if looked { text.to_owned() } else { String::new() };
        let (part, severity) = match state {
            Found::Whole => ("none", "none"),
            _ => (self.part.as_str(), self.severity.as_str()),
        };
        let how = if how_found.is_empty() && looked {
            "visit"
        } else {
            how_found
        };
        vec![
            ("state", state.word().to_owned()),
            ("damage_part", part.to_owned()),
            ("severity", severity.to_owned()),
            ("ice", when_looked(&self.ice)),
            (
                "inspected_by",
                when_looked(if self.inspected_by.is_empty() {
                    INSPECTORS[0]
                } else {
                    &self.inspected_by
                }),
            ),
            ("inspector_name", by.to_owned()),
            ("date", when_looked(&self.date)),
            ("hour", when_looked(hour)),
            ("how_found", how.to_owned()),
            ("note", self.note.clone()),
        ]
    }
}

fn slug(text: &str) -> String {
    text.replace(", ", "-").replace(' ', "-")
}

fn state_words(state: Found, session: &Session) -> String {
    word(&format!("found_{}", slug(state.word())), session.language).to_owned()
}

/// The words of a column as choices.
fn choices(column: &str, prefix: &str, chosen: &str, session: &Session) -> Vec<Value> {
    let words = RECORD_WORDS.iter().find(|(name, _)| *name == column);
    let words = words
        .map_or(&[][..], |(_, words)| words)
        .iter()
        .filter(|each| **each != "none");
    words
        .map(|each| {
            let label = word(&format!("{prefix}_{}", slug(each)), session.language).to_owned();
            context! { word => *each, label, chosen => *each == chosen }
        })
        .collect()
}

/// The page of one assembly.
fn entry(
    desk: &Desk,
    session: &Session,
    (link, visit): (&str, &Visit<'_>),
    typed: &Typed,
    problem: Option<String>,
) -> Response {
    let data = desk.data();
    let assembly = data.find(visit.id()).map(|(_, assembly)| assembly);
    let card = assembly.map(|assembly| cards::card(assembly, None, &data, session, desk.now(), false));
    let states: Vec<Value> = STATES
        .iter()
        .filter(|state| **state != Found::NotLooked || visit.is_entered())
        .map(|state| context! { word => state.word(), label => state_words(*state, session), chosen => typed.state == Some(*state) })
        .collect();
    let inspectors: Vec<Value> = INSPECTORS
        .iter()
        .map(|each| context! { word => *each, label => word(&format!("by_{each}"), session.language).to_owned(), chosen => typed.inspected_by == *each })
        .collect();
    let more = context! {
        area => "record",
        link,
        stood => visit.mark(),
        visit => line(desk, session, visit),
        placement => card.map(|card| card.placement),
        now => visit.is_entered().then(|| summary(session, visit)),
        needs_name => session.who.is_none(),
        problem,
        details => typed.details,
        states,
        parts => choices("damage_part", "part", &typed.part, session),
        severities => choices("severity", "severity", &typed.severity, session),
        ices => choices("ice", "ice", &typed.ice, session),
        inspectors,
        date => typed.date.as_str(),
        note => typed.note.as_str(),
    };
    page(desk, session, "record-entry.html", more)
}

/// What stands in a row, in one line.
fn summary(session: &Session, visit: &Visit<'_>) -> String {
    let language = session.language;
    let labelled = |prefix: &str, column: &str| {
        let text = visit.cell(column);
        let known = super::words::known(&format!("{prefix}_{}", slug(&text.to_lowercase())), language);
        match text.to_lowercase().as_str() {
            "" | "none" => String::new(),
            _ => known.unwrap_or(text).to_owned(),
        }
    };
    let state = match visit.filled() {
        Some(filled) => state_words(filled.state, session),
        None => word("record_set_aside", language).to_owned(),
    };
    let ice = match visit.cell("ice").to_lowercase().as_str() {
        "yes" => word("record_ice_seen", language).to_owned(),
        "no" => word("record_no_ice", language).to_owned(),
        _ => String::new(),
    };
    let day = visit.filled().and_then(|filled| filled.date);
    let when = day.map_or_else(String::new, |day| language.date(&day));
    let when = [when.as_str(), visit.cell("hour")].join(" ").trim().to_owned();
    let pieces = [
        state,
        labelled("part", "damage_part"),
        labelled("severity", "severity"),
        ice,
        visit.cell("inspector_name").to_owned(),
        when,
        visit.cell("note").to_owned(),
    ];
    let told: Vec<String> = pieces.into_iter().filter(|piece| !piece.is_empty()).collect();
    told.join(" · ")
}

/// An assembly as a line of the list.
fn line(desk: &Desk, session: &Session, visit: &Visit<'_>) -> Value {
    let data = desk.data();
    let assembly = data.find(visit.id()).map(|(_, assembly)| assembly);
    let site = |assembly: &crate::inventory::Assembly| assembly.contact.site_address.as_deref().map(str::to_owned);
    context! {
        link => desk.sessions.link(session, visit.id()),
        id => visit.id(),
        address => assembly.and_then(site),
        what => assembly.map(|assembly| cards::what(assembly, session.language)),
        fire => assembly.is_some_and(|assembly| assembly.service == Service::Fire),
        must => visit.must_look(),
        entered => visit.is_entered(),
        told => visit.is_entered().then(|| summary(session, visit)),
    }
}

fn counts(session: &Session, all: &[Visit<'_>]) -> String {
    let done = all.iter().filter(|visit| visit.is_looked_at()).count();
    let must: Vec<&Visit<'_>> = all.iter().filter(|visit| visit.must_look()).collect();
    let still = must.iter().filter(|visit| !visit.is_looked_at()).count();
    let (all, must) = (all.len(), must.len());
    say(
        session,
        "record_counts",
        &[("done", done), ("all", all), ("must", must), ("still", still)],
    )
}

/// What the file holds beside this form's entries.
fn kept(session: &Session, sheet: &Sheet) -> Vec<String> {
    let told = [
        ("record_of_others", sheet.of_others()),
        ("record_of_earlier", sheet.of_earlier_plan()),
    ];
    told.into_iter()
        .filter(|(_, count)| *count > 0)
        .map(|(key, count)| say(session, key, &[("count", count)]))
        .collect()
}

/// A sentence of the pages with numbers in it.
fn say(session: &Session, key: &str, numbers: &[(&str, usize)]) -> String {
    let sentence = word(key, session.language).to_owned();
    numbers.iter().fold(sentence, |text, (name, number)| {
        text.replace(&format!("{{{name}}}"), &number.to_string())
    })
}

fn say_of(session: &Session, key: &str, told: &str) -> String {
    word(key, session.language).replace("{told}", told)
}
