//! The files of the contact plan: contacts, call sheets, mail merge, crew list, summaries, redaction.
#![allow(clippy::unwrap_used, clippy::panic)]

use crate::campaign::{Programme, Row, household, local, rows, visible};
use brimwater::config::Config;
use brimwater::inventory::{Channel, Language, Service, WinterUse};
use brimwater::output::charts_outreach::dollars;
use brimwater::output::contacts::WITHHELD;
use brimwater::output::council_summary::{LEAST_TOLD, two_figures};
use brimwater::outreach::line::Way;
use brimwater::outreach::outcome::Outcome;
use brimwater::ranking::Tier;
use brimwater::store::import::{SheetOptions, read_sheet};
use chrono_tz::America::Chicago;
use std::collections::{BTreeMap, BTreeSet};

/// Thirty households and firms of every kind; two crews for door hangers.
fn programme() -> Programme {
    let mut all: Vec<Row> = (0..30)
        .map(|n| {
            let (mut assembly, outlook) = household(n, 40 + n as i64 % 7);
            assembly.contact.channels = Some(match n % 5 {
                0 => vec![Channel::Call],
                1 => vec![Channel::Call, Channel::Text],
                2 => vec![Channel::Text, Channel::Email],
                3 => vec![Channel::Letter],
                _ => vec![Channel::Call, Channel::Text, Channel::Email],
            });
            match n {
                4 => assembly.critical = Some("dialysis".into()),
                5 => assembly.service = Service::Fire,
                6 => assembly.contact.language = Some(Language::Spanish),
                7 => assembly.winter_use = WinterUse::Vacant,
                8 => assembly.freeze_drip = true,
                9 => {
                    assembly.contact.channels = Some(vec![]);
                    assembly.critical = Some("clinic".into());
                }
                10 => assembly.contact.contact_name = Some("=HYPERLINK(\"http://example.com\")".into()),
                11 => assembly.contact.site_address = Some("+11 Mill Lane".into()),
                12 => assembly.contact.email = Some("@nobody".into()),
                _ => {}
            }
            let tier = [Tier::CallFirst, Tier::CallNext, Tier::Message][n % 3];
            (assembly, outlook, tier, 100.0 + 40.0 * n as f64)
        })
        .collect();
    // A manager of eight places at one number.
    for n in 22..30 {
        all[n].0.contact.phone = Some("202-555-0190".into());
        all[n].0.contact.contact_name = Some("Quayside Management".into());
        all[n].0.contact.email = Some("office@example.com".into());
        all[n].0.contact.channels = Some(vec![Channel::Call, Channel::Email]);
    }
    let mut config = Config::default();
    config.outreach.shift.callers = 2;
    config.outreach.shift.spanish_callers = 1;
    config.outreach.hangers.crews = 2;
    Programme::with(all, config)
}

#[test]
fn contacts_hold_one_row_a_line_with_all_that_a_caller_needs() {
    let made = programme();
    let plan = made.plan();
    let contacts = rows(&made.files(false)["contacts.csv"]);
    assert_eq!(contacts.len(), plan.lines.len());
    for row in &contacts {
        let planned = !["human decision", "not reached"].contains(&row["channel"].as_str());
        assert!(!row["contact_id"].is_empty() && !row["assemblies"].is_empty() && !row["reason"].is_empty());
        assert_eq!(planned, !row["say"].is_empty(), "{row:?}");
        assert_eq!(row["assemblies"].split(';').count().to_string(), row["assembly_count"]);
        if row["channel"] == "call" {
            assert!(
                !row["caller"].is_empty() && row["reach_at"].starts_with("202-555-"),
                "{row:?}"
            );
            assert!(
                row["slot_start"] < row["slot_end"] && row["slot_end"] <= row["act_by"],
                "{row:?}"
            );
        }
        // A fire line is never to be shut.
        if row["assemblies"] == "A0005" && planned {
            assert!(
                row["say"].to_lowercase().contains("do not shut") || row["say"].to_lowercase().contains("never shut")
            );
        }
    }
    let manager: Vec<_> = contacts.iter().filter(|row| row["contact_id"] == "C-A0022").collect();
    assert!(
        manager.iter().all(|row| row["assembly_count"] == "8"),
        "one call with a list"
    );
    let decision: Vec<_> = contacts
        .iter()
        .filter(|row| row["channel"] == "human decision")
        .collect();
    assert_eq!(decision.len(), 1);
    assert_eq!(
        (decision[0]["contact_id"].as_str(), decision[0]["critical"].as_str()),
        ("C-A0009", "clinic")
    );
}

#[test]
fn no_cell_of_any_file_is_a_formula() {
    let made = programme();
    for (name, text) in made.files(false) {
        if !name.ends_with(".csv") {
            continue;
        }
        for (line, row) in rows(&text).iter().enumerate() {
            for (column, cell) in row {
                let number = cell.parse::<f64>().is_ok();
                assert!(
                    number || !cell.starts_with(['=', '+', '-', '@', '\t', '\r']),
                    "{name} row {line} {column}: {cell}"
                );
            }
        }
    }
    let contacts = &made.files(false)["contacts.csv"];
    assert!(contacts.contains("'=HYPERLINK") && contacts.contains("'+11 Mill Lane"));
    // A telephone number with its plus sign is a number to a spreadsheet and stays as it is, so that it can be dialled.
    assert!(contacts.contains(",+1202555"));
}

#[test]
fn each_caller_has_a_sheet_with_its_own_calls_and_a_file_that_the_log_takes_back() {
    let made = programme();
    let files = made.files(false);
    let plan = made.plan();
    let mut on_sheets = 0;
    for caller in 1..=2_u16 {
        let mine: Vec<_> = plan
            .lines
            .iter()
            .filter(|line| line.channel == Way::Call && line.caller == Some(caller))
            .collect();
        let page = &files[&format!("call_sheets/caller-{caller:02}.html")];
        let words = visible(page);
        let to_fill = &files[&format!("call_sheets/caller-{caller:02}.csv")];
        assert_eq!(rows(to_fill).len(), mine.len());
        on_sheets += mine.len();
        for line in &mine {
            assert!(
                words.contains(line.contact_id.as_str()) && words.contains(line.address.as_str()),
                "{}",
                line.contact_id
            );
        }
        // Names are shown as text, whatever signs they hold.
        assert!(!page.contains("=HYPERLINK(\"http") || page.contains("=HYPERLINK(&quot;http"));
        for caution in ["flame", "to shut a fire line", "201-555-0199"] {
            assert!(words.to_lowercase().contains(caution), "{caution}");
        }
        assert!(words.ends_with(brimwater::PLANNING_AID));
        for outcome in Outcome::ALL {
            assert!(words.contains(outcome.word()), "{}", outcome.word());
        }
        // Filled as people fill it, the sheet goes into the log.
        let mut filled = csv::Writer::from_writer(Vec::new());
        let mut reader = csv::Reader::from_reader(to_fill.as_bytes());
        let header = reader.headers().unwrap().clone();
        filled.write_record(&header).unwrap();
        for (nth, record) in reader.records().enumerate() {
            let mut cells: Vec<String> = record.unwrap().iter().map(str::to_owned).collect();
            if nth % 2 == 0 {
                cells[1] = "No answer".into();
                cells[4] = "2031-01-09 10:00".into();
            }
            filled.write_record(&cells).unwrap();
        }
        let options = SheetOptions {
            by: Some("Rosa".into()),
            zone: Chicago,
            now: local(9, 18, 0),
        };
        let sheet = read_sheet(filled.into_inner().unwrap().as_slice(), "sheet.csv", &options);
        assert!(sheet.rejected.is_empty(), "{:?}", sheet.faults);
        assert_eq!(sheet.events.len(), mine.len().div_ceil(2));
        assert!(
            sheet
                .events
                .iter()
                .all(|event| mine.iter().any(|line| line.contact_id == event.contact))
        );
    }
    assert_eq!(on_sheets, plan.summary.calls);
    // Whoever speaks Spanish is the first caller.
    assert!(
        rows(&files["call_sheets/caller-02.csv"])
            .iter()
            .all(|row| row["language"] == "en")
    );
}

#[test]
fn the_mail_merge_holds_each_message_in_full_once_an_address() {
    let made = programme();
    let merge = rows(&made.files(false)["mail_merge.csv"]);
    let plan = made.plan();
    let sent = plan.summary.texts + plan.summary.emails + plan.summary.letters;
    assert_eq!(merge.len(), sent);
    let mut mailboxes = BTreeSet::new();
    for row in &merge {
        assert!(!row["body"].is_empty() && !row["to"].is_empty() && !row["send_at"].is_empty());
        match row["channel"].as_str() {
            // X-Val: 3GPP TS 23.038: one message holds 160 septets.
            "text" => assert!(
                brimwater::outreach::gsm7::septets(&row["body"]).unwrap() <= 160,
                "{}",
                row["body"]
            ),
            "email" => {
                assert!(mailboxes.insert(row["to"].clone()), "{} gets two", row["to"]);
                assert!(row["subject"].contains("Freeze") || row["language"] != "en");
                assert!(row["body"].contains("201-555-0199"));
            }
            other => assert_eq!(other, "letter"),
        }
    }
    let manager = merge.iter().find(|row| row["to"] == "office@example.com").unwrap();
    for n in 22..30 {
        assert!(
            manager["body"].contains(&format!("A00{n}")),
            "A00{n} is missing from the list"
        );
    }
    // An address that cannot be used gets nothing and is told.
    assert!(merge.iter().all(|row| !row["to"].contains("nobody")));
    assert!(
        made.told
            .0
            .iter()
            .any(|fault| fault.code == "BW-A62" && fault.line == Some(14))
    );
}

#[test]
fn two_languages_at_one_contact_are_one_email_and_two_texts() {
    let mut all: Vec<Row> = (0..2)
        .map(|n| {
            let (mut assembly, outlook) = household(n, 40);
            assembly.contact.phone = Some("202-555-0150".into());
            assembly.contact.email = Some("both@example.com".into());
            assembly.contact.channels = Some(vec![Channel::Text, Channel::Email]);
            (assembly, outlook, Tier::CallNext, 100.0)
        })
        .collect();
    all[1].0.contact.language = Some(Language::Spanish);
    all[0].0.contact.language = Some(Language::English);
    let made = Programme::new(all);
    assert_eq!(made.people.len(), 1);
    let merge = rows(&made.files(false)["mail_merge.csv"]);
    let emails: Vec<_> = merge.iter().filter(|row| row["channel"] == "email").collect();
    assert_eq!(emails.len(), 1);
    assert_eq!(emails[0]["language"], "es;en");
    assert!(emails[0]["body"].contains("Por favor") && emails[0]["body"].contains("Please"));
    assert_eq!(merge.iter().filter(|row| row["channel"] == "text").count(), 2);
}

#[test]
fn the_crew_list_goes_street_by_street_with_the_words_to_leave() {
    let mut made = programme();
    // Nobody calls, so that those to call get a hanger.
    made.config.outreach.shift.callers = 0;
    made.config.outreach.shift.spanish_callers = 0;
    let plan = made.plan();
    let files = made.files(false);
    let crew = rows(&files["door_hangers.csv"]);
    assert_eq!(crew.len(), plan.summary.door_hangers);
    assert!(!crew.is_empty());
    let number = |row: &std::collections::HashMap<String, String>| -> u32 {
        let digits: String = row["site_address"].chars().filter(char::is_ascii_digit).collect();
        digits.parse().unwrap()
    };
    for pair in crew.windows(2) {
        let key = |row: &std::collections::HashMap<String, String>| (row["from"].clone(), row["crew"].clone());
        assert!(key(&pair[0]) <= key(&pair[1]));
        if key(&pair[0]) == key(&pair[1]) && !pair.iter().any(|row| row["site_address"].starts_with('\'')) {
            assert!(number(&pair[0]) <= number(&pair[1]), "neighbours lie together");
        }
    }
    for row in &crew {
        assert!(["1", "2"].contains(&row["crew"].as_str()));
        assert!(row["until"] <= row["act_by"] && !row["hanger"].is_empty());
        assert!(row["placed"].is_empty() && row["by"].is_empty());
        assert_ne!(row["contact_id"], "C-A0022", "a switchboard has no door");
    }
    assert!(
        !files.keys().any(|name| name.starts_with("call_sheets/")),
        "no callers, no sheets"
    );
}

#[test]
fn the_managers_page_agrees_with_the_lines_of_the_plan() {
    let made = programme();
    let plan = made.plan();
    let summary = &plan.summary;
    let page = visible(&made.files(false)["manager_summary.html"]);
    // Counted here from the lines, not taken from the totals.
    let count = |way: Way| plan.lines.iter().filter(|line| line.channel == way).count();
    let people = |way: Way| {
        plan.lines
            .iter()
            .filter(|line| line.channel == way)
            .map(|line| line.person)
            .collect::<BTreeSet<_>>()
            .len()
    };
    assert!(
        page.contains(&format!("{} of them called", people(Way::Call))),
        "{page}"
    );
    let at_risk = made.ranked.iter().filter(|line| line.tier != Tier::NoContact).count();
    assert!(page.contains(&format!("{at_risk} assemblies at risk")), "{page}");
    for (way, word) in [(Way::Call, "call"), (Way::Text, "text"), (Way::Email, "e-mail")] {
        let avoided: f64 = plan
            .lines
            .iter()
            .filter(|line| line.channel == way)
            .map(|line| line.loss_avoided_usd)
            .sum();
        assert!(
            page.contains(&format!("{word} {} {}", count(way), dollars(avoided))),
            "{word}: {page}"
        );
    }
    let before: f64 = made.ranked.iter().map(|line| line.expected_loss_usd).sum();
    let avoided: f64 = plan.lines.iter().map(|line| line.loss_avoided_usd).sum();
    assert!(
        page.contains(&dollars(before)) && page.contains(&dollars(before - avoided)),
        "{page}"
    );
    approx::assert_relative_eq!(summary.loss_after_usd, before - avoided, max_relative = 1e-9);
    let mut missed: BTreeMap<&str, usize> = BTreeMap::new();
    for line in plan.lines.iter().filter(|line| line.channel == Way::Unreached) {
        *missed.entry(&line.reason).or_insert(0) += 1;
    }
    for (why, count) in missed {
        assert!(page.contains(&format!("{why} {count}")), "{why}: {page}");
    }
    for personal in ["Person", "Mill Lane", "202-555", "@example", "A0001", "dialysis"] {
        assert!(!page.contains(personal), "{personal}");
    }
}

#[test]
fn the_council_page_names_nobody_and_no_place_and_blurs_small_counts() {
    let mut made = programme();
    made.history.add("C-A0000", Outcome::Reached, local(9, 8, 0));
    let page = made.files(false)["council_summary.html"].clone();
    for personal in [
        "Person",
        "Mill Lane",
        "202-555",
        "@example",
        "A0001",
        "C-A0",
        "dialysis",
        "clinic",
        "Quayside",
    ] {
        assert!(!page.contains(personal), "{personal}");
    }
    let words = visible(&page);
    assert!(words.contains("30 backflow assemblies on the list"), "{words}");
    // One person was spoken to: that is fewer than may be told.
    assert_eq!(LEAST_TOLD, 5);
    assert!(words.contains("spoken to under 5"), "{words}");
    assert!(words.ends_with(brimwater::PLANNING_AID));
    // The range holds the expected value, and no more than there is to lose.
    let summary = made.plan().summary;
    let avoided: f64 = summary.avoided_usd.values().sum();
    let (low, high) = summary.avoided_range_usd();
    assert!(
        low < avoided && avoided < high && high <= summary.loss_before_usd,
        "{low} {avoided} {high}"
    );
    assert!(
        words.contains(&format!(
            "between {} and {}",
            dollars(two_figures(low)),
            dollars(two_figures(high))
        )),
        "{words}"
    );
    // With `--redact` it is the same page.
    assert_eq!(made.files(true)["council_summary.html"], page);
    for (value, rounded) in [
        (0.0, 0.0),
        (7.4, 7.4),
        (1_234.0, 1_200.0),
        (98_765.0, 99_000.0),
        (996.0, 1_000.0),
    ] {
        approx::assert_relative_eq!(two_figures(value), rounded, max_relative = 1e-12);
    }
}

#[test]
fn redacted_files_hold_nobody() {
    let made = programme();
    let files = made.files(true);
    assert_eq!(
        files.keys().map(String::as_str).collect::<Vec<_>>(),
        [
            "brief.html",
            "contacts.csv",
            "council_summary.html",
            "manager_summary.html"
        ]
    );
    for (name, text) in &files {
        for personal in [
            "Person 1",
            "Mill Lane",
            "202-555",
            "+1202555",
            "@example",
            "ACC-",
            "dialysis",
            "clinic",
            "Quayside",
        ] {
            assert!(!text.contains(personal), "{name} holds {personal}");
        }
    }
    let contacts = rows(&files["contacts.csv"]);
    assert!(contacts.iter().any(|row| row["reach_at"] == WITHHELD));
    // What a planner needs is still there.
    assert!(
        contacts
            .iter()
            .all(|row| !row["contact_id"].is_empty() && !row["tier"].is_empty())
    );
    assert!(contacts.iter().any(|row| row["critical"] == "yes"));
}

#[test]
fn after_the_spell_the_pages_speak_of_visits_and_not_of_calls() {
    let mut made = programme();
    made.now = local(17, 9, 0);
    made.history.add("C-A0004", Outcome::Done, local(9, 10, 0));
    let plan = made.plan().after_the_spell();
    assert!(plan.lines.is_empty(), "{:?}", plan.lines.first());
    let files = made.files_of(&plan, false, true);
    let manager = visible(&files["manager_summary.html"]);
    assert!(
        manager.contains("12 assemblies to look at") && manager.contains("inspection_record.csv"),
        "{manager}"
    );
    assert!(
        manager.contains("done 1") && !manager.contains("of them called"),
        "{manager}"
    );
    let council = visible(&files["council_summary.html"]);
    assert!(
        council.contains("after the spell") && council.contains("12 assemblies are to be looked at"),
        "{council}"
    );
    assert!(!council.contains("not reached in time"), "{council}");
}

/// Catches a list for paper without number, address or time, one that loses somebody to call, and pages of more or fewer than forty lines.
#[test]
fn the_list_for_paper_has_forty_lines_a_page_with_number_address_and_time() {
    let rows: Vec<Row> = (0..95)
        .map(|n| {
            let (assembly, outlook) = household(n, 60);
            let tier = [Tier::CallFirst, Tier::CallNext, Tier::Message][usize::from(n > 40) + usize::from(n > 90)];
            (assembly, outlook, tier, 5_000.0 - n as f64)
        })
        .collect();
    let made = Programme::new(rows);
    let page = &made.files(false)["call_sheets/list.html"];
    let pages: Vec<&str> = page.split("<tbody>").skip(1).collect();
    let lines: Vec<usize> = pages
        .iter()
        .map(|page| page.split("</tbody>").next().unwrap().matches("<tr>").count())
        .collect();
    assert_eq!(lines, [40, 40, 11]);
    for n in [0, 40, 90] {
        for told in [
            format!("202-555-0{}", 100 + n),
            format!("{n} Mill Lane"),
            format!("Person {n}"),
        ] {
            assert!(page.contains(&told), "{told}");
        }
    }
    let words = visible(page);
    assert!(
        words.contains("am, caller 1") && !words.contains("Person 94"),
        "{words}"
    );
    assert!(
        !made.files(true).contains_key("call_sheets/list.html"),
        "it is personal throughout"
    );
}
