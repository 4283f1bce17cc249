//! What has changed between two plans of the desk, and why: what somebody is told who looked at the earlier one.

use super::data::Data;
use super::sessions::Session;
use super::state::{Desk, PlanState};
use super::words::on;
use crate::language::Language;
use crate::plan::Plan;
use crate::ranking::nights::{coming_from, evening};
use crate::ranking::{Tier, Words};
use crate::say;
use crate::text::Text;
use chrono::{DateTime, Datelike, NaiveDate, Utc};
use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::{Arc, Mutex, PoisonError};

/// A change of a night's low that is worth a reason, K (judgement: one degree Fahrenheit, the step in which pages tell temperatures).
const WORTH_K: f64 = 0.56;
/// People whose last look is remembered; beyond that all begin anew.
const MOST_PEOPLE: usize = 5_000;

static NEXT: AtomicU64 = AtomicU64::new(1);

/// What of a plan is compared with a later one.
#[derive(Debug, Clone, PartialEq)]
pub struct Look {
    /// Which plan it is, within this run of the desk.
    pub mark: String,
    /// When it was worked out.
    pub made: DateTime<Utc>,
    /// Sites to call first.
    pub call_first: BTreeSet<Text>,
    /// The lowest air of any station in each night ahead, by its evening, °C.
    pub lows_c: BTreeMap<NaiveDate, f64>,
    /// Digests of what was read, by its role.
    pub read: BTreeMap<&'static str, Vec<String>>,
}

impl Look {
    /// The look of a plan that was worked out at `made` and looks ahead from `from`.
    pub fn of(data: &Data, plan: &Plan<'_>, from: DateTime<Utc>, made: DateTime<Utc>) -> Self {
        let zone = data.zone();
        let mut lows_c: BTreeMap<NaiveDate, f64> = BTreeMap::new();
        let first = coming_from(from, zone);
        for series in &data.programme.loaded.series {
            for (hour, air) in series.air_c.iter().enumerate() {
                let night = evening(series.time(hour), zone);
                if night >= first && air.is_finite() {
                    let low = lows_c.entry(night).or_insert(*air);
                    *low = low.min(*air);
                }
            }
        }
        let mut read: BTreeMap<&'static str, Vec<String>> = BTreeMap::new();
        for taken in &data.programme.loaded.taken {
            read.entry(taken.role).or_default().push(taken.sha256.clone());
        }
        let first = plan.ranked.iter().filter(|line| line.tier == Tier::CallFirst);
        Self {
            mark: format!("{}-{}", made.timestamp(), NEXT.fetch_add(1, Ordering::Relaxed)),
            made,
            call_first: first
                .filter_map(|line| Some(plan.assemblies.get(line.index)?.assembly_id.clone()))
                .collect(),
            lows_c,
            read,
        }
    }
}

/// Why a plan is another one.
#[derive(Debug, Clone, PartialEq)]
pub enum Why {
    /// A night's low.
    Night {
        /// Its evening.
        evening: NaiveDate,
        /// As it was, °C.
        from_c: f64,
        /// As it is, °C.
        to_c: f64,
    },
    /// The forecast, without a night's low that moved.
    Forecast,
    /// The list.
    List,
    /// The config.
    Config,
    /// Nothing that was read: hours have passed, or what people reported and whom they reached counts now.
    Time,
}

/// What has changed.
#[derive(Debug, Clone, PartialEq)]
pub struct Change {
    /// When the earlier plan was worked out.
    pub since: DateTime<Utc>,
    /// Sites to call first that the earlier one did not have.
    pub new: usize,
    /// Sites to call first that it had and this one has not.
    pub gone: usize,
    /// Why, the weightiest first; at least one.
    pub why: Vec<Why>,
}

/// What has changed from one plan to a later one; `None` where nobody new is called first, nobody is left out, and no night's low moved.
pub fn change(old: &Look, new: &Look) -> Option<Change> {
    let more = new.call_first.difference(&old.call_first).count();
    let gone = old.call_first.difference(&new.call_first).count();
    // Of the nights that both know, the one whose low moved most; of those alike the coldest.
    let moved = new
        .lows_c
        .iter()
        .filter_map(|(night, to)| Some((*night, *old.lows_c.get(night)?, *to)))
        .filter(|(_, from, to)| (to - from).abs() >= WORTH_K)
        .max_by(|a, b| {
            (a.2 - a.1)
                .abs()
                .total_cmp(&(b.2 - b.1).abs())
                .then(b.2.total_cmp(&a.2))
        });
    if more == 0 && gone == 0 && moved.is_none() {
        return None;
    }
    let other = |role: &str| old.read.get(role) != new.read.get(role);
    let mut why = Vec::new();
    match moved {
        Some((evening, from_c, to_c)) => why.push(Why::Night { evening, from_c, to_c }),
        None if other("series") || other("spread") => why.push(Why::Forecast),
        None => {}
    }
    if other("assemblies") {
        why.push(Why::List);
    }
    if other("config") {
        why.push(Why::Config);
    }
    if why.is_empty() {
        why.push(Why::Time);
    }
    Some(Change {
        since: old.made,
        new: more,
        gone,
        why,
    })
}

/// A change in words, for somebody who reads it at `now`.
pub fn sentence(change: &Change, now: DateTime<Utc>, words: &Words) -> String {
    let language = words.language;
    let since = on(change.since, &words.zone, language);
    let mut text = say!(
        language,
        "desk-changed",
        since = since,
        new = change.new as f64,
        gone = change.gone as f64
    );
    for why in &change.why {
        text.push(' ');
        text.push_str(&reason(why, now, words));
    }
    text
}

fn reason(why: &Why, now: DateTime<Utc>, words: &Words) -> String {
    let language = words.language;
    match why {
        Why::Night { evening, from_c, to_c } => {
            let (from, to) = (words.temperature(*from_c), words.temperature(*to_c));
            let fell = if to_c < from_c { "fell" } else { "rose" };
            if *evening == coming_from(now, words.zone) {
                say!(language, "desk-why-tonight", fell = fell, from = from, to = to)
            } else {
                let night = night_of(*evening, language);
                say!(
                    language,
                    "desk-why-night",
                    night = night,
                    fell = fell,
                    from = from,
                    to = to
                )
            }
        }
        Why::Forecast => say!(language, "desk-why-forecast"),
        Why::List => say!(language, "desk-why-list"),
        Why::Config => say!(language, "desk-why-config"),
        Why::Time => say!(language, "desk-why-time"),
    }
}

fn night_of(evening: NaiveDate, language: Language) -> String {
    format!("{} {}", language.day(evening.weekday()), language.date(&evening))
}

/// Which plan each person looked at last.
#[derive(Default)]
pub struct Looked(Mutex<HashMap<String, Arc<Look>>>);

impl Looked {
    /// The look that `who` has had; `now` becomes it where there was none.
    fn at(&self, who: &str, now: &Arc<Look>) -> Arc<Look> {
        let mut map = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(look) = map.get(who) {
            return look.clone();
        }
        if map.len() >= MOST_PEOPLE {
            map.clear();
        }
        map.insert(who.to_owned(), now.clone());
        now.clone()
    }

    fn set(&self, who: &str, now: &Arc<Look>) {
        let mut map = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        map.insert(who.to_owned(), now.clone());
    }
}

/// Under which name somebody's look is kept: the account where people sign in, so that a look of the evening counts the next morning and on
/// another computer; else the session.
fn key(desk: &Desk, session: &Session) -> String {
    match &session.who {
        Some(who) if desk.asks_who() => format!("a {who}"),
        _ => format!("s {}", session.id),
    }
}

impl Desk {
    /// What has changed since this person looked last; the first plan that somebody meets is the first look.
    pub fn changed_for(&self, session: &Session) -> Option<String> {
        let (data, PlanState::Ready(planned)) = self.both() else {
            return None;
        };
        let old = self.looked.at(&key(self, session), &planned.look);
        let change = change(&old, &planned.look)?;
        Some(sentence(&change, self.now(), &super::cards::words(session, &data)))
    }

    /// This person has seen what changed.
    pub fn has_looked(&self, session: &Session) {
        if let PlanState::Ready(planned) = self.plan() {
            self.looked.set(&key(self, session), &planned.look);
        }
    }

    /// The mark of the plan that pages show now.
    pub fn plan_mark(&self) -> Option<String> {
        match self.plan() {
            PlanState::Ready(planned) => Some(planned.look.mark.clone()),
            _ => None,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use chrono::TimeZone;

    fn look(sites: &[&str], lows_f: &[(u32, f64)], list: &str) -> Look {
        let night = |day| NaiveDate::from_ymd_opt(2027, 1, day).unwrap_or_default();
        Look {
            mark: String::new(),
            made: Utc.timestamp_opt(1_800_000_000, 0).single().unwrap_or_default(),
            call_first: sites.iter().map(|id| Text::from(*id)).collect(),
            lows_c: lows_f.iter().map(|(day, f)| (night(*day), (f - 32.0) / 1.8)).collect(),
            read: BTreeMap::from([("assemblies", vec![list.to_owned()])]),
        }
    }

    #[test]
    fn a_change_tells_who_came_who_went_and_the_night_that_moved_most() {
        let old = look(&["a", "b"], &[(20, 29.0), (21, 31.0)], "1");
        let new = look(&["b", "c", "d"], &[(20, 24.0), (21, 30.0)], "1");
        let told = change(&old, &new);
        let told = told.as_ref();
        assert_eq!(told.map(|told| (told.new, told.gone)), Some((2, 1)));
        let Some([Why::Night { evening, from_c, to_c }]) = told.map(|told| told.why.as_slice()) else {
            panic!("{told:?}")
        };
        assert_eq!(
            (
                evening.day(),
                (from_c * 1.8 + 32.0).round(),
                (to_c * 1.8 + 32.0).round()
            ),
            (20, 29.0, 24.0)
        );
    }

    #[test]
    fn the_same_plan_and_a_tenth_of_a_degree_are_no_change_and_a_list_is_a_reason_of_its_own() {
        let old = look(&["a"], &[(20, 29.0)], "1");
        assert_eq!(change(&old, &look(&["a"], &[(20, 29.1)], "1")), None);
        let listed = change(&old, &look(&["a", "b"], &[(20, 29.0)], "2"));
        assert_eq!(listed.map(|told| (told.new, told.why)), Some((1, vec![Why::List])));
        let passed = change(&old, &look(&[], &[(20, 29.0)], "1"));
        assert_eq!(passed.map(|told| (told.gone, told.why)), Some((1, vec![Why::Time])));
    }
}
