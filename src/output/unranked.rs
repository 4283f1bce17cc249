//! `unranked.csv`: rows that cannot be modelled, each with the reason and the person to tell. Not knowing how cold an assembly can take is
//! no reason to leave its people unwarned.

use super::defuse::defuse;
use super::plan::unwritten;
use crate::faults::Fault;
use crate::inventory::{Channel, Unranked};
use crate::outreach::people::Person;
use crate::outreach::phone::{self, Phone};
use crate::text::Text;
use std::collections::HashMap;

/// Columns of the file.
pub const COLUMNS: [&str; 16] = [
    "assembly_id",
    "line",
    "reason",
    "do",
    "contact_id",
    "contact_name",
    "phone",
    "email",
    "site_address",
    "language",
    "critical",
    "device_type",
    "nominal_size",
    "service",
    "placement",
    "account_id",
];

/// What is to be done about a row.
fn what_to_do(row: &Unranked, phones: &[Phone], known: Option<&str>) -> &'static str {
    let contact = &row.contact;
    match &contact.channels {
        _ if contact.channels_unread.is_some() => "somebody decides: what this person allows is not understood",
        Some(channels) if channels.is_empty() => "somebody decides: asked not to be contacted",
        _ if known.is_some() => "tell with the call of this contact",
        Some(channels) if !channels.contains(&Channel::Call) => "write: no calls are allowed",
        _ if !phones.is_empty() => "call",
        _ if contact.email.is_some() => "write by e-mail",
        _ => "letter or door hanger",
    }
}

/// The file. `contact_id` is that of a person at risk with the same number, who need not be called twice.
///
/// # Errors
/// `BW-O02` when it cannot be written.
pub fn csv(rows: &[Unranked], people: &[Person], area_code: &str) -> Result<Vec<u8>, Fault> {
    const NAME: &str = "unranked.csv";
    let failed = |error: csv::Error| unwritten(NAME, error);
    let by_phone: HashMap<String, &str> = people
        .iter()
        .flat_map(|person| {
            person
                .phones
                .iter()
                .map(|phone| (phone.key(), person.contact_id.as_str()))
        })
        .collect();
    let mut csv = csv::Writer::from_writer(Vec::new());
    csv.write_record(COLUMNS).map_err(failed)?;
    for row in rows {
        let contact = &row.contact;
        let text = |text: &Option<Text>| text.as_deref().unwrap_or_default().to_owned();
        let phones: Vec<Phone> = phone::parse_all(contact.phone.as_deref().unwrap_or_default(), area_code)
            .into_iter()
            .flatten()
            .collect();
        let known = phones.iter().find_map(|phone| by_phone.get(&phone.key()).copied());
        let numbers: Vec<String> = phones.iter().map(Phone::display).collect();
        let cells = [
            row.assembly_id.clone(),
            row.line.to_string(),
            row.why.clone(),
            what_to_do(row, &phones, known).into(),
            known.unwrap_or_default().into(),
            text(&contact.contact_name),
            if numbers.is_empty() {
                text(&contact.phone)
            } else {
                numbers.join("; ")
            },
            text(&contact.email),
            text(&contact.site_address),
            contact
                .language
                .map(|language| language.word().to_owned())
                .unwrap_or_default(),
            text(&row.critical),
            row.device_type.clone(),
            row.nominal_size.clone(),
            row.service.clone(),
            row.placement.clone(),
            text(&contact.account_id),
        ];
        csv.write_record(cells.iter().map(|cell| defuse(cell).into_owned()))
            .map_err(failed)?;
    }
    csv.into_inner().map_err(|error| unwritten(NAME, error.error()))
}
