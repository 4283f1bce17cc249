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
    let mut files = Vec::new();
    let mut faults = Faults::new();
    let mut add = |name: String, made: Result<Vec<u8>, Fault>| match made {
        Ok(bytes) => files.push((name, bytes)),
        Err(fault) => faults.push(fault),
    };
    let written = |write: &dyn Fn(&mut Vec<u8>) -> Result<(), Fault>| {
        let mut bytes = Vec::new();
        write(&mut bytes).map(|()| bytes)
    };
    add(
        "contacts.csv".into(),
        written(&|out| contacts::write_csv(&plan.lines, facts, messages, *redact, out)),
    );
    add(
        "manager_summary.html".into(),
        manager_summary::page(plan, config, &facts.words, *issued, *window).map(String::into_bytes),
    );
    if !redact {
        add(
            "mail_merge.csv".into(),
            written(&|out| contacts::write_mail_merge(&plan.lines, facts, messages, out)),
        );
        if plan.summary.door_hangers > 0 {
            add(
                "door_hangers.csv".into(),
                written(&|out| contacts::write_door_hangers(&plan.lines, facts, messages, out)),
            );
        }
        for (caller, calls) in call_sheets::by_caller(&plan.lines) {
            add(
                format!("call_sheets/caller-{caller:02}.html"),
                call_sheets::page(caller, &calls, facts, messages, &config.utility, *issued).map(String::into_bytes),
            );
            add(
                format!("call_sheets/caller-{caller:02}.csv"),
                call_sheets::csv_to_fill(&calls, facts),
            );
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
