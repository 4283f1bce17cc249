//! One line of the contact plan.

use crate::inventory::Language;
use crate::ranking::Tier;
use crate::text::Text;
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
    pub contact_id: Text,
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
    pub assemblies: Vec<Text>,
    /// Best tier among them.
    pub tier: Tier,
    /// Expected loss of all of them, US dollars, before any contact.
    pub expected_loss_usd: f64,
    /// Share of it that this line is expected to avoid, US dollars.
    pub loss_avoided_usd: f64,
    /// Critical use, in the utility's words.
    pub critical: Option<Text>,
    /// Language.
    pub language: Language,
    /// Why, in one sentence.
    pub reason: Text,
    /// Other persons whom this one message serves, since they read the same mailbox: their identifiers.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub also_for: Vec<Text>,
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
    pub name: Text,
    /// Number, address or mailbox for this channel.
    #[serde(skip)]
    pub address: Text,
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
        self.tier = self.tier.min(other.tier);
        self.expected_loss_usd += other.expected_loss_usd;
        self.loss_avoided_usd += other.loss_avoided_usd;
        self.critical = match (self.critical.take(), other.critical) {
            (Some(one), Some(two)) if one != two => Some(format!("{one}, {two}").into()),
            (one, two) => one.or(two),
        };
        self.also_for.push(other.contact_id);
        self.also.push(other.person);
        if !other.name.is_empty() && !self.name.split("; ").any(|name| name == other.name.as_str()) {
            self.name = match self.name.is_empty() {
                true => other.name,
                false => format!("{}; {}", self.name, other.name).into(),
            };
        }
    }

    /// Whether this line is something that somebody does.
    pub fn is_planned(&self) -> bool {
        !matches!(self.channel, Way::Decision | Way::Unreached)
    }
}

/// Joins lines that go to one mailbox, those from a place on, each into the first line of that mailbox in the order given.
pub fn one_a_mailbox(lines: &mut Vec<ContactLine>, from: usize) {
    let mut first: HashMap<Text, usize> = HashMap::new();
    let mut kept = from;
    for at in from..lines.len() {
        // In place: a long list has hundreds of thousands of them.
        lines.swap(kept, at);
        let address = lines[kept].address.clone();
        match first.get(&address) {
            Some(&to) if !address.is_empty() => {
                let other = lines[kept].clone();
                lines[to].join(other);
            }
            _ => {
                first.insert(address, kept);
                kept += 1;
            }
        }
    }
    lines.truncate(kept);
    for line in lines[from..].iter_mut().filter(|line| !line.also.is_empty()) {
        line.reason = format!(
            "{}; one e-mail for {} contacts who read this mailbox",
            line.reason.trim_end_matches('.'),
            line.also.len() + 1
        )
        .into();
    }
}
