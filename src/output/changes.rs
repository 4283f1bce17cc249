//! `changes.csv`: what a plan changed against an earlier one.

use super::defuse::defuse;
use super::plan::unwritten;
use crate::faults::Fault;
use crate::outreach::replan::Change;
use crate::ranking::Words;
use chrono::{DateTime, SecondsFormat, Utc};

/// The file. No personal data.
///
/// # Errors
/// `BW-O02` when it cannot be written.
pub fn csv(changes: &[Change], words: &Words) -> Result<Vec<u8>, Fault> {
    const NAME: &str = "changes.csv";
    let failed = |error: csv::Error| unwritten(NAME, error);
    let time = |at: Option<DateTime<Utc>>| {
        at.map(|at| at.with_timezone(&words.zone).to_rfc3339_opts(SecondsFormat::Secs, true))
            .unwrap_or_default()
    };
    let number = |n: Option<usize>| n.map(|n| n.to_string()).unwrap_or_default();
    let usd = |usd: Option<f64>| usd.map(|usd| format!("{usd:.2}")).unwrap_or_default();
    let mut csv = csv::Writer::from_writer(Vec::new());
    csv.write_record([
        "assembly_id",
        "contact_id",
        "change",
        "why",
        "was_tier",
        "now_tier",
        "was_rank",
        "now_rank",
        "was_expected_loss_usd",
        "now_expected_loss_usd",
        "was_first_ice_early",
        "now_first_ice_early",
        "sentence",
    ])
    .map_err(failed)?;
    for change in changes {
        let cells = [
            change.assembly_id.clone(),
            change.contact_id.clone().unwrap_or_default(),
            change.what.word().to_owned(),
            change.why.words().to_owned(),
            change.was_tier.clone().unwrap_or_default(),
            change.now_tier.clone().unwrap_or_default(),
            number(change.was_rank),
            number(change.now_rank),
            usd(change.was_loss_usd),
            usd(change.now_loss_usd),
            time(change.was_first_ice),
            time(change.now_first_ice),
            change.sentence.clone(),
        ];
        csv.write_record(cells.iter().map(|cell| defuse(cell).into_owned()))
            .map_err(failed)?;
    }
    csv.into_inner().map_err(|error| unwritten(NAME, error.error()))
}
