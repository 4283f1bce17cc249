//! All files of the contact plan, by name.

use super::charts::Form;
use super::charts_outreach;
use super::plan::unwritten;
use super::report::Figure;
use super::safe::Folder;
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
use std::io::{BufWriter, Write};
use std::sync::Arc;

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

/// A file of the contact plan: its name under the plan's folder, and how it is written.
struct Made<'m> {
    name: String,
    write: Box<dyn Fn(&mut dyn Write) -> Result<(), Fault> + Send + Sync + 'm>,
}

impl<'m> Made<'m> {
    /// A file that is written as it is made, since it grows with the list.
    fn long(name: &str, write: impl Fn(&mut dyn Write) -> Result<(), Fault> + Send + Sync + 'm) -> Self {
        Self {
            name: name.to_owned(),
            write: Box::new(write),
        }
    }

    /// A page, which is made whole.
    fn page<T: Into<Vec<u8>>>(name: &str, make: impl Fn() -> Result<T, Fault> + Send + Sync + 'm) -> Self {
        let shown = name.to_owned();
        Self::long(name, move |out| {
            let bytes: Vec<u8> = make()?.into();
            out.write_all(&bytes).map_err(|error| unwritten(&shown, error))
        })
    }
}

/// Writes the files of the contact plan: `contacts.csv`, `manager_summary.html`, `council_summary.html`, before the end of the spell
/// `brief.html`, and unless redacted `unranked.csv` (when there are such rows), `mail_merge.csv`, `thaw_notices.csv` (when any is due),
/// `door_hangers.csv` (when there are any), `call_sheets/caller-NN.html` and `.csv`, and before the end of the spell
/// `call_sheets/list.html`.
///
/// # Errors
/// A fault for each file that cannot be made or written.
pub fn write(campaign: &Campaign<'_>, folder: &Folder) -> Result<(), Faults> {
    all(campaign, |name, write| {
        let mut out = BufWriter::with_capacity(1 << 17, folder.create(name)?);
        write(&mut out)?;
        out.flush().map_err(|error| unwritten(name, error))
    })
    .map(drop)
}

/// The same files in memory, for short lists.
///
/// # Errors
/// A fault for each file that cannot be made.
pub fn files(campaign: &Campaign<'_>) -> Result<Vec<(String, Vec<u8>)>, Faults> {
    all(campaign, |name, write| {
        let mut bytes = Vec::new();
        write(&mut bytes).map(|()| (name.to_owned(), bytes))
    })
}

/// Does the same with each file; all that fail are told.
fn all<T: Send>(
    campaign: &Campaign<'_>,
    each: impl Fn(&str, &dyn Fn(&mut dyn Write) -> Result<(), Fault>) -> Result<T, Fault> + Sync,
) -> Result<Vec<T>, Faults> {
    let made: Vec<Result<T, Fault>> = made(campaign)
        .par_iter()
        .map(|file| each(&file.name, &|out| (file.write)(out)))
        .collect();
    let mut done = Vec::new();
    let mut faults = Faults::new();
    for one in made {
        match one {
            Ok(one) => done.push(one),
            Err(fault) => faults.push(fault),
        }
    }
    if faults.0.is_empty() { Ok(done) } else { Err(faults) }
}

fn made<'m>(campaign: &'m Campaign<'m>) -> Vec<Made<'m>> {
    let Campaign {
        plan,
        facts,
        messages,
        redact,
        ..
    } = campaign;
    let lines = plan.lines.as_slice();
    let mut made = vec![
        Made::long("contacts.csv", move |out| {
            contacts::write_csv(lines, facts, messages, *redact, out)
        }),
        Made::page("manager_summary.html", move || manager_summary::page(campaign)),
    ];
    if !campaign.over {
        made.push(Made::page("brief.html", move || brief::page(campaign)));
    }
    made.push(Made::page("council_summary.html", move || {
        council_summary::page(campaign)
    }));
    if !redact {
        made.extend(personal(campaign));
    }
    made
}

/// The files that consist of personal data.
fn personal<'m>(campaign: &'m Campaign<'m>) -> Vec<Made<'m>> {
    let Campaign {
        plan,
        facts,
        messages,
        config,
        issued,
        ..
    } = campaign;
    let lines = plan.lines.as_slice();
    let mut made = Vec::new();
    if !campaign.unranked.is_empty() {
        made.push(Made::page("unranked.csv", move || {
            unranked::csv(
                campaign.unranked,
                facts.people,
                &config.outreach.people.default_area_code,
            )
        }));
    }
    if !campaign.thaw.notices.is_empty() {
        made.push(Made::long("thaw_notices.csv", move |out| {
            thaw::write_csv(&campaign.thaw.notices, facts, messages, out)
        }));
    }
    made.push(Made::long("mail_merge.csv", move |out| {
        contacts::write_mail_merge(lines, facts, messages, out)
    }));
    if plan.summary.door_hangers > 0 {
        made.push(Made::long("door_hangers.csv", move |out| {
            contacts::write_door_hangers(lines, facts, messages, out)
        }));
    }
    if plan.summary.calls > 0 && !campaign.over {
        made.push(Made::page("call_sheets/list.html", move || print_list::page(campaign)));
    }
    for (caller, calls) in call_sheets::by_caller(lines) {
        let calls = Arc::new(calls);
        let again = Arc::clone(&calls);
        made.push(Made::page(&format!("call_sheets/caller-{caller:02}.html"), move || {
            call_sheets::page(caller, &calls, facts, messages, &config.utility, *issued)
        }));
        made.push(Made::page(&format!("call_sheets/caller-{caller:02}.csv"), move || {
            call_sheets::csv_to_fill(&again, facts)
        }));
    }
    made
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
