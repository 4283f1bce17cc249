//! Call sheets: one printable page and one CSV to fill for each caller.

use super::defuse::defuse;
use super::plan::unwritten;
use crate::config::Utility;
use crate::faults::{Fault, Severity};
use crate::inventory::Language;
use crate::inventory::columns::is_site_note;
use crate::inventory::parse::is_blank;
use crate::outreach::about::{Facts, Shared, about};
use crate::outreach::case::Case;
use crate::outreach::line::{ContactLine, Way};
use crate::outreach::messages::{About, Kind, Messages};
use crate::outreach::outcome::Outcome;
use crate::outreach::words;
use crate::ranking::nights;
use crate::ranking::reason::percent;
use crate::text::Text;
use chrono::{DateTime, Utc};
use minijinja::{Environment, UndefinedBehavior, Value, context};
use std::collections::BTreeMap;

const PAGE: &str = include_str!("templates/call_sheet.html");

/// The calls of each caller, in order of time.
pub fn by_caller(lines: &[ContactLine]) -> BTreeMap<u16, Vec<&ContactLine>> {
    let mut sheets: BTreeMap<u16, Vec<&ContactLine>> = BTreeMap::new();
    for line in lines.iter().filter(|line| line.channel == Way::Call) {
        if let Some(caller) = line.caller {
            sheets.entry(caller).or_default().push(line);
        }
    }
    for calls in sheets.values_mut() {
        calls.sort_by(|a, b| a.slot_start.cmp(&b.slot_start).then(a.contact_id.cmp(&b.contact_id)));
    }
    sheets
}

/// The page of one caller.
///
/// # Errors
/// `BW-P71` when a message template fails, `BW-O04` when the page does.
pub fn page(
    caller: u16,
    calls: &[&ContactLine],
    facts: &Facts<'_>,
    messages: &Messages,
    utility: &Utility,
    issued: DateTime<Utc>,
) -> Result<String, Fault> {
    let zone = facts.words.zone;
    let mut shared = Shared::default();
    let mut days: Vec<Value> = Vec::new();
    let mut rows: Vec<Value> = Vec::new();
    let mut day = String::new();
    let mut scripts: BTreeMap<(Language, Case), String> = BTreeMap::new();
    for line in calls {
        let person = facts.people.get(line.person);
        let about = about(line, facts, line.language);
        let start = line.slot_start.unwrap_or(issued).with_timezone(&zone);
        let name = start.format("%A, %B %-d").to_string();
        if name != day {
            if !rows.is_empty() {
                days.push(
                    context! { name => std::mem::replace(&mut day, name.clone()), rows => std::mem::take(&mut rows) },
                );
            }
            day = name;
        }
        for case in Case::ALL {
            if about.cases.contains(&case.word()) && !scripts.contains_key(&(line.language, case)) {
                // Said to everybody of the case, so without the hour of the first of them.
                let alone = About {
                    cases: vec![case.word()],
                    when: words::soon(line.language).to_owned(),
                    ..about.clone()
                };
                let said = shared.say(Kind::Steps, &alone, line.language, messages)?;
                scripts.insert((line.language, case), said);
            }
        }
        let cases: Vec<&str> = Case::ALL
            .into_iter()
            .filter(|case| about.cases.contains(&case.word()))
            .map(|case| case_label(case))
            .collect();
        rows.push(context! {
            time => start.format("%-I:%M %p").to_string(),
            id => line.contact_id.as_str(),
            name => line.name.as_str(),
            role => person.map(|person| person.role.word()).filter(|role| *role != "unknown").unwrap_or_default(),
            phone => line.address.as_str(),
            language => match line.language { Language::Spanish => "Spanish", Language::English => "" },
            need => person.and_then(|person| person.need.clone()).unwrap_or_default(),
            critical => line.critical.as_deref().unwrap_or_default(),
            attempt => line.attempt,
            by => line.act_by.map(|by| words::by(by, zone, Language::English)).unwrap_or_default(),
            cases => cases.join(", "),
            where_ => match (about.count, about.address.is_empty()) {
                (1, false) => about.address.clone(),
                (1, true) => line.assemblies.first().map(Text::to_string).unwrap_or_default(),
                (count, _) => format!("{count} assemblies: {}", shown(&line.assemblies)),
            },
            reason => line.reason.as_str(),
            tonight => tonight(line, facts, issued),
            spot => spot(line, facts),
            notes => person.map(|person| person.notes.join("; ")).unwrap_or_default(),
        });
    }
    if !rows.is_empty() {
        days.push(context! { name => day, rows => rows });
    }
    let scripts: Vec<Value> = scripts
        .into_iter()
        .map(|((language, case), said)| {
            context! {
                lang => language.word(),
                heading => match language {
                    Language::English => case_label(case).to_owned(),
                    Language::Spanish => format!("{} (español)", case_label(case)),
                },
                said => said,
            }
        })
        .collect();
    let mut environment = Environment::new();
    environment.set_undefined_behavior(UndefinedBehavior::Strict);
    environment
        .add_template("call_sheet.html", PAGE)
        .and_then(|()| environment.get_template("call_sheet.html"))
        .and_then(|template| {
            template.render(context! {
                caller => caller,
                calls => calls.len(),
                utility => utility.name.as_str(),
                phone => utility.phone.as_str(),
                emergency_phone => utility.emergency_phone.as_str(),
                issued => issued.with_timezone(&zone).format("%a %b %-d, %-I:%M %p").to_string(),
                days => days,
                scripts => scripts,
                outcomes => Outcome::ALL.map(Outcome::word).to_vec(),
                planning_aid => crate::PLANNING_AID,
            })
        })
        .map_err(|error| {
            Fault::new(
                "BW-O04",
                Severity::Fatal,
                format!("the call sheet cannot be made: {error:#}"),
            )
            .file("call_sheets")
        })
}

/// The CSV of one caller, to fill and to import into the log.
///
/// # Errors
/// `BW-O02` when it cannot be written.
pub fn csv_to_fill(calls: &[&ContactLine], facts: &Facts<'_>) -> Result<Vec<u8>, Fault> {
    const NAME: &str = "call_sheets";
    let failed = |error: csv::Error| unwritten(NAME, error);
    let mut csv = csv::Writer::from_writer(Vec::new());
    csv.write_record([
        "contact_id",
        "outcome",
        "note",
        "by",
        "at",
        "planned_for",
        "attempt",
        "name",
        "phone",
        "language",
        "critical",
        "assemblies",
        "reason",
    ])
    .map_err(failed)?;
    for line in calls {
        let planned = line
            .slot_start
            .map(|at| at.with_timezone(&facts.words.zone).format("%Y-%m-%d %H:%M").to_string())
            .unwrap_or_default();
        let cells = [
            line.contact_id.to_string(),
            String::new(),
            String::new(),
            String::new(),
            String::new(),
            planned,
            line.attempt.to_string(),
            line.name.to_string(),
            line.address.to_string(),
            line.language.word().into(),
            line.critical.as_deref().unwrap_or_default().to_owned(),
            line.assemblies.join(";"),
            line.reason.to_string(),
        ];
        csv.write_record(cells.iter().map(|cell| defuse(cell).into_owned()))
            .map_err(failed)?;
    }
    csv.into_inner().map_err(|error| unwritten(NAME, error.error()))
}

/// The case in a word for callers.
fn case_label(case: Case) -> &'static str {
    match case {
        Case::FireIced => "fire line with ice: never shut, its firm is told",
        Case::Iced => "ice in it: leave it, look for leaks",
        Case::Fire => "fire line: never shut",
        Case::FireBare => "fire line without heat: never shut, wrap",
        Case::Idle => "line not needed now",
        Case::Vacant => "vacant",
        Case::FreezeDrip => "drip device",
        Case::Irrigation => "irrigation",
        Case::Domestic => "line in use",
    }
}

/// What the coming night adds for the assembly that weighs most, once a night lies behind: `Until now 46 %, the night of Thursday adds 42 %`.
fn tonight(line: &ContactLine, facts: &Facts<'_>, issued: DateTime<Utc>) -> String {
    let zone = facts.words.zone;
    let outlook = line.indices.first().and_then(|index| facts.outlooks.get(*index));
    let Some(coming) = outlook
        .filter(|outlook| outlook.p_damage.is_some())
        .and_then(|outlook| nights::coming(&nights::of(outlook, 0.0, zone), issued, zone))
    else {
        return String::new();
    };
    if coming.before.breaks < 0.005 {
        return String::new();
    }
    format!(
        "Until now {}; the night of {} adds {}.",
        percent(coming.before.breaks),
        coming.evening.format("%A"),
        percent(coming.adds.breaks)
    )
}

/// Where on the site the assemblies stand, as the list notes it (`location_note`), for up to three of them.
fn spot(line: &ContactLine, facts: &Facts<'_>) -> String {
    let notes: Vec<&str> = line
        .indices
        .iter()
        .filter_map(|index| facts.assemblies.get(*index))
        .filter_map(|assembly| {
            let mut extra = assembly.extra.iter();
            extra.find(|(header, note)| is_site_note(header) && !is_blank(note))
        })
        .map(|(_, note)| note.trim())
        .take(3)
        .collect();
    notes.join("; ")
}

/// Up to six identifiers, then a count.
fn shown(ids: &[Text]) -> String {
    let first: Vec<&str> = ids.iter().take(6).map(Text::as_str).collect();
    match ids.len().saturating_sub(6) {
        0 => first.join(", "),
        more => format!("{} and {more} more (list by e-mail)", first.join(", ")),
    }
}
