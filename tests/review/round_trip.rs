//! From a plan after the spell, through its filled form, to the review.

use crate::backtest::path;
use assert_cmd::Command;
use std::collections::HashMap;
use std::path::Path;

fn brimwater() -> Command {
    Command::cargo_bin("brimwater").unwrap()
}

fn samples(name: &str) -> std::path::PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("climate-samples").join(name)
}

/// Twenty assemblies of the demonstration, so that the unoptimised model answers soon.
fn short_list(folder: &Path) -> std::path::PathBuf {
    let text = std::fs::read_to_string(samples("assemblies.csv")).unwrap();
    let file = folder.join("short.csv");
    std::fs::write(&file, text.lines().take(21).collect::<Vec<_>>().join("\n") + "\n").unwrap();
    file
}

fn plan(folder: &Path, list: &Path, now: &str, name: &str) -> std::path::PathBuf {
    let out = folder.join(name);
    let mut command = brimwater();
    command.arg("plan").arg("--assemblies").arg(list);
    for (option, file) in [
        ("--series", "forecast.csv"),
        ("--stations", "stations.csv"),
        ("--config", "config.toml"),
    ] {
        command.arg(option).arg(samples(file));
    }
    command
        .args([
            "--members",
            "32",
            "--advice-cases",
            "2",
            "--quiet",
            "--now",
            now,
            "--out",
        ])
        .arg(&out);
    let status = command.output().unwrap().status.code();
    assert!(matches!(status, Some(0 | 1)), "{status:?}");
    out
}

fn run_of(folder: &Path) -> serde_json::Value {
    serde_json::from_slice(&std::fs::read(folder.join("run.json")).unwrap()).unwrap()
}

/// Fills the form: `state` by assembly.
fn fill(form: &Path, to: &Path, state: &dyn Fn(usize) -> &'static str, change: &dyn Fn(&mut HashMap<String, String>)) {
    let mut reader = csv::Reader::from_path(form).unwrap();
    let header = reader.headers().unwrap().clone();
    let mut writer = csv::Writer::from_path(to).unwrap();
    writer.write_record(&header).unwrap();
    for (at, record) in reader.records().enumerate() {
        let mut cells: HashMap<String, String> = header
            .iter()
            .map(str::to_owned)
            .zip(record.unwrap().iter().map(str::to_owned))
            .collect();
        cells.insert("state".into(), state(at).into());
        change(&mut cells);
        writer
            .write_record(header.iter().map(|column| cells[column].as_str()))
            .unwrap();
    }
    writer.flush().unwrap();
}

// Wrong programs: a form that does not say which plan it belongs to or with which chance a row was to be looked at; a review that joins
// another plan's record by identifier alone, or takes blank rows for whole ones.
#[test]
fn a_filled_form_finds_its_plan_and_a_stranger_does_not() {
    let folder = tempfile::tempdir().unwrap();
    let list = short_list(folder.path());
    let issued = plan(folder.path(), &list, "2027-01-18T12:00:00Z", "issued");
    let after = plan(folder.path(), &list, "2027-02-20T12:00:00Z", "after");
    let (run, over) = (run_of(&issued), run_of(&after));
    assert!(run["over"] == false && over["over"] == true);
    assert_ne!(run["plan_id"], over["plan_id"]);
    // The weather's error is one for the town: the range with it holds the range without.
    let total = &run["total"];
    let figure = |range: &str, key: &str| total[range][key].as_f64().unwrap();
    assert!(figure("breaks", "p05") <= figure("breaks_local", "p05"));
    assert!(figure("breaks", "p95") >= figure("breaks_local", "p95"));
    assert!(total["shared"].as_f64().unwrap() > 0.3);
    // Hours that came carry no forecast error.
    assert_eq!(over["total"]["shared"], 0.0);

    let form = after.join("inspection_record.csv");
    let text = std::fs::read_to_string(&form).unwrap();
    assert!(text.contains(over["plan_id"].as_str().unwrap()));
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let header = reader.headers().unwrap().clone();
    let at = |name: &str| header.iter().position(|column| column == name).unwrap();
    for record in reader.records().map(Result::unwrap) {
        // Fewer than 60 are listed and 200 may be drawn, so all must be looked at, each with chance 1.
        assert_eq!(&record[at("must_look")], "yes");
        assert_eq!(record[at("inclusion_probability")].parse::<f64>().unwrap(), 1.0);
    }

    let filled = folder.path().join("filled.csv");
    let states = ["no damage", "damaged", "", "looked at, cannot tell"];
    fill(&form, &filled, &|at| states[at % 4], &|_| {});
    let review = |record: &Path, status: i32| {
        let out = brimwater()
            .args(["review", "--format", "json", "--plan"])
            .arg(&issued)
            .arg("--plan")
            .arg(&after)
            .arg("--record")
            .arg(record)
            .assert()
            .code(status)
            .get_output()
            .clone();
        let told: serde_json::Value = serde_json::from_slice(&out.stdout).unwrap();
        (told, String::from_utf8(out.stderr).unwrap())
    };
    let (told, _) = review(&filled, 0);
    let counts = &told["counts"];
    assert_eq!(
        ["whole", "damaged", "unknown", "cannot_tell"].map(|key| counts[key].as_u64().unwrap()),
        [5, 5, 5, 5]
    );
    assert!(told["as_issued"]["n"] == 10 && told["hindcast"]["n"] == 10);

    fill(&form, &filled, &|_| "no damage", &|cells| {
        cells.insert("plan_id".into(), "feedfeedfeedfeed".into());
    });
    let (told, faults) = review(&filled, 1);
    assert!(
        told["counts"]["looked_at"] == 0 && faults.contains("another plan"),
        "{faults}"
    );
    fill(&form, &filled, &|_| "no damage", &|cells| {
        cells.insert("date".into(), "2027-01-02".into());
    });
    let (told, faults) = review(&filled, 1);
    assert!(
        told["counts"]["looked_at"] == 0 && faults.contains("before the plan"),
        "{faults}"
    );
    fill(&form, &filled, &|_| "seemed all right", &|_| {});
    let (_, faults) = review(&filled, 1);
    assert!(faults.contains("BW-R13"), "{faults}");
    // A table of rows is no record form.
    brimwater()
        .args(["review", "--plan"])
        .arg(&issued)
        .arg("--record")
        .arg(path("backtest.csv"))
        .assert()
        .code(2);
}

/// The hours that came, given to the review itself, tell what a plan made on them tells: two doors, one answer. And where they are not
/// those of the plan, or half of what is needed is given, it is said.
#[test]
fn the_hours_that_came_give_the_hindcast_of_the_plan_made_on_them() {
    let folder = tempfile::tempdir().unwrap();
    let list = short_list(folder.path());
    let issued = plan(folder.path(), &list, "2027-01-18T12:00:00Z", "issued");
    let after = plan(folder.path(), &list, "2027-02-20T12:00:00Z", "after");
    let filled = folder.path().join("filled.csv");
    let states = ["damaged", "no damage"];
    fill(
        &after.join("inspection_record.csv"),
        &filled,
        &|at| states[at % 2],
        &|cells| {
            cells.insert("plan_id".into(), run_of(&issued)["plan_id"].as_str().unwrap().into());
        },
    );
    let review = |more: &[&std::ffi::OsStr], status: i32| {
        let out = brimwater()
            .args(["review", "--format", "json", "--members", "32", "--plan"])
            .arg(&issued)
            .arg("--record")
            .arg(&filled)
            .args(more)
            .assert()
            .code(status)
            .get_output()
            .clone();
        let told = serde_json::from_slice::<serde_json::Value>(&out.stdout).unwrap_or_default();
        (told, String::from_utf8(out.stderr).unwrap())
    };
    let (told, _) = review(&[], 0);
    assert!(told["hindcast"].is_null() && told["as_issued"]["n"] == 20);

    let (list, stations, config) = (list.as_os_str(), samples("stations.csv"), samples("config.toml"));
    // The forecast came true to the degree.
    let forecast = samples("forecast.csv");
    let series = folder.path().join("observed.csv");
    let text = std::fs::read_to_string(&forecast).unwrap();
    std::fs::write(&series, text.replace(",forecast\n", ",observed\n")).unwrap();
    let programme = [
        "--assemblies".as_ref(),
        list,
        "--stations".as_ref(),
        stations.as_os_str(),
        "--config".as_ref(),
        config.as_os_str(),
    ];
    let with = |more: &[&std::ffi::OsStr], status| review(&[&programme[..], more].concat(), status);
    let (told, faults) = with(&["--series".as_ref(), series.as_os_str()], 0);
    assert!(told["hindcast"]["n"] == 20, "{faults}");
    // plan.json keeps six decimals.
    let text = std::fs::read_to_string(after.join("plan.json")).unwrap();
    let made: serde_json::Value = serde_json::from_str(&text).unwrap();
    let lines = made["assemblies"].as_array().unwrap();
    let expected: f64 = lines.iter().map(|line| line["p_damage"].as_f64().unwrap()).sum();
    let is = told["hindcast"]["expected_damaged"].as_f64().unwrap();
    assert!((is - expected).abs() < 1e-4, "{is} against {expected}");

    // A forecast is no record of what came: the figures are the same, and it is said.
    let (told, faults) = with(&["--series".as_ref(), forecast.as_os_str()], 1);
    assert!(told["hindcast"]["n"] == 20 && faults.contains("BW-R20"), "{faults}");

    let (told, _) = with(&["--series".as_ref(), series.as_os_str(), "--calibrate".as_ref()], 0);
    let refused = told["refused"].to_string();
    assert!(told["proposal"].is_object() || refused.len() > 2, "{told}");
    if told["proposal"].is_object() {
        assert_eq!(told["proposal"]["method"], "simulated");
    }

    // Hours of another winter.
    let other = folder.path().join("other.csv");
    let text = std::fs::read_to_string(&series).unwrap();
    assert!(text.contains("2027-01-"));
    std::fs::write(&other, text.replace("2027-01-", "2026-01-")).unwrap();
    let (told, faults) = with(&["--series".as_ref(), other.as_os_str()], 1);
    assert!(told["hindcast"].is_null() && faults.contains("BW-R17"), "{faults}");
    // Beside that of the spell it does not count.
    let both = [
        "--series".as_ref(),
        other.as_os_str(),
        "--series".as_ref(),
        series.as_os_str(),
    ];
    let (told, faults) = with(&both, 0);
    assert!(told["hindcast"]["n"] == 20, "{faults}");
    let (_, faults) = review(&["--series".as_ref(), series.as_os_str()], 2);
    assert!(faults.contains("BW-R19") && faults.contains("--assemblies"), "{faults}");
    let (_, faults) = review(&programme, 2);
    assert!(faults.contains("BW-R19") && faults.contains("--series"), "{faults}");
    let (_, faults) = with(
        &[
            "--series".as_ref(),
            series.as_os_str(),
            "--spell".as_ref(),
            "coldest".as_ref(),
        ],
        2,
    );
    assert!(faults.contains("BW-R19") && faults.contains("--spell"), "{faults}");
}
