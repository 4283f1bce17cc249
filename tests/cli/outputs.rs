//! Every option that names a file for an answer, tried with everything that may stand in its place: nothing that is not ours is ever
//! written over, and all that is wrong is told before the run.
//!
//! X-Val: the state of the files before and after, as the operating system tells it; POSIX kinds of file.
#![allow(clippy::unwrap_used, clippy::panic, clippy::indexing_slicing)]

use assert_cmd::Command;
use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

/// A command with one output: its arguments, the input that it must not write over, and the option.
struct Door {
    arguments: Vec<String>,
    input: PathBuf,
    option: &'static str,
    /// A second run with the same name replaces what the first wrote.
    again: bool,
}

/// Options that name a file or folder which is read, or which is a place of its own kind with its own rules (a log, a folder that is built).
const NOT_A_FILE_TO_WRITE: [(&str, &str); 45] = [
    ("desk", "follow"),
    ("reforecast", "out"),
    ("verify", "told"),
    ("show", "log"),
    ("log", "contacts"),
    ("desk", "season"),
    ("desk", "plan"),
    ("log", "copy_to"),
    ("desk", "spool"),
    ("plan", "fitted"),
    ("season", "record"),
    ("season", "out"),
    ("season", "offers"),
    ("season", "cache"),
    ("check", "assemblies"),
    ("check", "series"),
    ("check", "spread"),
    ("check", "climate"),
    ("check", "stations"),
    ("check", "config"),
    ("plan", "out"),
    ("plan", "since"),
    ("plan", "log"),
    ("plan", "cache"),
    ("demo", "out"),
    ("expansion", "series"),
    ("expansion", "catalogue"),
    ("expansion", "systems"),
    ("fetch", "cache"),
    ("season", "choices"),
    ("review", "plan"),
    ("review", "record"),
    ("review", "log"),
    ("review", "rows"),
    ("review", "config"),
    ("log", "db"),
    ("log", "import"),
    ("log", "queue"),
    ("log", "config"),
    ("desk", "log"),
    ("desk", "audit"),
    ("desk", "password_file"),
    ("desk", "tls_cert"),
    ("desk", "tls_key"),
    ("watch", "replay"),
];

fn brimwater(root: &Path, arguments: &[String]) -> Command {
    let mut command = Command::cargo_bin("brimwater").unwrap();
    command.current_dir(root).args(arguments);
    command
}

fn doors(root: &Path) -> Vec<Door> {
    let file = |name: &str, text: &str| {
        let path = root.join(name);
        fs::write(&path, text).unwrap();
        path
    };
    let mut week = String::from("time,air_temp_c,station_id\n");
    for hour in 0..96 {
        week.push_str(&format!(
            "2031-01-{:02}T{:02}:00:00Z,{}.5,A\n",
            6 + hour / 24,
            hour % 24,
            hour % 9
        ));
    }
    let week = file("week.csv", &week);
    let systems = file(
        "systems.csv",
        "system_id,heater_gal,cold_f,hot_f,static_psi,closed_by\nS-1,50,50,120,60,backflow-assembly\nS-2,x,,,,\n",
    );
    let choices = file(
        "choices.csv",
        "assembly_id,district,critical,cost_wrap,benefit_wrap\nA,north,no,100,900\nB,south,yes,200,700\n",
    );
    let list = file(
        "list.csv",
        "assembly_id,device_type,nominal_size_in,latitude,longitude\nA-1,PVB,1,31.5,-41.3\n",
    );
    let sheet = file("sheet.csv", "contact_id,outcome,note,by,at\nC-1,perhaps,,Rosa,\n");
    let rows = root.join("rows.csv");
    fs::copy(
        Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/learning/backtest.csv"),
        &rows,
    )
    .unwrap();
    let words = |text: &str| text.split_whitespace().map(str::to_owned).collect::<Vec<_>>();
    let one = "expansion --heater 50gal --cold 50F --hot 120F --static 60psi --closed-by backflow-assembly";
    let door = |text: &str, input: &Path, option, again| Door {
        arguments: words(text),
        input: input.to_path_buf(),
        option,
        again,
    };
    let mut doors = vec![
        door("expansion --systems systems.csv", &systems, "--rejects", true),
        door("season --choices choices.csv --budget 250", &choices, "--chart", true),
        door("weather show week.csv", &week, "--chart", true),
        door("review --rows rows.csv --calibrate", &rows, "--out", true),
        door("review --rows rows.csv", &rows, "--page", true),
        door("review --rows rows.csv", &rows, "--parquet", true),
        door("log --db calls.log --import sheet.csv", &sheet, "--rejects", false),
        door("check --assemblies list.csv", &list, "--propose", false),
    ];
    // No file is read here but the catalogue.
    let catalogue = root.join("tanks.csv");
    fs::copy(
        Path::new(env!("CARGO_MANIFEST_DIR")).join("climate-samples/tank-catalogue.csv"),
        &catalogue,
    )
    .unwrap();
    for option in ["--record", "--chart", "--chart-tank"] {
        doors.push(door(&format!("{one} --catalogue tanks.csv"), &catalogue, option, true));
    }
    doors
}

/// Runs a door with an output and gives exit status and what was told.
fn run(root: &Path, door: &Door, output: &str, more: &[&str]) -> (i32, String) {
    let done = brimwater(root, &door.arguments)
        .arg(door.option)
        .arg(output)
        .args(more)
        .output()
        .unwrap();
    (
        done.status.code().unwrap(),
        String::from_utf8_lossy(&done.stderr).into_owned(),
    )
}

#[test]
fn no_option_for_a_file_is_left_out_of_these_trials() {
    let mut known: BTreeSet<(String, String)> = NOT_A_FILE_TO_WRITE
        .iter()
        .map(|(command, id)| ((*command).to_owned(), (*id).to_owned()))
        .collect();
    let root = tempfile::tempdir().unwrap();
    for door in doors(root.path()) {
        // The innermost command of the door, and the option's name.
        let command = if door.arguments[0] == "weather" {
            &door.arguments[1]
        } else {
            &door.arguments[0]
        };
        known.insert((command.clone(), door.option.trim_start_matches('-').replace('-', "_")));
    }
    // Tried in the tests of fetching, and named by the same place.
    known.insert(("fetch".into(), "out".into()));
    known.insert(("log".into(), "backup".into()));
    let shared = [
        "assemblies",
        "series",
        "spread",
        "climate",
        "stations",
        "config",
        "chart",
        "files",
        "file",
    ];
    let mut open = vec![brimwater::cli::command()];
    while let Some(command) = open.pop() {
        for argument in command.get_arguments() {
            let names = argument.get_value_names().unwrap_or_default();
            let a_path = names
                .iter()
                .any(|name| ["FILE", "DIR", "FILE.svg", "PLAN"].contains(&name.as_str()));
            let id = argument.get_id().as_str().to_owned();
            if a_path && !shared.contains(&id.as_str()) {
                let this = (command.get_name().to_owned(), id);
                assert!(
                    known.contains(&this),
                    "{this:?}: is it written? Then it goes through safe::target and stands here."
                );
            }
        }
        open.extend(command.get_subcommands().cloned());
    }
}

#[test]
fn no_answer_is_written_over_an_input_whatever_name_it_has() {
    let root = tempfile::tempdir().unwrap();
    let root = root.path();
    fs::create_dir(root.join("sub")).unwrap();
    for door in doors(root) {
        let before = fs::read(&door.input).unwrap();
        let name = door.input.file_name().unwrap().to_string_lossy().into_owned();
        let mut names = vec![
            name.clone(),
            door.input.to_string_lossy().into_owned(),
            format!("sub/../{name}"),
        ];
        #[cfg(unix)]
        {
            let _ = fs::remove_file(root.join("hard"));
            let _ = fs::remove_file(root.join("soft"));
            fs::hard_link(&door.input, root.join("hard")).unwrap();
            std::os::unix::fs::symlink(&door.input, root.join("soft")).unwrap();
            names.extend(["hard".to_owned(), "soft".to_owned()]);
        }
        for output in names {
            for force in [&[][..], &["--force"]] {
                let (status, told) = run(root, &door, &output, force);
                let shown = format!("{:?} {} {output}: {told}", door.arguments, door.option);
                assert_eq!(status, 2, "{shown}");
                assert!(told.contains("BW-O20") || told.contains("BW-P15"), "{shown}");
                assert_eq!(fs::read(&door.input).unwrap(), before, "{shown}");
            }
        }
    }
}

#[cfg(unix)]
#[test]
fn links_pipes_devices_and_folders_are_left_as_they_are() {
    let root = tempfile::tempdir().unwrap();
    let root = root.path();
    fs::write(root.join("elsewhere"), "keep").unwrap();
    std::os::unix::fs::symlink(root.join("elsewhere"), root.join("link")).unwrap();
    std::os::unix::fs::symlink(root.join("nowhere"), root.join("dangling")).unwrap();
    assert!(
        std::process::Command::new("mkfifo")
            .arg(root.join("pipe"))
            .status()
            .unwrap()
            .success()
    );
    fs::create_dir(root.join("folder")).unwrap();
    for door in doors(root) {
        for (place, code) in [
            ("link", "BW-O21"),
            ("dangling", "BW-O21"),
            ("pipe", "BW-O21"),
            ("/dev/null", "BW-O21"),
            ("folder", "BW-O11"),
            ("no/such/folder/x", "BW-O02"),
        ] {
            let kind = || fs::symlink_metadata(root.join(place)).map(|meta| meta.file_type()).ok();
            let before = kind();
            let (status, told) = run(root, &door, place, &["--force"]);
            let shown = format!("{:?} {} {place}: {told}", door.arguments, door.option);
            assert_eq!(status, 2, "{shown}");
            assert!(told.contains(code) || told.contains("BW-P15"), "{shown}");
            assert_eq!(kind(), before, "{shown}");
        }
    }
    assert_eq!(fs::read_to_string(root.join("elsewhere")).unwrap(), "keep");
    assert!(!root.join("nowhere").exists());
    // Told before the run: nothing was read, so no log was begun either.
    assert!(!root.join("calls.log").exists());
}

#[test]
fn what_is_not_ours_is_replaced_by_force_alone_and_ours_as_long_as_nobody_edited_it() {
    let root = tempfile::tempdir().unwrap();
    let root = root.path();
    for (at, door) in doors(root).into_iter().enumerate() {
        let name = format!("answer-{at}");
        let path = root.join(&name);
        let shown = format!("{:?} {}", door.arguments, door.option);
        fs::write(&path, "a person's notes").unwrap();
        let (status, told) = run(root, &door, &name, &[]);
        assert_eq!(status, 2, "{shown}: {told}");
        assert!(told.contains("BW-O22") || told.contains("BW-P15"), "{shown}: {told}");
        assert_eq!(fs::read_to_string(&path).unwrap(), "a person's notes");
        if !door.again {
            continue;
        }
        let (status, told) = run(root, &door, &name, &["--force"]);
        assert!(status < 2, "{shown}: {told}");
        let ours = fs::read(&path).unwrap();
        assert_ne!(ours, b"a person's notes");
        let (status, told) = run(root, &door, &name, &[]);
        assert!(status < 2, "{shown}: {told}");
        assert_eq!(
            fs::read(&path).unwrap(),
            ours,
            "{shown}: the same answer is the same file"
        );
        // A table has no room for a seal.
        if door.option == "--rejects" {
            continue;
        }
        let mut edited = b"<!-- mine --> #".to_vec();
        edited.extend(&ours);
        fs::write(&path, &edited).unwrap();
        let (status, told) = run(root, &door, &name, &[]);
        assert_eq!(status, 2, "{shown}: {told}");
        assert_eq!(fs::read(&path).unwrap(), edited, "{shown}");
    }
}

#[test]
fn two_options_do_not_share_a_file_and_all_that_is_wrong_is_told_at_once() {
    let root = tempfile::tempdir().unwrap();
    let root = root.path();
    fs::write(root.join("mine.html"), "keep").unwrap();
    let words = "expansion --heater 50gal --cold 50F --hot 120F --static 60psi --record mine.html --chart c.svg --chart-tank ./c.svg";
    let words: Vec<String> = words.split_whitespace().map(str::to_owned).collect();
    let done = brimwater(root, &words).output().unwrap();
    let told = String::from_utf8_lossy(&done.stderr);
    assert_eq!(done.status.code(), Some(2), "{told}");
    assert!(told.contains("BW-O22") && told.contains("BW-O23"), "{told}");
    assert!(!root.join("c.svg").exists());
}

#[test]
fn corrected_rejects_of_a_sheet_are_not_written_over_by_the_next_import() {
    let root = tempfile::tempdir().unwrap();
    let root = root.path();
    fs::write(
        root.join("sheet.csv"),
        "contact_id,outcome,note,by,at\nC-1,perhaps,,Rosa,\n",
    )
    .unwrap();
    let words: Vec<String> = ["log", "--db", "calls.log", "--import", "sheet.csv"]
        .map(str::to_owned)
        .to_vec();
    brimwater(root, &words).assert().code(1);
    fs::write(root.join("sheet.rejects.csv"), "corrected").unwrap();
    brimwater(root, &words).assert().code(1);
    assert_eq!(fs::read_to_string(root.join("sheet.rejects.csv")).unwrap(), "corrected");
    assert!(root.join("sheet.rejects-2.csv").exists());
}

#[test]
fn an_input_in_the_folder_of_the_plan_is_not_replaced_with_it() {
    let root = tempfile::tempdir().unwrap();
    let root = root.path();
    let words = |text: &str| text.split_whitespace().map(str::to_owned).collect::<Vec<_>>();
    brimwater(root, &words("demo --out town --assemblies 20"))
        .assert()
        .success();
    let plan = "plan --assemblies town/assemblies.csv --series town/forecast.csv --stations town/stations.csv --now 2027-01-18T12:00:00Z \
                --members 4 --out";
    for place in ["town", "./town", "town/../town"] {
        let mut words = words(plan);
        words.push(place.into());
        let done = brimwater(root, &words).output().unwrap();
        let told = String::from_utf8_lossy(&done.stderr).into_owned();
        assert_eq!(done.status.code(), Some(2), "{told}");
        assert!(told.contains("BW-O20") && told.contains("town/forecast.csv"), "{told}");
        assert!(root.join("town/assemblies.csv").exists() && !root.join("town/plan.json").exists());
    }
    // The folder that one stands in, told before the long run.
    fs::create_dir(root.join("here")).unwrap();
    let mut words = words(&plan.replace("town/", "../town/"));
    words.push(".".into());
    let done = brimwater(&root.join("here"), &words).output().unwrap();
    let told = String::from_utf8_lossy(&done.stderr).into_owned();
    assert!(done.status.code() == Some(2) && told.contains("BW-O03"), "{told}");
}

#[cfg(unix)]
#[test]
fn records_and_rejected_rows_are_their_owners_alone() {
    use std::os::unix::fs::PermissionsExt;
    let root = tempfile::tempdir().unwrap();
    let root = root.path();
    for door in doors(root)
        .iter()
        .filter(|door| ["--record", "--rejects"].contains(&door.option))
    {
        let name = format!("{}{}", door.arguments[0], door.option);
        let (status, told) = run(root, door, &name, &[]);
        assert!(status < 2, "{told}");
        assert_eq!(
            fs::metadata(root.join(&name)).unwrap().permissions().mode() & 0o777,
            0o600,
            "{name}"
        );
    }
}

#[test]
fn before_the_season_too_no_input_lies_in_the_folder_and_no_cache_is_an_input() {
    let root = tempfile::tempdir().unwrap();
    let root = root.path();
    let words = |text: &str| text.split_whitespace().map(str::to_owned).collect::<Vec<_>>();
    brimwater(root, &words("demo --out town --assemblies 5"))
        .assert()
        .success();
    let season =
        "season --assemblies town/assemblies.csv --record town/forecast.csv --stations town/stations.csv --budget 100";
    for (more, code) in [
        ("--out town", "BW-O20"),
        ("--out offers --cache town/forecast.csv", "BW-O20"),
        ("--out offers --cache /dev/null", "BW-O21"),
        ("--out offers --cache town", "BW-O11"),
    ] {
        let before = fs::read(root.join("town/forecast.csv")).unwrap();
        let done = brimwater(root, &words(&format!("{season} {more}"))).output().unwrap();
        let told = String::from_utf8_lossy(&done.stderr).into_owned();
        assert!(done.status.code() == Some(2) && told.contains(code), "{more}: {told}");
        assert!(!root.join("offers").exists());
        assert_eq!(fs::read(root.join("town/forecast.csv")).unwrap(), before);
    }
}

#[test]
fn the_audit_trail_is_added_to_nothing_but_an_audit_trail() {
    let root = tempfile::tempdir().unwrap();
    let root = root.path();
    let words = |text: &str| text.split_whitespace().map(str::to_owned).collect::<Vec<_>>();
    let list = "assembly_id,device_type,nominal_size_in,latitude,longitude\nA-1,PVB,1,31.5,-41.3\n";
    fs::write(root.join("list.csv"), list).unwrap();
    fs::write(root.join("notes.txt"), "mine").unwrap();
    for (place, code) in [
        ("list.csv", "BW-O20"),
        ("notes.txt", "BW-O22"),
        ("/dev/null", "BW-O21"),
        (".", "BW-O11"),
    ] {
        let mut words = words("desk --assemblies list.csv --bind 127.0.0.1:0 --audit");
        words.push(place.into());
        let done = brimwater(root, &words)
            .timeout(std::time::Duration::from_secs(60))
            .output()
            .unwrap();
        let told = String::from_utf8_lossy(&done.stderr).into_owned();
        assert!(done.status.code() == Some(2) && told.contains(code), "{place}: {told}");
    }
    assert_eq!(fs::read_to_string(root.join("list.csv")).unwrap(), list);
    assert_eq!(fs::read_to_string(root.join("notes.txt")).unwrap(), "mine");
}
