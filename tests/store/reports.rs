//! Reports of how an assembly stands: kept by both kinds of log, told apart from calls and contacts, counted from a time on.

use super::both::{event, new_call, noon, over_both};
use assert_cmd::Command;
use brimwater::freeze::{Report, Seen};
use brimwater::outreach::outcome::Outcome;
use brimwater::store::{CallFilter, NewReport};
use chrono::TimeDelta;

fn report(id: &str, seen: Seen, hours: i64, note: &str) -> NewReport {
    NewReport {
        assembly_id: id.into(),
        report: Report {
            at: noon() + TimeDelta::hours(hours),
            seen,
        },
        seen_by: "a tester".into(),
        note: note.into(),
        by: "Rosa".into(),
        uid: None,
    }
}

/// Catches a report that counts as a contact, a call whose words begin with one of ours, and a report of an earlier spell.
#[test]
fn reports_are_kept_beside_calls_and_settle_nobody() {
    over_both(|kind, log| {
        for one in [
            report("A-1", Seen::Fine, 0, ""),
            report("A-1", Seen::Ice, 5, "icicle: at the relief"),
            report("A-2", Seen::Broken, 1, ""),
            report("A-9", Seen::Ice, -300, ""),
        ] {
            log.record(&one.call()).unwrap();
        }
        let mut caller = new_call("A-3", false, None);
        caller.words = "ice: on the grass".into();
        log.record(&caller).unwrap();
        log.add(&event("A-2", Outcome::NoAnswer, 0)).unwrap();
        let reports = log.reports(Some(noon() - TimeDelta::hours(24))).unwrap();
        let seen = |id: &str| -> Vec<Seen> {
            reports
                .of(id, noon() - TimeDelta::days(1), noon() + TimeDelta::days(1))
                .into_iter()
                .map(|report| report.seen)
                .collect()
        };
        assert_eq!(seen("A-1"), [Seen::Fine, Seen::Ice], "{kind}");
        assert_eq!(seen("A-2"), [Seen::Broken], "{kind}");
        assert!(seen("A-3").is_empty() && seen("A-9").is_empty(), "{kind}: {reports:?}");
        let history = log.history(None).unwrap();
        assert_eq!(history.0.keys().collect::<Vec<_>>(), ["A-2"], "{kind}");
        let notes: Vec<String> = log
            .calls(&CallFilter::default())
            .unwrap()
            .iter()
            .filter_map(|call| brimwater::store::reports::of_call(call))
            .map(|(_, note)| note.to_owned())
            .collect();
        assert!(notes.contains(&"icicle: at the relief".to_owned()), "{kind}: {notes:?}");
    });
}

#[test]
fn a_report_is_noted_on_the_command_line_and_what_cannot_be_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let log = |arguments: &[&str]| {
        let mut command = Command::cargo_bin("brimwater").unwrap();
        command
            .current_dir(folder.path())
            .args(["log", "--db", "calls.log"])
            .args(arguments);
        command.output().unwrap()
    };
    let done = log(&[
        "--assembly",
        "A-1042",
        "--seen",
        "Ice",
        "--at",
        "2026-01-09 09:00",
        "--note",
        "drips",
        "--by",
        "Rosa",
    ]);
    assert!(done.status.success(), "{}", String::from_utf8_lossy(&done.stderr));
    assert!(String::from_utf8_lossy(&done.stdout).contains("A-1042, seen ice, by Rosa"));
    for (wrong, code) in [
        (
            &["--assembly", "A-1042", "--seen", "lukewarm", "--by", "Rosa"][..],
            "BW-L13",
        ),
        (&["--assembly", "A-1042", "--seen", "ice"][..], "BW-L21"),
        (&["--assembly", "", "--seen", "ice", "--by", "Rosa"][..], "BW-L16"),
        (
            &[
                "--assembly",
                "A-1",
                "--seen",
                "ice",
                "--by",
                "Rosa",
                "--at",
                "2099-01-01 00:00",
            ][..],
            "BW-L14",
        ),
        (
            &["--assembly", "A-1", "--seen", "ice", "--by", "Rosa", "--list"][..],
            "BW-L21",
        ),
    ] {
        let done = log(wrong);
        let told = String::from_utf8_lossy(&done.stderr);
        assert!(
            done.status.code() == Some(2) && told.contains(code),
            "{wrong:?}: {told}"
        );
    }
    let listed = log(&["--calls", "--format", "json"]);
    let json: serde_json::Value = serde_json::from_slice(&listed.stdout).unwrap();
    let calls = json["calls"].as_array().unwrap();
    assert_eq!(calls.len(), 1);
    assert_eq!(
        (calls[0]["words"].as_str(), calls[0]["source"].as_str()),
        (Some("ice: drips"), Some("report"))
    );
}

/// A filled record form is taken in as reports, each once; what cannot be dated is set aside with its reason.
#[test]
fn a_filled_record_form_becomes_reports() {
    let folder = tempfile::tempdir().unwrap();
    let form = "\
event,assembly_id,inspected_by,inspector_name,date,hour,ice,damage_part,severity,state,note\n\
spell,A-1,tester,Vell,2026-01-09,9,no,none,none,no damage,\n\
spell,A-2,tester,Vell,2026-01-09,9:30 am,yes,none,none,,hard to the touch\n\
spell,A-3,tester,Vell,2026-01-09,14:30,,bonnet,split,,\n\
spell,A-4,customer,,2026-01-09,,,,,\"reported damaged, not looked at\",\n\
spell,A-5,tester,Vell,2026-01-09,2 pm,,none,none,no damage,\n\
spell,A-6,,,,,,,,,\n\
spell,A-7,tester,Vell,,,no,none,none,no damage,\n\
spell,A-8,tester,Vell,2026-01-09,noonish,no,none,none,no damage,\n\
spell,A-9,tester,Vell,2099-01-09,9,no,none,none,no damage,\n";
    std::fs::write(folder.path().join("inspection_record.csv"), form).unwrap();
    let log = |arguments: &[&str]| {
        let mut command = Command::cargo_bin("brimwater").unwrap();
        let done = command
            .current_dir(folder.path())
            .args(["log", "--db", "calls.log"])
            .args(arguments)
            .output()
            .unwrap();
        let both = [done.stdout, done.stderr].map(|bytes| String::from_utf8_lossy(&bytes).into_owned());
        (done.status.code(), both)
    };
    let import = ["--import", "inspection_record.csv", "--by", "Rosa"];
    let (status, [said, told]) = log(&import);
    assert_eq!(status, Some(1), "{told}");
    assert!(
        said.starts_with(
            "5 reports added (1 fine, 1 ice, 2 broken, 1 whole in the form), 0 known already, 1 rows that say nothing"
        ) && said.contains("3 rows rejected"),
        "{said}"
    );
    assert!(told.contains("BW-L25"), "the zone that was taken is told: {told}");
    assert!(told.contains("BW-L23") && told.matches("BW-L14").count() == 3, "{told}");
    let aside = std::fs::read_to_string(folder.path().join("inspection_record.rejects.csv")).unwrap();
    assert!(
        aside.lines().count() == 4 && aside.contains("A-7") && aside.contains("A-8") && aside.contains("A-9"),
        "{aside}"
    );
    let (_, [again, _]) = log(&import);
    assert!(
        again.starts_with("0 reports added") && again.contains("5 known already"),
        "{again}"
    );
    let (_, [listed, _]) = log(&["--calls", "--format", "json"]);
    let json: serde_json::Value = serde_json::from_str(&listed).unwrap();
    let of = |id: &str| {
        let calls = json["calls"].as_array().unwrap();
        let call = calls.iter().find(|call| call["subject"] == id).unwrap();
        (
            call["words"].as_str().unwrap().to_owned(),
            call["at"].as_str().unwrap().to_owned(),
        )
    };
    assert_eq!(of("A-1").0, "fine");
    assert_eq!(of("A-2").0, "ice: hard to the touch");
    assert!(of("A-2").1.contains("09:30"), "{:?}", of("A-2"));
    assert_eq!(of("A-3").0, "broken: bonnet, split");
    assert!(
        of("A-4").0 == "broken" && of("A-4").1.contains("12:00"),
        "{:?}",
        of("A-4")
    );
    assert!(
        of("A-5").0 == "whole" && of("A-5").1.contains("14:00"),
        "{:?}",
        of("A-5")
    );
}

/// A form that went through a spreadsheet: its dates come back in the spreadsheet's own way, with the hour in the same cell or apart.
///
/// X-Val: 19 January 2026 is day 46,041 from 30 December 1899 (Python 3.11: `date(2026, 1, 19) - date(1899, 12, 30)`); the rest is read by hand.
#[test]
fn dates_of_a_record_form_are_read_as_a_spreadsheet_writes_them_and_doubt_is_told() {
    let moments = |dates: &[(&str, &str)]| {
        let folder = tempfile::tempdir().unwrap();
        let mut form = "assembly_id,inspected_by,date,hour,ice,damage_part,severity\n".to_owned();
        for (n, (date, hour)) in dates.iter().enumerate() {
            form.push_str(&format!("A-{n},tester,\"{date}\",{hour},no,none,none\n"));
        }
        std::fs::write(folder.path().join("form.csv"), form).unwrap();
        let log = |arguments: &[&str]| {
            let mut command = Command::cargo_bin("brimwater").unwrap();
            let command = command.current_dir(folder.path()).args(["log", "--db", "calls.log"]);
            command.args(arguments).output().unwrap()
        };
        let done = log(&["--import", "form.csv", "--by", "Rosa"]);
        let told = String::from_utf8_lossy(&done.stderr).into_owned();
        let json: serde_json::Value = serde_json::from_slice(&log(&["--calls", "--format", "json"]).stdout).unwrap();
        let calls = json["calls"].as_array().unwrap();
        let mut seen: Vec<(String, String)> = calls
            .iter()
            .map(|call| {
                let text = |key: &str| call[key].as_str().unwrap().to_owned();
                (text("subject"), text("at")[..16].to_owned())
            })
            .collect();
        seen.sort();
        (
            seen.into_iter().map(|(_, at)| at).collect::<Vec<_>>(),
            told,
            done.status.code(),
        )
    };
    // What can be read in one way only.
    let (at, told, status) = moments(&[
        ("1/19/2026", "9"),
        ("19.1.2026", "9"),
        ("19-Jan-26", "9"),
        ("January 19, 2026", "9"),
        ("2026-01-19 09:00", ""),
        ("1/19/2026 9:00:00 AM", ""),
        ("46041", "9"),
        ("1/19/2026 0:00", "9"),
    ]);
    assert_eq!(at, ["2026-01-19T09:00"; 8], "{told}");
    assert!(!told.contains("BW-R16") && !told.contains("BW-L23"), "{told}");
    assert_eq!(status, Some(0), "{told}");
    // Read two ways, and another date shows which.
    let (at, told, status) = moments(&[("9/1/2026", "9"), ("19/1/2026", "9")]);
    assert_eq!(at, ["2026-01-09T09:00", "2026-01-19T09:00"]);
    assert!(told.contains("BW-R16") && told.contains("day first"), "{told}");
    assert_eq!(status, Some(0), "{told}");
    // Nothing shows it: the month comes first, and that is a warning, for the day decides which night is weighed.
    let (at, told, status) = moments(&[("1/9/2026", "9"), ("2026-01-10", "9")]);
    assert_eq!(at, ["2026-01-09T09:00", "2026-01-10T09:00"]);
    assert!(told.contains("BW-R16") && told.contains("month first"), "{told}");
    assert_eq!(status, Some(1), "{told}");
    // No hour in either cell is told as before; a cell that is no date is set aside.
    let (at, told, _) = moments(&[("1/19/2026 0:00", ""), ("last week", "9")]);
    assert_eq!(at, ["2026-01-19T12:00"]);
    assert!(told.contains("BW-L23") && told.contains("BW-R13"), "{told}");
}
