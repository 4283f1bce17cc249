//! Thaw notices: when the air rises, who hears of it, between which hours, in which words.
#![allow(clippy::unwrap_used, clippy::panic)]

use crate::campaign::{Programme, Row, household, local, rows};
use brimwater::inventory::{Channel, Language};
use brimwater::outreach::line::Way;
use brimwater::outreach::outcome::Outcome;
use brimwater::outreach::thaw::rises;
use brimwater::ranking::Tier;
use brimwater::weather::Series;
use chrono::{DateTime, TimeDelta, Utc};

/// Frost from the 11th at 18:00 to the 12th at 10:00, an hour of thaw at noon, frost to the 13th at 9:00, then mild.
fn air(start: DateTime<Utc>) -> Vec<f64> {
    (0..168)
        .map(|hour| {
            let at = start + TimeDelta::hours(hour);
            let frozen =
                (at >= local(11, 18, 0) && at < local(12, 10, 0)) || (at >= local(12, 11, 0) && at < local(13, 9, 0));
            if frozen { -6.0 } else { 4.0 }
        })
        .collect()
}

fn programme(change: impl Fn(usize, &mut Row)) -> Programme {
    let mut all: Vec<Row> = (0..4)
        .map(|n| {
            // First ice on the 12th at 2 in the morning local: 56 h after the start of the spell.
            let (mut assembly, outlook) = household(n, 56);
            assembly.contact.channels = Some(vec![Channel::Text, Channel::Email]);
            (assembly, outlook, Tier::CallNext, 100.0)
        })
        .collect();
    for (n, row) in all.iter_mut().enumerate() {
        change(n, row);
    }
    let mut made = Programme::new(all);
    made.series[0].air_c = air(made.series[0].start);
    made.now = local(12, 20, 0);
    made
}

fn at(programme: &Programme, way: Way) -> Vec<(String, DateTime<Utc>)> {
    programme
        .thaw()
        .notices
        .into_iter()
        .filter(|notice| notice.line.channel == way)
        .map(|notice| (notice.line.contact_id.to_string(), notice.line.slot_start.unwrap()))
        .collect()
}

fn series(air_c: &[f64]) -> Series {
    let mut series = Programme::new(vec![]).series.remove(0);
    series.air_c = air_c.to_vec();
    series
}

#[test]
fn a_rise_is_three_hours_above_freezing_after_frost() {
    let hours = |air_c: &[f64], offset_k: f64| -> Vec<i64> {
        let series = series(air_c);
        rises(&series, offset_k)
            .iter()
            .map(|at| (*at - series.start).num_hours())
            .collect()
    };
    assert!(hours(&[4.0; 10], 0.0).is_empty(), "no frost, no thaw");
    assert_eq!(hours(&[-1.0, 1.0, 1.0, 1.0, 1.0], 0.0), [1]);
    // An hour at noon melts little.
    assert_eq!(hours(&[-1.0, 1.0, -1.0, -1.0, 1.0, 1.0, 1.0], 0.0), [4]);
    // Two nights, two rises; the end of the series is no reason to doubt one.
    assert_eq!(hours(&[-1.0, 1.0, 1.0, 1.0, -1.0, 1.0], 0.0), [1, 5]);
    // Freezing itself is not above freezing, and a site that is colder thaws later.
    assert_eq!(hours(&[-1.0, 0.0, 0.5, 1.5, 2.5, 3.5], 0.0), [2]);
    assert_eq!(hours(&[-1.0, 0.0, 0.5, 1.5, 2.5, 3.5], -1.0), [3]);
    assert!(hours(&[], 0.0).is_empty());
}

#[test]
fn notices_go_from_six_hours_before_the_rise_and_texts_keep_the_quiet_hours() {
    let made = programme(|_, _| {});
    // The rise is on the 13th at 9:00, six hours before is 3:00: e-mails go then, texts wait for 8:00.
    assert_eq!(at(&made, Way::Email)[0].1, local(13, 3, 0));
    assert_eq!(at(&made, Way::Text)[0].1, local(13, 8, 0));
    for notice in made.thaw().notices {
        assert_eq!(notice.rise, local(13, 9, 0));
        // Common practice, no source: thaw -6 h to +48 h.
        assert_eq!(notice.until, local(15, 9, 0));
    }
    assert_eq!(made.thaw().notices.len(), 8);
}

#[test]
fn after_the_rise_they_go_at_once_and_after_forty_eight_hours_no_more() {
    let mut made = programme(|_, _| {});
    made.now = local(14, 15, 0);
    assert!(at(&made, Way::Text).iter().all(|(_, at)| *at == local(14, 15, 0)));
    // At night before the end of the 48 h an e-mail still goes, and the text at 8:00 is within them.
    made.now = local(15, 7, 0);
    assert_eq!(at(&made, Way::Text)[0].1, local(15, 8, 0));
    made.now = local(15, 9, 1);
    assert!(made.thaw().notices.is_empty());
    assert_eq!(made.thaw().too_late, 4);
}

#[test]
fn a_rise_more_than_two_days_ahead_is_left_to_a_later_plan() {
    let mut made = programme(|_, _| {});
    made.now = local(11, 2, 59);
    assert!(made.thaw().notices.is_empty(), "the forecast still moves");
    made.now = local(11, 3, 0);
    assert_eq!(made.thaw().notices.len(), 8);
}

#[test]
fn only_those_at_risk_who_take_messages_hear_and_the_others_are_counted() {
    let mut made = programme(|n, row| match n {
        0 => row.2 = Tier::NoContact,
        1 => row.0.contact.channels = Some(vec![Channel::Call]),
        2 => row.0.contact.channels = Some(vec![]),
        _ => {}
    });
    let thaw = made.thaw();
    assert!(thaw.notices.iter().all(|notice| notice.line.contact_id == "C-A0003"));
    assert_eq!((thaw.notices.len(), thaw.without), (2, 2));
    // Who was spoken to hears of the thaw too; who declined does not; a wrong number gets no text.
    made.history.add("C-A0003", Outcome::Reached, local(10, 10, 0));
    assert_eq!(made.thaw().notices.len(), 2);
    made.history.add("C-A0003", Outcome::WrongNumber, local(10, 11, 0));
    assert_eq!(made.thaw().notices.len(), 1);
    made.history.add("C-A0003", Outcome::Declined, local(10, 12, 0));
    assert!(made.thaw().notices.is_empty());
}

#[test]
fn ice_that_came_after_the_first_rise_waits_for_the_next() {
    // First ice on the 13th at 8 in the morning, after the noon of the 12th whatever its length.
    let mut made = programme(|_, row| row.1.first_ice.p10 = Some(local(13, 8, 0)));
    made.series[0].air_c = (0..168)
        .map(|hour| {
            let at = made.series[0].start + TimeDelta::hours(hour);
            let mild =
                (at >= local(12, 10, 0) && at < local(12, 16, 0)) || at >= local(13, 12, 0) || at < local(11, 18, 0);
            if mild { 4.0 } else { -6.0 }
        })
        .collect();
    assert!(made.thaw().notices.iter().all(|notice| notice.rise == local(13, 12, 0)));
}

#[test]
fn after_two_nights_the_thaw_that_is_told_is_the_one_at_hand() {
    // Frost in two nights, with a rise at 12:00 on the 12th and one at 9:00 on the 13th.
    let mut made = programme(|_, _| {});
    made.series[0].air_c = (0..168)
        .map(|hour| {
            let at = made.series[0].start + TimeDelta::hours(hour);
            let frozen =
                (at >= local(11, 18, 0) && at < local(12, 12, 0)) || (at >= local(12, 20, 0) && at < local(13, 9, 0));
            if frozen { -6.0 } else { 4.0 }
        })
        .collect();
    for (now, rise) in [
        (local(12, 3, 0), local(12, 12, 0)),
        (local(12, 15, 0), local(12, 12, 0)),
        (local(13, 2, 59), local(12, 12, 0)),
        (local(13, 3, 0), local(13, 9, 0)),
        (local(14, 20, 0), local(13, 9, 0)),
    ] {
        made.now = now;
        let thaw = made.thaw();
        assert_eq!(thaw.notices.len(), 8);
        assert!(thaw.notices.iter().all(|notice| notice.rise == rise), "{now}");
    }
}

#[test]
fn the_file_says_when_to_send_whom_what_in_their_language() {
    let made = programme(|n, row| {
        if n == 1 {
            row.0.contact.language = Some(Language::Spanish);
        }
        if n == 2 {
            // The same mailbox as another person's, under another name.
            row.0.contact.email = Some("person3@example.com".into());
            row.0.contact.contact_name = Some("=Nobody".into());
        }
    });
    let files = made.files(false);
    let sent = rows(&files["thaw_notices.csv"]);
    // Four texts, and three e-mails: two share a mailbox.
    assert_eq!(sent.len(), 7);
    let email = sent
        .iter()
        .find(|row| row["channel"] == "email" && row["to"] == "person3@example.com")
        .unwrap();
    assert_eq!(email["assemblies"], "A0002;A0003");
    assert_eq!(
        (email["contact_id"].as_str(), email["also_for"].as_str()),
        ("C-A0002", "C-A0003")
    );
    assert!(
        email["body"].contains("A0002") && email["body"].contains("A0003"),
        "{}",
        email["body"]
    );
    assert_eq!(email["thaw_from"], "2031-01-13T09:00:00-06:00");
    assert_eq!(email["send_at"], "2031-01-13T03:00:00-06:00");
    assert_eq!(email["send_until"], "2031-01-15T09:00:00-06:00");
    assert!(email["body"].contains("Monday morning"), "{}", email["body"]);
    assert!(email["body"].contains("201-555-0199") && email["subject"].contains("leaks"));
    for caution in ["Never use a flame", "Never shut a fire line", "pass a test"] {
        assert!(email["body"].contains(caution), "{caution}: {}", email["body"]);
    }
    let spanish = sent
        .iter()
        .find(|row| row["contact_id"] == "C-A0001" && row["channel"] == "text")
        .unwrap();
    assert_eq!(spanish["language"], "es");
    assert!(spanish["body"].contains("fugas"), "{}", spanish["body"]);
    for row in sent.iter().filter(|row| row["channel"] == "text") {
        // X-Val: 3GPP TS 23.038: one message holds 160 septets.
        assert!(
            brimwater::outreach::gsm7::septets(&row["body"]).unwrap() <= 160,
            "{}",
            row["body"]
        );
    }
    assert!(
        sent.iter()
            .any(|row| row["name"].starts_with("'=") || row["name"].contains("=Nobody"))
    );
    assert!(sent.iter().all(|row| !row["name"].starts_with('=')));
    assert!(
        !made.files(true).contains_key("thaw_notices.csv"),
        "personal throughout"
    );
}
