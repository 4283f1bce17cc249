//! What came of contacts, as far as the plan needs to know.

use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use std::collections::HashMap;

/// What came of one contact.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Outcome {
    /// The person was spoken to.
    Reached,
    /// A message was left.
    MessageLeft,
    /// Nobody answered.
    NoAnswer,
    /// The number is not this person's.
    WrongNumber,
    /// The person does not want to be contacted about this.
    Declined,
    /// The person has done what was asked, or there is nothing left to do.
    Done,
}

impl Outcome {
    /// Every outcome.
    pub const ALL: [Outcome; 6] = [
        Outcome::Reached,
        Outcome::MessageLeft,
        Outcome::NoAnswer,
        Outcome::WrongNumber,
        Outcome::Declined,
        Outcome::Done,
    ];

    /// The word that the log and call sheets use.
    pub fn word(self) -> &'static str {
        match self {
            Outcome::Reached => "reached",
            Outcome::MessageLeft => "message-left",
            Outcome::NoAnswer => "no-answer",
            Outcome::WrongNumber => "wrong-number",
            Outcome::Declined => "declined",
            Outcome::Done => "done",
        }
    }

    /// Reads the word; upper case, blanks and underscores in place of the hyphen are forgiven.
    pub fn parse(text: &str) -> Option<Outcome> {
        let folded: String = text
            .trim()
            .to_lowercase()
            .chars()
            .map(|c| if c == ' ' || c == '_' { '-' } else { c })
            .collect();
        Outcome::ALL.into_iter().find(|outcome| outcome.word() == folded)
    }

    /// Whether nothing more is to be done for this person in this spell.
    pub fn settles(self) -> bool {
        matches!(self, Outcome::Reached | Outcome::Declined | Outcome::Done)
    }
}

/// Where one person stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Standing {
    /// The last outcome.
    pub last: Outcome,
    /// When it was noted.
    pub last_at: DateTime<Utc>,
    /// Attempts that did not settle the matter, since the last one that did.
    pub attempts: u32,
    /// Whether the number was found wrong.
    pub wrong_number: bool,
    /// Whether a message was left.
    pub message_left: bool,
}

/// Where all persons stand, by the identifier under which they were logged (a contact's, or an assembly's).
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct History(pub HashMap<String, Standing>);

impl History {
    /// Takes one more event in; events must come in the order in which they happened.
    pub fn add(&mut self, id: &str, outcome: Outcome, at: DateTime<Utc>) {
        let fresh = Standing {
            last: outcome,
            last_at: at,
            attempts: 0,
            wrong_number: false,
            message_left: false,
        };
        let standing = self.0.entry(id.to_owned()).or_insert(fresh);
        standing.last = outcome;
        standing.last_at = at;
        match outcome {
            Outcome::Reached | Outcome::Declined | Outcome::Done => standing.attempts = 0,
            Outcome::NoAnswer => standing.attempts += 1,
            Outcome::MessageLeft => {
                standing.attempts += 1;
                standing.message_left = true;
            }
            Outcome::WrongNumber => {
                standing.attempts += 1;
                standing.wrong_number = true;
            }
        }
    }

    /// The standing of a person: by its own identifier, by that of any of its assemblies (a list may have been merged
    /// otherwise when the event was noted), the latest of them.
    pub fn of<'a>(&'a self, contact_id: &str, assembly_ids: impl Iterator<Item = &'a str>) -> Option<&'a Standing> {
        let mut latest = self.0.get(contact_id);
        if self.0.is_empty() {
            return None;
        }
        for id in assembly_ids {
            for found in [self.0.get(id), self.0.get(&format!("C-{id}"))].into_iter().flatten() {
                if latest.is_none_or(|known| found.last_at > known.last_at) {
                    latest = Some(found);
                }
            }
        }
        latest
    }
}
