//! One line of the contact plan.

use crate::inventory::Language;
use crate::ranking::Tier;
use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use std::collections::HashMap;

/// How the person is contacted by this line.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Way {
    /// A telephone call by a caller, in a slot.
    Call,
    /// A text message.
    Text,
    /// An e-mail.
    Email,
    /// A letter.
    Letter,
    /// A door hanger placed by a crew.
    DoorHanger,
    /// Nobody may be contacted until a human has decided.
    Decision,
    /// No channel reaches this person in time, or at all.
    Unreached,
}

impl Way {
    /// The word that files and pages use.
    pub fn word(self) -> &'static str {
        match self {
            Way::Call => "call",
            Way::Text => "text",
            Way::Email => "email",
            Way::Letter => "letter",
            Way::DoorHanger => "door hanger",
            Way::Decision => "human decision",
            Way::Unreached => "not reached",
        }
    }
}

/// One line of the contact plan: one person, one way, one time.
///
/// `plan.json` holds a line without its personal fields (name, number, address); `contacts.csv` holds all.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ContactLine {
    /// Identifier of the person.
    pub contact_id: String,
    /// How.
    pub channel: Way,
    /// Which attempt this is, from 1; for what is sent, how many plans have had it sent.
    pub attempt: u8,
    /// Caller or crew, from 1; `None` for what is sent.
    pub caller: Option<u16>,
    /// Start of the slot, or the time to send; `None` when nothing is planned.
    pub slot_start: Option<DateTime<Utc>>,
    /// End of the slot.
    pub slot_end: Option<DateTime<Utc>>,
    /// Latest time at which the person can still act in daylight before the early edge of first ice, of the first assembly for which that
    /// time comes after the slot; the last such time when all come before it.
    pub act_by: Option<DateTime<Utc>>,
    /// Whether the slot lies before `act_by`.
    pub in_time: bool,
    /// Identifiers of the assemblies it is about, the most at risk first.
    pub assemblies: Vec<String>,
    /// Best tier among them.
    pub tier: String,
    /// Expected loss of all of them, US dollars, before any contact.
    pub expected_loss_usd: f64,
    /// Share of it that this line is expected to avoid, US dollars.
    pub loss_avoided_usd: f64,
    /// Critical use, in the utility's words.
    pub critical: Option<String>,
    /// Language.
    pub language: Language,
    /// Why, in one sentence.
    pub reason: String,
    /// Other persons whom this one message serves, since they read the same mailbox: their identifiers.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub also_for: Vec<String>,
    /// Index into the list of persons.
    #[serde(skip)]
    pub person: usize,
    /// Indices of those other persons.
    #[serde(skip)]
    pub also: Vec<usize>,
    /// Indices of the assemblies, in the order of `assemblies`.
    #[serde(skip)]
    pub indices: Vec<usize>,
    /// Who, as listed.
    #[serde(skip)]
    pub name: String,
    /// Number, address or mailbox for this channel.
    #[serde(skip)]
    pub address: String,
}

impl ContactLine {
    /// Everybody whom this line serves, as indices into the list of persons.
    pub fn persons(&self) -> impl Iterator<Item = usize> {
        std::iter::once(self.person).chain(self.also.iter().copied())
    }

    /// Takes another person's line into this one, for a mailbox that both read: one message for all their assemblies.
    pub fn join(&mut self, other: ContactLine) {
        self.act_by = [self.act_by, other.act_by].into_iter().flatten().min();
        self.in_time |= other.in_time;
        self.assemblies.extend(other.assemblies);
        self.indices.extend(other.indices);
        if tier_place(&other.tier) < tier_place(&self.tier) {
            self.tier = other.tier;
        }
        self.expected_loss_usd += other.expected_loss_usd;
        self.loss_avoided_usd += other.loss_avoided_usd;
        self.critical = match (self.critical.take(), other.critical) {
            (Some(one), Some(two)) if one != two => Some(format!("{one}, {two}")),
            (one, two) => one.or(two),
        };
        self.also_for.push(other.contact_id);
        self.also.push(other.person);
        if !other.name.is_empty() && !self.name.split("; ").any(|name| name == other.name) {
            self.name = [std::mem::take(&mut self.name), other.name]
                .into_iter()
                .filter(|name| !name.is_empty())
                .collect::<Vec<_>>()
                .join("; ");
        }
    }

    /// Whether this line is something that somebody does.
    pub fn is_planned(&self) -> bool {
        !matches!(self.channel, Way::Decision | Way::Unreached)
    }
}

/// Place of a tier in words, the most pressing first.
fn tier_place(words: &str) -> usize {
    Tier::ALL
        .iter()
        .position(|tier| tier.words() == words)
        .unwrap_or(Tier::ALL.len())
}

/// Joins lines that go to one mailbox, each into the first line of that mailbox in the order given.
pub fn one_a_mailbox(lines: Vec<ContactLine>) -> Vec<ContactLine> {
    let mut first: HashMap<String, usize> = HashMap::with_capacity(lines.len());
    let mut kept: Vec<ContactLine> = Vec::with_capacity(lines.len());
    for line in lines {
        match first.get(&line.address) {
            Some(&at) if !line.address.is_empty() => kept[at].join(line),
            _ => {
                first.insert(line.address.clone(), kept.len());
                kept.push(line);
            }
        }
    }
    for line in kept.iter_mut().filter(|line| !line.also.is_empty()) {
        line.reason = format!(
            "{}; one e-mail for {} contacts who read this mailbox",
            line.reason.trim_end_matches('.'),
            line.also.len() + 1
        );
    }
    kept
}
