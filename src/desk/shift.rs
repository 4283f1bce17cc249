//! The calls of a shift: who is still to call, who was reached, what is overdue, and who is calling whom.

use super::data::Planned;
use super::log::Log;
use super::state::Desk;
use crate::faults::Fault;
use crate::outreach::line::{ContactLine, Way};
use crate::outreach::outcome::{History, Outcome};
use crate::store::Event;
use crate::text::Text;
use chrono::{DateTime, TimeDelta, Utc};
use std::collections::{BTreeMap, HashMap, HashSet};
use std::sync::{Mutex, PoisonError};

/// After so long without an outcome a person counts as not being called any more (judgement: calls take minutes, a telephone is put down
/// without a note now and then).
pub const CLAIM_LASTS: TimeDelta = TimeDelta::minutes(20);
/// The length of a shift: what was noted in so many hours counts as made (judgement).
pub const SHIFT: TimeDelta = TimeDelta::hours(12);
/// Claims kept at once; more callers than any desk has.
const MOST_CLAIMS: usize = 10_000;

/// Somebody is calling a person.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Claim {
    /// Who.
    pub by: String,
    /// Since when.
    pub since: DateTime<Utc>,
}

/// Who is calling whom at this desk, by the identifier of the person who is called. Kept in memory: a desk that starts anew knows of no call
/// that is under way, and a claim never keeps an outcome from being noted.
#[derive(Debug, Default)]
pub struct Claims(Mutex<HashMap<String, Claim>>);

impl Claims {
    fn with<T>(&self, now: DateTime<Utc>, work: impl FnOnce(&mut HashMap<String, Claim>) -> T) -> T {
        let mut map = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        // A clock that was put back must not keep a claim for hours.
        map.retain(|_, claim| (now - claim.since).abs() < CLAIM_LASTS);
        work(&mut map)
    }

    /// Takes a person for `by`, unless somebody else is calling and `over` does not say that it is to be taken over.
    ///
    /// # Errors
    /// The claim of somebody else, which stays.
    pub fn take(&self, id: &str, by: &str, over: bool, now: DateTime<Utc>) -> Result<(), Claim> {
        self.with(now, |map| {
            if let Some(other) = map.get(id).filter(|claim| claim.by != by && !over) {
                return Err(other.clone());
            }
            if map.len() < MOST_CLAIMS {
                let since = now;
                map.insert(
                    id.to_owned(),
                    Claim {
                        by: by.to_owned(),
                        since,
                    },
                );
            }
            Ok(())
        })
    }

    /// Nobody is calling this person any more.
    pub fn leave(&self, id: &str, now: DateTime<Utc>) {
        self.with(now, |map| map.remove(id));
    }

    /// Who is calling whom now.
    pub fn all(&self, now: DateTime<Utc>) -> HashMap<String, Claim> {
        self.with(now, |map| map.clone())
    }
}

/// The people of a plan's calls, each once.
#[derive(Debug, Clone, Default)]
pub struct Calls<'a> {
    /// Those nobody has settled or tried since the plan, each by the earliest call, in the plan's order.
    pub open: Vec<&'a ContactLine>,
    /// How many of the plan have been.
    pub settled: usize,
}

impl<'a> Calls<'a> {
    /// The calls of a plan as the log has them.
    pub fn of(planned: &'a Planned, history: &History) -> Self {
        let mut seen = HashSet::new();
        let mut calls = Self::default();
        let lines = planned.reach.contacts.lines.iter();
        for line in lines.filter(|line| line.channel == Way::Call) {
            if !seen.insert(line.contact_id.as_str()) {
                continue;
            }
            let standing = history.of(&line.contact_id, line.assemblies.iter().map(Text::as_str));
            // An attempt without success is left to its next slot; a plan made again will place it.
            if standing.is_some_and(|standing| standing.last.settles() || standing.last_at >= planned.now) {
                calls.settled += 1;
            } else {
                calls.open.push(line);
            }
        }
        calls
    }

    /// Those whose slot is over without an outcome.
    pub fn overdue(&self, now: DateTime<Utc>) -> usize {
        self.open.iter().filter(|line| is_overdue(line, now)).count()
    }

    /// The next time by which somebody must know in order to act by daylight.
    pub fn next_deadline(&self, now: DateTime<Utc>) -> Option<DateTime<Utc>> {
        self.open
            .iter()
            .filter_map(|line| line.act_by)
            .filter(|by| *by >= now)
            .min()
    }
}

/// Whether the slot of a call is over.
pub fn is_overdue(line: &ContactLine, now: DateTime<Utc>) -> bool {
    line.slot_end.is_some_and(|end| end < now)
}

/// What a shift has noted of our own calls.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Made {
    /// How often each outcome was noted.
    pub outcomes: BTreeMap<&'static str, usize>,
    /// How many each caller noted, by name.
    pub by: BTreeMap<String, usize>,
}

impl Made {
    /// What events since a time come to. What came in is no call of ours.
    pub fn of(events: &[Event], since: DateTime<Utc>) -> Self {
        let mut made = Self::default();
        let own = events.iter().filter(|event| event.counts && event.source != "call");
        for event in own.filter(|event| event.at >= since) {
            *made.outcomes.entry(event.outcome.word()).or_default() += 1;
            *made.by.entry(event.by.clone()).or_default() += 1;
        }
        made
    }

    /// All of them.
    pub fn count(&self) -> usize {
        self.outcomes.values().sum()
    }

    /// The outcomes that were noted, in the order in which pages list them.
    pub fn noted(&self) -> impl Iterator<Item = (Outcome, usize)> + '_ {
        let known = Outcome::ALL.iter();
        known.filter_map(|outcome| Some((*outcome, *self.outcomes.get(outcome.word())?)))
    }
}

impl Desk {
    /// What this shift has noted; nothing where there is no log.
    ///
    /// # Errors
    /// When the log cannot be read.
    pub fn made(&self) -> Result<Made, Fault> {
        let since = self.now() - SHIFT;
        let events = self
            .log
            .as_ref()
            .map_or_else(|| Ok(Vec::new()), |log| Log::events_since(log, since))?;
        Ok(Made::of(&events, since))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn line(slot_end: i64, act_by: i64) -> ContactLine {
        let at = |hour: i64| DateTime::<Utc>::default() + TimeDelta::hours(hour);
        let line = serde_json::json!({
            "contact_id": format!("C-{slot_end}"), "channel": "call", "attempt": 1, "caller": 1, "slot_start": at(slot_end - 1),
            "slot_end": at(slot_end), "act_by": at(act_by), "in_time": true, "assemblies": [], "tier": "call first",
            "expected_loss_usd": 1.0, "loss_avoided_usd": 1.0, "critical": null, "language": "en", "reason": "",
        });
        serde_json::from_value(line).unwrap()
    }

    #[test]
    fn a_slot_that_is_over_is_overdue_and_the_next_deadline_lies_ahead() {
        let lines = [line(2, 5), line(4, 9), line(10, 12)];
        let calls = Calls {
            open: lines.iter().collect(),
            settled: 0,
        };
        let at = |hour: i64| DateTime::<Utc>::default() + TimeDelta::hours(hour);
        for (now, overdue, next) in [
            (0, 0, Some(5)),
            (3, 1, Some(5)),
            (6, 2, Some(9)),
            (11, 3, Some(12)),
            (13, 3, None),
        ] {
            assert_eq!(
                (calls.overdue(at(now)), calls.next_deadline(at(now))),
                (overdue, next.map(at)),
                "{now}"
            );
        }
    }

    #[test]
    fn one_person_is_called_by_one_until_it_is_left_taken_over_or_forgotten() {
        let claims = Claims::default();
        let at = |minutes| DateTime::<Utc>::default() + TimeDelta::minutes(minutes);
        assert_eq!(claims.take("C-1", "maria", false, at(0)), Ok(()));
        assert_eq!(claims.take("C-1", "maria", false, at(1)), Ok(()));
        let held = claims.take("C-1", "jose", false, at(2)).map_err(|claim| claim.by);
        assert_eq!(held, Err("maria".to_owned()));
        assert_eq!(claims.take("C-1", "jose", true, at(3)), Ok(()));
        assert_eq!(
            claims.all(at(4)).get("C-1").map(|claim| claim.by.as_str()),
            Some("jose")
        );
        assert!(claims.all(at(23)).is_empty());
        assert_eq!(claims.take("C-1", "ana", false, at(24)), Ok(()));
        // The clock is put back by an hour.
        assert!(claims.all(at(-36)).is_empty());
        assert_eq!(claims.take("C-2", "ana", false, at(0)), Ok(()));
        claims.leave("C-2", at(1));
        assert!(claims.all(at(1)).is_empty());
    }
}
