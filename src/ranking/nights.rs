//! What each night of a spell adds, for one assembly and for the town.
//!
//! A spell is lost night by night: what the nights behind have broken cannot be saved, so that people ask what the coming night adds.

use super::{Ranked, Tier};
use crate::freeze::Outlook;
use chrono::{DateTime, NaiveDate, TimeDelta, Utc};
use chrono_tz::Tz;
use std::collections::BTreeMap;
use std::sync::Arc;

/// What is expected of one night.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct NightSum {
    /// Assemblies that break for the first time.
    pub breaks: f64,
    /// Loss, US dollars.
    pub loss_usd: f64,
}

impl NightSum {
    fn add(&mut self, other: NightSum) {
        self.breaks += other.breaks;
        self.loss_usd += other.loss_usd;
    }
}

/// The coming night beside what lies behind it and what comes after.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Coming {
    /// The day on whose evening it begins.
    pub evening: NaiveDate,
    /// The nights behind.
    pub before: NightSum,
    /// The coming night.
    pub adds: NightSum,
    /// The nights after it.
    pub later: NightSum,
}

/// The evening of the night that a moment belongs to: nights run from noon to noon of the local clock.
pub fn evening(at: DateTime<Utc>, zone: Tz) -> NaiveDate {
    (at.with_timezone(&zone).naive_local() - TimeDelta::hours(12)).date()
}

/// The evening from which nights count as still to come: before 6 in the morning the night that goes on is one of them, after that
/// its cold is spent (judgement).
pub fn coming_from(now: DateTime<Utc>, zone: Tz) -> NaiveDate {
    (now.with_timezone(&zone).naive_local() - TimeDelta::hours(6)).date()
}

/// The nights of one assembly with its chance of breaking first in each and its share of `loss_usd`. Where the model tells no nights all
/// of it is put into that of first ice, else into the last of the window.
pub fn of(outlook: &Outlook, loss_usd: f64, zone: Tz) -> BTreeMap<NaiveDate, NightSum> {
    let mut nights: BTreeMap<NaiveDate, NightSum> = BTreeMap::new();
    let sum: f64 = outlook.nights.iter().map(|night| night.repair_usd).sum();
    if sum > 0.0 && sum.is_finite() {
        for night in &outlook.nights {
            nights.entry(evening(night.ice_early, zone)).or_default().add(NightSum {
                breaks: night.p_damage,
                loss_usd: loss_usd * night.repair_usd / sum,
            });
        }
    } else if loss_usd > 0.0 || outlook.p_damage.is_some_and(|p| p > 0.0) {
        let ice = outlook.first_ice.p10.or(outlook.first_ice.p50);
        let at = evening(ice.unwrap_or(outlook.window_end), zone);
        nights.entry(at).or_default().add(NightSum {
            breaks: outlook.p_damage.unwrap_or(0.0),
            loss_usd,
        });
    }
    nights
}

/// The nights of all assemblies at risk.
pub fn town(ranked: &[Ranked], outlooks: &[Arc<Outlook>], zone: Tz) -> BTreeMap<NaiveDate, NightSum> {
    let mut nights: BTreeMap<NaiveDate, NightSum> = BTreeMap::new();
    for line in ranked.iter().filter(|line| line.tier != Tier::NoContact) {
        if let Some(outlook) = outlooks.get(line.index) {
            for (night, sum) in of(outlook, line.expected_loss_usd, zone) {
                nights.entry(night).or_default().add(sum);
            }
        }
    }
    nights
}

/// The first night from `now` on in which anything is expected to break, with the others beside it; `None` when all lie behind.
pub fn coming(nights: &BTreeMap<NaiveDate, NightSum>, now: DateTime<Utc>, zone: Tz) -> Option<Coming> {
    let (&evening, &adds) = nights
        .range(coming_from(now, zone)..)
        .find(|(_, sum)| sum.breaks > 0.0 || sum.loss_usd > 0.0)?;
    let mut found = Coming {
        evening,
        before: NightSum::default(),
        adds,
        later: NightSum::default(),
    };
    for (night, sum) in nights {
        match night.cmp(&evening) {
            std::cmp::Ordering::Less => found.before.add(*sum),
            std::cmp::Ordering::Equal => {}
            std::cmp::Ordering::Greater => found.later.add(*sum),
        }
    }
    Some(found)
}
