//! The rows of a log as they travel: between file and server, and from a desk that was cut off. What makes a row one and the same
//! wherever it lies is its `uid`; numbers differ from log to log.

use sha2::{Digest, Sha256};

/// A row of the events.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct EventRow {
    /// What makes it known.
    pub uid: String,
    /// When it happened, as the log writes times.
    pub at: String,
    /// When it was noted.
    pub noted_at: String,
    /// Whom it is about.
    pub contact: String,
    /// What came of it.
    pub outcome: String,
    /// The note.
    pub note: String,
    /// Who noted it.
    pub by: String,
    /// Where it came from.
    pub source: String,
    /// Whether it counts as a contact.
    pub counts: bool,
}

/// A row of the calls that came in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CallRow {
    /// What makes it known.
    pub uid: String,
    /// When.
    pub at: String,
    /// When it was noted.
    pub noted_at: String,
    /// What it is about.
    pub about: String,
    /// Assembly or address.
    pub subject: String,
    /// Who called.
    pub caller: String,
    /// What the caller said.
    pub words: String,
    /// What was answered.
    pub answer: String,
    /// Whether the caller was told of the freeze.
    pub told: bool,
    /// Who sees to it.
    pub owner: String,
    /// By when the caller is called back.
    pub due: Option<String>,
    /// Who took the call.
    pub by: String,
    /// Where it came from.
    pub source: String,
    /// The `uid` of the event that an early version had kept in its place.
    pub from_event: Option<String>,
}

/// A row of what became of call-backs.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StepRow {
    /// What makes it known.
    pub uid: String,
    /// The `uid` of its call.
    pub call: String,
    /// When.
    pub at: String,
    /// What came of it.
    pub step: String,
    /// The note.
    pub note: String,
    /// Who noted it.
    pub by: String,
}

/// How far a reader of a log has come in each table: transaction and number of the last row; the transaction is 0 in a file.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Mark {
    /// Transaction.
    pub tx: i64,
    /// Number.
    pub id: i64,
}

/// Marks of the three tables.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Marks {
    /// Events.
    pub events: Mark,
    /// Calls.
    pub calls: Mark,
    /// Steps.
    pub steps: Mark,
}

/// Rows of the three tables.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Rows {
    /// Events.
    pub events: Vec<EventRow>,
    /// Calls.
    pub calls: Vec<CallRow>,
    /// Steps.
    pub steps: Vec<StepRow>,
}

/// How many rows of each table.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Counts {
    /// Events.
    pub events: usize,
    /// Calls.
    pub calls: usize,
    /// Steps.
    pub steps: usize,
}

impl Rows {
    /// How many there are.
    pub fn counts(&self) -> Counts {
        Counts {
            events: self.events.len(),
            calls: self.calls.len(),
            steps: self.steps.len(),
        }
    }

    /// Whether there are none.
    pub fn is_empty(&self) -> bool {
        self.events.is_empty() && self.calls.is_empty() && self.steps.is_empty()
    }

    /// In the order of their `uid`s, so that two logs can be compared.
    pub fn sort(&mut self) {
        self.events.sort_by(|a, b| a.uid.cmp(&b.uid));
        self.calls.sort_by(|a, b| a.uid.cmp(&b.uid));
        self.steps.sort_by(|a, b| a.uid.cmp(&b.uid));
    }

    /// Text that every kind can keep: a server's text has no NUL.
    pub fn clean(&mut self) {
        let clean = |text: &mut String| {
            if text.contains('\0') {
                *text = text.replace('\0', "\u{fffd}");
            }
        };
        for row in &mut self.events {
            clean(&mut row.note);
            clean(&mut row.contact);
        }
        for row in &mut self.calls {
            [
                &mut row.subject,
                &mut row.caller,
                &mut row.words,
                &mut row.answer,
                &mut row.owner,
            ]
            .into_iter()
            .for_each(clean);
        }
        for row in &mut self.steps {
            clean(&mut row.note);
        }
    }

    /// Takes these rows into a sum over rows that does not depend on their order.
    pub fn add_to(&self, sum: &mut Sum) {
        let flag = |is: bool| if is { "1" } else { "0" };
        for row in &self.events {
            sum.add(&[
                "event",
                &row.uid,
                &row.at,
                &row.noted_at,
                &row.contact,
                &row.outcome,
                &row.note,
                &row.by,
                &row.source,
                flag(row.counts),
            ]);
        }
        for row in &self.calls {
            sum.add(&[
                "call",
                &row.uid,
                &row.at,
                &row.noted_at,
                &row.about,
                &row.subject,
                &row.caller,
                &row.words,
                &row.answer,
                flag(row.told),
                &row.owner,
                row.due.as_deref().unwrap_or("-"),
                &row.by,
                &row.source,
                row.from_event.as_deref().unwrap_or("-"),
            ]);
        }
        for row in &self.steps {
            sum.add(&["step", &row.uid, &row.call, &row.at, &row.step, &row.note, &row.by]);
        }
    }
}

/// A digest of rows in whatever order: the sum of their SHA-256 digests.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Sum([u8; 32]);

impl Sum {
    fn add(&mut self, parts: &[&str]) {
        let mut hash = Sha256::new();
        for part in parts {
            hash.update((part.len() as u64).to_le_bytes());
            hash.update(part.as_bytes());
        }
        let mut carry = 0u16;
        for (sum, byte) in self.0.iter_mut().zip(hash.finalize()) {
            let both = u16::from(*sum) + u16::from(byte) + carry;
            *sum = both.to_le_bytes()[0];
            carry = both >> 8;
        }
    }

    /// Its first half in hexadecimal, for people to compare.
    pub fn shown(&self) -> String {
        self.0.iter().take(16).map(|byte| format!("{byte:02x}")).collect()
    }
}
