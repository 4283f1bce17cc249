//! One line of the contact plan.

use crate::inventory::Language;
use crate::ranking::Tier;
use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};

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
    /// Which attempt this is, from 1; 1 for everything but calls.
    pub attempt: u8,
    /// Caller or crew, from 1; `None` for what is sent.
    pub caller: Option<u16>,
    /// Start of the slot, or the time to send; `None` when nothing is planned.
    pub slot_start: Option<DateTime<Utc>>,
    /// End of the slot.
    pub slot_end: Option<DateTime<Utc>>,
    /// Latest time at which the person can still act in daylight before the early edge of first ice.
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
    /// Index into the list of persons.
    #[serde(skip)]
    pub person: usize,
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
    /// Whether this line is something that somebody does.
    pub fn is_planned(&self) -> bool {
        !matches!(self.channel, Way::Decision | Way::Unreached)
    }
}

/// The better of two tiers: the one nearer to `call first`.
pub fn better_tier(a: Tier, b: Tier) -> Tier {
    a.min(b)
}
