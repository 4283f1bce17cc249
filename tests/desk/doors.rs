//! The same question gets the same answer at every door: `plan`, `show` and the desk, whatever the zone is taken from.

use crate::deskside::{Client, DeskRun, MEMBERS, NOW, list, program, programme};
use brimwater::outreach::outcome::Outcome;
use brimwater::store::{Log, NewEvent};
use std::collections::HashMap;
use std::fs;
use std::path::Path;

/// A sentence that only the utility's own call words have.
const OWN: &str = "Our crews wear green vests.";

/// Sets the config: a zone or none, and a folder of templates with other words for calls.
fn configure(folder: &Path, zone: Option<&str>) {
    let demo = folder.join("demo");
    let path = demo.join("config.toml");
    let kept: Vec<String> = fs::read_to_string(&path)
        .unwrap()
        .lines()
        .filter_map(|line| match (line.starts_with("zone ="), zone) {
            (true, None) => None,
            (true, Some(zone)) => Some(format!("zone = \"{zone}\"")),
            (false, _) => Some(line.to_owned()),
        })
        .collect();
    let config = format!("{}\n[outreach]\ntemplates = \"words\"\n", kept.join("\n"));
    fs::write(path, config).unwrap();
    for language in ["en", "es"] {
        let words = demo.join("words").join(language);
        fs::create_dir_all(&words).unwrap();
        let own = format!("Hello. {OWN}\n{{% include \"{language}/steps.txt\" %}}\n");
        fs::write(words.join("call.txt"), own).unwrap();
    }
}

/// Runs `plan` into `out` and gives a file of it.
fn planned(folder: &Path, out: &str, more: &[&str]) {
    let demo = folder.join("demo");
    let done = program()
        .args([
            "plan",
            "--quiet",
            "--members",
            MEMBERS,
            "--now",
            NOW,
            "--advice-cases",
            "0",
        ])
        .arg("--assemblies")
        .arg(demo.join("assemblies.csv"))
        .arg("--series")
        .arg(demo.join("forecast.csv"))
        .arg("--stations")
        .arg(demo.join("stations.csv"))
        .arg("--config")
        .arg(demo.join("config.toml"))
        .arg("--log")
        .arg(folder.join("calls.db"))
        .arg("--out")
        .arg(folder.join(out))
        .args(more)
        .output()
        .unwrap();
    assert!(
        done.status.code() != Some(2),
        "{}",
        String::from_utf8_lossy(&done.stderr)
    );
}

/// Text of a page without its marks of HTML.
fn plain(html: &str) -> String {
    let mut text = String::new();
    let mut inside = false;
    for c in html.chars() {
        match c {
            '<' => inside = true,
            '>' => inside = false,
            c if !inside => text.push(c),
            _ => {}
        }
    }
    for (mark, c) in [
        ("&lt;", "<"),
        ("&gt;", ">"),
        ("&quot;", "\""),
        ("&#x27;", "'"),
        ("&#x2f;", "/"),
        ("&amp;", "&"),
    ] {
        text = text.replace(mark, c);
    }
    text
}

/// What the desk's ranking says of each assembly: identifier to tier, chance of damage, first ice and reason.
fn desk_rows(desk: &DeskRun) -> HashMap<String, Vec<String>> {
    let mut client = Client::new(desk.address);
    let mut rows = HashMap::new();
    for page in 1..=5 {
        let body = client.get(&format!("/plan?page={page}")).body;
        for row in body.split("<tr class=\"tier-").skip(1) {
            let row = row.split("</tr>").next().unwrap();
            let link = row.split("<a href").nth(1).unwrap().split("</a>").next().unwrap();
            let id = plain(link.split('>').nth(1).unwrap());
            let cells = row
                .split("<td")
                .skip(2)
                .map(|cell| plain(&format!("<td{cell}")))
                .collect();
            rows.insert(id, cells);
        }
    }
    rows
}

fn agree(zone: Option<&str>, more: &[&str]) {
    agree_in(&programme(40), zone, more);
}

fn agree_in(folder: &tempfile::TempDir, zone: Option<&str>, more: &[&str]) {
    configure(folder.path(), zone);
    let people = list(&folder.path().join("demo/assemblies.csv"));
    // A visit of three weeks before the cold: every door must forget it, or none.
    {
        let (mut log, _) = Log::open(&folder.path().join("calls.db"), None).unwrap();
        for row in &people {
            log.add(&NewEvent {
                contact: row["assembly_id"].clone(),
                outcome: Outcome::Reached,
                at: "2027-01-02T18:00:00Z".parse().unwrap(),
                note: String::new(),
                by: "Rosa".into(),
                source: "log",
                uid: None,
            })
            .unwrap();
        }
    }
    planned(folder.path(), "out", more);
    let desk = DeskRun::start(folder.path(), more);
    desk.wait_for_plan();
    let shown = desk_rows(&desk);
    let ranking = list(&folder.path().join("out/ranking.csv"));
    assert!(ranking.len() > 20);
    assert_eq!(shown.len(), ranking.len());
    for row in &ranking {
        let cells = &shown[&row["assembly_id"]];
        let at = &row["assembly_id"];
        assert_eq!(cells[0], row["tier"], "{at}");
        let chance = brimwater::ranking::reason::percent(row["p_damage"].parse().unwrap());
        // The command's file has four decimals; a whole per cent beside a half may fall either way.
        let half = (row["p_damage"].parse::<f64>().unwrap() * 100.0).fract();
        assert!(
            plain(&cells[1]) == chance || (half - 0.5).abs() < 0.02,
            "{at}: {} {chance}",
            cells[1]
        );
        assert_eq!(cells[3], row["reason"], "{at}");
    }
    show_agrees(folder.path(), &ranking[0]["assembly_id"], &shown, &desk, more);
    // One of each station whose chance is open, for each may be an area of its own.
    let mut seen = std::collections::BTreeSet::new();
    for row in &ranking {
        let listed = people.iter().find(|one| one["assembly_id"] == row["assembly_id"]);
        let open = (0.1..0.9).contains(&row["p_damage"].parse::<f64>().unwrap());
        if open && listed.is_some_and(|listed| seen.insert(listed["station_id"].clone())) {
            show_tells(
                &show(folder.path(), &row["assembly_id"], more),
                &shown[&row["assembly_id"]],
            );
        }
    }
    assert!(!seen.is_empty());
    let calls: Vec<_> = list(&folder.path().join("out/contacts.csv"))
        .into_iter()
        .filter(|row| row["channel"] == "call")
        .collect();
    assert!(!calls.is_empty());
    let page = Client::new(desk.address).get("/plan/calls").body;
    let page_says = plain(&page);
    assert!(page_says.contains(OWN), "the desk says other words than the utility's");
    for call in calls.iter().filter(|call| call["attempt"] == "1").take(3) {
        assert!(page_says.contains(&call["name"]), "{}: {page_says}", call["name"]);
        assert!(page_says.contains(&call["reason"]), "{}", call["reason"]);
    }
}

fn show(folder: &Path, id: &str, more: &[&str]) -> String {
    let demo = folder.join("demo");
    let done = program()
        .args(["show", id, "--quiet", "--members", MEMBERS, "--now", NOW])
        .arg("--assemblies")
        .arg(demo.join("assemblies.csv"))
        .arg("--series")
        .arg(demo.join("forecast.csv"))
        .arg("--stations")
        .arg(demo.join("stations.csv"))
        .arg("--config")
        .arg(demo.join("config.toml"))
        .args(more)
        .output()
        .unwrap();
    String::from_utf8_lossy(&done.stdout).into_owned()
}

/// `show` gives the hour of the first ice that the desk gives, and text, JSON and card one band of what is judged.
fn show_agrees(folder: &Path, id: &str, shown: &HashMap<String, Vec<String>>, desk: &DeskRun, more: &[&str]) {
    let text = show(folder, id, more);
    let json: serde_json::Value =
        serde_json::from_str(&show(folder, id, &[more, &["--format", "json"]].concat())).unwrap();
    let ends: Vec<f64> = serde_json::from_value(json["assembly"]["p_damage_judged"].clone()).unwrap();
    // The file has four decimals; what stands at a half of a per cent there may have stood on either side of it.
    let told = |end: f64| [end - 5e-5, end + 5e-5].map(brimwater::ranking::reason::percent);
    let bands = told(ends[0])
        .into_iter()
        .flat_map(|low| told(ends[1]).map(|high| format!("{low} to {high} by other judgement")));
    let bands: Vec<String> = bands.collect();
    let band = bands.iter().find(|band| text.contains(*band));
    let band = band.unwrap_or_else(|| panic!("{bands:?}\n{text}"));
    let mut client = Client::new(desk.address);
    let link = (1..=5).find_map(|page| {
        let body = client.get(&format!("/plan?page={page}")).body;
        let before = body
            .split(&format!("\">{id}</a>"))
            .next()
            .filter(|before| before.len() < body.len())?;
        Some(before.rsplit("href=\"").next()?.to_owned())
    });
    let link = link.unwrap();
    for page in [link.clone(), link.replace("/plan/", "/phone/")] {
        let card = plain(&client.get(&page).body);
        assert!(card.contains(band), "{page}: {band}\n{card}");
    }
    show_tells(&text, &shown[id]);
}

/// Hour of the first ice and chance of `show` are those of the desk's row.
fn show_tells(text: &str, row: &[String]) {
    assert!(text.contains(&format!("early edge {},", row[2])), "{text} {row:?}");
    assert!(text.contains(&format!("of damage {}", row[1])), "{text} {row:?}");
}

// X-Val: one answer against another through a different door of the same programme; no value of its own is asserted.
// Each catches a desk that takes its zone from the config alone, that speaks the built-in words though the utility laid its own
// over them, or that counts contacts of an earlier spell.
#[test]
fn every_door_agrees_when_only_the_command_line_tells_the_zone() {
    agree(None, &["--zone", "America/Denver", "--seed", "7"]);
}

#[test]
fn every_door_agrees_when_the_config_tells_the_zone() {
    agree(Some("America/Denver"), &["--seed", "2"]);
}

#[test]
fn every_door_agrees_when_a_station_tells_the_zone_or_none_does() {
    agree(None, &[]);
}

/// Catches: a card that draws the forecast's error of its own station where the list draws that of several areas.
#[test]
fn every_door_agrees_where_stations_stand_far_apart() {
    let folder = programme(40);
    let path = folder.path().join("demo/stations.csv");
    let near = std::fs::read_to_string(&path).unwrap();
    // 45 km to the north and to the south.
    let far = near.replace("28.6600,", "29.0600,").replace("28.5800,", "28.1800,");
    assert_ne!(near, far);
    std::fs::write(&path, far).unwrap();
    agree_in(&folder, Some("America/Chicago"), &["--seed", "3"]);
}
