//! What a review is made from: plans, filled records and what a log tells of contacts become rows, for the command line and the desk alike.

use crate::config::Config;
use crate::faults::{Fault, Faults, Severity};
use crate::freeze::members::error_size_k;
use crate::input::{file, plain};
use crate::review::assess::Settings;
use crate::review::posterior::Prior;
use crate::review::record::{Filled, NEEDED, read};
use crate::review::row::{Traits, merge};
use crate::review::total::shared_share;
use crate::review::{Contact, Row, State};
use crate::store::Event;
use chrono::{DateTime, Utc};
use serde::Deserialize;
use std::collections::{BTreeMap, HashMap};
use std::path::{Path, PathBuf};

/// What of a plan a review needs.
#[derive(Deserialize)]
struct Plan {
    schema: String,
    issued: DateTime<Utc>,
    window: Window,
    /// Whether it was made after the spell, on the hours that came; told by its run.json.
    #[serde(skip)]
    over: bool,
    assemblies: Vec<Line>,
    #[serde(skip)]
    plan_id: String,
}

#[derive(Deserialize)]
struct Window {
    start: DateTime<Utc>,
    end: DateTime<Utc>,
}

#[derive(Deserialize)]
struct Line {
    assembly_id: String,
    rank: f64,
    p_damage: Option<f64>,
    #[serde(default)]
    advice: Vec<Advised>,
    expected_loss: f64,
    min_air_c: f64,
}

/// First and last hour of each spell, by its name in the rows.
pub type Spells = BTreeMap<String, (DateTime<Utc>, DateTime<Utc>)>;

/// What of a run a review needs; runs from before identities were kept have neither.
#[derive(Deserialize, Default)]
struct RunFile {
    #[serde(default)]
    plan_id: String,
    #[serde(default)]
    over: bool,
}

/// A measure and the chance with it in place.
#[derive(Deserialize)]
struct Advised {
    enough: bool,
    #[serde(default)]
    p_damage: Option<f64>,
}

impl Line {
    fn p_damage_protected(&self) -> Option<f64> {
        self.advice
            .iter()
            .filter(|advice| advice.enough)
            .find_map(|advice| advice.p_damage)
    }
}

/// Reads a plan's folder or its plan.json; the run.json beside it tells its identity.
fn plan(path: &Path) -> Result<Plan, Fault> {
    let file_path = if path.is_dir() {
        path.join("plan.json")
    } else {
        path.to_path_buf()
    };
    let bytes = file::read_whole(&file_path)?;
    let mut plan: Plan = serde_json::from_slice(&bytes).map_err(|error| {
        Fault::new("BW-R10", Severity::Fatal, format!("this is no plan: {error}"))
            .file(file::shown(&file_path))
            .expected("plan.json as `plan` writes it")
            .remedy("Name the folder that `plan --out` wrote.")
    })?;
    if plan.schema != "brimwater.plan/1" {
        return Err(
            Fault::new("BW-R10", Severity::Fatal, "this is no plan that can be read")
                .file(file::shown(&file_path))
                .value(&plan.schema)
                .expected("brimwater.plan/1")
                .remedy("Name the folder that `plan --out` wrote."),
        );
    }
    let run = file_path.with_file_name("run.json");
    if run.is_file() {
        let told: RunFile = serde_json::from_slice(&file::read_whole(&run)?).map_err(|error| {
            Fault::new(
                "BW-R15",
                Severity::Fatal,
                format!("this record of a run cannot be read: {error}"),
            )
            .file(file::shown(&run))
            .expected("run.json as `plan` writes it")
            .remedy("Name the folder that `plan --out` wrote, as it was written.")
        })?;
        plan.plan_id = told.plan_id;
        plan.over = told.over;
    }
    Ok(plan)
}

/// Lead at which a plan is taken to have been issued where only rows are given, h (judgement: two days).
const LEAD_H: f64 = 48.0;

/// What a log tells of each assembly's contacts, by time.
pub type Contacts = HashMap<String, Vec<(DateTime<Utc>, Contact)>>;

/// The contacts that a log's events tell of.
pub fn contacts(events: &[Event]) -> Contacts {
    let mut found = Contacts::new();
    for event in events {
        if let Some(contact) = Contact::read(event.outcome.word()) {
            found
                .entry(event.contact.clone())
                .or_default()
                .push((event.at, contact));
        }
    }
    found
}

/// Plans and filled records, read.
pub struct Read {
    plans: Vec<Plan>,
    /// The records of each file, with the file's name.
    filled: Vec<(String, Vec<Filled>)>,
}

/// Reads plans and filled records. All faults are told at once: those that end it as an error, the others in `faults`.
///
/// # Errors
/// What cannot be read, and `BW-R09` when plans or records are missing.
pub fn read_all(plans: &[PathBuf], records: &[PathBuf], faults: &mut Faults) -> Result<Read, Faults> {
    let mut fatal = Faults::new();
    if plans.is_empty() || records.is_empty() {
        return Err(Fault::new("BW-R09", Severity::Fatal, "there is nothing to review")
            .expected("--plan with --record, or --rows")
            .remedy("Name the plan's folder and the filled inspection_record.csv.")
            .into());
    }
    let mut all = Read {
        plans: Vec::new(),
        filled: Vec::new(),
    };
    for path in plans {
        match plan(path) {
            Ok(plan) => all.plans.push(plan),
            Err(fault) => fatal.push(fault),
        }
    }
    for path in records {
        match filled(path) {
            Ok((rows, told)) => {
                faults.append(told);
                all.filled.push((file::shown(path), rows));
            }
            Err(told) => fatal.append(told),
        }
    }
    if fatal.0.is_empty() { Ok(all) } else { Err(fatal) }
}

fn filled(path: &Path) -> Result<(Vec<Filled>, Faults), Faults> {
    let bytes = file::read_whole(path)?;
    let name = file::shown(path);
    let (bytes, mut faults) = plain(&bytes, &name, &|cell| NEEDED.contains(&cell))?;
    let (rows, told) = read(&String::from_utf8_lossy(&bytes), &name);
    if told.worst() == Some(Severity::Fatal) {
        return Err(told);
    }
    faults.append(told);
    Ok((rows, faults))
}

impl Read {
    /// The rows of all records, and the hours of each spell. What is wrong with a record sets that record aside (`BW-R11`).
    pub fn rows(self, contacts: &Contacts, faults: &mut Faults) -> (Vec<Row>, Spells) {
        let (mut rows, mut spells) = (Vec::new(), Spells::new());
        for (name, filled) in self.filled {
            joined(&name, filled, &self.plans, contacts, (&mut rows, &mut spells), faults);
        }
        (rows, spells)
    }
}

/// One row an assembly and spell. Two findings that disagree are both set aside (`BW-R04`), repeated ones counted once (`BW-R05`).
pub fn settled(rows: Vec<Row>, faults: &mut Faults) -> Vec<Row> {
    let merged = merge(rows);
    for (spell, assembly) in &merged.disagreeing {
        faults.push(
            Fault::new(
                "BW-R04",
                Severity::Rejected,
                format!("two records of {assembly} in {spell} disagree on what was found"),
            )
            .value(assembly)
            .expected("one finding an assembly and spell")
            .remedy("Settle which is right and leave the other out; both were set aside."),
        );
    }
    if !merged.repeated.is_empty() {
        faults.push(Fault::new(
            "BW-R05",
            Severity::Note,
            format!("{} repeated records were counted once", merged.repeated.len()),
        ));
    }
    merged.rows
}

/// How a review of these rows is made under a config: `members` behind the chances, `seed` of the draws behind intervals, `calibrate` whether
/// a nucleation temperature is proposed.
pub fn settings(config: &Config, members: usize, seed: u64, calibrate: bool) -> Settings {
    let ensemble = &config.ensemble;
    let (mean_c, spread_k, warmest_c) = ensemble.nucleation();
    Settings {
        members: members.max(1),
        shared_issued: shared_share(
            error_size_k(ensemble, LEAD_H),
            ensemble.site_k,
            ensemble.nucleation_sd_k,
        ),
        prior: Prior::about(mean_c, spread_k, warmest_c),
        strength_factor: config.freeze.damage.strength_factor,
        local_k: ensemble.site_k,
        // Half of those spoken to act: judgement, as the plan's own default.
        acts: 0.5,
        calibrate,
        seed,
    }
}

/// The plan that a record belongs to, and the plan as issued for the same hours.
fn plans_of<'a>(id: &str, plans: &'a [Plan]) -> Option<(&'a Plan, Option<&'a Plan>)> {
    let own = if id.is_empty() {
        // An old form does not say: with one plan after the spell, or one plan in all, it can only be that.
        let mut over = plans.iter().filter(|plan| plan.over);
        match (over.next(), over.next()) {
            (Some(plan), None) => plan,
            (None, _) if plans.len() == 1 => plans.first()?,
            _ => return None,
        }
    } else {
        plans.iter().find(|plan| plan.plan_id == id)?
    };
    if !own.over {
        return Some((own, Some(own)));
    }
    let issued = plans
        .iter()
        .filter(|plan| !plan.over && plan.window.start < own.window.end && own.window.start < plan.window.end)
        .max_by_key(|plan| plan.issued);
    Some((own, issued))
}

fn joined(
    name: &str,
    filled: Vec<Filled>,
    plans: &[Plan],
    contacts: &Contacts,
    (rows, spells): (&mut Vec<Row>, &mut Spells),
    faults: &mut Faults,
) {
    let mut lines: BTreeMap<*const Plan, HashMap<&str, &Line>> = BTreeMap::new();
    for plan in plans {
        let by_id = plan.assemblies.iter().map(|line| (line.assembly_id.as_str(), line));
        lines.insert(std::ptr::from_ref(plan), by_id.collect());
    }
    let line_of = |plan: &Plan, id: &str| {
        lines
            .get(&std::ptr::from_ref(plan))
            .and_then(|by_id| by_id.get(id).copied())
    };
    for one in filled {
        let aside = |what: &str, column: &str, value: &str, remedy: &str| {
            Fault::new("BW-R11", Severity::Rejected, what)
                .file(name)
                .line(one.line)
                .column(column)
                .value(value)
                .expected("a record of one of the plans given")
                .remedy(remedy)
        };
        let Some((own, issued)) = plans_of(&one.plan_id, plans) else {
            faults.push(aside(
                "this record belongs to another plan",
                "plan_id",
                &one.plan_id,
                "Name its plan with --plan as well; the record was set aside.",
            ));
            continue;
        };
        let Some(issued) = issued else {
            faults.push(aside(
                "the plan as issued for these hours is not given, only the one made after the spell",
                "plan_id",
                &one.plan_id,
                "Name the plan that was acted on with --plan as well; the record was set aside.",
            ));
            continue;
        };
        let (Some(line), Some(before)) = (line_of(own, &one.assembly_id), line_of(issued, &one.assembly_id)) else {
            faults.push(aside(
                "this assembly is not in the plan",
                "assembly_id",
                &one.assembly_id,
                "Check the identifier; the record was set aside.",
            ));
            continue;
        };
        if one.date.is_some_and(|date| date < issued.window.start.date_naive()) {
            faults.push(aside(
                "this date is before the plan's hours",
                "date",
                &one.date.map(|date| date.to_string()).unwrap_or_default(),
                "Correct the date; the record was set aside.",
            ));
            continue;
        }
        let Some(p_issued) = before.p_damage else {
            faults.push(aside(
                "the plan was a single cautious run and gives no chances",
                "plan_id",
                &one.plan_id,
                "Review plans of many members; the record was set aside.",
            ));
            continue;
        };
        let row = row(&one, own, line, issued, before, p_issued, contacts);
        // Several plans of one spell: its hours are those of all of them.
        let hours = (spells.entry(row.spell.clone())).or_insert((own.window.start, own.window.end));
        *hours = (hours.0.min(own.window.start), hours.1.max(own.window.end));
        rows.push(row);
    }
}

fn row(one: &Filled, own: &Plan, line: &Line, issued: &Plan, before: &Line, p_issued: f64, contacts: &Contacts) -> Row {
    let hindcast = if own.over { line.p_damage } else { None };
    let logged = contacts
        .get(&one.assembly_id)
        .into_iter()
        .flatten()
        .filter(|(at, _)| (issued.window.start..=issued.window.end).contains(at))
        .map(|(_, contact)| *contact)
        .max();
    Row {
        spell: if one.event.is_empty() {
            issued.window.start.format("%Y-%m-%d").to_string()
        } else {
            one.event.clone()
        },
        assembly_id: one.assembly_id.clone(),
        p_issued,
        p_hindcast: hindcast,
        p_protected: line.p_damage_protected().or(before.p_damage_protected()),
        loss_usd: (p_issued > 0.0).then(|| before.expected_loss / p_issued),
        rank: Some(before.rank),
        contact: logged.unwrap_or(one.contact),
        protected: one.protected,
        inclusion: one.inclusion.unwrap_or(1.0),
        by_design: one.by_design,
        // A form says who was to be looked at and who was drawn.
        told_how: true,
        state: if one.state == State::NotLooked && one.drained {
            State::NotExposed
        } else {
            one.state
        },
        traits: Traits {
            size_m: None,
            bare: one.bare,
            site_k: Some(before.min_air_c),
        },
        case: None,
    }
}
