//! What has changed that matters. No clock, no file: the same state and the same plan give the same words.
//!
//! Noise is kept out three times: every plan has the same members and seed; a site that was told once is never new again in the
//! same spell, however often it crosses the threshold; and a spell ends only when for some hours nobody was left to call first.

use super::config::WatchConfig;
use chrono::{DateTime, NaiveTime, TimeDelta, Utc};
use chrono_tz::Tz;
use serde::{Deserialize, Serialize};
use std::collections::{BTreeMap, BTreeSet};

/// What a word is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum About {
    /// There is somebody to call first, for the first time in this spell.
    FirstNight,
    /// More sites to call first than were told.
    MoreToCall,
    /// The forecast is old, or has ended.
    Stale,
    /// No plan could be made.
    NoPlan,
    /// For some hours nobody was left to call first.
    Thaw,
}

/// What one run of the plan found.
#[derive(Debug, Clone, PartialEq)]
pub enum Seen {
    /// A plan.
    Plan {
        /// Sites to call first.
        call_first: BTreeSet<String>,
        /// Early edge of first ice among them.
        first_ice: Option<DateTime<Utc>>,
        /// Lowest air of any site, °C.
        lowest_c: Option<f64>,
        /// Whether its forecast is old or over.
        stale: bool,
    },
    /// No plan, and why.
    Nothing {
        /// Codes and words of the faults.
        why: String,
    },
}

/// A word to people.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Word {
    /// Number of the word in this watch: a receiver that sees it twice knows it.
    pub id: u64,
    /// When it was decided.
    pub time: DateTime<Utc>,
    /// What it is about.
    pub about: About,
    /// Whether it was told before and still holds.
    pub reminder: bool,
    /// Sites to call first.
    pub sites: usize,
    /// Of these, sites that were not told before.
    pub new: usize,
    /// Early edge of first ice.
    pub first_ice: Option<DateTime<Utc>>,
    /// Lowest air, °C.
    pub lowest_c: Option<f64>,
    /// Why there is no plan.
    pub why: String,
    /// Where it still has to be told.
    #[serde(default)]
    pub to: BTreeSet<Way>,
    /// Mail addresses that have it, while others still wait for it.
    #[serde(default, skip_serializing_if = "BTreeSet::is_empty")]
    pub mailed: BTreeSet<String>,
    /// Where it must wait for the end of the quiet hours.
    #[serde(default)]
    pub after: Option<DateTime<Utc>>,
}

/// How a word reaches people.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Way {
    /// The record `told.jsonl` and standard output.
    File,
    /// The webhook.
    Webhook,
    /// Mail.
    Mail,
}

/// What the watch remembers.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct State {
    /// Number of the last word.
    pub last_id: u64,
    /// Sites that were told in this spell; empty between spells.
    pub told_sites: BTreeSet<String>,
    /// Whether there is a spell.
    pub spell: bool,
    /// Since when nobody was left to call first.
    pub nobody_since: Option<DateTime<Utc>>,
    /// What holds, and when it was told last.
    pub holds: BTreeMap<About, DateTime<Utc>>,
    /// Words that did not reach everybody yet.
    pub outbox: Vec<Word>,
}

impl State {
    /// Takes what a run found, and puts what is to be told into the outbox.
    pub fn take(&mut self, seen: &Seen, now: DateTime<Utc>, zone: Tz, ways: &BTreeSet<Way>, rules: &WatchConfig) {
        // A clock that was put back must not silence reminders until it has caught up.
        for told in self.holds.values_mut() {
            *told = (*told).min(now);
        }
        self.nobody_since = self.nobody_since.map(|since| since.min(now));
        let word = |about| Word {
            id: 0,
            time: now,
            about,
            reminder: false,
            sites: 0,
            new: 0,
            first_ice: None,
            lowest_c: None,
            why: String::new(),
            to: ways.clone(),
            mailed: BTreeSet::new(),
            after: None,
        };
        let mut words = Vec::new();
        match seen {
            Seen::Nothing { why } => {
                // What the last plan told still stands: no plan is no thaw.
                if let Some(reminder) = self.due(About::NoPlan, true, now, rules) {
                    words.push(Word {
                        why: why.clone(),
                        reminder,
                        ..word(About::NoPlan)
                    });
                }
            }
            Seen::Plan {
                call_first,
                first_ice,
                lowest_c,
                stale,
            } => {
                self.due(About::NoPlan, false, now, rules);
                let full = |about| Word {
                    sites: call_first.len(),
                    first_ice: *first_ice,
                    lowest_c: *lowest_c,
                    ..word(about)
                };
                if let Some(reminder) = self.due(About::Stale, *stale, now, rules) {
                    words.push(Word {
                        reminder,
                        ..full(About::Stale)
                    });
                }
                // An old forecast tells neither a new spell nor a thaw.
                if !stale {
                    words.extend(self.spell(call_first, now, rules, full));
                }
            }
        }
        for mut word in words {
            self.last_id += 1;
            word.id = self.last_id;
            let near = word
                .first_ice
                .is_some_and(|ice| ice - now <= TimeDelta::hours(rules.urgent_h));
            let urgent = near && matches!(word.about, About::FirstNight | About::MoreToCall);
            if urgent {
                // What waited for the morning goes ahead of it, so that nothing is told out of order.
                self.outbox.iter_mut().for_each(|held| held.after = None);
            }
            word.after = if urgent { None } else { quiet_end(now, zone, rules) };
            self.outbox.push(word);
        }
    }

    /// Words of the spell: its beginning, its growth, its end.
    fn spell(
        &mut self,
        call_first: &BTreeSet<String>,
        now: DateTime<Utc>,
        rules: &WatchConfig,
        full: impl Fn(About) -> Word,
    ) -> Option<Word> {
        if call_first.is_empty() {
            if !self.spell {
                return None;
            }
            let since = *self.nobody_since.get_or_insert(now);
            if now - since < TimeDelta::hours(rules.thaw_after_h) {
                return None;
            }
            self.spell = false;
            self.nobody_since = None;
            self.told_sites.clear();
            self.holds.remove(&About::FirstNight);
            return Some(full(About::Thaw));
        }
        self.nobody_since = None;
        let new = call_first.difference(&self.told_sites).count();
        let about = if self.spell {
            About::MoreToCall
        } else {
            About::FirstNight
        };
        if !self.spell || new > rules.more_than {
            self.spell = true;
            self.told_sites.extend(call_first.iter().cloned());
            self.holds.insert(About::FirstNight, now);
            return Some(Word { new, ..full(about) });
        }
        // What was told once is told again as long as it holds.
        let reminder = self.due(About::FirstNight, true, now, rules)?;
        Some(Word {
            new,
            reminder,
            ..full(About::FirstNight)
        })
    }

    /// Whether something that holds is to be told now: `Some(false)` for the first time, `Some(true)` as a reminder.
    fn due(&mut self, about: About, holds: bool, now: DateTime<Utc>, rules: &WatchConfig) -> Option<bool> {
        if !holds {
            self.holds.remove(&about);
            return None;
        }
        match self.holds.get(&about).copied() {
            None => {
                self.holds.insert(about, now);
                Some(false)
            }
            Some(told) if rules.remind_h > 0 && now - told >= TimeDelta::hours(rules.remind_h) => {
                self.holds.insert(about, now);
                Some(true)
            }
            Some(_) => None,
        }
    }
}

/// The end of the quiet hours, when `now` is in them.
fn quiet_end(now: DateTime<Utc>, zone: Tz, rules: &WatchConfig) -> Option<DateTime<Utc>> {
    let (from, until) = (rules.quiet_from, rules.quiet_until);
    let quiet = |time: NaiveTime| {
        if from <= until {
            from <= time && time < until
        } else {
            time >= from || time < until
        }
    };
    let local = |time: DateTime<Utc>| time.with_timezone(&zone).time();
    if from == until || !quiet(local(now)) {
        return None;
    }
    // In steps of real minutes, so that a clock that is put forward or back in the night ends them by the clock on the wall.
    (1..=2_000)
        .map(|minutes| now + TimeDelta::minutes(minutes))
        .find(|time| !quiet(local(*time)))
}
