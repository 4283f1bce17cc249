//! Outlooks to an ordered list with reasons.
//!
//! The order: tier; inside a tier critical customers at risk, then fire lines at risk, then the rest; inside those the
//! expected loss, largest first, where assemblies closer than the Monte Carlo error are tied; inside a tie
//! critical customers (where they do not go ahead already), then first ice, earliest first, then the identifier. It is a total order, and the order of the rows in the
//! file never matters.

pub mod config;
pub mod joins;
pub mod loss;
pub mod nights;
pub mod reason;
pub mod words;

pub use joins::Join;
pub use loss::Loss;
pub use words::Words;

use crate::freeze::Outlook;
use crate::inventory::{Assembly, Service, WinterUse};
use crate::text::{Pool, Text};
use chrono::{DateTime, Utc};
use config::{RankingConfig, Tiers};
use rayon::prelude::*;
use serde::{Deserialize, Serialize};
use std::cmp::Ordering;
use std::sync::Arc;

/// What an assembly's place in the list means, in plain words.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
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
    /// Every tier, the most pressing first.
    pub const ALL: [Tier; 4] = [Tier::CallFirst, Tier::CallNext, Tier::Message, Tier::NoContact];

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
    /// What the expected loss is made of, and its error.
    pub loss: Loss,
    /// One sentence with numbers, in the units people read.
    pub reason: Text,
}

/// 0 for a critical customer at risk, 1 for a fire line at risk, 2 for everybody else: who goes ahead of money.
fn precedence(assembly: &Assembly, chance: f64, tiers: &Tiers) -> u8 {
    let at_risk = |from: f64| chance > 0.0 && chance >= from;
    if assembly.critical.is_some() && at_risk(tiers.critical_chance) {
        0
    } else if assembly.service == Service::Fire && at_risk(tiers.fire_chance) {
        1
    } else {
        2
    }
}

/// The tier of one assembly.
pub fn tier(assembly: &Assembly, outlook: &Outlook, loss: &Loss, tiers: &Tiers) -> Tier {
    if assembly.winter_use == WinterUse::Drained {
        return Tier::NoContact;
    }
    // What has broken is inspected: no call keeps it whole.
    if is_broken(outlook) {
        return Tier::NoContact;
    }
    let total = loss.total_usd();
    let chance = loss.chance;
    if precedence(assembly, chance, tiers) < 2 {
        return Tier::CallFirst;
    }
    if chance > 0.0 && chance >= tiers.call_chance {
        if total >= tiers.call_first_usd {
            return Tier::CallFirst;
        }
        if total >= tiers.call_next_usd {
            return Tier::CallNext;
        }
    }
    // Where the cautious run sees ice but no strain, a message costs nothing and may save a bonnet.
    let ice_without_strain = outlook.p_damage.is_none() && outlook.first_ice.p10.is_some();
    if (chance > 0.0 && chance >= tiers.message_chance) || ice_without_strain {
        Tier::Message
    } else {
        Tier::NoContact
    }
}

/// Whether it was last reported broken.
pub fn is_broken(outlook: &Outlook) -> bool {
    outlook.reported.as_ref().is_some_and(|told| told.broken())
}

struct Key<'a> {
    index: usize,
    tier: Tier,
    ahead: u8,
    critical: bool,
    usd: f64,
    error_usd: f64,
    first_ice: Option<DateTime<Utc>>,
    id: &'a str,
    line: u64,
    loss: Loss,
}

impl Key<'_> {
    fn bucket(&self) -> (Tier, u8) {
        (self.tier, self.ahead)
    }

    /// Critical, then first ice, then the identifier; the line in the file only parts rows that share an identifier.
    fn within_tie(&self, other: &Self) -> Ordering {
        // No ice comes after any ice.
        let ice = match (self.first_ice, other.first_ice) {
            (Some(a), Some(b)) => a.cmp(&b),
            (Some(_), None) => Ordering::Less,
            (None, Some(_)) => Ordering::Greater,
            (None, None) => Ordering::Equal,
        };
        other
            .critical
            .cmp(&self.critical)
            .then(ice)
            .then_with(|| self.id.cmp(other.id))
            .then_with(|| self.line.cmp(&other.line))
    }
}

/// Reasons that are put into words at once: enough for every thread, and few beside a long list.
const REASONS_AT_ONCE: usize = 16_384;

/// Ranks all assemblies: the result is sorted by rank and has one line for each.
///
/// `outlooks[i]` is of `assemblies[i]`; a longer list is cut to the shorter.
pub fn rank(assemblies: &[Assembly], outlooks: &[Arc<Outlook>], config: &RankingConfig, words: &Words) -> Vec<Ranked> {
    let tiers = &config.tiers;
    let mut keys: Vec<Key<'_>> = assemblies
        .par_iter()
        .zip(outlooks.par_iter())
        .enumerate()
        .map(|(index, (assembly, outlook))| {
            let loss = loss::loss(assembly, outlook, config);
            Key {
                index,
                tier: tier(assembly, outlook, &loss, tiers),
                ahead: precedence(assembly, loss.chance, tiers),
                critical: assembly.critical.is_some(),
                usd: loss.total_usd(),
                error_usd: loss.error_usd,
                first_ice: outlook.first_ice.p10,
                id: &assembly.assembly_id,
                line: assembly.line,
                loss,
            }
        })
        .collect();
    order(&mut keys, tiers.tie_standard_errors);
    // Assemblies of one case have few different reasons: they are put into words a batch at a time, and each is kept once.
    let mut pool = Pool::default();
    let mut ranked = Vec::with_capacity(keys.len());
    for batch in keys.chunks(REASONS_AT_ONCE) {
        let reasons: Vec<String> = batch
            .par_iter()
            .map(|key| {
                let (assembly, outlook) = (&assemblies[key.index], &outlooks[key.index]);
                reason::reason(assembly, outlook, &key.loss, key.tier, words)
            })
            .collect();
        for (key, reason) in batch.iter().zip(reasons) {
            ranked.push(Ranked {
                index: key.index,
                rank: ranked.len() + 1,
                tier: key.tier,
                expected_loss_usd: key.usd,
                loss: key.loss,
                reason: pool.share(&reason),
            });
        }
    }
    ranked
}

/// Sorts by tier, precedence and loss, then breaks up ties.
///
/// "Closer than the error" is not transitive, so a tie is anchored: the largest loss opens it, and all that
/// follow within the joint error of the opener and themselves belong to it. That depends on the set only.
fn order(keys: &mut [Key<'_>], standard_errors: f64) {
    keys.par_sort_unstable_by(|a, b| {
        a.bucket()
            .cmp(&b.bucket())
            .then_with(|| b.usd.total_cmp(&a.usd))
            .then_with(|| a.within_tie(b))
    });
    let mut from = 0;
    while from < keys.len() {
        let mut to = from + 1;
        while to < keys.len()
            && keys[to].bucket() == keys[from].bucket()
            && tied(&keys[from], &keys[to], standard_errors)
        {
            to += 1;
        }
        keys[from..to].sort_unstable_by(Key::within_tie);
        from = to;
    }
}

fn tied(opener: &Key<'_>, other: &Key<'_>, standard_errors: f64) -> bool {
    opener.usd - other.usd <= standard_errors * opener.error_usd.hypot(other.error_usd)
}
