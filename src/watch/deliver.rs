//! From what a run found to people who know it: decided, remembered, told, remembered again.

use super::config::WatchConfig;
use super::decide::{Seen, State, Way, Word};
use super::keep::Kept;
use super::mail::{Letter, Post};
use super::tell;
use crate::faults::Faults;
use chrono::{DateTime, Utc};
use chrono_tz::Tz;
use reqwest::Url;
use std::collections::BTreeSet;

/// Answers of the mail server that are waited for in vain before it is left alone until the next run (judgement).
const ASKED_IN_VAIN: usize = 2;

/// How words leave this computer.
#[derive(Default)]
pub struct Ways {
    /// Address of the webhook and the secret of its signature.
    pub webhook: Option<(Url, Vec<u8>)>,
    /// The mail.
    pub post: Option<Post>,
}

impl Ways {
    /// Those that there are; the record is always one.
    pub fn named(&self) -> BTreeSet<Way> {
        let mut ways = BTreeSet::from([Way::File]);
        ways.extend(self.webhook.is_some().then_some(Way::Webhook));
        ways.extend(self.post.is_some().then_some(Way::Mail));
        ways
    }
}

/// A word in all its forms.
pub struct Said {
    /// The sentence.
    pub sentence: String,
    /// Subject of a mail.
    pub subject: String,
    /// Text of a mail.
    pub letter: String,
}

/// What does not change from run to run.
pub struct Rules<'a> {
    /// Rules of the config.
    pub rules: &'a WatchConfig,
    /// Zone of the quiet hours.
    pub zone: Tz,
    /// Ways out.
    pub ways: &'a Ways,
    /// Puts a word into people's language.
    pub say: &'a dyn Fn(&Word) -> Said,
    /// Shows a fresh word and its document at the terminal.
    pub show: &'a dyn Fn(&str, &str),
}

/// Takes what was found and tells what is due. Returns how much was told and what did not get through.
///
/// # Errors
/// The state cannot be written (`BW-O02` and the like), with what went wrong before. When that happens at the begin nobody was told
/// and the next run decides the same again.
pub fn turn(
    state: &mut State,
    kept: &Kept,
    seen: &Seen,
    now: DateTime<Utc>,
    by: &Rules,
) -> Result<(usize, Faults), Faults> {
    state.take(seen, now, by.zone, &by.ways.named(), by.rules);
    // Before anybody is told.
    kept.remember(state).map_err(|fault| Faults(vec![fault]))?;
    let mut run = Run {
        kept,
        by,
        told: 0,
        faults: Faults::new(),
        passed_over: BTreeSet::new(),
        unanswered: 0,
    };
    match run.outbox(state, now) {
        Ok(()) => Ok((run.told, run.faults)),
        Err(fault) => {
            run.faults.push(fault);
            Err(run.faults)
        }
    }
}

/// One run through the outbox.
struct Run<'a> {
    kept: &'a Kept,
    by: &'a Rules<'a>,
    told: usize,
    faults: Faults,
    /// Addresses that were refused in this run: asking for each word again would not change the server's mind.
    passed_over: BTreeSet<String>,
    /// How often the mail server did not answer.
    unanswered: usize,
}

impl Run<'_> {
    /// One word and one way at a time, remembered after each.
    fn outbox(&mut self, state: &mut State, now: DateTime<Utc>) -> Result<(), crate::faults::Fault> {
        for at in 0..state.outbox.len() {
            let Some(word) = state.outbox.get(at).cloned() else {
                break;
            };
            if word.after.is_some_and(|after| now < after) {
                continue;
            }
            let said = (self.by.say)(&word);
            let document = tell::document(&word, &said.sentence);
            for way in &word.to {
                let done = match way {
                    Way::File => match self.kept.record(&word, &said.sentence) {
                        // A word that stands in the record was shown when it was put there.
                        Ok(fresh) => {
                            if fresh {
                                (self.by.show)(&said.sentence, &document);
                            }
                            true
                        }
                        Err(fault) => {
                            self.faults.push(fault);
                            false
                        }
                    },
                    // A way that the config no longer names has nobody to tell.
                    Way::Webhook => match &self.by.ways.webhook {
                        Some((url, secret)) => match tell::send(url, secret, &document) {
                            Ok(()) => true,
                            Err(fault) => {
                                self.faults.push(fault);
                                false
                            }
                        },
                        None => true,
                    },
                    Way::Mail => self.mail(state, at, &word, &said, &document)?,
                };
                if done {
                    self.told += 1;
                    if let Some(word) = state.outbox.get_mut(at) {
                        word.to.remove(way);
                    }
                    self.kept.remember(state)?;
                }
            }
        }
        state.outbox.retain(|word| !word.to.is_empty());
        self.kept.remember(state)
    }

    /// Mails a word to those who do not have it yet. Whether all have it now.
    fn mail(
        &mut self,
        state: &mut State,
        at: usize,
        word: &Word,
        said: &Said,
        document: &str,
    ) -> Result<bool, crate::faults::Fault> {
        let Some(post) = &self.by.ways.post else {
            return Ok(true);
        };
        let letter = Letter {
            subject: said.subject.clone(),
            text: said.letter.clone(),
            document: document.to_owned(),
        };
        let mut all = true;
        for address in post.addresses() {
            if word.mailed.contains(&address) {
                continue;
            }
            if self.unanswered >= ASKED_IN_VAIN || self.passed_over.contains(&address) {
                all = false;
                continue;
            }
            match post.send(word, &address, &letter) {
                Ok(()) => {
                    if let Some(word) = state.outbox.get_mut(at) {
                        word.mailed.insert(address);
                    }
                    self.kept.remember(state)?;
                }
                Err(refused) => {
                    all = false;
                    self.unanswered += usize::from(!refused.answered);
                    self.faults.push(refused.fault);
                    self.passed_over.insert(address);
                }
            }
        }
        Ok(all)
    }
}
