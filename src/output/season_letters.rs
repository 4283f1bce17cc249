//! Letters before the season, in two languages, for a mail merge: names and addresses stand here and nowhere else.

use super::defuse::defuse;
use super::season_folder::{Line, Report, measure_words, text};
use crate::config::Config;
use crate::language::Language;
use crate::say;
use crate::text::Text;

/// One letter: subject and body.
fn letter(line: &Line<'_>, config: &Config, language: Language) -> (String, String) {
    let a = line.assembly;
    let greeting = match &a.contact.contact_name {
        Some(name) => say!(
            language,
            "season-letter-greeting",
            name = crate::outreach::words::spoken_name(name)
        ),
        None => say!(language, "season-letter-greeting-nobody"),
    };
    let address = a.contact.site_address.as_deref().unwrap_or(&a.assembly_id);
    let body = say!(
        language,
        "season-letter-body",
        address = address,
        what = crate::outreach::words::what(a, language),
        measure = measure_words(line.kind, language),
        does = say!(language, &format!("season-does-{}", line.kind.word())),
    );
    let phone = config.utility.phone.trim();
    let answer = if phone.is_empty() {
        say!(language, "season-letter-answer-nophone", id = a.assembly_id.as_str())
    } else {
        say!(
            language,
            "season-letter-answer",
            phone = phone,
            id = a.assembly_id.as_str()
        )
    };
    let end = say!(language, "season-letter-end");
    let aid = language.pick(crate::PLANNING_AID, crate::drip::PLANNING_AID_ES);
    let name = &config.utility.name;
    (
        say!(language, "season-letter-subject"),
        format!("{greeting}\n\n{body}\n\n{answer}\n\n{end}\n\n{name}\n\n{aid}"),
    )
}

/// `personal/letters.csv`: for the mail merge, each letter in both languages.
pub fn csv(report: &Report<'_>) -> String {
    let mut sheet = csv::Writer::from_writer(Vec::new());
    let _ = sheet.write_record([
        "rank",
        "status",
        "assembly_id",
        "account_id",
        "contact_name",
        "site_address",
        "email",
        "language",
        "note",
        "subject_en",
        "letter_en",
        "subject_es",
        "letter_es",
    ]);
    for line in report.lines() {
        let contact = &line.assembly.contact;
        let out = contact.channels.as_ref().is_some_and(Vec::is_empty);
        let told = |language| {
            if out {
                (String::new(), String::new())
            } else {
                letter(&line, report.config, language)
            }
        };
        let (english, spanish) = (told(Language::English), told(Language::Spanish));
        let of = |value: &Option<Text>| value.as_deref().unwrap_or_default().to_owned();
        let cells = [
            line.rank.to_string(),
            line.status.to_owned(),
            line.assembly.assembly_id.to_string(),
            of(&contact.account_id),
            of(&contact.contact_name),
            of(&contact.site_address),
            of(&contact.email),
            contact.language.unwrap_or(Language::English).word().to_owned(),
            if out {
                "asked not to be contacted: a person decides".to_owned()
            } else {
                String::new()
            },
            english.0,
            english.1,
            spanish.0,
            spanish.1,
        ];
        let _ = sheet.write_record(cells.iter().map(|cell| defuse(cell).into_owned()));
    }
    text(sheet)
}
