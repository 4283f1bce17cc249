//! A whole campaign on the command line: plan, log, re-plan, thaw, after; and logs and templates that cannot be used.
#![allow(clippy::unwrap_used, clippy::panic)]

use assert_cmd::Command;
use predicates::prelude::*;
use std::collections::{BTreeSet, HashMap};
use std::fs;
use std::path::PathBuf;
use tempfile::TempDir;

const LIST: &str = "\
assembly_id,device_type,nominal_size_in,latitude,longitude,elevation_ft,customer_class,service,placement,winter_use,critical,contact_name,phone,email,channels,site_address,last_test
A-1,PVB,1,31.50,-41.30,60,residential,irrigation,open,idle,,Ana Soto,202-555-0101,ana@example.com,call;text;email,1 Mill Lane,2025-03-01
A-2,RP,2,31.51,-41.31,60,commercial,domestic,open,idle,,Marrow Laundry,202-555-0102,office@example.com,call;email,2 Mill Lane,2030-06-01
A-3,RP,1,31.52,-41.29,60,public,domestic,open,idle,hospital,Reach Clinic,202-555-0103,,call,3 Mill Lane,2030-06-01
A-4,PVB,1,31.53,-41.28,60,residential,irrigation,open,idle,,Ben Ito,202-555-0104,office@example.com,call;email,4 Mill Lane,
A-5,PVB,1,31.53,-41.28,60,residential,irrigation,open,idle,school,No Contact,202-555-0105,,none,5 Mill Lane,
A-6,PVB,1,31.53,-41.28,60,residential,irrigation,open,idle,,Cy Letters,CALL-ME-NOW,cy@example.com,call;text;email,6 Mill Lane,
A-7,PVB,1,31.53,-41.28,60,residential,irrigation,open,idle,,Dee Vane,202-555-0101,,call;text;email,1 Mill Lane,
";

/// A week whose fourth night falls to about 17 °F; the air is above freezing again on the fifth day. Hours before `now` are observed.
fn weather(now: &str) -> String {
    let start: chrono::DateTime<chrono::Utc> = "2031-01-06T12:00:00Z".parse().unwrap();
    let now: chrono::DateTime<chrono::Utc> = now.parse().unwrap();
    let mut text = String::from("time,air_temp_f,wind_mph,dew_point_f,sky_cover_percent,kind\n");
    for h in 0..168 {
        let x = f64::from(h);
        let air = 48.0 - 32.0 * (-((x - 90.0) / 16.0).powi(2)).exp() + 5.0 * ((x - 26.0) * 0.2618).sin();
        let time = start + chrono::TimeDelta::hours(i64::from(h));
        let kind = if time < now { "observed" } else { "forecast" };
        text.push_str(&format!(
            "{},{air:.1},6,{:.1},20,{kind}\n",
            time.to_rfc3339(),
            air - 8.0
        ));
    }
    text
}

pub(crate) struct Campaign {
    pub(crate) dir: TempDir,
}

impl Campaign {
    pub(crate) fn new() -> Self {
        let dir = TempDir::new().unwrap();
        fs::write(dir.path().join("list.csv"), LIST).unwrap();
        fs::write(
            dir.path().join("config.toml"),
            "[utility]\nname = \"Pellow Reach Water\"\nzone = \"America/Chicago\"\nphone = \"(201) 555-0100\"\n\
             [outreach]\nprogramme_id = \"pellow\"\n",
        )
        .unwrap();
        Self { dir }
    }

    pub(crate) fn path(&self, name: &str) -> PathBuf {
        self.dir.path().join(name)
    }

    pub(crate) fn command(&self, arguments: &[&str]) -> Command {
        let mut command = Command::cargo_bin("brimwater").unwrap();
        command.current_dir(self.dir.path()).args(arguments);
        command
    }

    pub(crate) fn plan(&self, now: &str, out: &str, more: &[&str]) -> Command {
        fs::write(self.path("week.csv"), weather(now)).unwrap();
        let mut command = self.command(&[
            "plan",
            "--assemblies",
            "list.csv",
            "--series",
            "week.csv",
            "--config",
            "config.toml",
            "--now",
            now,
            "--out",
            out,
            "--members",
            "16",
            "--advice-cases",
            "1",
        ]);
        command.args(more);
        command
    }

    fn rows(&self, name: &str) -> Vec<HashMap<String, String>> {
        let text = fs::read_to_string(self.path(name)).unwrap();
        csv::Reader::from_reader(text.as_bytes())
            .deserialize()
            .collect::<Result<_, _>>()
            .unwrap()
    }
}

#[test]
fn from_plan_to_log_to_replan_to_thaw_to_inspection() {
    let campaign = Campaign::new();
    // Tuesday noon, two days before the cold.
    campaign
        .plan("2031-01-07T18:00:00Z", "tuesday", &[])
        .assert()
        .code(1)
        .stderr(predicate::str::contains("BW-A61"));
    let contacts = campaign.rows("tuesday/contacts.csv");
    let of = |rows: &[HashMap<String, String>], channel: &str| -> BTreeSet<String> {
        rows.iter()
            .filter(|row| row["channel"] == channel)
            .map(|row| row["contact_id"].clone())
            .collect()
    };
    // A number of letters is told and the e-mail stays; two names at one number are one call; opted out and critical is for a human.
    assert!(of(&contacts, "email").contains("C-A-6") && !of(&contacts, "call").contains("C-A-6"));
    assert!(of(&contacts, "call").contains("C-A-1") && !of(&contacts, "call").contains("C-A-7"));
    assert_eq!(of(&contacts, "human decision"), BTreeSet::from(["C-A-5".to_owned()]));
    // One mailbox of two persons gets one e-mail with both.
    let merge = campaign.rows("tuesday/mail_merge.csv");
    let office: Vec<_> = merge.iter().filter(|row| row["to"] == "office@example.com").collect();
    assert_eq!(office.len(), 1);
    assert!(office[0]["body"].contains("A-2") && office[0]["body"].contains("A-4"));
    assert!(!campaign.path("tuesday/thaw_notices.csv").exists() && !campaign.path("tuesday/inspection.csv").exists());

    // The sheet of whoever calls the clinic is filled and taken in; the laundry rings back.
    let sheet = (1..=6)
        .map(|caller| format!("tuesday/call_sheets/caller-{caller:02}.csv"))
        .find(|name| {
            campaign.path(name).exists() && fs::read_to_string(campaign.path(name)).unwrap().contains("\nC-A-3,")
        })
        .unwrap();
    let filled = fs::read_to_string(campaign.path(&sheet)).unwrap().replacen(
        "\nC-A-3,,,,",
        "\nC-A-3,done,,,2031-01-07 12:30",
        1,
    );
    fs::write(campaign.path("filled.csv"), filled).unwrap();
    let log = ["log", "--db", "calls.log", "--config", "config.toml", "--by", "Rosa"];
    // By the clock of this test the calls lie years ahead: a slip of the year is told, not taken.
    campaign
        .command(&log)
        .args(["--import", "filled.csv"])
        .assert()
        .code(1)
        .stderr(predicate::str::contains("BW-L14").and(predicate::str::contains("future")));
    let noted = |contact: &str, outcome: &str| {
        use brimwater::outreach::outcome::Outcome;
        use brimwater::store::{Log, NewEvent};
        let (mut log, _) = Log::open(&campaign.path("calls.log"), Some("pellow")).unwrap();
        log.add(&NewEvent {
            at: "2031-01-07T19:00:00Z".parse().unwrap(),
            ..NewEvent::now(contact, Outcome::parse(outcome).unwrap(), "", "Rosa", "command")
        })
        .unwrap();
    };
    noted("C-A-3", "done");
    noted("C-A-2", "no-answer");

    // Wednesday morning: calls left, from now on.
    let more = ["--since", "tuesday", "--log", "calls.log"];
    campaign
        .plan("2031-01-08T15:00:00Z", "wednesday", &more)
        .assert()
        .code(1)
        .stdout(predicate::str::contains("1 done; see changes.csv"));
    let contacts = campaign.rows("wednesday/contacts.csv");
    assert!(contacts.iter().all(|row| row["contact_id"] != "C-A-3"), "done with");
    let again: Vec<_> = contacts
        .iter()
        .filter(|row| row["contact_id"] == "C-A-2" && row["channel"] == "call")
        .collect();
    assert!(
        !again.is_empty() && again.iter().all(|row| row["attempt"] != "1"),
        "{again:?}"
    );
    assert!(
        contacts
            .iter()
            .filter(|row| row["channel"] == "call")
            .all(|row| row["slot_start"].as_str() >= "2031-01-08T09:00")
    );
    let done: Vec<_> = campaign
        .rows("wednesday/changes.csv")
        .into_iter()
        .filter(|row| row["change"] == "done")
        .collect();
    assert_eq!((done.len(), done[0]["why"].as_str()), (1, "log"));

    // The cold night is over: notices for the thaw.
    campaign
        .plan("2031-01-10T16:00:00Z", "thaw", &more)
        .assert()
        .stderr(predicate::str::contains("BW-P75"));
    let notices = campaign.rows("thaw/thaw_notices.csv");
    assert!(
        notices.iter().any(|row| row["to"] == "ana@example.com") && notices.iter().any(|row| row["channel"] == "text")
    );
    assert!(
        notices
            .iter()
            .all(|row| row["thaw_from"] <= row["send_until"] && row["send_at"] <= row["send_until"])
    );

    // A week later everything is observed: visits, and nobody is warned of what has been.
    let _ = campaign.plan("2031-01-13T12:00:00Z", "after", &more).assert();
    let visits = campaign.rows("after/inspection.csv");
    let first: BTreeSet<&str> = visits.iter().take(2).map(|row| row["assembly_id"].as_str()).collect();
    assert_eq!(first, BTreeSet::from(["A-3", "A-5"]), "hospital and school first");
    let hospital = visits.iter().find(|row| row["assembly_id"] == "A-3").unwrap();
    assert!(hospital["outreach"].starts_with("done 2031-01-07"), "{hospital:?}");
    assert!(campaign.rows("after/contacts.csv").is_empty());
    assert!(campaign.rows("after/mail_merge.csv").is_empty());
    let form = campaign.rows("after/inspection_record.csv");
    assert_eq!(form.len(), visits.len());
    assert!(
        campaign
            .rows("after/inspection_words.csv")
            .iter()
            .any(|row| row["column"] == "damage_part" && row["word"] == "none")
    );
}

#[test]
fn the_log_of_another_programme_stops_the_plan_and_is_left_alone() {
    let campaign = Campaign::new();
    drop(brimwater::store::Log::open(&campaign.path("other.log"), Some("somewhere-else")).unwrap());
    let before = fs::read(campaign.path("other.log")).unwrap();
    campaign
        .plan("2031-01-07T18:00:00Z", "out", &["--log", "other.log"])
        .assert()
        .code(2)
        .stderr(predicate::str::contains("BW-L03").and(predicate::str::contains("somewhere-else")));
    assert!(!campaign.path("out").exists());
    assert_eq!(fs::read(campaign.path("other.log")).unwrap(), before);
}

#[test]
fn a_damaged_log_is_set_aside_and_the_plan_is_made() {
    let campaign = Campaign::new();
    fs::write(campaign.path("calls.log"), [0u8, 1, 2, 3, 0xFF].repeat(2_000)).unwrap();
    campaign
        .plan("2031-01-07T18:00:00Z", "out", &["--log", "calls.log"])
        .assert()
        .code(1)
        .stderr(predicate::str::contains("BW-L02").and(predicate::str::contains("set aside")));
    assert!(campaign.path("out/contacts.csv").exists());
}

#[test]
fn templates_with_unknown_fields_are_told_by_name_and_the_built_in_words_used() {
    let campaign = Campaign::new();
    fs::create_dir_all(campaign.path("words/en")).unwrap();
    fs::write(
        campaign.path("words/en/text_irrigation.txt"),
        "Dear {{ customer_name }}, cold is near.",
    )
    .unwrap();
    fs::write(campaign.path("words/en/text_gardens.txt"), "Cold is near.").unwrap();
    fs::write(campaign.path("words/en/text_vacant.txt"), "{% if %}").unwrap();
    fs::write(
        campaign.path("words/en/text_domestic.txt"),
        "{{ sender }}: cold {{ when }}. Wrap your valve today. Call {{ phone }}",
    )
    .unwrap();
    let config = fs::read_to_string(campaign.path("config.toml")).unwrap() + "templates = \"words\"\n";
    fs::write(campaign.path("config.toml"), config).unwrap();
    campaign
        .plan("2031-01-07T18:00:00Z", "out", &[])
        .assert()
        .code(1)
        .stderr(
            predicate::str::contains("BW-P71")
                .and(predicate::str::contains("text_irrigation.txt"))
                .and(predicate::str::contains("BW-P72"))
                .and(predicate::str::contains("text_gardens.txt"))
                .and(predicate::str::contains("text_vacant.txt")),
        );
    let merge = campaign.rows("out/mail_merge.csv");
    assert!(
        merge
            .iter()
            .all(|row| !row["body"].contains("Dear") && !row["body"].is_empty())
    );
}

#[test]
fn a_shift_that_has_passed_is_told_and_calls_start_with_the_next() {
    let campaign = Campaign::new();
    // Half past six in the evening: the shift ended at five.
    campaign
        .plan("2031-01-08T00:30:00Z", "out", &[])
        .assert()
        .code(1)
        .stderr(predicate::str::contains("BW-P62"));
    let contacts = campaign.rows("out/contacts.csv");
    let calls: Vec<_> = contacts.iter().filter(|row| row["channel"] == "call").collect();
    assert!(!calls.is_empty() && calls.iter().all(|row| row["slot_start"].starts_with("2031-01-08T") || row["slot_start"].starts_with("2031-01-09T")));
    assert!(calls.iter().all(|row| row["slot_start"].as_str() >= "2031-01-08T09:00"));
    // In the cold night itself nothing can be done any more, and that is said of each.
    campaign
        .plan("2031-01-10T04:00:00Z", "late", &[])
        .assert()
        .code(1)
        .stderr(predicate::str::contains("BW-P63"));
    let late = campaign.rows("late/contacts.csv");
    assert!(late.iter().all(|row| row["channel"] != "call"));
    assert!(
        late.iter()
            .any(|row| row["reason"].contains("has passed") || row["reason"].contains("no shift is left"))
    );
}
