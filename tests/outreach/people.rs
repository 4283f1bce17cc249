//! Numbers, addresses, and merging assemblies to the persons to reach.
#![allow(clippy::unwrap_used, clippy::panic)]

use crate::made;
use brimwater::inventory::{Assembly, Channel, CustomerClass, Language, WinterUse};
use brimwater::outreach::config::PeopleConfig;
use brimwater::outreach::email;
use brimwater::outreach::people::{Consent, Person, Role, merge};
use brimwater::outreach::phone::{self, PhoneFault};
use pathfinding::undirected::connected_components::components;
use proptest::prelude::*;
use std::collections::BTreeSet;

#[test]
fn numbers_read_as_an_independent_library_reads_them() {
    // X-Val: phonenumbers 9.0.43 (PyPI), tests/data/outreach/make_words.py.
    for row in csv::Reader::from_path("tests/data/outreach/phones.csv")
        .unwrap()
        .records()
    {
        let row = row.unwrap();
        match phone::parse(&row[0], "") {
            Ok(phone) => {
                assert_eq!(phone.e164, &row[1], "{}", &row[0]);
                assert_eq!(phone.extension.as_deref().unwrap_or(""), &row[2], "{}", &row[0]);
                assert_eq!(phone.raw, row[0].trim());
            }
            Err(why) => assert_eq!("", &row[1], "{}: {why}", &row[0]),
        }
    }
}

#[test]
fn numbers_that_cannot_be_are_told_apart_by_what_is_wrong() {
    // Form NXX-NXX-XXXX with N from 2 to 9 and N11 kept for services. X-Val: North American Numbering Plan, from memory.
    for (text, expected) in [
        ("202-KL5-0123", PhoneFault::Letters),
        ("call the office", PhoneFault::Letters),
        ("202-555-012", PhoneFault::TooShort),
        ("555-0123", PhoneFault::NoAreaCode),
        ("202-555-01234", PhoneFault::TooLong),
        ("111-555-0123", PhoneFault::AreaCode),
        ("411-555-0123", PhoneFault::AreaCode),
        ("202-155-0123", PhoneFault::Exchange),
        ("202-911-0123", PhoneFault::Exchange),
        ("999-999-9999", PhoneFault::Filler),
        ("1234567890", PhoneFault::Filler),
        ("202*555*0123", PhoneFault::Sign),
        ("", PhoneFault::TooShort),
        ("+4412", PhoneFault::TooShort),
        ("+4412345678901234567", PhoneFault::TooLong),
    ] {
        assert_eq!(phone::parse(text, "").unwrap_err(), expected, "{text:?}");
    }
    assert_eq!(phone::parse("555-0123", "202").unwrap().e164, "+12025550123");
}

#[test]
fn a_cell_with_two_numbers_gives_both() {
    let found = phone::parse_all("202-555-0123 / 202-555-0124 or 202-555-O125", "");
    let good: Vec<&str> = found.iter().flatten().map(|phone| phone.e164.as_str()).collect();
    assert_eq!(good, ["+12025550123", "+12025550124"]);
    assert_eq!(found[2].as_ref().unwrap_err().1, PhoneFault::Letters);
    // A slash inside one number parts nothing.
    assert_eq!(phone::parse_all("202/555-0123", "").len(), 1);
}

#[test]
fn addresses_are_checked_by_the_html_rule_with_a_dot_in_the_domain() {
    // X-Val: WHATWG HTML, valid e-mail address (ABNF), from memory; RFC 5321 4.5.3.1 for the lengths.
    for good in [
        "ana@example.com",
        " Ana.B+water@mail.example.org ",
        "o'neil@example.com",
        "mailto:a@example.com",
    ] {
        assert!(email::parse(good).is_ok(), "{good}");
    }
    let long = format!("{}@example.com", "a".repeat(65));
    for bad in [
        "",
        "ana",
        "ana@",
        "@example.com",
        "a b@example.com",
        "a@b@example.com",
        "ana@example",
        "ana@-example.com",
        "ana@example..com",
        "ana@.com",
        "a..b@example.com",
        "ana@example.c0m,",
        "ana@10.0.0.1",
        long.as_str(),
    ] {
        assert!(email::parse(bad).is_err(), "{bad}");
    }
    assert_eq!(email::parse("Ana@Example.COM").unwrap(), "ana@example.com");
}

/// An assembly with its contact cells.
fn row(id: &str, name: &str, phone: &str, email: &str, account: &str) -> Assembly {
    let some = |text: &str| (!text.is_empty()).then(|| text.into());
    let mut assembly = made::breaker(id);
    assembly.contact.contact_name = some(name);
    assembly.contact.phone = some(phone);
    assembly.contact.email = some(email);
    assembly.contact.account_id = some(account);
    assembly.contact.site_address = Some(format!("{} Mill Lane", id.bytes().map(u32::from).sum::<u32>()).into());
    assembly
}

fn merged(rows: &[Assembly]) -> Vec<Person> {
    merge(rows, &PeopleConfig::default(), "list.csv").0
}

/// Identifiers of each person's assemblies.
fn groups(rows: &[Assembly], people: &[Person]) -> BTreeSet<Vec<String>> {
    people
        .iter()
        .map(|person| {
            person
                .assemblies
                .iter()
                .map(|at| rows[*at].assembly_id.to_string())
                .collect()
        })
        .collect()
}

#[test]
fn one_number_is_one_call_however_it_is_written() {
    let rows = [
        row("A1", "Marta Soto", "(202) 555-0123", "", ""),
        row("A2", "M. Soto", "+1 202.555.0123", "", ""),
        row("A3", "Lee Park", "202-555-0199", "", ""),
    ];
    let people = merged(&rows);
    assert_eq!(people.len(), 2);
    assert_eq!(people[0].contact_id, "C-A1");
    assert_eq!(people[0].assemblies, [0, 1]);
}

#[test]
fn an_extension_is_another_line() {
    let rows = [
        row("A1", "", "202-555-0123 x1", "", ""),
        row("A2", "", "202-555-0123 x2", "", ""),
    ];
    let people = merged(&rows);
    assert_eq!(people.len(), 2);
    assert!(
        people.iter().all(|person| !person.channels.contains(&Channel::Text)),
        "no text to an extension"
    );
}

#[test]
fn a_shared_account_or_mailbox_joins_only_what_does_not_contradict_itself() {
    let joined = |rows: &[Assembly]| merged(rows).len() == 1;
    // The same account with a blank contact, or the same name with a second number: one person.
    assert!(joined(&[
        row("A1", "Marta Soto", "202-555-0123", "", "77"),
        row("A2", "", "", "", "77")
    ]));
    assert!(joined(&[
        row("A1", "Marta Soto", "202-555-0123", "", "77"),
        row("A2", "Soto, Marta", "202-555-0150", "", "77")
    ]));
    assert!(joined(&[
        row("A1", "Marta Soto", "", "m@example.com", ""),
        row("A2", "M Soto", "202-555-0150", "M@EXAMPLE.com", "")
    ]));
    // Two names on one account are two persons, and so are two numbers without names.
    assert!(!joined(&[
        row("A1", "Marta Soto", "202-555-0123", "", "77"),
        row("A2", "Lee Park", "202-555-0150", "", "77")
    ]));
    assert!(!joined(&[
        row("A1", "", "202-555-0123", "", "77"),
        row("A2", "", "202-555-0150", "", "77")
    ]));
}

#[test]
fn a_blank_row_does_not_chain_two_persons_together() {
    let rows = [
        row("A1", "Marta Soto", "202-555-0123", "office@example.com", ""),
        row("A2", "", "", "office@example.com", ""),
        row("A3", "Lee Park", "202-555-0150", "office@example.com", ""),
    ];
    let people = merged(&rows);
    assert_eq!(people.len(), 2, "{people:?}");
    assert!(people.iter().all(|person| person.names.len() == 1));
}

#[test]
fn a_manager_with_two_hundred_assemblies_is_one_call_with_a_list() {
    let rows: Vec<Assembly> = (0..200)
        .map(|n| {
            let mut assembly = row(&format!("A{n:03}"), &format!("Tenant {n}"), "202-555-0123", "", "");
            assembly.contact.site_address = Some(format!("{n} Mill Lane").into());
            assembly
        })
        .collect();
    let (people, faults) = merge(&rows, &PeopleConfig::default(), "list.csv");
    assert_eq!(people.len(), 1);
    assert_eq!(people[0].assemblies.len(), 200);
    assert!(people[0].switchboard && people[0].role == Role::Manager);
    assert!(faults.0.iter().any(|fault| fault.code == "BW-A65"));
}

#[test]
fn two_names_at_one_number_are_called_once_and_told() {
    let rows = [
        row("A1", "Marta Soto", "202-555-0123", "", ""),
        row("A2", "Lee Park", "202-555-0123", "", ""),
    ];
    let (people, faults) = merge(&rows, &PeopleConfig::default(), "list.csv");
    assert_eq!(people.len(), 1);
    assert_eq!(people[0].name(), "Lee Park or Marta Soto");
    assert!(faults.0.iter().any(|fault| fault.code == "BW-A63"));
}

#[test]
fn letters_in_a_number_are_told_with_line_and_text_and_the_other_channels_stay() {
    let mut bad = row("A1", "Marta Soto", "202-555-HELP", "m@example.com", "");
    bad.line = 17;
    let (people, faults) = merge(&[bad], &PeopleConfig::default(), "list.csv");
    let fault = &faults.0[0];
    assert_eq!(
        (fault.code, fault.line, fault.value.as_deref()),
        ("BW-A61", Some(17), Some("202-555-HELP"))
    );
    assert_eq!(people[0].channels, [Channel::Email, Channel::Letter]);
}

#[test]
fn opting_out_binds_and_a_critical_customer_who_opted_out_is_told() {
    let mut out = row("A1", "Marta Soto", "202-555-0123", "", "");
    out.contact.channels = Some(vec![]);
    out.critical = Some("dialysis".into());
    let (people, faults) = merge(std::slice::from_ref(&out), &PeopleConfig::default(), "list.csv");
    assert_eq!(people[0].consent, Consent::OptedOut);
    assert!(!people[0].takes(Channel::Call));
    assert!(faults.0.iter().any(|fault| fault.code == "BW-A64"));
    // One row opts out and the other does not: nobody guesses.
    let people = merged(&[out, row("A2", "Marta Soto", "202-555-0123", "", "")]);
    assert_eq!(people[0].consent, Consent::Disputed);
    assert!(!people[0].takes(Channel::Call));
}

#[test]
fn channels_are_what_all_rows_allow_and_what_there_is_an_address_for() {
    let mut one = row("A1", "Marta Soto", "202-555-0123", "m@example.com", "");
    one.contact.channels = Some(vec![Channel::Call, Channel::Email]);
    let mut two = row("A2", "Marta Soto", "202-555-0123", "", "");
    two.contact.channels = Some(vec![Channel::Call, Channel::Text]);
    assert_eq!(merged(&[one.clone(), two])[0].channels, [Channel::Call]);
    one.contact.phone = None;
    assert_eq!(merged(&[one])[0].channels, [Channel::Email]);
}

#[test]
fn where_nobody_is_the_owner_is_reached() {
    let mut vacant = row("A1", "Last Tenant", "202-555-0123", "", "");
    vacant.winter_use = WinterUse::Vacant;
    vacant.extra = vec![
        ("owner_name".into(), "Iris Bell".into()),
        ("Owner_Phone".into(), "202-555-0177".into()),
    ];
    let mut lived_in = vacant.clone();
    lived_in.winter_use = WinterUse::InUse;
    let people = merged(&[vacant]);
    assert_eq!((people[0].name().as_str(), people[0].role), ("Iris Bell", Role::Owner));
    assert_eq!(merged(&[lived_in])[0].name(), "Last Tenant");
}

#[test]
fn language_and_kind_follow_the_rows() {
    let mut one = row("A1", "Marta Soto", "202-555-0123", "", "");
    one.contact.language = Some(Language::Spanish);
    one.customer_class = CustomerClass::Commercial;
    let mut two = row("A2", "Marta Soto", "202-555-0123", "", "");
    two.customer_class = CustomerClass::Public;
    let people = merged(&[one, two]);
    assert_eq!((people[0].language, people[0].business), (Language::Spanish, true));
}

/// Random rows over few names, numbers, mailboxes and accounts, so that they collide.
fn rows() -> impl Strategy<Value = Vec<Assembly>> {
    let pick = |values: &'static [&'static str]| proptest::sample::select(values);
    proptest::collection::vec(
        (
            pick(&["", "Marta Soto", "M. Soto", "Lee Park", "Iris Bell"]),
            pick(&[
                "",
                "202-555-0123",
                "(202) 555-0124",
                "2025550125",
                "202-555-0123/202-555-0126",
                "bad",
            ]),
            pick(&["", "m@example.com", "l@example.com", "office@example.com"]),
            pick(&["", "77", "78"]),
        ),
        1..14,
    )
    .prop_map(|cells| {
        cells
            .into_iter()
            .enumerate()
            .map(|(n, (name, phone, email, account))| row(&format!("A{n:02}"), name, phone, email, account))
            .collect()
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn every_assembly_has_one_person_and_no_number_has_two(rows in rows()) {
        let people = merged(&rows);
        let mut seen: Vec<usize> = people.iter().flat_map(|person| person.assemblies.clone()).collect();
        seen.sort_unstable();
        prop_assert_eq!(seen, (0..rows.len()).collect::<Vec<_>>());
        let mut numbers = BTreeSet::new();
        for phone in people.iter().flat_map(|person| &person.phones) {
            prop_assert!(numbers.insert(phone.key()), "{} is called twice", phone.e164);
        }
    }

    #[test]
    fn order_of_rows_never_matters(rows in rows(), turn in 1_usize..13) {
        let mut turned = rows.clone();
        turned.rotate_left(turn % rows.len());
        turned.reverse();
        prop_assert_eq!(groups(&rows, &merged(&rows)), groups(&turned, &merged(&turned)));
    }

    #[test]
    fn with_numbers_alone_persons_are_the_connected_components(rows in rows()) {
        // X-Val: connected components of the pathfinding crate over the graph of rows and numbers.
        let bare: Vec<Assembly> = rows
            .into_iter()
            .map(|mut row| {
                row.contact.email = None;
                row.contact.account_id = None;
                row
            })
            .collect();
        let groups_of: Vec<Vec<String>> = bare
            .iter()
            .map(|row| {
                let numbers = phone::parse_all(row.contact.phone.as_deref().unwrap_or(""), "");
                let mut group: Vec<String> = numbers.into_iter().flatten().map(|phone| phone.key()).collect();
                group.push(row.assembly_id.to_string());
                group
            })
            .collect();
        let expected: BTreeSet<Vec<String>> = components(&groups_of)
            .into_iter()
            .map(|component| {
                let mut ids: Vec<String> = component.into_iter().filter(|item| item.starts_with('A')).collect();
                ids.sort();
                ids
            })
            .collect();
        prop_assert_eq!(groups(&bare, &merged(&bare)), expected);
    }

    #[test]
    fn no_text_makes_the_readers_panic(text in "\\PC*") {
        let _ = phone::parse_all(&text, "202");
        let _ = phone::parse(&text, "");
        let _ = email::parse(&text);
    }
}
