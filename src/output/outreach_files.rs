//! All files of the contact plan, by name.

use super::charts_outreach;
use super::report::Figure;
use super::{call_sheets, contacts, manager_summary};
use crate::config::Config;
use crate::faults::{Fault, Faults};
use crate::outreach::about::Facts;
use crate::outreach::messages::Messages;
use crate::outreach::schedule::ContactPlan;
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
    /// Whether the files are made for sharing: personal data is withheld, and files that consist of it are left out.
    pub redact: bool,
}

/// The files with their names under the plan's folder: `contacts.csv`, `manager_summary.html`, and unless redacted `mail_merge.csv`,
/// `door_hangers.csv` (when there are any) and `call_sheets/caller-NN.html` and `.csv`.
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
            Box::new(move || {
                manager_summary::page(plan, config, &facts.words, *issued, *window).map(String::into_bytes)
            }),
        ),
    ];
    if !redact {
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
    let svg = charts_outreach::calls(&plan.curve, shift.callers, shift.cost_per_call_usd).ok()?;
    Some((
        "calls.svg",
        Figure {
            title: "Where more callers stop paying",
            svg,
            caption: "Expected loss avoided by calls, for more and fewer callers than the shift has; chances of reaching people are judgement."
                .into(),
        },
    ))
}
