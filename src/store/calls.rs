//! Calls that come in: who called about what, what was answered, who owes a call back by when.
//!
//! A call that comes in is no outcome of our own outreach: it says nothing about whether the person knows of the freeze, unless the
//! rep says that she told it. A promise to call back is open until it is kept; an attempt that nobody answers does not close it.

use super::events::{InsertError, MOST_NOTE, NewEvent, fits, random_uid, refused};
use super::open::{Log, stamp};
use crate::faults::Fault;
use chrono::{DateTime, Utc};
use rusqlite::{OptionalExtension, Row, Transaction, TransactionBehavior, params};
use serde::Serialize;

/// Call-backs of version 1 that were due longer ago were no longer shown, days.
pub(super) const LOOK_BACK_DAYS: i64 = 21;
/// What the identifier of a person in a plan begins with, before that of the first assembly.
pub(crate) const CONTACT_PREFIX: &str = "C-";
/// Longest text of a caller's number or name, an address, an owner, characters.
const MOST_SHORT: usize = 200;

/// What a call is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum About {
    /// An assembly of the list; the subject is its identifier.
    Assembly,
    /// A place that is on no list; the subject is what the caller said.
    Address,
    /// Neither.
    Neither,
}

impl About {
    pub(super) fn word(self) -> &'static str {
        match self {
            About::Assembly => "assembly",
            About::Address => "address",
            About::Neither => "neither",
        }
    }

    pub(super) fn parse(word: &str) -> Option<Self> {
        [About::Assembly, About::Address, About::Neither]
            .into_iter()
            .find(|each| each.word() == word)
    }
}

/// A call to keep.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NewCall {
    /// When.
    pub at: DateTime<Utc>,
    /// What it is about.
    pub about: About,
    /// Identifier of the assembly, or the address; empty for neither.
    pub subject: String,
    /// Who called, as the caller said; may be empty.
    pub caller: String,
    /// What the caller said; may be empty.
    pub words: String,
    /// What was answered; may be empty.
    pub answer: String,
    /// Whether the caller was told about the freeze: only then does the call count as a contact.
    pub told: bool,
    /// Who sees to it.
    pub owner: String,
    /// By when the caller is called back, if that was promised.
    pub due: Option<DateTime<Utc>>,
    /// Who took the call.
    pub by: String,
    /// Where it came from: `desk`, `command`.
    pub source: &'static str,
    /// What makes a second arrival of the same call known; random when `None`.
    pub uid: Option<String>,
}

/// A kept call.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Call {
    /// Number, from 1, rising.
    pub id: i64,
    /// When.
    pub at: DateTime<Utc>,
    /// What it is about.
    pub about: About,
    /// Identifier of the assembly, or the address.
    pub subject: String,
    /// Who called.
    pub caller: String,
    /// What the caller said.
    pub words: String,
    /// What was answered.
    pub answer: String,
    /// Whether the caller was told about the freeze.
    pub told: bool,
    /// Who sees to it.
    pub owner: String,
    /// By when the caller is called back.
    pub due: Option<DateTime<Utc>>,
    /// Who took the call.
    pub by: String,
    /// Where it came from.
    pub source: String,
    /// Attempts to call back that nobody answered.
    pub tried: u32,
    /// How the call-back ended, `kept` or `lapsed`; `None` while it is open.
    pub ended: Option<String>,
}

/// What became of a promised call-back.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Step {
    /// The caller was called back and spoken to.
    Kept,
    /// Nobody answered; the promise stands.
    Tried,
}

/// Which calls to list.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct CallFilter {
    /// Only about this assembly or address.
    pub subject: Option<String>,
    /// Only at or after this time.
    pub since: Option<DateTime<Utc>>,
    /// Only those with a call-back that is still owed.
    pub open: bool,
    /// At most the last so many.
    pub last: Option<u32>,
}

impl NewCall {
    /// Whether the call can be kept.
    ///
    /// # Errors
    /// `BW-L16` what it is about, `BW-L11` a name, `BW-L12` a text that is too long, `BW-L17` a call-back without an owner.
    pub fn check(&self) -> Result<(), Fault> {
        let subject_fits = match self.about {
            About::Neither => self.subject.trim().is_empty(),
            About::Assembly | About::Address => fits(&self.subject),
        };
        if !subject_fits {
            let expected = format!("an assembly's identifier or an address, 1 to {MOST_SHORT} characters, or neither");
            return refused(
                "BW-L16",
                "about",
                &self.subject,
                "what the call is about cannot be read",
                expected,
            );
        }
        if !fits(&self.by) {
            let expected = format!("the name of whoever took the call, 1 to {MOST_SHORT} characters");
            return refused("BW-L11", "by", &self.by, "nobody is named", expected);
        }
        for (column, text, most) in [
            ("caller", &self.caller, MOST_SHORT),
            ("owner", &self.owner, MOST_SHORT),
            ("words", &self.words, MOST_NOTE),
            ("answer", &self.answer, MOST_NOTE),
        ] {
            if text.chars().count() > most {
                return refused(
                    "BW-L12",
                    column,
                    text,
                    "the text is too long",
                    format!("at most {most} characters"),
                );
            }
        }
        if self.due.is_some() && self.owner.trim().is_empty() {
            let expected = "the name of whoever calls back".to_owned();
            return refused("BW-L17", "owner", &self.owner, "a call-back without an owner", expected);
        }
        Ok(())
    }
}

impl Call {
    fn from_row(row: &Row<'_>) -> rusqlite::Result<Call> {
        let time = super::events::time_of;
        let about: String = row.get("about")?;
        let due: Option<String> = row.get("due")?;
        Ok(Call {
            id: row.get("id")?,
            at: time(&row.get::<_, String>("at")?)?,
            about: About::parse(&about).ok_or_else(|| super::events::unreadable(format!("about {about}")))?,
            subject: row.get("subject")?,
            caller: row.get("caller")?,
            words: row.get("words")?,
            answer: row.get("answer")?,
            told: row.get::<_, i64>("told")? != 0,
            owner: row.get("owner")?,
            due: due.map(|due| time(&due)).transpose()?,
            by: row.get("by")?,
            source: row.get("source")?,
            tried: row.get("tried")?,
            ended: row.get("ended")?,
        })
    }
}

impl Log {
    /// Keeps a call and returns its number, or 0 when it was known. It is on the disk when this returns. A caller who was told about the
    /// freeze is noted as reached in the same step.
    ///
    /// # Errors
    /// As [`NewCall::check`], or when the log cannot be written.
    pub fn record(&mut self, call: &NewCall) -> Result<i64, Fault> {
        call.check()?;
        self.stands()?;
        let done = self.insert_call(call);
        done.map_err(|error| self.insert_fault(error))
    }

    fn insert_call(&mut self, call: &NewCall) -> Result<i64, InsertError> {
        let uid = call.uid.clone().map_or_else(random_uid, Ok)?;
        let transaction = self.db.transaction_with_behavior(TransactionBehavior::Immediate)?;
        let noted_at = stamp(Utc::now());
        let changed = transaction.execute(
            "INSERT OR IGNORE INTO calls (uid, at, noted_at, about, subject, caller, words, answer, told, owner, due, by, source) \
             VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13)",
            params![
                uid,
                stamp(call.at),
                noted_at,
                call.about.word(),
                call.subject.trim(),
                call.caller.trim(),
                call.words.trim(),
                call.answer.trim(),
                i64::from(call.told),
                call.owner.trim(),
                call.due.map(stamp),
                call.by.trim(),
                call.source
            ],
        )?;
        let id = if changed > 0 {
            transaction.last_insert_rowid()
        } else {
            0
        };
        if changed > 0 && call.told && call.about == About::Assembly {
            told(&transaction, call, &uid, id, &noted_at)?;
        }
        transaction.commit()?;
        Ok(id)
    }

    /// Notes what became of a call-back.
    ///
    /// # Errors
    /// `BW-L18` when there is no such call, `BW-L11` without a name, or when the log cannot be written.
    pub fn step(&mut self, call: i64, step: Step, note: &str, by: &str, uid: Option<String>) -> Result<(), Fault> {
        if !fits(by) {
            let expected = format!("the name of whoever called back, 1 to {MOST_SHORT} characters");
            return refused("BW-L11", "by", by, "nobody is named", expected);
        }
        self.stands()?;
        let done = self.insert_step(call, step, note, by, uid);
        if done.map_err(|error| self.insert_fault(error))? {
            return Ok(());
        }
        let expected = "the number of a call that the list of calls shows".to_owned();
        refused("BW-L18", "call", &call.to_string(), "there is no such call", expected)
    }

    fn insert_step(
        &mut self,
        call: i64,
        step: Step,
        note: &str,
        by: &str,
        uid: Option<String>,
    ) -> Result<bool, InsertError> {
        let uid = uid.map_or_else(random_uid, Ok)?;
        let transaction = self.db.transaction_with_behavior(TransactionBehavior::Immediate)?;
        let known: Option<i64> = transaction
            .query_row("SELECT id FROM calls WHERE id = ?1", [call], |row| row.get(0))
            .optional()?;
        if known.is_none() {
            return Ok(false);
        }
        let word = match step {
            Step::Kept => "kept",
            Step::Tried => "tried",
        };
        let note: String = note.trim().chars().take(MOST_NOTE).collect();
        transaction.execute(
            "INSERT OR IGNORE INTO call_steps (uid, call, at, step, note, by) VALUES (?1, ?2, ?3, ?4, ?5, ?6)",
            params![uid, call, stamp(Utc::now()), word, note, by.trim()],
        )?;
        transaction.commit()?;
        Ok(true)
    }

    /// Lists calls, oldest first; call-backs that are owed by the time they are due, earliest first. Rows that cannot be read are left
    /// and told by [`Log::bad_rows`].
    ///
    /// # Errors
    /// A fault when the log cannot be read.
    pub fn calls(&self, filter: &CallFilter) -> Result<Vec<Call>, Fault> {
        if self.version < 2 {
            return Ok(Vec::new());
        }
        let run = || -> rusqlite::Result<Vec<Call>> {
            let mut statement = self.db.prepare_cached(
                "SELECT * FROM (SELECT calls.*, \
                 (SELECT count(*) FROM call_steps WHERE call = calls.id AND step = 'tried') AS tried, \
                 (SELECT step FROM call_steps WHERE call = calls.id AND step <> 'tried' ORDER BY id LIMIT 1) AS ended \
                 FROM calls WHERE (?1 IS NULL OR subject = ?1) AND at >= ?2 AND (?3 = 0 OR due IS NOT NULL)) \
                 WHERE ?3 = 0 OR ended IS NULL ORDER BY id DESC LIMIT ?4",
            )?;
            let since = filter.since.map(stamp).unwrap_or_default();
            let last = filter.last.map_or(-1, i64::from);
            let mut rows = statement.query(params![filter.subject, since, filter.open, last])?;
            let mut calls = Vec::new();
            while let Some(row) = rows.next()? {
                match Call::from_row(row) {
                    Ok(call) => calls.push(call),
                    Err(error) => self.skip("calls", row, &error)?,
                }
            }
            calls.reverse();
            Ok(calls)
        };
        let mut calls = run().map_err(|error| self.fault(&error))?;
        if filter.open {
            calls.sort_by_key(|call| (call.due, call.id));
        }
        Ok(calls)
    }
}

/// Notes the caller as reached, by a uid of the call's own.
fn told(transaction: &Transaction<'_>, call: &NewCall, uid: &str, id: i64, noted_at: &str) -> rusqlite::Result<()> {
    transaction.execute(
        "INSERT OR IGNORE INTO events (uid, at, noted_at, contact, outcome, note, by, source) \
         VALUES (?1, ?2, ?3, ?4, 'reached', ?5, ?6, 'call')",
        params![
            NewEvent::uid_of(&["told", uid]),
            stamp(call.at),
            noted_at,
            call.subject.trim(),
            format!("told about the freeze in call {id}"),
            call.by.trim()
        ],
    )?;
    // The queue knows people by the identifier of the plan.
    transaction.execute(
        "UPDATE queue SET open = 0 WHERE contact = ?1",
        [format!("{CONTACT_PREFIX}{}", call.subject.trim())],
    )?;
    Ok(())
}
