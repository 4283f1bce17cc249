//! `thaw_notices.csv`: who is asked to look for leaks once it thaws, when, and in which words.

use super::contacts::{distinct, in_all, languages, time};
use super::defuse::defuse;
use super::plan::unwritten;
use crate::faults::Fault;
use crate::inventory::Language;
use crate::outreach::about::{Facts, about};
use crate::outreach::line::Way;
use crate::outreach::messages::{About, Kind, Messages};
use crate::outreach::thaw::Notice;
use crate::outreach::words;
use std::io::Write;

/// Writes the file, one row a message. Personal throughout.
///
/// # Errors
/// `BW-O02` when it cannot be written, `BW-P71` when a message template fails.
pub fn write_csv(notices: &[Notice], facts: &Facts<'_>, messages: &Messages, out: &mut dyn Write) -> Result<(), Fault> {
    const NAME: &str = "thaw_notices.csv";
    let failed = |error: csv::Error| unwritten(NAME, error);
    let mut csv = csv::Writer::from_writer(out);
    csv.write_record([
        "contact_id",
        "channel",
        "send_at",
        "send_until",
        "thaw_from",
        "to",
        "name",
        "site_address",
        "language",
        "subject",
        "body",
        "assemblies",
        "also_for",
    ])
    .map_err(failed)?;
    for notice in notices {
        let line = &notice.line;
        let of = |language: Language| About {
            when: words::when(notice.rise, facts.words.zone, language),
            by: String::new(),
            ..about(line, facts, language)
        };
        let mut row = |language: &str, subject: String, body: String| {
            let cells = [
                line.contact_id.to_string(),
                line.channel.word().to_owned(),
                time(line.slot_start, facts),
                time(Some(notice.until), facts),
                time(Some(notice.rise), facts),
                line.address.to_string(),
                line.name.to_string(),
                distinct(line, facts, |person| &person.addresses).join("; "),
                language.to_owned(),
                subject,
                body,
                line.assemblies.join(";"),
                line.also_for.join(";"),
            ];
            csv.write_record(cells.iter().map(|cell| defuse(cell).into_owned()))
                .map_err(failed)
        };
        let languages = languages(line, facts);
        if line.channel == Way::Text {
            for language in languages {
                let body = messages.render(Kind::ThawText, language, &of(language))?;
                row(language.word(), String::new(), body)?;
            }
        } else {
            let write = |language: Language| messages.email(Kind::Thaw, language, &of(language));
            let (language, subject, body) = in_all(&languages, write)?;
            row(&language, subject, body)?;
        }
    }
    csv.flush().map_err(|error| unwritten(NAME, error))
}
