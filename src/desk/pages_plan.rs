//! The planners' pages: ranking with filters, map, one assembly in full.

use super::audit::Event;
use super::cards;
use super::data::{Data, Planned};
use super::form::Form;
use super::pages_phone::gone;
use super::render::{off_thread, page, pictured};
use super::sessions::Session;
use super::state::{Desk, PlanState};
use super::words::{on, word};
use crate::inventory::{Assembly, DeviceType, Language, Service};
use crate::output::charts_plan::{self, Case, Dot};
use crate::ranking::words::{judged_band, part_name, percent_in};
use crate::ranking::{Ranked, Tier};
use axum::Extension;
use axum::extract::{Path, Query, State};
use axum::response::{IntoResponse, Redirect, Response};
use minijinja::value::Serde;
use minijinja::{Value, context};
use std::collections::HashMap;
use std::sync::Arc;

/// Lines of the ranking on a page.
const ROWS: usize = 50;

/// What was read and the plan of it, or what to say while there is none. Of one moment: the rows of a plan are numbers of its own list.
pub(super) fn planned(desk: &Desk, session: &Session) -> Result<(Arc<Data>, Arc<Planned>), String> {
    let (data, plan) = desk.both();
    match plan {
        PlanState::Ready(planned) => Ok((data, planned)),
        PlanState::Computing => Err(session
            .language
            .pick(
                "The plan is being computed. Load this page again in a moment.",
                "Se está calculando el plan. Cargue la página otra vez en un momento.",
            )
            .into()),
        PlanState::NoWeather => Err(session
            .language
            .pick(
                "No weather series was given, so there is no plan.",
                "No se dio ninguna serie del tiempo, así que no hay plan.",
            )
            .into()),
    }
}

fn tier_of(session: &Session, tier: Tier) -> String {
    tier.words_in(session.language).to_string()
}

fn headline(planned: &Planned, session: &Session) -> String {
    let count = |tier: Tier| planned.plan.ranked.iter().filter(|line| line.tier == tier).count();
    let parts: Vec<String> = Tier::ALL
        .iter()
        .map(|tier| format!("{}: {}", tier_of(session, *tier), count(*tier)))
        .collect();
    let (ranked, language) = (&planned.plan.ranked, session.language);
    let at_risk = ranked.iter().filter(|line| line.tier != Tier::NoContact).count();
    let mut text = crate::say!(
        language,
        "plan-counts",
        at_risk = at_risk,
        all = ranked.len(),
        tiers = parts.join(" · ")
    );
    if planned.unranked > 0 {
        text = format!(
            "{text} {}",
            crate::say!(language, "plan-unranked", count = planned.unranked)
        );
    }
    if let Some(total) = planned.total {
        let whole = |value: f64| format!("{value:.0}");
        let (with, without) = (total.breaks, total.breaks_local);
        let judged = total.judged.map_or(String::new(), |ends| {
            let (low, high) = (whole(ends.breaks.0), whole(ends.breaks.1));
            format!("; {}", crate::say!(language, "judged-band", low = low, high = high))
        });
        let told = crate::say!(
            language,
            "plan-breaks",
            expected = whole(with.expected),
            low = whole(with.p05),
            high = whole(with.p95),
            low_local = whole(without.p05),
            high_local = whole(without.p95),
            judged = judged,
        );
        text = format!("{text} {told}");
    }
    text
}

fn percent(p: Option<f64>, session: &Session) -> String {
    p.map_or_else(|| "–".into(), |p| percent_in(p, session.language))
}

/// `GET /plan`.
pub async fn list(
    State(desk): State<Arc<Desk>>,
    Extension(session): Extension<Session>,
    Query(query): Query<HashMap<String, String>>,
) -> Response {
    desk.note(&session, Event::Ranking, None, None);
    let (data, planned) = match planned(&desk, &session) {
        Ok(both) => both,
        Err(state) => {
            return page(
                &desk,
                &session,
                "plan.html",
                context! { area => "plan", tab => "list", state },
            );
        }
    };
    let words = cards::words(&session, &data);
    let asked = |name: &str| query.get(name).map_or("", String::as_str);
    let fits = |line: &Ranked, assembly: &Assembly| {
        let is = |name: &str, word: &str| asked(name).is_empty() || asked(name) == word;
        is("tier", line.tier.words())
            && is("service", assembly.service.word())
            && is("type", assembly.device_type.word())
    };
    let lines: Vec<(&Ranked, usize, &Assembly)> = planned
        .plan
        .ranked
        .iter()
        .filter_map(|line| {
            let at = *planned.plan.at.get(line.index)?;
            Some((line, at, data.assemblies().get(at)?))
        })
        .filter(|(line, _, assembly)| fits(line, assembly))
        .collect();
    let pages = lines.len().div_ceil(ROWS).max(1);
    let here = asked("page").parse::<usize>().unwrap_or(1).clamp(1, pages);
    let rows: Vec<Value> = lines
        .iter()
        .skip((here - 1) * ROWS)
        .take(ROWS)
        .map(|(line, _, assembly)| {
            let outlook = planned.plan.outlooks.get(line.index);
            context! {
                link => desk.sessions.link(&session, &assembly.assembly_id),
                rank => line.rank,
                id => assembly.assembly_id.as_str(),
                what => cards::what(assembly, session.language),
                tier => tier_of(&session, line.tier),
                tier_class => line.tier.words().replace(' ', "-"),
                p_damage => percent(outlook.and_then(|outlook| outlook.p_damage), &session),
                first_ice => outlook.and_then(|outlook| outlook.first_ice.p10).map_or_else(|| "–".into(), |time| words.moment(time)),
                reason => planned.reason(line, &words),
            }
        })
        .collect();
    let english = session.language == Language::English;
    let count_words = if english {
        format!("{} assemblies, page {here} of {pages}", lines.len())
    } else {
        format!("{} conjuntos, página {here} de {pages}", lines.len())
    };
    let more = context! {
        area => "plan",
        tab => "list",
        headline => headline(&planned, &session),
        made => made(&desk, &planned, &session),
        filters => filters(&session, &asked),
        rows,
        count_words,
        pages => page_links(here, pages, &asked),
    };
    page(&desk, &session, "plan.html", more)
}

fn filters<'a>(session: &Session, asked: &dyn Fn(&str) -> &'a str) -> Vec<Value> {
    let english = session.language == Language::English;
    let filter = |name: &str, label: &str, choices: Vec<(String, String)>| {
        let choices: Vec<Value> = choices
            .into_iter()
            .map(|(word, label)| context! { chosen => asked(name) == word, word, label })
            .collect();
        context! { name, label, choices }
    };
    let plain = |word: &str| (word.to_string(), word.to_string());
    vec![
        filter(
            "tier",
            word("tier", session.language),
            Tier::ALL
                .iter()
                .map(|tier| (tier.words().to_string(), tier_of(session, *tier)))
                .collect(),
        ),
        filter(
            "service",
            if english { "Service" } else { "Servicio" },
            Service::ALL
                .iter()
                .map(|service| {
                    (
                        service.word().to_string(),
                        cards::service(*service, session.language).to_string(),
                    )
                })
                .collect(),
        ),
        filter(
            "type",
            if english { "Type" } else { "Tipo" },
            DeviceType::ALL.iter().map(|kind| plain(kind.word())).collect(),
        ),
    ]
}

/// Links to the first page, those about this one, and the last.
fn page_links<'a>(here: usize, pages: usize, asked: &dyn Fn(&str) -> &'a str) -> Vec<Value> {
    if pages < 2 {
        return Vec::new();
    }
    let kept: String = ["tier", "service", "type"]
        .iter()
        .filter(|name| !asked(name).is_empty())
        // Only the words of the filters themselves are repeated in a link.
        .filter(|name| asked(name).chars().all(|c| c.is_ascii_alphanumeric() || c == ' '))
        .map(|name| format!("{name}={}&", asked(name).replace(' ', "+")))
        .collect();
    (1..=pages)
        .filter(|page| *page == 1 || *page == pages || page.abs_diff(here) <= 2)
        .map(|page| context! { query => format!("{kept}page={page}"), label => page, here => page == here })
        .collect()
}

/// `GET /plan/map`.
pub async fn map(State(desk): State<Arc<Desk>>, Extension(session): Extension<Session>) -> Response {
    let (data, planned) = match planned(&desk, &session) {
        Ok(both) => both,
        Err(state) => {
            return page(
                &desk,
                &session,
                "plan.html",
                context! { area => "plan", tab => "map", state },
            );
        }
    };
    off_thread(move || {
        let charts = map_charts(&data, &planned, &session);
        let more = context! { area => "plan", tab => "map", headline => headline(&planned, &session), made => made(&desk, &planned, &session), charts };
        page(&desk, &session, "plan.html", more)
    })
    .await
}

fn map_charts(data: &Data, planned: &Planned, session: &Session) -> Vec<Value> {
    let words = cards::words(session, data);
    let dots: Vec<Dot> = planned
        .plan
        .ranked
        .iter()
        .filter_map(|line| {
            let assembly = data.assemblies().get(*planned.plan.at.get(line.index)?)?;
            Some(Dot {
                latitude_deg: assembly.latitude_deg?,
                longitude_deg: assembly.longitude_deg?,
                tier: line.tier,
            })
        })
        .collect();
    let stations: Vec<_> = data
        .programme
        .loaded
        .series
        .iter()
        .map(|series| series.station.clone())
        .collect();
    [
        (
            "chart_map",
            pictured(|form| charts_plan::map_in(&dots, &stations, &words, form)),
        ),
        (
            "chart_first_ice",
            pictured(|form| charts_plan::first_ice_in(&planned.plan.outlooks, &words, form)),
        ),
        (
            "chart_thresholds",
            pictured(|form| charts_plan::thresholds_in(&data.programme.loaded.series, &words, form)),
        ),
    ]
    .into_iter()
    .filter_map(|(label, svg)| Some(context! { label => word(label, session.language), svg => svg? }))
    .collect()
}

/// `GET /plan/a/{link}`: one assembly in full.
pub async fn assembly(
    State(desk): State<Arc<Desk>>,
    Extension(session): Extension<Session>,
    Path(link): Path<String>,
) -> Response {
    let Some(id) = desk.sessions.linked(&session, &link) else {
        return gone(&desk, &session);
    };
    off_thread(move || draw_assembly(&desk, &session, &link, &id)).await
}

fn draw_assembly(desk: &Desk, session: &Session, link: &str, id: &str) -> Response {
    let (data, plan) = desk.both();
    let Some((at, assembly)) = data.find(id) else {
        return gone(desk, session);
    };
    desk.note(session, Event::Card, Some(id), None);
    let outlook = desk.card(&data, at);
    let card = cards::card(assembly, outlook.as_deref(), &data, session, desk.now(), false);
    let words = cards::words(session, &data);
    let english = session.language == Language::English;
    let pick = |en: &str, es: &str| if english { en.to_string() } else { es.to_string() };
    let plan = match plan {
        PlanState::Ready(planned) => Some(planned),
        _ => None,
    };
    let line = plan.as_ref().and_then(|planned| planned.line(at));
    let mut figures = Vec::new();
    let mut figure = |label: String, value: String| figures.push(context! { label, value });
    if let Some(line) = line {
        figure(pick("Rank", "Puesto"), line.rank.to_string());
        figure(pick("Tier", "Nivel"), tier_of(session, line.tier));
    }
    if let Some(outlook) = &outlook {
        figure(
            pick("Chance of ice", "Probabilidad de hielo"),
            percent(outlook.p_ice, session),
        );
        figure(
            pick("Chance of damage", "Probabilidad de daño"),
            match judged_band(outlook, session.language) {
                Some(band) => format!("{} ({band})", percent(outlook.p_damage, session)),
                None => percent(outlook.p_damage, session),
            },
        );
        let moment =
            |time: Option<chrono::DateTime<chrono::Utc>>| time.map_or_else(|| "–".into(), |time| words.moment(time));
        figure(
            pick("First ice, early edge", "Primer hielo, lo más temprano"),
            moment(outlook.first_ice.p10),
        );
        figure(
            pick("First ice, middle", "Primer hielo, en medio"),
            moment(outlook.first_ice.p50),
        );
        figure(
            pick("Coldest water", "Agua más fría"),
            words.temperature(outlook.coldest_water_c.p50),
        );
        figure(
            pick("Lowest air", "Aire más frío"),
            words.temperature(outlook.min_air_c),
        );
        figure(
            pick("Hours below freezing", "Horas bajo cero"),
            format!("{:.0}", outlook.hours_air_below_0c),
        );
    }
    let charts: Vec<Value> = outlook.as_deref().map_or_else(Vec::new, |outlook| {
        let case = || Case {
            label: assembly.assembly_id.to_string(),
            kind: cards::what(assembly, session.language),
            outlook,
            alike: 0,
        };
        [
            (
                "chart_spell",
                pictured(|form| charts_plan::spell_in(&[case()], &words, form)),
            ),
            (
                "chart_damage",
                pictured(|form| charts_plan::damage_in(&[case()], &words, form)),
            ),
        ]
        .into_iter()
        .filter_map(|(label, svg)| Some(context! { label => word(label, session.language), svg => svg? }))
        .collect()
    });
    let parts: Vec<Value> = outlook.as_deref().map_or_else(Vec::new, |outlook| {
        let part = |part: &crate::freeze::PartOutlook| {
            context! { name => part_name(part.name, session.language), ice => percent(Some(part.ice_fraction), session), p => percent(part.p_damage, session) }
        };
        outlook.parts.iter().map(part).collect()
    });
    let more = context! {
        area => "plan",
        card => Value::from(Serde(&card)),
        reason => plan.as_ref().zip(line).map(|(planned, line)| planned.reason(line, &words)),
        figures,
        charts,
        parts,
        link,
    };
    page(desk, session, "assembly.html", more)
}

/// `POST /plan/again`: works the plan out for the present hour. The one that is there stays until the new one is done.
pub async fn again(State(desk): State<Arc<Desk>>, Extension(_): Extension<Session>, _form: Form) -> Response {
    tokio::task::spawn_blocking(move || desk.compute_plan());
    Redirect::to("/plan").into_response()
}

/// When the plan was computed, and whether a newer one is on its way.
pub(super) fn made(desk: &Desk, planned: &Planned, session: &Session) -> String {
    let at = on(planned.now, &desk.data().zone(), session.language);
    let made = session
        .language
        .pick(format!("Plan of {at}."), format!("Plan del {at}."));
    if desk.is_computing() {
        made + session
            .language
            .pick(" A newer one is being computed.", " Se está calculando uno más nuevo.")
    } else {
        made
    }
}
