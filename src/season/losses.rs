//! What a winter costs, net of what the calls of a spell avoid anyway: a wrap is not paid for loss that a phone call already saves.

use super::config::CallsConfig;
use super::exposure::CaseWinter;
use crate::freeze::config::FreezeConfig;
use crate::freeze::costs::PartKind;
use crate::freeze::network::network;
use crate::freeze::{Outlook, PartOutlook, Spread};
use crate::inventory::{Assembly, Channel, CustomerClass};
use crate::outreach::case::Case;
use crate::outreach::config::OutreachConfig;
use crate::outreach::stake::{answered_by, dial_acts};
use crate::ranking::config::RankingConfig;
use crate::ranking::loss::loss;
use crate::ranking::{Tier, tier};
use chrono::{DateTime, Utc};

/// Hours in which calls are made, local (common practice, no source).
const CALL_HOURS: std::ops::Range<usize> = 8..20;

/// What the winters of a case look like to the ranking: one outlook a winter. All assemblies of the case share them.
pub fn outlooks(assembly: &Assembly, winters: &[CaseWinter], members: usize, freeze: &FreezeConfig) -> Vec<Outlook> {
    let parts = network(assembly, freeze).parts;
    let never = Spread {
        p10: None,
        p50: None,
        p90: None,
    };
    let nothing = Spread {
        p10: 0.0,
        p50: 0.0,
        p90: 0.0,
    };
    winters
        .iter()
        .map(|winter| Outlook {
            members,
            window_start: DateTime::<Utc>::UNIX_EPOCH,
            window_end: DateTime::<Utc>::UNIX_EPOCH,
            p_ice: None,
            p_blocked: None,
            p_damage: Some(winter.p),
            p_damage_judged: None,
            parts: parts
                .iter()
                .zip(&winter.parts)
                .map(|(part, p)| PartOutlook {
                    name: part.name,
                    ice_fraction: 0.0,
                    p_damage: Some(*p),
                    strained: false,
                    repair_usd: freeze.costs.repair_usd(
                        assembly.device_type,
                        assembly.nominal_size,
                        PartKind::of(part.name),
                    ),
                })
                .collect(),
            first_ice: never,
            coldest_water_c: nothing,
            first_part: None,
            hours_air_below_0c: 0.0,
            min_air_c: 0.0,
            expected_repair_usd: winter.repair_usd,
            expected_repair_se_usd: 0.0,
            reported: None,
            nights: Vec::new(),
            advice: Vec::new(),
            trace: None,
        })
        .collect()
}

/// Chances that the contacts of a spell make its person act, by the channels that the list allows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Anyway {
    /// Called: p(reached) · p(acts), over all attempts.
    pub call: f64,
    /// Written to by text or e-mail.
    pub written: f64,
    /// Share of the loss that goes when the person acts.
    pub effect: f64,
}

impl Anyway {
    /// Of an assembly's person.
    pub fn of(assembly: &Assembly, outreach: &OutreachConfig) -> Self {
        let contact = &assembly.contact;
        let allows = |channel: Channel| match &contact.channels {
            Some(channels) => channels.contains(&channel),
            None => contact.channels_unread.is_none(),
        };
        let business = matches!(
            assembly.customer_class,
            CustomerClass::Commercial | CustomerClass::Public
        );
        let call = if contact.phone.is_some() && allows(Channel::Call) {
            let n = CALL_HOURS.len() as f64;
            let answered = CALL_HOURS
                .map(|hour| answered_by(business, hour, false, outreach))
                .sum::<f64>()
                / n;
            1.0 - (1.0 - dial_acts(answered, outreach)).powi(i32::from(outreach.shift.attempts))
        } else {
            0.0
        };
        let text = if contact.phone.is_some() && allows(Channel::Text) {
            outreach.reach.text * outreach.act.text
        } else {
            0.0
        };
        let email = if contact.email.is_some() && allows(Channel::Email) {
            outreach.reach.email * outreach.act.email
        } else {
            0.0
        };
        Self {
            call,
            written: 1.0 - (1.0 - text) * (1.0 - email),
            effect: outreach.act.effect.of(Case::of(assembly)),
        }
    }

    /// Share of a winter's loss that is avoided anyway in this tier: p(call) · p(reached) · p(acts) · effect.
    pub fn avoided(&self, tier: Tier, calls: &CallsConfig) -> f64 {
        let called = match tier {
            Tier::CallFirst => calls.first,
            Tier::CallNext => calls.next,
            Tier::Message | Tier::NoContact => 0.0,
        };
        let written = if tier == Tier::NoContact { 0.0 } else { calls.written };
        let acts = called * self.call + (1.0 - called) * written * self.written;
        (self.effect * acts).clamp(0.0, 1.0)
    }
}

/// Expected loss of each winter, US dollars, `[winters]`: before the calls, and net of them.
pub fn by_winter(
    assembly: &Assembly,
    outlooks: &[Outlook],
    anyway: &Anyway,
    ranking: &RankingConfig,
    calls: &CallsConfig,
) -> (Vec<f64>, Vec<f64>) {
    outlooks
        .iter()
        .map(|outlook| {
            let loss = loss(assembly, outlook, ranking);
            let gross = loss.total_usd();
            let tier = tier(assembly, outlook, &loss, &ranking.tiers);
            (gross, gross * (1.0 - anyway.avoided(tier, calls)))
        })
        .unzip()
}
