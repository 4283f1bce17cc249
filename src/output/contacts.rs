//! `contacts.csv`, the mail merge and the crew list: who, by which channel, when, why, about what, and what to say.

use super::defuse::defuse;
use super::plan::unwritten;
use crate::faults::Fault;
use crate::outreach::about::{Facts, Shared, about};
use crate::outreach::line::{ContactLine, Way};
use crate::outreach::messages::{Kind, Messages};
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
        let join = |values: Option<&Vec<String>>| values.map(|values| values.join("; ")).unwrap_or_default();
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
            line.contact_id.clone(),
            line.channel.word().into(),
            line.attempt.to_string(),
            line.caller.map(|caller| caller.to_string()).unwrap_or_default(),
            time(line.slot_start, facts),
            time(line.slot_end, facts),
            time(line.act_by, facts),
            if line.in_time { "yes" } else { "no" }.into(),
            line.tier.clone(),
            // That a customer is critical can be said to others; why may be about somebody's health.
            match (&line.critical, redact) {
                (Some(_), true) => "yes".into(),
                (critical, _) => critical.clone().unwrap_or_default(),
            },
            held(line.name.clone()),
            person.map(|person| person.role.word().to_owned()).unwrap_or_default(),
            held(line.address.clone()),
            line.language.word().into(),
            held(person.and_then(|person| person.need.clone()).unwrap_or_default()),
            held(join(person.map(|person| &person.addresses))),
            held(join(person.map(|person| &person.accounts))),
            line.assemblies.join(";"),
            line.assemblies.len().to_string(),
            format!("{:.2}", line.expected_loss_usd),
            format!("{:.2}", line.loss_avoided_usd),
            line.reason.clone(),
            say,
            person.map(|person| person.notes.join("; ")).unwrap_or_default(),
        ];
        csv.write_record(cells.iter().map(|cell| defuse(cell).into_owned()))
            .map_err(failed)?;
    }
    csv.flush().map_err(|error| unwritten(NAME, error))
}

/// Writes the mail merge: one row a message that is sent, with its words in full. Personal throughout.
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
    ])
    .map_err(failed)?;
    let mut shared = Shared::default();
    for line in lines {
        let person = facts.people.get(line.person);
        let languages = [Some(line.language), person.and_then(|person| person.second_language)];
        for language in languages.into_iter().flatten() {
            let about = about(line, facts, language);
            let (subject, body) = match line.channel {
                Way::Text => (String::new(), shared.say(Kind::Text, &about, language, messages)?),
                Way::Email => messages.email(Kind::Email, language, &about)?,
                Way::Letter => (String::new(), messages.render(Kind::Letter, language, &about)?),
                _ => continue,
            };
            let cells = [
                line.contact_id.clone(),
                line.channel.word().into(),
                time(line.slot_start, facts),
                line.address.clone(),
                line.name.clone(),
                person.map(|person| person.addresses.join("; ")).unwrap_or_default(),
                language.word().into(),
                subject,
                body,
                line.assemblies.join(";"),
            ];
            csv.write_record(cells.iter().map(|cell| defuse(cell).into_owned()))
                .map_err(failed)?;
        }
    }
    csv.flush().map_err(|error| unwritten(NAME, error))
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
            line.address.clone(),
            line.name.clone(),
            line.language.word().into(),
            line.assemblies.join(";"),
            time(line.act_by, facts),
            line.reason.clone(),
            messages.render(Kind::Hanger, line.language, &about)?,
            String::new(),
            String::new(),
            String::new(),
            line.contact_id.clone(),
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
fn time(at: Option<DateTime<Utc>>, facts: &Facts<'_>) -> String {
    at.map(|at| {
        at.with_timezone(&facts.words.zone)
            .to_rfc3339_opts(SecondsFormat::Secs, true)
    })
    .unwrap_or_default()
}
