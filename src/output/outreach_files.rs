//! All files of the contact plan, by name.

use super::charts::Form;
use super::charts_outreach;
use super::council_summary::Council;
use super::report::Figure;
use super::{brief, call_sheets, contacts, council_summary, manager_summary, print_list, thaw, unranked};
use crate::config::Config;
use crate::faults::{Fault, Faults};
use crate::inventory::Unranked;
use crate::outreach::about::Facts;
use crate::outreach::messages::Messages;
use crate::outreach::schedule::ContactPlan;
use crate::outreach::thaw::Thaw;
use crate::ranking::Ranked;
use crate::review::total::Total;
use crate::weather::nights::Night;
use chrono::{DateTime, Utc};
use rayon::prelude::*;

/// What the files are made from.
pub struct Campaign<'a> {
    /// The contact plan.
    pub plan: &'a ContactPlan,
    /// Persons, assemblies, outlooks.
    pub facts: Facts<'a>,
    /// Message templates.
    pub messages: &'a Messages,
    /// The whole config.
    pub config: &'a Config,
    /// When the plan was made.
    pub issued: DateTime<Utc>,
    /// The window of the spell.
    pub window: (DateTime<Utc>, DateTime<Utc>),
    /// The nights with frost.
    pub nights: &'a [Night],
    /// Rows that cannot be modelled and have somebody to tell.
    pub unranked: &'a [Unranked],
    /// Rows that were set aside, those included.
    pub rejected: usize,
    /// The ranking.
    pub ranked: &'a [Ranked],
    /// The thaw notices that are due.
    pub thaw: &'a Thaw,
    /// Whether the spell is over.
    pub over: bool,
    /// Breaks and loss of the town with their ranges; `None` in a cautious run.
    pub total: Option<Total>,
    /// Assemblies to visit after the spell, and how many of them were drawn at random.
    pub visits: Option<(usize, usize)>,
    /// Whether the files are made for sharing: personal data is withheld, and files that consist of it are left out.
    pub redact: bool,
}

/// The files with their names under the plan's folder: `contacts.csv`, `manager_summary.html`, `council_summary.html`, before the end of
/// the spell `brief.html`, and unless redacted `unranked.csv` (when there are such rows), `mail_merge.csv`, `thaw_notices.csv` (when any is due), `door_hangers.csv` (when there are any) `call_sheets/caller-NN.html` and `.csv`, and before the end of the spell `call_sheets/list.html`.
///
/// # Errors
/// A fault for each file that cannot be made.
pub fn files(campaign: &Campaign<'_>) -> Result<Vec<(String, Vec<u8>)>, Faults> {
    let Campaign {
        plan,
        facts,
        messages,
        config,
        issued,
        window,
        redact,
        ..
    } = campaign;
    type Job<'j> = (String, Box<dyn Fn() -> Result<Vec<u8>, Fault> + Send + Sync + 'j>);
    fn written(write: impl FnOnce(&mut Vec<u8>) -> Result<(), Fault>) -> Result<Vec<u8>, Fault> {
        let mut bytes = Vec::new();
        write(&mut bytes).map(|()| bytes)
    }
    let lines = plan.lines.as_slice();
    let mut jobs: Vec<Job<'_>> = vec![
        (
            "contacts.csv".into(),
            Box::new(move || written(|out| contacts::write_csv(lines, facts, messages, *redact, out))),
        ),
        (
            "manager_summary.html".into(),
            Box::new(move || manager_summary::page(campaign).map(String::into_bytes)),
        ),
    ];
    if !campaign.over {
        jobs.push((
            "brief.html".into(),
            Box::new(move || brief::page(campaign).map(String::into_bytes)),
        ));
    }
    jobs.push((
        "council_summary.html".into(),
        Box::new(move || {
            let council = Council {
                plan,
                ranked: campaign.ranked,
                facts,
                thaw: campaign.thaw,
                config,
                issued: *issued,
                window: *window,
                over: campaign.over,
                total: campaign.total,
                visits: campaign.visits,
            };
            council_summary::page(&council).map(String::into_bytes)
        }),
    ));
    if !redact {
        if !campaign.unranked.is_empty() {
            jobs.push((
                "unranked.csv".into(),
                Box::new(move || {
                    unranked::csv(
                        campaign.unranked,
                        facts.people,
                        &config.outreach.people.default_area_code,
                    )
                }),
            ));
        }
        if !campaign.thaw.notices.is_empty() {
            jobs.push((
                "thaw_notices.csv".into(),
                Box::new(move || thaw::csv(&campaign.thaw.notices, facts, messages)),
            ));
        }
        jobs.push((
            "mail_merge.csv".into(),
            Box::new(move || written(|out| contacts::write_mail_merge(lines, facts, messages, out))),
        ));
        if plan.summary.door_hangers > 0 {
            jobs.push((
                "door_hangers.csv".into(),
                Box::new(move || written(|out| contacts::write_door_hangers(lines, facts, messages, out))),
            ));
        }
        if plan.summary.calls > 0 && !campaign.over {
            jobs.push((
                "call_sheets/list.html".into(),
                Box::new(move || print_list::page(campaign).map(String::into_bytes)),
            ));
        }
        for (caller, calls) in call_sheets::by_caller(lines) {
            let calls = std::sync::Arc::new(calls);
            let again = std::sync::Arc::clone(&calls);
            jobs.push((
                format!("call_sheets/caller-{caller:02}.html"),
                Box::new(move || {
                    call_sheets::page(caller, &calls, facts, messages, &config.utility, *issued).map(String::into_bytes)
                }),
            ));
            jobs.push((
                format!("call_sheets/caller-{caller:02}.csv"),
                Box::new(move || call_sheets::csv_to_fill(&again, facts)),
            ));
        }
    }
    let made: Vec<(String, Result<Vec<u8>, Fault>)> = jobs.into_par_iter().map(|(name, make)| (name, make())).collect();
    let mut files = Vec::new();
    let mut faults = Faults::new();
    for (name, made) in made {
        match made {
            Ok(bytes) => files.push((name, bytes)),
            Err(fault) => faults.push(fault),
        }
    }
    if faults.0.is_empty() { Ok(files) } else { Err(faults) }
}

/// The chart of calls with its file name under `charts/`, when any call can be made.
pub fn figure(plan: &ContactPlan, config: &Config) -> Option<(&'static str, Figure)> {
    let shift = &config.outreach.shift;
    let draw =
        |form| charts_outreach::calls_in(&plan.curve, &plan.steps, shift.callers, shift.cost_per_call_usd, form).ok();
    let (svg, narrow) = (draw(Form::Wide)?, draw(Form::Narrow)?);
    Some((
        "calls.svg",
        Figure {
            title: "Where more callers stop paying",
            svg,
            narrow,
            caption: "Expected loss avoided by calls, those that gain most first, and by more callers than the shift has. Critical customers and fire \
                      lines are called first whatever they stand to lose, so the line can steepen once. Chances of reaching people are judgement."
                .into(),
        },
    ))
}
