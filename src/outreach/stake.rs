//! What each person stands to lose, and until when a contact can still help.

use super::case::Case;
use super::clock::{self, DayLight};
use super::config::OutreachConfig;
use super::outcome::{History, Standing};
use super::people::Person;
use crate::freeze::Outlook;
use crate::inventory::{Assembly, Channel};
use crate::ranking::{Ranked, Tier};
use chrono::{DateTime, Utc};
use chrono_tz::Tz;
use std::sync::Arc;

/// Everything that the plan is made from.
pub struct PlanInput<'a> {
    /// Persons to reach.
    pub people: &'a [Person],
    /// Assemblies.
    pub assemblies: &'a [Assembly],
    /// Their outlooks, in the same order.
    pub outlooks: &'a [Arc<Outlook>],
    /// Their ranking, in any order; each carries the index of its assembly.
    pub ranked: &'a [Ranked],
    /// The time of planning: nothing is planned before it.
    pub now: DateTime<Utc>,
    /// Zone of shifts and quiet hours.
    pub zone: Tz,
    /// Light of each day; [`clock::clock_daylight`] or the sun's.
    pub daylight: &'a DayLight<'a>,
    /// What came of contacts so far.
    pub history: &'a History,
}

/// What acting before one night saves of an assembly. A night in which parts break that froze in a night before has a stake more for each
/// such night: before that ice acting saves all of its effect, after it only what it saves of a part with ice in it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NightStake {
    /// Loss that goes if the person acts before this night, US dollars: expected loss × effect of acting × chance that nobody acts unaided.
    pub avoidable_usd: f64,
    /// Latest time to learn of it and act in daylight.
    pub act_by: DateTime<Utc>,
    /// Until when ice of this night is still to come: its median, or the end of the window where fewer than half of the members see any.
    pub ice_until: DateTime<Utc>,
}

/// One assembly's part in a person's stake.
#[derive(Debug, Clone, PartialEq)]
pub struct Part {
    /// Index of the assembly.
    pub assembly: usize,
    /// Rank of the assembly.
    pub rank: usize,
    /// Where the ranking holds it.
    pub place: usize,
    /// Expected loss, US dollars.
    pub loss_usd: f64,
    /// Night by night: what is lost in the nights behind cannot be saved, what is to come can. Never empty.
    pub nights: Vec<NightStake>,
}

/// What a person stands to lose.
#[derive(Debug, Clone, PartialEq)]
pub struct Stake<'h> {
    /// Index of the person.
    pub person: usize,
    /// Assemblies at risk, best rank first.
    pub parts: Vec<Part>,
    /// Best tier among them.
    pub tier: Tier,
    /// Whether a critical assembly is among those to call.
    pub critical: bool,
    /// Whether a fire line is among them.
    pub fire: bool,
    /// What came of earlier contacts.
    pub standing: Option<&'h Standing>,
}

impl Stake<'_> {
    /// Loss that a contact ending at this time can still avoid, US dollars, if it makes the person act.
    pub fn avoidable_at(&self, end: DateTime<Utc>) -> f64 {
        self.nights()
            .filter(|night| night.act_by >= end)
            .map(|night| night.avoidable_usd)
            .sum()
    }

    /// The nights of all parts.
    pub fn nights(&self) -> impl Iterator<Item = &NightStake> {
        self.parts.iter().flat_map(|part| &part.nights)
    }

    /// Expected loss of all assemblies at risk, US dollars.
    pub fn loss_usd(&self) -> f64 {
        self.parts.iter().map(|part| part.loss_usd).sum()
    }

    /// The latest time at which anything can still be done for any of them.
    pub fn last_act_by(&self) -> Option<DateTime<Utc>> {
        self.nights().map(|night| night.act_by).max()
    }

    /// The first time to act that is still to come at `when`, over the person's assemblies; the last one when all have passed.
    pub fn act_by_after(&self, when: DateTime<Utc>) -> Option<DateTime<Utc>> {
        self.nights()
            .map(|night| night.act_by)
            .filter(|by| *by >= when)
            .min()
            .or_else(|| self.last_act_by())
    }

    /// Whether a message at `when` can still come before ice, be it late for acting in daylight.
    pub fn ice_ahead(&self, when: DateTime<Utc>) -> bool {
        self.nights()
            .any(|night| night.act_by >= when || night.ice_until > when)
    }

    /// Whether the person is worth a call by tier.
    pub fn to_call(&self) -> bool {
        matches!(self.tier, Tier::CallFirst | Tier::CallNext)
    }

    /// Whether the log says that the number is not this person's.
    pub fn wrong_number(&self) -> bool {
        self.standing.is_some_and(|standing| standing.wrong_number)
    }

    /// Whether the log says that nothing more is to be done.
    pub fn settled(&self) -> bool {
        self.standing.is_some_and(|standing| standing.last.settles())
    }
}

/// The stakes of all persons with an assembly at risk, in the order of the persons.
///
/// The early edge of first ice is the 10th percentile. Where fewer than a tenth of the members see ice at all the median of the
/// other assemblies' early edges stands in (judgement), or the end of the window if there is none.
pub fn stakes<'h>(input: &PlanInput<'h>, config: &OutreachConfig) -> Vec<Stake<'h>> {
    let mut place_of: Vec<Option<usize>> = vec![None; input.assemblies.len()];
    for (at, ranked) in input.ranked.iter().enumerate() {
        if let Some(place) = place_of.get_mut(ranked.index) {
            *place = Some(at);
        }
    }
    let mut edges: Vec<DateTime<Utc>> = input.outlooks.iter().filter_map(|o| o.first_ice.p10).collect();
    edges.sort_unstable();
    let usual = edges.get(edges.len() / 2).copied();
    // Outlooks share few distinct hours, so the walk back through the daylight is done once for each.
    let mut known: std::collections::HashMap<(DateTime<Utc>, Case), DateTime<Utc>> = std::collections::HashMap::new();
    let mut all = Vec::new();
    for (at, person) in input.people.iter().enumerate() {
        let mut parts = Vec::new();
        let (mut tier, mut critical, mut fire) = (Tier::NoContact, false, false);
        for &index in &person.assemblies {
            let place = place_of.get(index).copied().flatten();
            let (Some(assembly), Some(outlook), Some((place, ranked))) = (
                input.assemblies.get(index),
                input.outlooks.get(index),
                place.and_then(|place| Some((place, input.ranked.get(place)?))),
            ) else {
                continue;
            };
            if ranked.tier == Tier::NoContact {
                continue;
            }
            let case = Case::now(assembly, outlook);
            let mut act_by = |ice: DateTime<Utc>| {
                *known
                    .entry((ice, case))
                    .or_insert_with(|| clock::act_by(ice, config.act.hours.of(case), input.zone, input.daylight))
            };
            let to_call = matches!(ranked.tier, Tier::CallFirst | Tier::CallNext);
            critical |= to_call && assembly.critical.is_some();
            fire |= to_call && case.is_fire();
            tier = tier.min(ranked.tier);
            let loss_usd = if ranked.expected_loss_usd.is_finite() {
                ranked.expected_loss_usd.max(0.0)
            } else {
                0.0
            };
            parts.push(Part {
                assembly: index,
                rank: ranked.rank,
                place,
                loss_usd,
                nights: nights_of(
                    outlook,
                    usual,
                    loss_usd * (1.0 - config.act.unaided),
                    (config.act.effect.of(case), config.act.effect.iced),
                    &mut act_by,
                ),
            });
        }
        if parts.is_empty() {
            continue;
        }
        parts.sort_by_key(|part| part.rank);
        // Most people have one, and vectors are made with room for four.
        parts.shrink_to_fit();
        let ids = person
            .assemblies
            .iter()
            .filter_map(|&index| input.assemblies.get(index))
            .map(|assembly| assembly.assembly_id.as_str());
        all.push(Stake {
            person: at,
            parts,
            tier,
            critical,
            fire,
            standing: input.history.of(&person.contact_id, ids),
        });
    }
    all
}

/// The avoidable loss of an assembly, spread over its nights as its repair costs are; one night where the outlook tells none. `effect` is that
/// of acting on water, then on ice.
fn nights_of(
    outlook: &Outlook,
    usual: Option<DateTime<Utc>>,
    loss_usd: f64,
    effect: (f64, f64),
    act_by: &mut dyn FnMut(DateTime<Utc>) -> DateTime<Utc>,
) -> Vec<NightStake> {
    let (first, median) = (outlook.first_ice.p10, outlook.first_ice.p50);
    let sum: f64 = outlook.nights.iter().map(|night| night.repair_usd).sum();
    if !(sum > 0.0 && sum.is_finite()) {
        let ice = first.or(median).or(usual).unwrap_or(outlook.window_end);
        return vec![NightStake {
            avoidable_usd: loss_usd * effect.0,
            act_by: act_by(ice),
            ice_until: median.unwrap_or(outlook.window_end),
        }];
    }
    let per_usd = loss_usd / sum;
    // What acting on ice does not save of the loss that acting on water does.
    let lost = (effect.0 - effect.1).max(0.0);
    let mut stakes = Vec::with_capacity(outlook.nights.len());
    for night in &outlook.nights {
        let mut avoidable_usd = night.repair_usd * effect.0;
        for iced in night.iced_before.iter().filter(|iced| iced.repair_usd * lost > 0.0) {
            avoidable_usd -= iced.repair_usd * lost;
            stakes.push(NightStake {
                avoidable_usd: per_usd * iced.repair_usd * lost,
                act_by: act_by(iced.since),
                ice_until: iced.since,
            });
        }
        stakes.push(NightStake {
            avoidable_usd: per_usd * avoidable_usd.max(0.0),
            act_by: act_by(night.ice_early),
            ice_until: night.ice_median,
        });
    }
    stakes
}

/// Chances of the channels for one person, as the config has them.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Odds {
    /// Chance that a text makes the person act; 0 where no text may go.
    pub text: f64,
    /// Added chance of an e-mail beside it.
    pub email: f64,
    /// What is left of the loss for calls once text and e-mail have gone, and of a call's worth for numbers that answer
    /// nothing, 0 to 1.
    pub left_for_calls: f64,
}

/// The chances of the channels that cost nothing, for one person.
pub fn free_odds(person: &Person, wrong_number: bool, config: &OutreachConfig) -> Odds {
    let (reach, act) = (&config.reach, &config.act);
    let text = if person.takes(Channel::Text) && !wrong_number {
        reach.text * act.text
    } else {
        0.0
    };
    let alone = if person.takes(Channel::Email) {
        reach.email * act.email
    } else {
        0.0
    };
    let email = if text > 0.0 {
        alone * (1.0 - text) * reach.overlap
    } else {
        alone
    };
    let shared = if text + email > 0.0 { reach.overlap } else { 1.0 };
    Odds {
        text,
        email,
        left_for_calls: (1.0 - text - email) * shared,
    }
}

/// Chance that a call to a home or to a firm is answered in this hour.
pub fn answered_by(business: bool, hour: usize, weekend: bool, config: &OutreachConfig) -> f64 {
    let reach = &config.reach;
    let hours = match (business, weekend) {
        (false, false) => &reach.home_weekday,
        (false, true) => &reach.home_weekend,
        (true, false) => &reach.business_weekday,
        (true, true) => &reach.business_weekend,
    };
    hours.get(hour).copied().unwrap_or(0.0).clamp(0.0, 1.0)
}

/// Chance that one dial makes the person act: answered and acting, or a message that is heard and acted on.
pub fn dial_acts(answered: f64, config: &OutreachConfig) -> f64 {
    answered * config.act.call + (1.0 - answered) * config.reach.message_left * config.act.message
}
