//! What one row of the list says of its person.

use super::config::PeopleConfig;
use super::email;
use super::people::Role;
use super::phone::{self, Phone};
use crate::faults::{Fault, Faults, Severity};
use crate::inventory::{Assembly, Channel, Language, WinterUse};
use crate::text::{Part, Text};

/// What one row says of its person. Made anew from the row where it is needed: kept for a million rows it would take more than the list.
pub(super) struct Listing<'a> {
    pub index: usize,
    pub name: Option<Part<'a>>,
    pub role: Option<Role>,
    pub phones: Vec<Phone>,
    pub email: Option<Text>,
    pub account: Option<Part<'a>>,
    pub address: Option<Part<'a>>,
    pub language: Option<Language>,
    pub channels: Option<&'a [Channel]>,
    pub need: Option<&'a str>,
}

fn extra<'a>(assembly: &'a Assembly, column: &str) -> Option<Part<'a>> {
    if column.is_empty() {
        return None;
    }
    assembly
        .extra
        .iter()
        .find(|(header, _)| header.eq_ignore_ascii_case(column))
        .map(|(_, value)| Part::trimmed(value))
        .filter(|value| !value.as_str().is_empty())
}

/// Reads the contact cells of a row.
///
/// Faults, both warnings: `BW-A61` a number, `BW-A62` an e-mail address that cannot be used.
pub(super) fn listing<'a>(
    index: usize,
    assembly: &'a Assembly,
    config: &PeopleConfig,
    file: &str,
) -> (Listing<'a>, Faults) {
    let mut faults = Faults::new();
    let contact = &assembly.contact;
    let clean = |text: &'a Option<Text>| -> Option<Part<'a>> {
        let told = |text: &str| !text.is_empty() && !config.placeholders.iter().any(|p| p.eq_ignore_ascii_case(text));
        text.as_ref().map(Part::trimmed).filter(|part| told(part.as_str()))
    };
    let owner_name = extra(assembly, &config.owner_name_column);
    let owner_phone = extra(assembly, &config.owner_phone_column);
    let owner_email = extra(assembly, &config.owner_email_column);
    let has_owner = owner_phone.is_some() || owner_email.is_some();
    let listed_reachable = clean(&contact.phone).is_some() || clean(&contact.email).is_some();
    // Where nobody is, the owner is the one who can act; elsewhere the one on the spot is.
    let use_owner = has_owner && (assembly.winter_use == WinterUse::Vacant || !listed_reachable);
    let (name, phone_text, email_text) = if use_owner {
        (owner_name, owner_phone, owner_email)
    } else {
        (
            clean(&contact.contact_name),
            clean(&contact.phone),
            clean(&contact.email),
        )
    };
    let mut phones = Vec::new();
    if let Some(text) = phone_text {
        for outcome in phone::parse_all(text.as_str(), &config.default_area_code) {
            match outcome {
                Ok(mut phone) => {
                    if phone.raw == text.as_str() {
                        phone.raw = text.to_text();
                    }
                    if !phones.iter().any(|known: &Phone| known.key() == phone.key()) {
                        phones.push(phone);
                    }
                }
                Err((piece, why)) => faults.push(
                    Fault::new(
                        "BW-A61",
                        Severity::Warning,
                        format!("the telephone number cannot be used: {why}"),
                    )
                    .file(file)
                    .line(assembly.line)
                    .column("phone")
                    .value(&piece)
                    .expected("ten digits such as 202-555-0123, with an extension as `x12` if there is one")
                    .remedy("Correct the number; until then this person is reached by other channels, if any."),
                ),
            }
        }
    }
    let email = email_text.and_then(|text| match email::parse(text.as_str()) {
        Ok(address) if address == text.as_str() => Some(text.to_text()),
        Ok(address) => Some(address.into()),
        Err(why) => {
            faults.push(
                Fault::new(
                    "BW-A62",
                    Severity::Warning,
                    format!("the e-mail address cannot be used: {why}"),
                )
                .file(file)
                .line(assembly.line)
                .column("email")
                .value(text.as_str())
                .expected("an address such as name@example.com")
                .remedy("Correct the address; until then this person is reached by other channels, if any."),
            );
            None
        }
    });
    let listing = Listing {
        index,
        name,
        role: if use_owner {
            Some(Role::Owner)
        } else {
            extra(assembly, &config.role_column).and_then(|role| Role::parse(role.as_str()))
        },
        phones,
        email,
        account: clean(&contact.account_id),
        address: clean(&contact.site_address),
        language: contact.language,
        channels: contact.channels.as_deref(),
        need: extra(assembly, &config.need_column).map(Part::as_str),
    };
    (listing, faults)
}
