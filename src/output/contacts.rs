//! `contacts.csv`, the mail merge and the crew list: who, by which channel, when, why, about what, and what to say.

use super::defuse::defuse;
use super::plan::unwritten;
use crate::faults::Fault;
use crate::inventory::Language;
use crate::outreach::about::{Facts, Shared, about};
use crate::outreach::line::{ContactLine, Way};
use crate::outreach::messages::{Kind, Messages};
use crate::outreach::people::Person;
use crate::text::Text;
use chrono::{DateTime, SecondsFormat, Utc};
use std::io::Write;

/// Columns of `contacts.csv`.
pub const COLUMNS: [&str; 24] = [
    "contact_id",
    "channel",
    "attempt",
    "caller",
    "slot_start",
    "slot_end",
    "act_by",
    "in_time",
    "tier",
    "critical",
    "name",
    "role",
    "reach_at",
    "language",
    "need",
    "site_address",
    "account_id",
    "assemblies",
    "assembly_count",
    "expected_loss_usd",
    "loss_avoided_usd",
    "reason",
    "say",
    "notes",
];

/// What stands in place of personal data in a file made for sharing.
pub const WITHHELD: &str = "withheld";

/// Writes `contacts.csv`. With `redact` every cell that could name or find a person is withheld.
///
/// # Errors
/// `BW-O02` when it cannot be written, `BW-P71` when a message template fails.
pub fn write_csv(
    lines: &[ContactLine],
    facts: &Facts<'_>,
    messages: &Messages,
    redact: bool,
    out: &mut dyn Write,
) -> Result<(), Fault> {
    const NAME: &str = "contacts.csv";
    let failed = |error: csv::Error| unwritten(NAME, error);
    let mut csv = csv::Writer::from_writer(out);
    csv.write_record(COLUMNS).map_err(failed)?;
    let mut shared = Shared::default();
    for line in lines {
        let person = facts.people.get(line.person);
        let held = |text: String| match (redact, text.is_empty()) {
            (true, false) => WITHHELD.to_owned(),
            _ => text,
        };
        let all = |of: fn(&Person) -> &Vec<Text>| distinct(line, facts, of).join("; ");
        let kind = match line.channel {
            Way::Text => Some(Kind::Text),
            Way::Decision | Way::Unreached => None,
            _ => Some(Kind::Steps),
        };
        let say = match kind {
            Some(kind) => {
                let about = about(line, facts, line.language);
                shared.say(kind, &about, line.language, messages)?
            }
            None => String::new(),
        };
        let cells: [String; 24] = [
            line.contact_id.to_string(),
            line.channel.word().into(),
            line.attempt.to_string(),
            line.caller.map(|caller| caller.to_string()).unwrap_or_default(),
            time(line.slot_start, facts),
            time(line.slot_end, facts),
            time(line.act_by, facts),
            if line.in_time { "yes" } else { "no" }.into(),
            line.tier.words().to_owned(),
            // That a customer is critical can be said to others; why may be about somebody's health.
            match (&line.critical, redact) {
                (Some(_), true) => "yes".into(),
                (critical, _) => critical.as_deref().unwrap_or_default().to_owned(),
            },
            held(line.name.to_string()),
            person.map(|person| person.role.word().to_owned()).unwrap_or_default(),
            held(line.address.to_string()),
            line.language.word().into(),
            held(person.and_then(|person| person.need.clone()).unwrap_or_default()),
            held(all(|person| &person.addresses)),
            held(all(|person| &person.accounts)),
            line.assemblies.join(";"),
            line.assemblies.len().to_string(),
            format!("{:.2}", line.expected_loss_usd),
            format!("{:.2}", line.loss_avoided_usd),
            line.reason.to_string(),
            say,
            notes(line, facts),
        ];
        csv.write_record(cells.iter().map(|cell| defuse(cell).into_owned()))
            .map_err(failed)?;
    }
    csv.flush().map_err(|error| unwritten(NAME, error))
}

/// What the people whom a line serves have in their own lists, each once, in their order.
pub(super) fn distinct(line: &ContactLine, facts: &Facts<'_>, of: fn(&Person) -> &Vec<Text>) -> Vec<Text> {
    let mut found: Vec<Text> = Vec::new();
    for value in line
        .persons()
        .filter_map(|at| facts.people.get(at))
        .flat_map(|person| of(person).iter())
    {
        if !found.contains(value) {
            found.push(value.clone());
        }
    }
    found
}

/// The languages that the people of a line read, the first one's first.
pub(super) fn languages(line: &ContactLine, facts: &Facts<'_>) -> Vec<Language> {
    let mut found = vec![line.language];
    for person in line.persons().filter_map(|at| facts.people.get(at)) {
        for language in [Some(person.language), person.second_language].into_iter().flatten() {
            if !found.contains(&language) {
                found.push(language);
            }
        }
    }
    found
}

fn notes(line: &ContactLine, facts: &Facts<'_>) -> String {
    let mut notes = distinct(line, facts, |person| &person.notes);
    if !line.also_for.is_empty() {
        notes.push(format!("serves {} too", line.also_for.join(", ")).into());
    }
    if line.attempt > 1 && matches!(line.channel, Way::Text | Way::Email | Way::Letter) {
        notes.push("was in the earlier plan too: leave it out if one reminder is enough".into());
    }
    notes.join("; ")
}

/// Writes the mail merge: one row a message that is sent, with its words in full. An e-mail or letter to people of two languages holds both;
/// a text goes twice. Personal throughout.
///
/// # Errors
/// As [`write_csv`].
pub fn write_mail_merge(
    lines: &[ContactLine],
    facts: &Facts<'_>,
    messages: &Messages,
    out: &mut dyn Write,
) -> Result<(), Fault> {
    const NAME: &str = "mail_merge.csv";
    let failed = |error: csv::Error| unwritten(NAME, error);
    let mut csv = csv::Writer::from_writer(out);
    csv.write_record([
        "contact_id",
        "channel",
        "send_at",
        "to",
        "name",
        "site_address",
        "language",
        "subject",
        "body",
        "assemblies",
        "attempt",
        "also_for",
    ])
    .map_err(failed)?;
    let mut shared = Shared::default();
    for line in lines {
        let languages = languages(line, facts);
        let addresses = distinct(line, facts, |person| &person.addresses).join("; ");
        let mut row = |language: &str, subject: String, body: String| {
            let cells = [
                line.contact_id.to_string(),
                line.channel.word().into(),
                time(line.slot_start, facts),
                line.address.to_string(),
                line.name.to_string(),
                addresses.clone(),
                language.to_owned(),
                subject,
                body,
                line.assemblies.join(";"),
                line.attempt.to_string(),
                line.also_for.join(";"),
            ];
            csv.write_record(cells.iter().map(|cell| defuse(cell).into_owned()))
                .map_err(failed)
        };
        match line.channel {
            // A text has no room for two languages.
            Way::Text => {
                for language in &languages {
                    let about = about(line, facts, *language);
                    let body = shared.say(Kind::Text, &about, *language, messages)?;
                    row(language.word(), String::new(), body)?;
                }
            }
            Way::Email | Way::Letter => {
                let (language, subject, body) = in_all(&languages, |language| {
                    let about = about(line, facts, language);
                    match line.channel {
                        Way::Email => messages.email(Kind::Email, language, &about),
                        _ => Ok((String::new(), messages.render(Kind::Letter, language, &about)?)),
                    }
                })?;
                row(&language, subject, body)?;
            }
            _ => {}
        }
    }
    csv.flush().map_err(|error| unwritten(NAME, error))
}

/// One message in all the languages of its readers: languages, subjects and bodies one after the other.
pub(super) fn in_all(
    languages: &[Language],
    mut write: impl FnMut(Language) -> Result<(String, String), Fault>,
) -> Result<(String, String, String), Fault> {
    let written: Vec<(String, String)> = languages
        .iter()
        .map(|language| write(*language))
        .collect::<Result<_, _>>()?;
    let words: Vec<&str> = languages.iter().map(|language| language.word()).collect();
    let subjects: Vec<&str> = written
        .iter()
        .map(|(subject, _)| subject.as_str())
        .filter(|subject| !subject.is_empty())
        .collect();
    let bodies: Vec<&str> = written.iter().map(|(_, body)| body.as_str()).collect();
    Ok((words.join(";"), subjects.join(" / "), bodies.join("\n\n* * *\n\n")))
}

/// Writes the crew list for door hangers, in the order of the round: by slot and crew, then by street. Personal.
///
/// # Errors
/// As [`write_csv`].
pub fn write_door_hangers(
    lines: &[ContactLine],
    facts: &Facts<'_>,
    messages: &Messages,
    out: &mut dyn Write,
) -> Result<(), Fault> {
    const NAME: &str = "door_hangers.csv";
    let failed = |error: csv::Error| unwritten(NAME, error);
    let mut csv = csv::Writer::from_writer(out);
    csv.write_record([
        "crew",
        "from",
        "until",
        "site_address",
        "name",
        "language",
        "assemblies",
        "act_by",
        "reason",
        "hanger",
        "placed",
        "by",
        "note",
        "contact_id",
    ])
    .map_err(failed)?;
    let mut rounds: Vec<&ContactLine> = lines.iter().filter(|line| line.channel == Way::DoorHanger).collect();
    rounds.sort_by(|a, b| {
        (a.slot_start, a.caller, street(&a.address), &a.contact_id).cmp(&(
            b.slot_start,
            b.caller,
            street(&b.address),
            &b.contact_id,
        ))
    });
    for line in rounds {
        let about = about(line, facts, line.language);
        let cells = [
            line.caller.map(|crew| crew.to_string()).unwrap_or_default(),
            time(line.slot_start, facts),
            time(line.slot_end, facts),
            line.address.to_string(),
            line.name.to_string(),
            line.language.word().into(),
            line.assemblies.join(";"),
            time(line.act_by, facts),
            line.reason.to_string(),
            messages.render(Kind::Hanger, line.language, &about)?,
            String::new(),
            String::new(),
            String::new(),
            line.contact_id.to_string(),
        ];
        csv.write_record(cells.iter().map(|cell| defuse(cell).into_owned()))
            .map_err(failed)?;
    }
    csv.flush().map_err(|error| unwritten(NAME, error))
}

/// The street of an address without its number, then the number: neighbours lie together.
fn street(address: &str) -> (String, u64) {
    let digits: String = address.chars().take_while(char::is_ascii_digit).collect();
    let rest = address[digits.len()..].trim().to_lowercase();
    (rest, digits.parse().unwrap_or(0))
}

/// A moment in local time with its offset; empty when there is none.
pub(super) fn time(at: Option<DateTime<Utc>>, facts: &Facts<'_>) -> String {
    at.map(|at| {
        at.with_timezone(&facts.words.zone)
            .to_rfc3339_opts(SecondsFormat::Secs, true)
    })
    .unwrap_or_default()
}
