//! Finding an assembly by what a caller says, with the slips of typing.
#![allow(clippy::unwrap_used, clippy::panic)]

use crate::deskside;
use brimwater::desk::search::{Field, Fit, Index, words_of};
use brimwater::inventory::{Assembly, read_assemblies};
use proptest::prelude::*;
use std::collections::BTreeMap;

fn read(rows: &str) -> Vec<Assembly> {
    let text =
        format!("assembly_id,device_type,nominal_size_in,account_id,site_address,contact_name,phone,Serial No\n{rows}");
    read_assemblies(text.as_bytes(), "list.csv", &BTreeMap::new()).0
}

fn town() -> Vec<Assembly> {
    read(
        "T-10482,RP,1,0044-917,412 Juniper Street,Ada Marsh,(201) 555-0142,BX 104-77K\n\
         T-10428,PVB,1,0044-971,412 Juniper Avenue,Iñaki Peña,201.555.0199,\n\
         T-20001,DC,2,0051-100,14 North Harbor Road,Tern Storage LLC,1-201-555-0177,QR8831\n\
         T-20002,DC,2,0051-101,140 North Harbor Road,Fenwick Bakery,201-555-0170,QR8813\n\
         T-30001,RP,1,0060-001,9 Juniper Court,Marisol Quade,,0B12\n\
         T-40001,RP,1,0071-001,77 Green Wood Ln,Otter Laundry,201-555-0131 / 201-555-0186,ZK-60215\n\
         T-40002,PVB,1,0071-002,30 Saltgrass Terrace,Peregrine Court,555-0163,M5B2O8\n\
         T-40003,DC,1,0071-003,5 Third Street,St. Elba Chapel,201/555-0148,\n",
    )
}

/// Identifiers found, best first.
fn found(asked: &str) -> Vec<String> {
    let town = town();
    let found = Index::new(&town).find(asked, 10);
    found
        .hits
        .iter()
        .map(|hit| town[hit.index].assembly_id.to_string())
        .collect()
}

#[test]
fn each_way_a_caller_names_a_place_finds_it_first() {
    for (asked, first) in [
        ("T-10482", "T-10482"),
        ("t10482", "T-10482"),
        ("0044917", "T-10482"),
        ("412 juniper st", "T-10482"),
        ("412 Juniper Street", "T-10482"),
        ("juniper ave 412", "T-10428"),
        ("marsh", "T-10482"),
        ("pena", "T-10428"),
        ("IÑAKI", "T-10428"),
        ("201 555 0142", "T-10482"),
        ("5550177", "T-20001"),
        ("+1 (201) 555-0177", "T-20001"),
        ("0199", "T-10428"),
        ("14 n harbor rd", "T-20001"),
        ("140 harbor", "T-20002"),
        ("bakery", "T-20002"),
        // By the end of the identifier or the account, with and without the zeros before it, by the tag, its letters in any case.
        ("10428", "T-10428"),
        ("0002", "T-20002"),
        ("44917", "T-10482"),
        ("44-917", "T-10482"),
        ("00044971", "T-10428"),
        ("51101", "T-20002"),
        ("bx10477k", "T-10482"),
        ("BX 104 77 K", "T-10482"),
        ("10477K", "T-10482"),
        ("qr8831", "T-20001"),
        ("8813", "T-20002"),
        ("0b12", "T-30001"),
        ("60215", "T-40001"),
        // Two numbers in one cell, an area code before a mark, none in the list.
        ("201-555-0131", "T-40001"),
        ("201 555 0186", "T-40001"),
        ("(201)555-0148", "T-40003"),
        ("201 555 0163", "T-40002"),
        // A telephone number in any form: marks of every kind, what is dialled before it, what is said before it, an extension after it.
        ("201.555.0142", "T-10482"),
        ("201–555–0142", "T-10482"),
        ("12015550142", "T-10482"),
        ("001 201 555 0142", "T-10482"),
        ("+1-201-555-0142 ext. 12", "T-10482"),
        ("201 555 0142 x3", "T-10482"),
        ("tel. 201 555 0142", "T-10482"),
        ("Phone: (201) 555-0142", "T-10482"),
        ("acct 44917", "T-10482"),
        ("cuenta: 0044971", "T-10428"),
        ("tag no. BX 104-77K", "T-10482"),
        // An accent that is a mark of its own, as some systems store it.
        ("Pen\u{303}a", "T-10428"),
        // Short and long street words, ordinals and saints (USPS Publication 28, appendices B and C1, from memory).
        ("14 n hbr rd", "T-20001"),
        ("5 3rd st", "T-40003"),
        ("saint elba", "T-40003"),
        ("30 saltgrass ter", "T-40002"),
        ("77 greenwood lane", "T-40001"),
        ("green wood", "T-40001"),
    ] {
        assert_eq!(found(asked).first().map(String::as_str), Some(first), "{asked}");
    }
}

#[test]
fn one_slip_of_typing_still_finds_it_first() {
    for (asked, first) in [
        ("412 junpier street", "T-10482"),
        ("412 junper street", "T-10482"),
        ("fenwik", "T-20002"),
        ("marisoll", "T-30001"),
        ("201 555 0124", "T-10482"),
        ("T-30010", "T-30001"),
        ("harbour 14", "T-20001"),
        ("saltgras", "T-40002"),
        ("30 sallgrass", "T-40002"),
        // One word told as two, and a letter missing.
        ("sal grass 30", "T-40002"),
        // Two slips in a word.
        ("jewniper court", "T-30001"),
        ("fennwik", "T-20002"),
        // Signs that look alike on a worn tag.
        ("OBI2", "T-30001"),
        ("MSBZ08", "T-40002"),
        ("bx1o477k", "T-10482"),
    ] {
        assert_eq!(found(asked).first().map(String::as_str), Some(first), "{asked}");
    }
}

#[test]
fn each_hit_says_what_of_it_fits() {
    let town = town();
    let index = Index::new(&town);
    for (asked, why) in [
        ("T-10482", (Field::Identifier, Fit::Whole)),
        ("T-104", (Field::Identifier, Fit::Begins)),
        ("0428", (Field::Identifier, Fit::Ends)),
        ("44917", (Field::Account, Fit::Whole)),
        ("QR8831", (Field::Serial, Fit::Whole)),
        ("77k", (Field::Serial, Fit::Ends)),
        ("10477", (Field::Serial, Fit::Figures)),
        ("0BI2", (Field::Serial, Fit::Slip)),
        ("201 555 0142", (Field::Phone, Fit::Whole)),
        ("555-0142", (Field::Phone, Fit::Ends)),
        ("201 555 0124", (Field::Phone, Fit::Slip)),
        ("412 Juniper Street", (Field::Words, Fit::Whole)),
        ("412 Junip", (Field::Words, Fit::Begins)),
        ("412 junpier", (Field::Words, Fit::Slip)),
        ("412 juniper elm", (Field::Words, Fit::Part)),
    ] {
        assert_eq!(
            index.find(asked, 10).hits.first().map(|hit| hit.why),
            Some(why),
            "{asked}"
        );
    }
}

#[test]
fn what_is_not_there_is_not_found() {
    for asked in [
        "",
        "   ",
        "zzzz",
        "888 888 8888",
        "elm street 77",
        "'; drop table",
        "%%%",
    ] {
        assert!(found(asked).is_empty(), "{asked:?}: {:?}", found(asked));
    }
}

#[test]
fn every_assembly_of_the_invented_programme_is_found_by_its_own_address_number_and_identifier() {
    // Oracle: the list itself, read by the csv crate.
    let folder = deskside::programme(300);
    let path = folder.path().join("demo/assemblies.csv");
    let assemblies = read_assemblies(std::fs::File::open(&path).unwrap(), "assemblies.csv", &BTreeMap::new()).0;
    let index = Index::new(&assemblies);
    let mut asked = 0;
    for assembly in &assemblies {
        let mut texts = vec![assembly.assembly_id.clone()];
        texts.extend(assembly.contact.site_address.clone());
        // Lists hold words such as "call office" where a number should be.
        let digits = |phone: &brimwater::text::Text| phone.chars().filter(char::is_ascii_digit).count() >= 7;
        texts.extend(assembly.contact.phone.clone().filter(digits));
        for text in texts {
            asked += 1;
            let hits = index.find(&text, 400).hits;
            assert!(
                hits.iter()
                    .any(|hit| assemblies[hit.index].assembly_id == assembly.assembly_id),
                "{text:?} does not find {}",
                assembly.assembly_id
            );
        }
    }
    assert!(asked > 400);
}

proptest! {
    #[test]
    fn no_text_breaks_the_search_and_the_limit_holds(text in ".{0,400}", limit in 0usize..20) {
        let town = town();
        let found = Index::new(&town).find(&text, limit);
        prop_assert!(found.hits.len() <= limit && found.hits.len() <= found.total);
        prop_assert!(found.hits.windows(2).all(|pair| pair[0].score >= pair[1].score));
        prop_assert!(found.hits.iter().all(|hit| hit.index < town.len() && hit.score.is_finite()));
        let _ = words_of(&text);
    }
}
