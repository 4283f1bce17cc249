//! Reports of how an assembly stands, as the log keeps them: calls about it that came in, with the word of what was seen in front.
//!
//! A report is no outcome of our own outreach: nobody is done with because somebody else saw ice. A call is only ever added, is carried between
//! logs and kept by both kinds, so that a report needs no table of its own.

use super::calls::{About, Call, NewCall};
use crate::freeze::{Report, Reports, Seen};

/// Where a report comes from, as the log names it.
pub const SOURCE: &str = "report";
/// Between the word and the note.
const PART: &str = ": ";

/// A report to keep.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NewReport {
    /// Identifier of the assembly.
    pub assembly_id: String,
    /// What was seen and when.
    pub report: Report,
    /// Who saw it; may be empty.
    pub seen_by: String,
    /// A note, or empty.
    pub note: String,
    /// Who notes it.
    pub by: String,
    /// What makes a second arrival known; random when `None`.
    pub uid: Option<String>,
}

impl NewReport {
    /// The report as a call that came in.
    pub fn call(&self) -> NewCall {
        let word = self.report.seen.word();
        let note = self.note.trim();
        NewCall {
            at: self.report.at,
            about: About::Assembly,
            subject: self.assembly_id.clone(),
            caller: self.seen_by.clone(),
            words: if note.is_empty() {
                word.to_owned()
            } else {
                format!("{word}{PART}{note}")
            },
            answer: String::new(),
            told: false,
            owner: String::new(),
            due: None,
            by: self.by.clone(),
            source: SOURCE,
            uid: self.uid.clone(),
        }
    }
}

/// The report that a call is, with what was noted beside it; `None` of any other call.
pub fn of_call(call: &Call) -> Option<(Report, &str)> {
    if call.source != SOURCE || call.about != About::Assembly {
        return None;
    }
    let (word, note) = call.words.split_once(PART).unwrap_or((&call.words, ""));
    let seen = Seen::parse(word)?;
    Some((Report { at: call.at, seen }, note))
}

/// The reports among calls, by assembly.
pub fn of_calls(calls: &[Call]) -> Reports {
    let mut reports = Reports::default();
    for call in calls {
        if let Some((report, _)) = of_call(call) {
            reports.add(&call.subject, report);
        }
    }
    reports
}
