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
    /// Persons at risk by the last outcome that the log holds of them.
    pub outcomes: BTreeMap<String, usize>,
    /// Persons at risk whom nothing reaches, or not in time, by reason.
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

impl Summary {
    /// Low and high edge of the loss avoided, US dollars.
    ///
    /// The chance that somebody acts is the least known of all: 40 to 60 % of those spoken to, 20 to 40 % of those who read a text, 5 to
    /// 15 % of those who get an e-mail, 25 to 40 % with a door hanger (judgement from `[reach-trials]`). Each channel's share is
    /// scaled by the edges of its band over the middle; letters as e-mails. No channel avoids more than there is to lose.
    pub fn avoided_range_usd(&self) -> (f64, f64) {
        let (mut low, mut high) = (0.0, 0.0);
        for (word, usd) in &self.avoided_usd {
            let (least, most) = match word.as_str() {
                "call" => (0.4 / 0.5, 0.6 / 0.5),
                "text" => (0.2 / 0.3, 0.4 / 0.3),
                "door hanger" => (0.25 / 0.325, 0.4 / 0.325),
                _ => (0.05 / 0.1, 0.15 / 0.1),
            };
            low += usd * least;
            high += usd * most;
        }
        (low, high.min(self.loss_before_usd.max(low)))
    }
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
            Way::Unreached => *not_in_time.entry(line.reason.to_string()).or_insert(0) += 1,
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
    let mut outcomes = BTreeMap::new();
    for standing in board.stakes.iter().filter_map(|stake| stake.standing) {
        *outcomes.entry(standing.last.word().to_owned()).or_insert(0) += 1;
    }
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
        outcomes,
        not_in_time,
        loss_before_usd,
        loss_after_usd: (loss_before_usd - avoided).max(0.0),
        avoided_usd,
        share_of_bound,
    }
}
