//! `brimwater log` from the outside.
#![allow(clippy::unwrap_used, clippy::panic)]

use assert_cmd::Command;
use std::path::Path;

fn log(db: &Path) -> Command {
    let mut command = Command::cargo_bin("brimwater").unwrap();
    command.args(["log", "--db"]).arg(db);
    command
}

fn json(db: &Path) -> serde_json::Value {
    let out = log(db).args(["--list", "--format", "json"]).assert().code(0);
    serde_json::from_slice(&out.get_output().stdout).unwrap()
}

#[test]
fn an_event_is_noted_and_listed_with_all_that_was_said() {
    let folder = tempfile::tempdir().unwrap();
    let db = folder.path().join("calls.log");
    for outcome in [
        "reached",
        "message-left",
        "no-answer",
        "wrong-number",
        "declined",
        "done",
    ] {
        log(&db)
            .args([
                "--contact",
                "C-1",
                "--outcome",
                outcome,
                "--note",
                "call, \"back\"",
                "--by",
                "Rosa",
            ])
            .assert()
            .code(0);
    }
    let listed = json(&db);
    assert_eq!(listed["schema"], "brimwater.log/1");
    let events = listed["events"].as_array().unwrap();
    assert_eq!(events.len(), 6);
    assert_eq!(events[1]["outcome"], "message-left");
    assert_eq!(events[1]["note"], "call, \"back\"");
    assert_eq!(events[1]["by"], "Rosa");
    assert_eq!(events[1]["contact"], "C-1");
}

#[test]
fn unclear_requests_end_with_status_two_and_begin_no_log() {
    let folder = tempfile::tempdir().unwrap();
    let db = folder.path().join("calls.log");
    for args in [
        vec![],
        vec!["--contact", "C-1"],
        vec!["--contact", "C-1", "--outcome", "reached"],
        vec!["--contact", "C-1", "--outcome", "vanished", "--by", "Rosa"],
        vec!["--contact", "C-1", "--outcome", "done", "--by", "Rosa", "--list"],
        vec!["--list"],
        vec!["--next"],
        vec![
            "--contact",
            "C-1",
            "--outcome",
            "done",
            "--by",
            "Rosa",
            "--at",
            "tomorrow",
        ],
        vec![
            "--contact",
            "C-1",
            "--outcome",
            "done",
            "--by",
            "Rosa",
            "--at",
            "2999-01-01 10:00",
        ],
        vec!["--import", "no-such-sheet.csv"],
    ] {
        let out = log(&db).args(&args).assert().code(2);
        assert!(!out.get_output().stderr.is_empty(), "{args:?} says nothing");
    }
}

#[test]
fn a_filled_call_sheet_is_taken_in_once_and_bad_rows_go_to_the_rejects() {
    let folder = tempfile::tempdir().unwrap();
    let (db, sheet) = (folder.path().join("calls.log"), folder.path().join("caller-01.csv"));
    std::fs::write(
        &sheet,
        "\u{feff}contact_id;outcome;note;by;at\r\n\
         C-1;Reached;will drain;Rosa;2026-01-09 10:05\r\n\
         C-2;;;;\r\n\
         C-3;no answer;;;\r\n\
         C-4;maybe;;Rosa;\r\n\
         ;done;;Rosa;\r\n\
         C-5;done;;Rosa;9th\r\n\
         C-6;Message left;=HYPERLINK(\"x\");Rosa;2026-01-09T11:00:00-06:00\r\n",
    )
    .unwrap();
    let out = log(&db)
        .arg("--import")
        .arg(&sheet)
        .args(["--by", "Lee"])
        .assert()
        .code(1);
    let said = String::from_utf8_lossy(&out.get_output().stdout).into_owned();
    assert!(
        said.contains("3 events added, 0 known already, 1 rows without an outcome, 3 rows rejected"),
        "{said}"
    );
    let rejects = std::fs::read_to_string(folder.path().join("caller-01.rejects.csv")).unwrap();
    assert_eq!(rejects.lines().count(), 4);
    assert!(
        rejects.contains("maybe")
            && rejects.contains("BW-L13")
            && rejects.contains("BW-L10")
            && rejects.contains("BW-L14")
    );

    log(&db)
        .arg("--import")
        .arg(&sheet)
        .args(["--by", "Lee"])
        .assert()
        .code(1);
    let listed = json(&db);
    let events = listed["events"].as_array().unwrap();
    assert_eq!(events.len(), 3, "the second import added something");
    let by: Vec<&str> = events.iter().map(|e| e["by"].as_str().unwrap()).collect();
    assert_eq!(by, ["Rosa", "Lee", "Rosa"]);
    assert_eq!(events[2]["at"], "2026-01-09T17:00:00Z");

    // What a spreadsheet would run is defused on the way out.
    let out = log(&db).args(["--list", "--format", "csv"]).assert().code(0);
    assert!(String::from_utf8_lossy(&out.get_output().stdout).contains("'=HYPERLINK"));
}

#[test]
fn a_sheet_without_its_header_or_that_is_no_table_is_refused_whole() {
    let folder = tempfile::tempdir().unwrap();
    let (db, sheet) = (folder.path().join("calls.log"), folder.path().join("sheet.csv"));
    for bytes in [
        &b"C-1,reached\n"[..],
        b"",
        b"\x89PNG\r\n\x1a\n\0\0\0",
        b"outcome,by\nreached,Rosa\n",
    ] {
        std::fs::write(&sheet, bytes).unwrap();
        log(&db)
            .arg("--import")
            .arg(&sheet)
            .args(["--by", "Lee"])
            .assert()
            .code(2);
    }
}

#[test]
fn a_damaged_log_is_set_aside_the_event_is_kept_and_the_way_on_is_told() {
    let folder = tempfile::tempdir().unwrap();
    let db = folder.path().join("calls.log");
    std::fs::write(&db, [0u8, 1, 2, 3, 0xFF].repeat(2_000)).unwrap();
    let out = log(&db)
        .args(["--contact", "C-1", "--outcome", "done", "--by", "Rosa"])
        .assert()
        .code(1);
    let told = String::from_utf8_lossy(&out.get_output().stderr).into_owned();
    assert!(
        told.contains("BW-L02") && told.contains("set aside") && told.contains("Go on working"),
        "{told}"
    );
    assert_eq!(json(&db)["events"].as_array().unwrap().len(), 1);
    assert_eq!(
        std::fs::read_dir(folder.path())
            .unwrap()
            .filter(|entry| entry
                .as_ref()
                .unwrap()
                .file_name()
                .to_string_lossy()
                .contains("damaged"))
            .count(),
        1
    );
}

#[test]
fn a_plans_calls_are_given_out_in_order_to_two_callers() {
    let folder = tempfile::tempdir().unwrap();
    let (db, contacts) = (folder.path().join("calls.log"), folder.path().join("contacts.csv"));
    std::fs::write(
        &contacts,
        "contact_id,channel,attempt,caller,slot_start,act_by,language\n\
         C-9,text,1,,2099-01-09T10:00:00Z,2099-01-09T20:00:00Z,en\n\
         C-1,call,1,1,2099-01-09T10:00:00Z,2099-01-09T20:00:00Z,en\n\
         C-2,call,1,2,2099-01-09T10:00:00Z,2099-01-09T20:00:00Z,en\n",
    )
    .unwrap();
    log(&db).arg("--queue").arg(&contacts).assert().code(0);
    for (by, expected) in [("Rosa", "C-1"), ("Lee", "C-2"), ("Rosa", "C-1")] {
        let out = log(&db)
            .args(["--next", "--by", by, "--format", "json"])
            .assert()
            .code(0);
        let answer: serde_json::Value = serde_json::from_slice(&out.get_output().stdout).unwrap();
        assert_eq!(answer["next"]["contact"], expected);
    }
    log(&db)
        .args(["--contact", "C-1", "--outcome", "reached", "--by", "Rosa"])
        .assert()
        .code(0);
    let out = log(&db).args(["--next", "--by", "Rosa"]).assert().code(0);
    assert!(String::from_utf8_lossy(&out.get_output().stdout).contains("No call is open"));
}

#[test]
fn a_sheet_that_was_sorted_and_filled_further_is_taken_in_once() {
    let folder = tempfile::tempdir().unwrap();
    let (db, sheet) = (folder.path().join("calls.log"), folder.path().join("caller-01.csv"));
    let header = "contact_id,outcome,note,by,at,planned_for,attempt\n";
    let (a, b, c) = (
        "C-1,no-answer,,,,2031-01-09 09:00,1\n",
        "C-2,reached,,,,2031-01-09 09:04,1\n",
        "C-1,no-answer,,,,2031-01-09 11:00,2\n",
    );
    let take = |text: String| {
        std::fs::write(&sheet, text).unwrap();
        let out = log(&db)
            .arg("--import")
            .arg(&sheet)
            .args(["--by", "Lee"])
            .assert()
            .code(0);
        String::from_utf8_lossy(&out.get_output().stdout).into_owned()
    };
    assert!(take(format!("{header}{a}{b}")).contains("2 events added"));
    // Sorted by name in between, and the second attempt filled in: it says the same but for its time.
    let told = take(format!("{header}{b}{c}{a}"));
    assert!(told.contains("1 events added, 2 known already"), "{told}");
    // Another caller's sheet with the same words about the same person is another event.
    std::fs::write(&sheet, format!("{header}{a}")).unwrap();
    log(&db)
        .arg("--import")
        .arg(&sheet)
        .args(["--by", "Rosa"])
        .assert()
        .code(0);
    assert_eq!(json(&db)["events"].as_array().unwrap().len(), 4);
}

/// Catches a next call without its number, a number of another person, and a log that keeps numbers itself.
#[test]
fn the_next_call_comes_with_the_number_to_dial_and_until_when() {
    let folder = tempfile::tempdir().unwrap();
    let (db, contacts) = (folder.path().join("calls.log"), folder.path().join("contacts.csv"));
    std::fs::write(
        &contacts,
        "contact_id,channel,attempt,caller,slot_start,act_by,language,name,reach_at,site_address,reason\n\
         C-1,text,1,,2099-01-09T10:00:00Z,2099-01-09T20:00:00Z,en,Ona Vell,+12015550181,3 Mill Rd,a text\n\
         C-1,call,1,1,2099-01-09T10:00:00Z,2099-01-09T20:00:00Z,en,Ona Vell,201-555-0181,3 Mill Rd,it is bare\n",
    )
    .unwrap();
    log(&db).arg("--queue").arg(&contacts).assert().code(0);
    let out = log(&db).args(["--next", "--by", "Rosa"]).assert().code(0);
    let said = String::from_utf8_lossy(&out.get_output().stdout).into_owned();
    for told in [
        "201-555-0181  Ona Vell",
        "C-1: attempt 1",
        "to act by Fri 8:00 PM",
        "3 Mill Rd",
        "it is bare",
    ] {
        assert!(said.contains(told), "{told}: {said}");
    }
    let out = log(&db)
        .args(["--next", "--by", "Rosa", "--format", "json"])
        .assert()
        .code(0);
    let answer: serde_json::Value = serde_json::from_slice(&out.get_output().stdout).unwrap();
    assert_eq!(answer["contact"]["reach_at"], "201-555-0181");
    for name in ["calls.log", "calls.log-wal"] {
        let bytes = std::fs::read(folder.path().join(name)).unwrap_or_default();
        assert!(!String::from_utf8_lossy(&bytes).contains("5550181"), "{name}");
        assert!(!String::from_utf8_lossy(&bytes).contains("555-0181"), "{name}");
    }
    // The file has moved: the call is given out all the same, and it is said where the number is.
    let moved = folder.path().join("moved.csv");
    std::fs::rename(&contacts, &moved).unwrap();
    let out = log(&db).args(["--next", "--by", "Rosa"]).assert().code(0);
    assert!(String::from_utf8_lossy(&out.get_output().stdout).contains("call sheet"));
    let out = log(&db)
        .args(["--next", "--by", "Rosa", "--contacts"])
        .arg(&moved)
        .assert()
        .code(0);
    assert!(String::from_utf8_lossy(&out.get_output().stdout).contains("201-555-0181"));
}

/// A log on a medium that cannot be written to is read as it is, whatever signs its name holds: `%`, `?` and `#` mean something in the
/// form by which it is opened then. Rights hold for everybody but the system's administrator, so as such the program is run as nobody.
#[cfg(unix)]
#[test]
fn a_log_that_may_only_be_read_is_listed_whatever_its_name() {
    use std::os::unix::fs::{MetadataExt, PermissionsExt};
    use std::os::unix::process::CommandExt;
    let folder = tempfile::tempdir().unwrap();
    let program = folder.path().join("brimwater");
    std::fs::copy(assert_cmd::cargo::cargo_bin("brimwater"), &program).unwrap();
    let administrator = std::fs::metadata(folder.path()).unwrap().uid() == 0;
    for name in ["100 % frost.log", "calls?.log", "winter #2.log"] {
        let kept = folder.path().join("kept");
        std::fs::create_dir(&kept).unwrap();
        let db = kept.join(name);
        log(&db)
            .args([
                "--contact",
                "C-1",
                "--outcome",
                "reached",
                "--note",
                "kept",
                "--by",
                "Rosa",
            ])
            .assert()
            .code(0);
        let rights = |path: &Path, mode| std::fs::set_permissions(path, std::fs::Permissions::from_mode(mode)).unwrap();
        rights(folder.path(), 0o755);
        rights(&db, 0o444);
        rights(&kept, 0o555);
        let mut command = std::process::Command::new(&program);
        command.args(["log", "--list", "--format", "json", "--db"]).arg(&db);
        if administrator {
            command.uid(65_534).gid(65_534);
        }
        let out = command.current_dir("/").output().unwrap();
        rights(&kept, 0o755);
        assert!(out.status.success(), "{name}: {}", String::from_utf8_lossy(&out.stderr));
        let listed: serde_json::Value = serde_json::from_slice(&out.stdout).unwrap();
        assert_eq!(listed["events"][0]["note"], "kept", "{name}");
        std::fs::remove_dir_all(&kept).unwrap();
    }
}
