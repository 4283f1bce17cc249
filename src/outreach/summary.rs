//! Totals of a contact plan, without personal data.

use super::board::Board;
use super::line::{ContactLine, Way};
use super::people::Consent;
use serde::{Deserialize, Serialize};
use std::collections::{BTreeMap, HashSet};

/// Totals of a plan, without personal data.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Summary {
    /// Assemblies with a tier other than `no contact`.
    pub assemblies_at_risk: usize,
    /// Persons who look after them.
    pub people_at_risk: usize,
    /// Of these, persons whom at least one allowed channel can reach.
    pub people_reachable: usize,
    /// Persons of the tiers that call for a call.
    pub people_to_call: usize,
    /// Persons who get a call.
    pub people_called: usize,
    /// Calls planned, with retries.
    pub calls: usize,
    /// Calls that the shifts could hold before the last deadline.
    pub call_places: usize,
    /// Persons expected to be spoken to.
    pub expected_conversations: f64,
    /// Texts.
    pub texts: usize,
    /// E-mails.
    pub emails: usize,
    /// Letters.
    pub letters: usize,
    /// Door hangers.
    pub door_hangers: usize,
    /// Persons listed for a human decision.
    pub decisions: usize,
    /// Persons left out because the log says they are done with.
    pub settled: usize,
    /// Persons to call whom nothing reaches in time, by reason.
    pub not_in_time: BTreeMap<String, usize>,
    /// Expected loss of all assemblies at risk, US dollars, before any contact.
    pub loss_before_usd: f64,
    /// The same after the plan.
    pub loss_after_usd: f64,
    /// Loss avoided by channel, US dollars.
    pub avoided_usd: BTreeMap<String, f64>,
    /// Worth of the calls as placed, against the bound that no placing can beat, 0 to 1.
    pub share_of_bound: f64,
}

/// What a number of callers would avoid.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct CurvePoint {
    /// Callers.
    pub callers: usize,
    /// Calls they would make.
    pub calls: usize,
    /// Expected loss avoided by their calls, US dollars.
    pub avoided_usd: f64,
}

/// Counts and sums the lines.
pub(super) fn summary(board: &Board<'_>, callers: usize, lines: &[ContactLine], share_of_bound: f64) -> Summary {
    let open = || board.stakes.iter().enumerate().filter(|(_, stake)| !stake.settled());
    let count = |way: Way| lines.iter().filter(|line| line.channel == way).count();
    let called: HashSet<usize> = lines
        .iter()
        .filter(|l| l.channel == Way::Call)
        .map(|l| l.person)
        .collect();
    let mut not_in_time = BTreeMap::new();
    let mut avoided_usd = BTreeMap::new();
    let mut conversations = 0.0;
    let mut missed: BTreeMap<usize, f64> = BTreeMap::new();
    for line in lines {
        match line.channel {
            Way::Unreached => *not_in_time.entry(line.reason.clone()).or_insert(0) += 1,
            Way::Decision => {}
            way => *avoided_usd.entry(way.word().to_owned()).or_insert(0.0) += line.loss_avoided_usd,
        }
        if let (Way::Call, Some(start)) = (line.channel, line.slot_start)
            && let Some(block) = board
                .blocks
                .iter()
                .find(|block| block.start <= start && start < block.end)
        {
            let answered = board.answered(line.person, block);
            let missed = missed.entry(line.person).or_insert(1.0);
            conversations += *missed * answered;
            *missed *= 1.0 - answered;
        }
    }
    let loss_before_usd: f64 = open().map(|(_, stake)| stake.loss_usd()).sum();
    let avoided: f64 = avoided_usd.values().sum();
    Summary {
        assemblies_at_risk: board.stakes.iter().map(|stake| stake.parts.len()).sum(),
        people_at_risk: board.stakes.len(),
        people_reachable: open()
            .filter(|(at, _)| {
                let person = board.person(*at);
                person.consent == Consent::Allowed && !person.channels.is_empty()
            })
            .count(),
        people_to_call: open().filter(|(_, stake)| stake.to_call()).count(),
        people_called: called.len(),
        calls: count(Way::Call),
        call_places: board.blocks.iter().map(|block| board.each(block)).sum::<usize>() * callers,
        expected_conversations: conversations,
        texts: count(Way::Text),
        emails: count(Way::Email),
        letters: count(Way::Letter),
        door_hangers: count(Way::DoorHanger),
        decisions: count(Way::Decision),
        settled: board.stakes.iter().filter(|stake| stake.settled()).count(),
        not_in_time,
        loss_before_usd,
        loss_after_usd: (loss_before_usd - avoided).max(0.0),
        avoided_usd,
        share_of_bound,
    }
}
