//! Outlooks to an ordered list with reasons.

pub mod config;

use serde::Serialize;

/// What an assembly's place in the list means, in plain words.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
pub enum Tier {
    /// `call first`
    #[serde(rename = "call first")]
    CallFirst,
    /// `call next`
    #[serde(rename = "call next")]
    CallNext,
    /// `message`
    #[serde(rename = "message")]
    Message,
    /// `no contact`
    #[serde(rename = "no contact")]
    NoContact,
}

impl Tier {
    /// The words that files and pages use.
    pub fn words(self) -> &'static str {
        match self {
            Tier::CallFirst => "call first",
            Tier::CallNext => "call next",
            Tier::Message => "message",
            Tier::NoContact => "no contact",
        }
    }
}

/// One line of the ranking.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Ranked {
    /// Index of the assembly and of its outlook.
    pub index: usize,
    /// Rank, from 1.
    pub rank: usize,
    /// Tier.
    pub tier: Tier,
    /// Expected loss, US dollars: repair, consequence of the service lost, water damage.
    pub expected_loss_usd: f64,
    /// One sentence with numbers, in the units people read.
    pub reason: String,
}
