//! Assemblies merged to the persons to reach: one number, one call.
//!
//! Merging is conservative, because two persons taken for one leave somebody unwarned, while one person taken for
//! two only costs a call. The same telephone line always joins, since it rings once for all. A shared account or
//! e-mail address joins only listings that do not contradict each other in name and number.

use super::clusters::{Clusters, Keys, fold_key};
use super::config::PeopleConfig;
use super::listing::{Listing, listing};
use super::phone::Phone;
use crate::faults::{Fault, Faults, Severity};
use crate::inventory::{Assembly, Channel, CustomerClass, Language};
use crate::text::{Part, Text};
use rayon::prelude::*;
use serde::{Deserialize, Serialize};
use std::collections::{BTreeMap, BTreeSet};

/// Who the person is to the premises.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Role {
    /// Lives or works there and can act at once.
    Occupant,
    /// Owns the premises and is somewhere else.
    Owner,
    /// Manages premises for others.
    Manager,
    /// Sells or lets the premises.
    Agent,
    /// Not told.
    Unknown,
}

impl Role {
    /// The word that files and pages use.
    pub fn word(self) -> &'static str {
        match self {
            Role::Occupant => "occupant",
            Role::Owner => "owner",
            Role::Manager => "manager",
            Role::Agent => "agent",
            Role::Unknown => "unknown",
        }
    }

    /// Reads the word; `None` when it is none that is known.
    pub fn parse(text: &str) -> Option<Role> {
        match text.trim().to_lowercase().as_str() {
            "occupant" | "tenant" | "resident" | "inquilino" => Some(Role::Occupant),
            "owner" | "landlord" | "dueño" | "propietario" => Some(Role::Owner),
            "manager" | "property manager" | "management" => Some(Role::Manager),
            "agent" | "realtor" => Some(Role::Agent),
            _ => None,
        }
    }
}

/// What the person has said about being contacted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Consent {
    /// May be contacted by the allowed channels.
    Allowed,
    /// Opted out of everything.
    OptedOut,
    /// Some listings of this person opted out and others did not: a human decides.
    Disputed,
    /// What some listing says of it cannot be understood: a human decides.
    Unclear,
}

/// One person, household or firm to reach.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Person {
    /// Identifier that plans, call sheets and the log share: `C-` and the alphabetically first assembly.
    pub contact_id: Text,
    /// Names as listed, distinct, in alphabetical order.
    pub names: Vec<Text>,
    /// Who the person is.
    pub role: Role,
    /// Numbers that can be dialled, in the order to try.
    pub phones: Vec<Phone>,
    /// E-mail addresses in lower case.
    pub emails: Vec<Text>,
    /// Account numbers as listed.
    pub accounts: Vec<Text>,
    /// Street addresses as listed, distinct.
    pub addresses: Vec<Text>,
    /// Language to speak and write.
    pub language: Language,
    /// The other language that some listings name, when they differ.
    pub second_language: Option<Language>,
    /// Channels that are allowed and for which there is a number or address.
    pub channels: Vec<Channel>,
    /// What the person has said about being contacted.
    pub consent: Consent,
    /// Whether most of the assemblies belong to a firm or public body (hours of reach differ).
    pub business: bool,
    /// Critical use, in the utility's own words; `None` when none.
    pub critical: Option<Text>,
    /// What the person needs to use a message, as listed.
    pub need: Option<String>,
    /// Whether one number or address stands for many premises.
    pub switchboard: bool,
    /// Indices of the assemblies, in order of their identifiers.
    pub assemblies: Vec<usize>,
    /// What the caller should know about this entry.
    pub notes: Vec<Text>,
}

impl Person {
    /// The name to show: the only one, or the first with a count, or empty.
    pub fn name(&self) -> Text {
        match self.names.as_slice() {
            [] => Text::default(),
            [one] => one.clone(),
            [first, second] => format!("{first} or {second}").into(),
            [first, rest @ ..] => format!("{first} and {} others", rest.len()).into(),
        }
    }

    /// Whether the channel is allowed and possible.
    pub fn takes(&self, channel: Channel) -> bool {
        self.consent == Consent::Allowed && self.channels.contains(&channel)
    }
}

/// Rows whose contact cells are read at once: enough for every thread, and few beside a long list.
const ROWS_AT_ONCE: usize = 16_384;

/// Merges assemblies to persons, in alphabetical order of their identifiers.
///
/// The result does not depend on the order of the rows. Faults carry `file` and the row's line: numbers and addresses that
/// cannot be used (warnings), and notes on two names at one number, switchboards, opt-outs and persons who
/// cannot be reached at all.
pub fn merge(assemblies: &[Assembly], config: &PeopleConfig, file: &str) -> (Vec<Person>, Faults) {
    let mut faults = Faults::new();
    let mut order: Vec<usize> = (0..assemblies.len()).collect();
    order.sort_by(|&a, &b| {
        let (a, b) = (&assemblies[a], &assemblies[b]);
        a.assembly_id.cmp(&b.assembly_id).then(a.line.cmp(&b.line))
    });
    let mut keys = Keys::default();
    for rows in order.chunks(ROWS_AT_ONCE) {
        let read: Vec<(Listing<'_>, Faults)> = rows
            .par_iter()
            .map(|&index| listing(index, &assemblies[index], config, file))
            .collect();
        for (listing, told) in read {
            keys.add(&listing);
            faults.append(told);
        }
    }
    // In the order of their first rows, which is that of their identifiers.
    let persons: Vec<Person> = Clusters::of(keys, config.switchboard_addresses)
        .par_iter()
        .map(|rows| {
            let own = rows.iter().map(|row| order[*row as usize]);
            // What is wrong with the rows was told above.
            let mine: Vec<Listing<'_>> = own
                .map(|index| listing(index, &assemblies[index], config, file).0)
                .collect();
            person(&mine, assemblies, config)
        })
        .collect();
    for person in &persons {
        tell(person, assemblies, file, &mut faults);
    }
    (persons, faults)
}

fn person(mine: &[Listing<'_>], assemblies: &[Assembly], config: &PeopleConfig) -> Person {
    let names = distinct(mine.iter().filter_map(|l| l.name));
    let addresses = distinct(mine.iter().filter_map(|l| l.address));
    let accounts = distinct(mine.iter().filter_map(|l| l.account));
    let emails: Vec<Text> = mine
        .iter()
        .filter_map(|l| l.email.clone())
        .collect::<BTreeSet<_>>()
        .into_iter()
        .collect();
    // The number that most rows name comes first; ties in the order of the number.
    let mut counted: BTreeMap<String, (usize, Phone)> = BTreeMap::new();
    for phone in mine.iter().flat_map(|l| &l.phones) {
        counted.entry(phone.key()).or_insert_with(|| (0, phone.clone())).0 += 1;
    }
    let mut phones: Vec<(usize, Phone)> = counted.into_values().collect();
    phones.sort_by(|a, b| b.0.cmp(&a.0).then_with(|| a.1.e164.cmp(&b.1.e164)));
    let phones: Vec<Phone> = phones.into_iter().map(|(_, phone)| phone).collect();

    let mut notes = Vec::new();
    let switchboard = addresses.len() > config.switchboard_addresses;
    let told: Vec<Role> = mine.iter().filter_map(|l| l.role).collect();
    let role = match told
        .iter()
        .max_by_key(|role| (told.iter().filter(|r| r == role).count(), **role))
    {
        Some(role) => *role,
        None if switchboard => Role::Manager,
        None => Role::Unknown,
    };
    if switchboard {
        notes.push(
            format!(
                "one contact for {} assemblies at {} addresses: one call, send the list by e-mail",
                mine.len(),
                addresses.len()
            )
            .into(),
        );
    }
    if names.len() > 1 && !phones.is_empty() {
        notes.push(format!("{} names at this contact: ask who looks after the valve", names.len()).into());
    }

    let spanish = mine.iter().filter(|l| l.language == Some(Language::Spanish)).count();
    let english = mine.iter().filter(|l| l.language == Some(Language::English)).count();
    let (language, second_language) = match (spanish, english) {
        (0, _) => (Language::English, None),
        (_, 0) => (Language::Spanish, None),
        (spanish, english) if spanish >= english => (Language::Spanish, Some(Language::English)),
        _ => (Language::English, Some(Language::Spanish)),
    };

    let opted_out = mine
        .iter()
        .filter(|l| l.channels.is_some_and(<[Channel]>::is_empty))
        .count();
    let unclear = mine
        .iter()
        .any(|l| assemblies[l.index].contact.channels_unread.is_some());
    let consent = match opted_out {
        0 if unclear => Consent::Unclear,
        0 => Consent::Allowed,
        n if n == mine.len() => Consent::OptedOut,
        _ if unclear => Consent::Unclear,
        _ => Consent::Disputed,
    };
    let allowed = allowed_channels(mine, config, &mut notes);
    let channels: Vec<Channel> = [Channel::Call, Channel::Text, Channel::Email, Channel::Letter]
        .into_iter()
        .filter(|channel| allowed.contains(channel))
        .filter(|channel| match channel {
            Channel::Call => !phones.is_empty(),
            // A text cannot go to an extension.
            Channel::Text => phones.iter().any(|phone| phone.extension.is_none()),
            Channel::Email => !emails.is_empty(),
            Channel::Letter => !addresses.is_empty(),
        })
        .collect();

    let mut own: Vec<usize> = mine.iter().map(|l| l.index).collect();
    own.sort_by(|&a, &b| assemblies[a].assembly_id.cmp(&assemblies[b].assembly_id));
    let firms = own
        .iter()
        .filter(|&&index| {
            matches!(
                assemblies[index].customer_class,
                CustomerClass::Commercial | CustomerClass::Public
            )
        })
        .count();
    let critical: Vec<&str> = own
        .iter()
        .filter_map(|&index| assemblies[index].critical.as_deref())
        .collect::<BTreeSet<_>>()
        .into_iter()
        .collect();
    let needs: Vec<&str> = mine
        .iter()
        .filter_map(|l| l.need)
        .collect::<BTreeSet<_>>()
        .into_iter()
        .collect();
    Person {
        contact_id: format!(
            "C-{}",
            own.first()
                .map(|&index| assemblies[index].assembly_id.as_str())
                .unwrap_or_default()
        )
        .into(),
        names,
        role,
        phones: tight(phones),
        emails: tight(emails),
        accounts,
        addresses,
        language,
        second_language,
        channels: tight(channels),
        consent,
        business: firms * 2 > own.len(),
        critical: (!critical.is_empty()).then(|| critical.join(", ").into()),
        need: (!needs.is_empty()).then(|| needs.join(", ")),
        switchboard,
        assemblies: tight(own),
        notes: tight(notes),
    }
}

/// The values, each once however it is written, in alphabetical order.
fn distinct<'a>(values: impl Iterator<Item = Part<'a>>) -> Vec<Text> {
    let mut seen = BTreeMap::new();
    for value in values {
        seen.entry(fold_key(value.as_str())).or_insert(value);
    }
    let mut values: Vec<Text> = seen.into_values().map(Part::to_text).collect();
    values.sort();
    tight(values)
}

/// Without room for more: most people have one of each, and vectors are made with room for four.
fn tight<T>(mut values: Vec<T>) -> Vec<T> {
    values.shrink_to_fit();
    values
}

/// What all explicit lists allow; where they share nothing, what any of them allows, with a note.
fn allowed_channels(mine: &[Listing<'_>], config: &PeopleConfig, notes: &mut Vec<Text>) -> BTreeSet<Channel> {
    let explicit: Vec<BTreeSet<Channel>> = mine
        .iter()
        .filter_map(|l| l.channels)
        .filter(|channels| !channels.is_empty())
        .map(|channels| channels.iter().copied().collect())
        .collect();
    let Some(first) = explicit.first() else {
        return config.channels_when_blank.iter().copied().collect();
    };
    let shared = explicit.iter().skip(1).fold(first.clone(), |all, one| &all & one);
    if !shared.is_empty() {
        return shared;
    }
    notes.push("rows allow different channels: each was taken as allowed".into());
    explicit.into_iter().flatten().collect()
}

fn tell(person: &Person, assemblies: &[Assembly], file: &str, faults: &mut Faults) {
    let line = person
        .assemblies
        .first()
        .map(|&index| assemblies[index].line)
        .unwrap_or_default();
    let mut note = |code: &'static str, column: &str, what: String, remedy: &str| {
        faults.push(
            Fault::new(code, Severity::Note, what)
                .file(file)
                .line(line)
                .column(column)
                .remedy(remedy),
        );
    };
    let id = &person.contact_id;
    if person.switchboard {
        note(
            "BW-A65",
            "phone",
            format!(
                "{id} stands for {} assemblies: one call with a list",
                person.assemblies.len()
            ),
            "Ask the manager who holds the keys of each address.",
        );
    } else if person.names.len() > 1 && !person.phones.is_empty() {
        note(
            "BW-A63",
            "contact_name",
            format!("{} names share the number of {id}", person.names.len()),
            "Check whether they are one household; they are called once.",
        );
    }
    match person.consent {
        Consent::OptedOut if person.critical.is_some() => note(
            "BW-A64",
            "channels",
            format!("{id} opted out of all contact and is critical"),
            "It is listed for a human decision in contacts.csv.",
        ),
        Consent::Disputed => note(
            "BW-A67",
            "channels",
            format!("some rows of {id} opt out and others do not"),
            "It is listed for a human decision in contacts.csv.",
        ),
        Consent::Allowed if person.channels.is_empty() => note(
            "BW-A66",
            "phone",
            format!("{id} cannot be reached: no usable number, e-mail or address that is allowed"),
            "Find a way to reach this person before the season.",
        ),
        _ => {}
    }
}
