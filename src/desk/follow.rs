//! The desk follows a watch: it takes up the newest plan that the watch keeps, without a restart.
//!
//! The desk works the plan's forecast out itself, with the watch's members and seed and what the log holds by then, so that search,
//! cards, calls and plan are one answer. List, forecast and plan change places in one step; until then the earlier ones stand whole.
//! A plan that is not whole is refused, which every page says.

use super::data::{Data, stamp};
use super::notices::Notice;
use super::state::Desk;
use super::words::on;
use crate::faults::Severity;
use crate::input::load::Files;
use crate::language::Language;
use crate::say;
use crate::units::UnitSystem;
use crate::watch::decide::{About, Word};
use crate::watch::newest::{self, KeptPlan, Mark};
use crate::watch::tell;
use chrono::{DateTime, TimeDelta, Utc};
use std::path::PathBuf;
use std::sync::{Arc, Mutex, PoisonError};
use std::time::SystemTime;

/// What a desk is told of the watch that it follows.
#[derive(Debug, Clone, PartialEq)]
pub struct Followed {
    /// The watch's folder.
    pub folder: PathBuf,
    /// Minutes between two of its plans.
    pub every_minutes: u64,
}

#[derive(Debug, Clone, Default)]
struct State {
    taken: Option<KeptPlan>,
    /// Plans that were looked at since one was taken, and not taken.
    tried: Vec<Mark>,
    /// The plan that was refused last, and why; nothing once a newer one is taken.
    refused: Option<(String, String)>,
    /// Whether the files of the forecast are other ones than the plan read.
    ahead: bool,
    told: Option<Word>,
    told_stamp: Option<(u64, SystemTime)>,
}

/// A watch that is followed.
#[derive(Debug)]
pub struct Follow {
    of: Followed,
    state: Mutex<State>,
}

/// Age from which a watch is held to have stopped: two plans left out, and half an hour for the plan itself (judgement).
fn too_old(every_minutes: u64) -> TimeDelta {
    let minutes = i64::try_from(every_minutes).unwrap_or(1_440).min(1_440);
    TimeDelta::minutes(2 * minutes + 30)
}

impl Follow {
    /// Follows a watch; the newest whole plan is looked for.
    pub fn open(of: Followed) -> Self {
        let own = Self {
            of,
            state: Mutex::default(),
        };
        let plan = own.newer();
        own.change(|state| state.taken = plan);
        own.look_at_told();
        own
    }

    fn change<T>(&self, change: impl FnOnce(&mut State) -> T) -> T {
        change(&mut self.state.lock().unwrap_or_else(PoisonError::into_inner))
    }

    /// The files of the programme with the forecast of the plan in use.
    pub fn files(&self, own: &Files) -> Files {
        let taken = self.change(|state| state.taken.clone());
        taken.map_or_else(|| own.clone(), |plan| with_series(own, &plan))
    }

    /// Reads the last word that was told, when the record has changed.
    fn look_at_told(&self) {
        let meta = std::fs::metadata(newest::record(&self.of.folder)).ok();
        let stamp = meta.and_then(|meta| Some((meta.len(), meta.modified().ok()?)));
        if self.change(|state| state.told_stamp != stamp) {
            let told = newest::last_told(&self.of.folder);
            self.change(|state| (state.told, state.told_stamp) = (told, stamp));
        }
    }

    /// The newest plan that is whole and newer than the one in use; one that is not whole is looked at again when it changes.
    fn newer(&self) -> Option<KeptPlan> {
        let taken = self.plan_name().unwrap_or_default();
        let mut told = false;
        for name in newest::names(&self.of.folder) {
            if name <= taken {
                break;
            }
            let mark = newest::mark(&self.of.folder, &name);
            if self.change(|state| state.tried.contains(&mark)) {
                // One before it that was whole would have been taken then.
                break;
            }
            let read = newest::read(&self.of.folder, &name);
            self.change(|state| {
                state.tried.retain(|(known, _)| *known != name);
                state.tried.push(mark);
            });
            match read {
                Ok(plan) => return Some(plan),
                // The newest that is refused is the one to tell of.
                Err(fault) if !told => {
                    told = true;
                    self.refuse(&name, fault.to_string());
                }
                Err(_) => {}
            }
        }
        None
    }

    fn refuse(&self, name: &str, why: String) {
        self.change(|state| state.refused = Some((name.to_owned(), why)));
    }

    /// Whether what was read of the forecast is what the plan read of it.
    fn compare(&self, data: &Data, plan: &KeptPlan) {
        let own: Vec<&str> = data
            .programme
            .loaded
            .taken
            .iter()
            .map(|taken| taken.sha256.as_str())
            .collect();
        let other = |digest: &str| !digest.is_empty() && !own.contains(&digest);
        let ahead = plan.series.iter().any(|source| other(&source.sha256));
        self.change(|state| state.ahead = ahead);
    }

    /// The same for the plan in use.
    pub(super) fn compare_taken(&self, data: &Data) {
        if let Some(plan) = self.change(|state| state.taken.clone()) {
            self.compare(data, &plan);
        }
    }

    /// The name of the plan in use.
    pub fn plan_name(&self) -> Option<String> {
        self.change(|state| state.taken.as_ref().map(|plan| plan.name.clone()))
    }

    /// What every page says of the watch.
    pub fn notices(
        &self,
        now: DateTime<Utc>,
        zone: chrono_tz::Tz,
        language: Language,
        system: UnitSystem,
    ) -> Vec<Notice> {
        let state = self.change(|state| state.clone());
        let at = |time: DateTime<Utc>| on(time, &zone, language);
        let mut notices = Vec::new();
        if let Some(word) = &state.told {
            let told = match word.about {
                // Why there is none stands in the record alone.
                About::NoPlan => say!(language, "desk-watch-no-plan"),
                _ => tell::sentence(word, zone, system, language),
            };
            notices.push(Notice::plain(say!(
                language,
                "desk-watch-told",
                at = at(word.time),
                told = told
            )));
        }
        if let Some((name, why)) = &state.refused {
            notices.push(Notice {
                text: match &state.taken {
                    Some(plan) => say!(
                        language,
                        "desk-watch-refused",
                        name = name.as_str(),
                        at = at(plan.made),
                        hours = hours(now - plan.made)
                    ),
                    None => say!(language, "desk-watch-refused-first", name = name.as_str()),
                }
                .into(),
                detail: why.clone(),
            });
        }
        match &state.taken {
            None => notices.push(Notice::plain(say!(language, "desk-watch-none"))),
            Some(plan) => {
                if now - plan.made > too_old(self.of.every_minutes) {
                    let (at, hours) = (at(plan.made), hours(now - plan.made));
                    notices.push(Notice::plain(say!(
                        language,
                        "desk-watch-stopped",
                        at = at,
                        hours = hours
                    )));
                }
                if plan.stale {
                    notices.push(Notice::plain(say!(language, "watch-stale")));
                }
                if state.ahead {
                    notices.push(Notice::plain(say!(language, "desk-watch-ahead", at = at(plan.made))));
                }
            }
        }
        notices
    }
}

fn hours(age: TimeDelta) -> f64 {
    (age.num_minutes() as f64 / 60.0).round()
}

fn with_series(own: &Files, plan: &KeptPlan) -> Files {
    Files {
        series: plan.series.iter().map(|source| source.path.clone()).collect(),
        ..own.clone()
    }
}

impl Desk {
    /// Looks whether the watch has told something or made a newer plan, and takes that up. Returns whether it did.
    pub fn look_at_watch(&self) -> bool {
        let Some(follow) = &self.follow else { return false };
        follow.look_at_told();
        // A plan that is being worked out now is let be; the newer one is found at the next look.
        let Some(_turn) = self.turn() else { return false };
        let Some(plan) = follow.newer() else { return false };
        // Before the files are read: what changes after that is seen at a later look.
        let fresh = stamp(&self.options.files);
        match Data::read(&with_series(&self.options.files, &plan), self.now()) {
            Ok(data) => {
                let data = Arc::new(data);
                follow.compare(&data, &plan);
                let Some((planned, unread)) = self.work_out(&data) else {
                    follow.refuse(&plan.name, "nothing came of working it out".into());
                    return false;
                };
                self.take(data, planned, unread, fresh);
                follow.change(|state| {
                    state.refused = state.refused.take().filter(|(name, _)| *name > plan.name);
                    state.tried.retain(|(name, _)| *name > plan.name);
                    state.taken = Some(plan);
                });
                true
            }
            Err(faults) => {
                let first = faults.0.iter().find(|fault| fault.severity == Severity::Fatal);
                follow.refuse(&plan.name, first.map_or_else(String::new, ToString::to_string));
                false
            }
        }
    }
}
