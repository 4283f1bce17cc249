//! Re-planning: what is new, gone, more or less pressing and why; who is left out; calls from now on.
#![allow(clippy::unwrap_used, clippy::panic)]

use crate::campaign;
use crate::campaign::{Programme, Row, household, local};
use brimwater::inventory::{Channel, Placement};
use brimwater::outreach::line::Way;
use brimwater::outreach::outcome::{History, Outcome};
use brimwater::outreach::replan::{self, Change, Move, Why, changes, count_line, fingerprint};
use brimwater::ranking::Tier;
use chrono::TimeDelta;

fn row(n: usize, tier: Tier, loss: f64) -> Row {
    let (assembly, outlook) = household(n, 40);
    (assembly, outlook, tier, loss)
}

fn usual() -> Vec<Row> {
    vec![
        row(1, Tier::CallFirst, 900.0),
        row(2, Tier::CallNext, 400.0),
        row(3, Tier::Message, 80.0),
        row(4, Tier::NoContact, 1.0),
    ]
}

fn of<'c>(found: &'c [Change], id: &str) -> Option<&'c Change> {
    found.iter().find(|change| change.assembly_id == id)
}

#[test]
fn the_same_forecast_list_and_log_change_nothing() {
    let before = Programme::new(usual());
    assert!(changes(&before.as_old(), &before.state()).is_empty());
    assert_eq!(count_line(&[]), "0 new, 0 up, 0 down, 0 gone, 0 done");
}

#[test]
fn each_move_is_told_with_its_cause() {
    let before = Programme::new(usual());
    let mut rows = usual();
    // The forecast: the first eases a tier, the second falls away, the fourth comes up from no contact.
    rows[0].2 = Tier::CallNext;
    rows[0].3 = 300.0;
    rows[1].2 = Tier::NoContact;
    rows[1].3 = 0.0;
    rows[3].2 = Tier::CallFirst;
    rows[3].3 = 2_000.0;
    // The list: the third was moved indoors, the fifth is new.
    rows[2].0.placement = Placement::Indoors;
    rows[2].2 = Tier::NoContact;
    rows[2].3 = 0.0;
    rows.push(row(5, Tier::CallNext, 350.0));
    let now = Programme::new(rows);
    let found = changes(&before.as_old(), &now.state());
    let told = |id: &str| {
        let change = of(&found, id).unwrap_or_else(|| panic!("{id}: {found:#?}"));
        (change.what, change.why)
    };
    assert_eq!(told("A0001"), (Move::Down, Why::Forecast));
    assert_eq!(told("A0002"), (Move::Gone, Why::Forecast));
    assert_eq!(told("A0003"), (Move::Gone, Why::Inventory));
    assert_eq!(told("A0004"), (Move::New, Why::Forecast));
    assert_eq!(told("A0005"), (Move::New, Why::Inventory));
    assert_eq!(count_line(&found), "2 new, 0 up, 1 down, 2 gone, 0 done");
    let down = of(&found, "A0001").unwrap();
    assert_eq!(down.was_tier.as_deref(), Some("call first"));
    assert_eq!(down.now_tier.as_deref(), Some("call next"));
    assert_eq!((down.was_loss_usd, down.now_loss_usd), (Some(900.0), Some(300.0)));
    assert!(
        down.sentence.contains("the forecast moved") && down.sentence.contains("$900 to $300"),
        "{}",
        down.sentence
    );
    // The most pressing now comes first.
    assert_eq!(found[0].assembly_id, "A0004");
}

#[test]
fn a_row_that_left_the_list_is_gone_and_closes_the_list_of_changes() {
    let before = Programme::new(usual());
    let mut rows = usual();
    rows.remove(0);
    rows[0].2 = Tier::CallFirst;
    let now = Programme::new(rows);
    let found = changes(&before.as_old(), &now.state());
    let last = found.last().unwrap();
    assert_eq!(
        (last.assembly_id.as_str(), last.what, last.why),
        ("A0001", Move::Gone, Why::Inventory)
    );
    assert_eq!(
        (last.now_rank, last.now_tier.as_deref(), last.contact_id.as_deref()),
        (None, None, None)
    );
    // A row that was never at risk and left is no news.
    let mut rows = usual();
    rows.remove(3);
    assert!(changes(&before.as_old(), &Programme::new(rows).state()).is_empty());
}

#[test]
fn a_move_inside_a_tier_is_told_only_beyond_a_quarter_and_beyond_the_error() {
    let before = Programme::new(usual());
    let loss_now = |usd: f64, error_usd: f64| {
        let mut rows = usual();
        rows[0].3 = usd;
        let mut now = Programme::new(rows);
        for line in &mut now.ranked {
            line.loss.error_usd = error_usd;
        }
        let mut old = before.as_old();
        for one in &mut old.assemblies {
            one.expected_loss_error = error_usd;
        }
        changes(&old, &now.state()).first().map(|change| change.what)
    };
    // 900 with errors of 5: a fifth more is noise of the forecast (the share is judgement), a third more is news.
    assert_eq!(loss_now(1_080.0, 5.0), None);
    assert_eq!(loss_now(1_200.0, 5.0), Some(Move::Up));
    assert_eq!(loss_now(600.0, 5.0), Some(Move::Down));
    // The same third is no news when each value is known to 150 only: twice the error of the difference is 424.
    assert_eq!(loss_now(1_200.0, 150.0), None);
}

#[test]
fn people_who_are_done_with_are_told_left_out_and_not_called_again() {
    let before = Programme::new(usual());
    let mut now = Programme::new(usual());
    now.now = local(9, 13, 0);
    now.history.add("C-A0001", Outcome::Done, local(9, 10, 0));
    now.history.add("C-A0002", Outcome::NoAnswer, local(9, 10, 5));
    let found = changes(&before.as_old(), &now.state());
    let done = of(&found, "A0001").unwrap();
    assert_eq!((done.what, done.why), (Move::Done, Why::Log));
    assert!(done.sentence.contains("done according to the log"), "{}", done.sentence);
    assert!(
        of(&found, "A0002").is_none(),
        "no answer is no reason to leave anybody out"
    );
    let plan = now.plan();
    assert!(plan.lines.iter().all(|line| line.contact_id != "C-A0001"));
    assert_eq!(plan.summary.settled, 1);
}

#[test]
fn calls_left_are_scheduled_from_now_on_and_count_on_from_the_log() {
    let mut config = brimwater::config::Config::default();
    config.outreach.shift.callers = 1;
    config.outreach.shift.spanish_callers = 0;
    let mut now = Programme::with(
        (1..20).map(|n| row(n, Tier::CallFirst, 500.0 + n as f64)).collect(),
        config,
    );
    now.now = local(9, 13, 10);
    // One was tried at noon, one twice, one three times: the most that the config allows.
    for (id, times) in [("C-A0001", 1), ("C-A0002", 2), ("C-A0003", 3)] {
        for nth in 0..times {
            now.history.add(id, Outcome::NoAnswer, local(9, 10, nth * 10));
        }
    }
    let plan = now.plan();
    let calls: Vec<_> = plan.lines.iter().filter(|line| line.channel == Way::Call).collect();
    assert!(!calls.is_empty());
    for line in &calls {
        assert!(line.slot_start.unwrap() >= now.now, "{line:?}");
        assert!(
            line.act_by.unwrap() >= line.slot_end.unwrap(),
            "the deadline told lies before the call: {line:?}"
        );
    }
    let attempts = |id: &str| -> Vec<u8> {
        let mut all: Vec<u8> = calls
            .iter()
            .filter(|line| line.contact_id == id)
            .map(|line| line.attempt)
            .collect();
        all.sort_unstable();
        all
    };
    assert_eq!(attempts("C-A0001"), [2, 3]);
    assert_eq!(attempts("C-A0002"), [3]);
    assert!(attempts("C-A0003").is_empty());
    let unreached = plan
        .lines
        .iter()
        .find(|line| line.contact_id == "C-A0003" && line.channel == Way::Unreached);
    let hanger = plan
        .lines
        .iter()
        .any(|line| line.contact_id == "C-A0003" && line.channel == Way::DoorHanger);
    assert!(hanger || unreached.is_some_and(|line| line.reason == "all attempts were made"));
}

#[test]
fn a_call_logged_under_an_assembly_or_an_older_merge_still_counts() {
    let mut rows = usual();
    rows[1].0.contact.phone = rows[0].0.contact.phone.clone();
    let mut now = Programme::new(rows);
    // Both rows are now one person, C-A0001; yesterday the second was its own.
    now.history.add("C-A0002", Outcome::Done, local(9, 8, 0));
    assert!(now.plan().lines.iter().all(|line| line.contact_id != "C-A0001"));
}

#[test]
fn what_the_earlier_plan_sent_counts_as_a_reminder_and_is_not_dropped() {
    let mut rows = usual();
    for row in &mut rows {
        row.0.contact.channels = Some(vec![Channel::Text, Channel::Email]);
    }
    let before = Programme::new(rows.clone());
    let old = before.as_old();
    let mut now = Programme::new(rows);
    now.now = local(9, 15, 0);
    let mut lines = now.plan().lines;
    replan::mark_repeats(&old, &mut lines, now.now);
    let texts: Vec<_> = lines.iter().filter(|line| line.channel == Way::Text).collect();
    assert_eq!(texts.len(), 3, "only the staff know whether the first was sent");
    assert!(texts.iter().all(|line| line.attempt == 2));
    let plan = brimwater::outreach::schedule::ContactPlan { lines, ..now.plan() };
    let files = now.files_of(&plan, false, false);
    let contacts = campaign::rows(&files["contacts.csv"]);
    let text = contacts.iter().find(|row| row["channel"] == "text").unwrap();
    assert!(text["notes"].contains("earlier plan"), "{}", text["notes"]);
    assert!(
        campaign::rows(&files["mail_merge.csv"])
            .iter()
            .all(|row| row["attempt"] == "2")
    );
    // A text that was to go later than now was not sent.
    let mut lines = now.plan().lines;
    replan::mark_repeats(&old, &mut lines, before.now - TimeDelta::hours(1));
    assert!(lines.iter().all(|line| line.attempt == 1));
}

#[test]
fn the_fingerprint_knows_the_device_and_no_person() {
    let (assembly, _) = household(1, 40);
    let mut moved = assembly.clone();
    moved.contact.phone = Some("202-555-0199".into());
    moved.contact.contact_name = None;
    assert_eq!(fingerprint(&assembly), fingerprint(&moved));
    moved.wrap_m2k_per_w = 0.3;
    assert_ne!(fingerprint(&assembly), fingerprint(&moved));
}

#[test]
fn an_earlier_plan_that_is_none_is_refused_with_its_name() {
    for (text, what) in [
        ("", "cannot be read"),
        ("{\"schema\":", "cannot be read"),
        ("{\"schema\":\"somebody.else/1\"}", "no plan of a known format"),
        ("[1,2,3]", "cannot be read"),
    ] {
        let fault = replan::read(text.as_bytes(), "old.json").unwrap_err();
        assert_eq!(fault.code, "BW-P65");
        assert!(fault.what.contains(what), "{}", fault.what);
        assert_eq!(fault.file, "old.json");
    }
    // A plan of an early version has no hash of the list: the cause is then left open, not guessed.
    let before = Programme::new(usual());
    let mut old = before.as_old();
    for one in &mut old.assemblies {
        one.listed = None;
    }
    let mut rows = usual();
    rows[0].2 = Tier::CallNext;
    let found = changes(&old, &Programme::new(rows).state());
    assert_eq!(found[0].why, Why::ForecastOrInventory);
}

#[test]
fn a_history_of_nobody_knows_nobody() {
    assert!(History::default().of("C-A0001", std::iter::once("A0001")).is_none());
}
