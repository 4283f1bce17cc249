//! The morning's page and the rows that cannot be ranked: the numbers add up, and nobody with a telephone number falls out of sight.
#![allow(clippy::unwrap_used, clippy::panic, clippy::indexing_slicing)]

use assert_cmd::Command;
use brimwater::weather::nights::cold_nights;
use brimwater::weather::series::{Kind, Series, Station};
use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::fs;
use std::path::{Path, PathBuf};

fn sample(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("climate-samples").join(name)
}

/// The first rows of the untidy demonstration list with rows that cannot be modelled put below them.
fn list() -> String {
    let text = fs::read_to_string(sample("assemblies-untidy.csv")).unwrap();
    let header = text.lines().next().unwrap();
    let mut out: String = text.lines().take(25).map(|line| format!("{line}\n")).collect();
    let columns: Vec<&str> = header.split(',').collect();
    let mut add = |cells: &[(&str, &str)]| {
        let row: Vec<&str> = columns
            .iter()
            .map(|column| {
                cells
                    .iter()
                    .find(|(name, _)| name == column)
                    .map_or("", |(_, cell)| *cell)
            })
            .collect();
        out.push_str(&row.join(","));
        out.push('\n');
    };
    let site = [
        ("latitude", "28.66"),
        ("longitude", "-90.90"),
        ("contact_name", "Ona Vell"),
    ];
    let with =
        |more: &[(&'static str, &'static str)]| -> Vec<(&'static str, &'static str)> { [&site[..], more].concat() };
    add(&with(&[
        ("assembly_id", "U-1"),
        ("device_type", "vacuum breaker"),
        ("nominal_size_in", "1"),
        ("phone", "201-555-0181 cell"),
    ]));
    add(&with(&[
        ("assembly_id", "U-2"),
        ("device_type", "RP"),
        ("phone", "201-555-0182"),
        ("channels", "none"),
    ]));
    add(&with(&[
        ("assembly_id", "U-3"),
        ("device_type", "RP"),
        ("phone", "201-555-0183"),
        ("channels", "whatever suits"),
    ]));
    // Neither a place nor a station, and three stations to choose from.
    add(&[
        ("assembly_id", "U-5"),
        ("device_type", "RP"),
        ("nominal_size_in", "1"),
        ("contact_name", "Ona Vell"),
        ("phone", "201-555-0185"),
    ]);
    // Nobody to tell; and an id that a good row has too.
    out.push_str(
        &columns
            .iter()
            .map(|column| match *column {
                "assembly_id" => "U-4",
                "device_type" => "RP",
                _ => "",
            })
            .collect::<Vec<_>>()
            .join(","),
    );
    out.push('\n');
    out
}

fn plan(folder: &Path) -> (String, String) {
    let list_file = folder.join("list.csv");
    fs::write(&list_file, list()).unwrap();
    let out = Command::cargo_bin("brimwater")
        .unwrap()
        .args([
            "plan",
            "--members",
            "4",
            "--advice-cases",
            "0",
            "--now",
            "2027-01-18T12:00:00Z",
            "--quiet",
            "--assemblies",
        ])
        .arg(&list_file)
        .arg("--series")
        .arg(sample("forecast.csv"))
        .arg("--stations")
        .arg(sample("stations.csv"))
        .arg("--config")
        .arg(sample("config.toml"))
        .arg("--out")
        .arg(folder.join("plan"))
        .output()
        .unwrap();
    assert_eq!(out.status.code(), Some(1), "{}", String::from_utf8_lossy(&out.stderr));
    let page = fs::read_to_string(folder.join("plan/brief.html")).unwrap();
    (page, String::from_utf8(out.stdout).unwrap())
}

fn rows(path: &Path) -> Vec<HashMap<String, String>> {
    let mut reader = csv::Reader::from_path(path).unwrap();
    reader.deserialize().collect::<Result<_, _>>().unwrap()
}

/// Numbers in the cells of a part of a page.
fn numbers(page: &str, from: &str, to: &str) -> Vec<usize> {
    let start = page.find(from).unwrap();
    let part = &page[start..start + page[start..].find(to).unwrap()];
    part.split("class=\"num\">")
        .skip(1)
        .map(|cell| cell.split('<').next().unwrap().parse().unwrap())
        .collect()
}

/// Catches a page whose totals come from one count and whose parts from another; a person counted twice; a row that cannot be
/// modelled and vanishes, or whose wishes are forgotten on the way.
#[test]
fn the_brief_adds_up_and_rows_that_cannot_be_ranked_are_called_too() {
    let folder = tempfile::tempdir().unwrap();
    let (page, said) = plan(folder.path());
    // Counted from contacts.csv, which another writer made.
    let mut ways: BTreeMap<String, BTreeSet<String>> = BTreeMap::new();
    for line in rows(&folder.path().join("plan/contacts.csv")) {
        ways.entry(line["contact_id"].clone())
            .or_default()
            .insert(line["channel"].clone());
    }
    let called = ways.values().filter(|ways| ways.contains("call")).count();
    let written = ways
        .values()
        .filter(|ways| {
            !ways.contains("call")
                && ["text", "email", "letter", "door hanger"]
                    .iter()
                    .any(|way| ways.contains(*way))
        })
        .count();
    let parts = numbers(&page, "<tbody id=\"reached\">", "</tbody>");
    assert_eq!(parts[0], called, "{page}");
    // A mailbox that two people read gets one e-mail; its line counts for both.
    assert!(parts[1] >= written, "{page}");
    let total: usize = page
        .split("id=\"all-people\"><b>")
        .nth(1)
        .unwrap()
        .split('<')
        .next()
        .unwrap()
        .parse()
        .unwrap();
    assert_eq!(parts.iter().sum::<usize>(), total);
    assert!(called > 0 && total >= ways.len(), "{total} {}", ways.len());
    let calls = numbers(&page, "<tbody id=\"calls\">", "</tbody>");
    let all: usize = page
        .split("id=\"all-calls\">")
        .nth(1)
        .unwrap()
        .split('<')
        .next()
        .unwrap()
        .parse()
        .unwrap();
    assert_eq!(calls.iter().step_by(2).sum::<usize>(), all, "{page}");

    // The nights add up to the chances that plan.json carries.
    let plan: serde_json::Value =
        serde_json::from_str(&fs::read_to_string(folder.path().join("plan/plan.json")).unwrap()).unwrap();
    let expected: f64 = plan["assemblies"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|one| one["tier"] != "no contact")
        .filter_map(|one| one["p_damage"].as_f64())
        .sum();
    let start = page.find("<tbody id=\"nights\">").unwrap();
    let nights: Vec<f64> = page[start..start + page[start..].find("</tbody>").unwrap()]
        .split("class=\"num\">")
        .skip(1)
        .step_by(2)
        .map(|cell| cell.split('<').next().unwrap().parse().unwrap())
        .collect();
    assert!(expected > 1.0 && nights.len() > 1, "{expected} {nights:?}");
    let sum: f64 = nights.iter().sum();
    // Each is told to a tenth.
    assert!(
        (sum - expected).abs() <= 0.05 * nights.len() as f64 + 1e-9,
        "{nights:?} {expected}"
    );
    let money = |part: &str| part.replace(['$', ','], "").parse::<f64>().unwrap();
    let usd: Vec<f64> = page[start..start + page[start..].find("</tbody>").unwrap()]
        .split("class=\"num\">")
        .skip(2)
        .step_by(2)
        .map(|cell| money(cell.split('<').next().unwrap()))
        .collect();
    let all_usd = page
        .split("id=\"night-loss\">")
        .nth(1)
        .unwrap()
        .split('<')
        .next()
        .unwrap();
    // Each is told to the dollar; a night in which only more parts break is one of them.
    assert!(
        (usd.iter().sum::<f64>() - money(all_usd)).abs() <= usd.len() as f64,
        "{usd:?} {all_usd}"
    );
    assert!(
        said.contains("The coming night, of Wednesday, January 20, adds"),
        "{said}"
    );

    // The manager's page and the report tell the same people, assemblies and money.
    let read = |name: &str| fs::read_to_string(folder.path().join("plan").join(name)).unwrap();
    let head = |page: &str, of: &str| -> String {
        let at = page
            .find(&format!("</b><span>{of}</span>"))
            .unwrap_or_else(|| panic!("{of}: {page}"));
        page[..at].rsplit("<b>").next().unwrap().to_owned()
    };
    let count = |page: &str, of: &str| head(page, of).parse::<usize>().unwrap();
    let manager = read("manager_summary.html");
    let shares = [
        "of them called",
        "written to, not called",
        "not reached, undecided or nothing planned",
    ];
    let settled = parts[4];
    assert_eq!(
        shares.iter().map(|share| count(&manager, share)).sum::<usize>() + settled,
        count(&manager, "people who look after them")
    );
    assert_eq!(count(&manager, "people who look after them"), total);
    assert_eq!(count(&manager, "of them called"), called);
    let report = read("report.html");
    assert_eq!(count(&manager, "assemblies at risk"), count(&report, "at risk"));
    assert!(page.contains(&format!(
        "{} of {} assemblies are at risk",
        count(&report, "at risk"),
        count(&report, "assemblies looked at")
    )));
    let first = rows(&folder.path().join("plan/ranking.csv"))
        .iter()
        .filter(|row| row["tier"] == "call first")
        .count();
    assert!(page.contains(&format!("{first} to call first")) && report.contains(&format!("{first} to call first")));
    assert!(page.contains(&format!(
        "acts on a notice: {}.",
        head(&manager, "expected loss if nobody acts on a notice")
    )));

    let unranked = rows(&folder.path().join("plan/unranked.csv"));
    let of = |id: &str| unranked.iter().find(|row| row["assembly_id"] == id);
    assert_eq!(of("U-1").unwrap()["do"], "call");
    assert_eq!(of("U-1").unwrap()["phone"], "201-555-0181");
    assert!(of("U-1").unwrap()["reason"].contains("vacuum breaker"));
    for id in ["U-2", "U-3"] {
        assert!(of(id).unwrap()["do"].starts_with("somebody decides"), "{:?}", of(id));
    }
    assert!(of("U-4").is_none());
    let lost = of("U-5").unwrap();
    assert!(
        lost["do"] == "call" && lost["reason"].contains("no coordinates"),
        "{lost:?}"
    );
    // The council's page says what it leaves out, too: fewer than five are not told exactly.
    let council = read("council_summary.html");
    assert!(
        council.contains("that could be looked at") && council.contains("rows of the list could not be used"),
        "{council}"
    );
    assert!(
        page.contains(&format!("{} rows cannot be ranked", unranked.len())),
        "{page}"
    );
    assert!(
        said.contains(&format!("{} rows cannot be ranked", unranked.len())),
        "{said}"
    );
    let rejects = rows(&folder.path().join("plan/rejects.csv"));
    for row in &unranked {
        assert!(
            rejects.iter().any(|reject| reject["assembly_id"] == row["assembly_id"]),
            "nothing vanishes: {row:?}"
        );
    }
    for private in ["Ona Vell", "201-555", "@example"] {
        assert!(!page.contains(private), "{private}");
    }
}

/// Catches nights cut at midnight, and a page that gives the file's window for the spell.
#[test]
fn a_night_runs_from_noon_to_noon_and_mild_days_are_none() {
    let start = "2031-01-06T18:00:00Z".parse().unwrap();
    // Noon on the sixth in Chicago. X-Val: hours counted by hand: frost from 22 h to 7 h, mild day, mild night.
    let air_c: Vec<f64> = (0..60)
        .map(|hour| {
            if (10..19).contains(&hour) {
                -3.0 - f64::from(hour == 17)
            } else {
                5.0
            }
        })
        .collect();
    let hours = air_c.len();
    let series = Series {
        format: "made",
        station: Station::default(),
        start,
        air_c,
        wind_m_s: vec![None; hours],
        dew_point_c: vec![None; hours],
        sky_cover: vec![None; hours],
        kind: vec![Kind::Forecast; hours],
        interpolated: vec![false; hours],
        issued: None,
    };
    let nights = cold_nights(&[series], "America/Chicago".parse().unwrap());
    assert_eq!(nights.len(), 1);
    let night = nights[0];
    assert_eq!(
        (night.evening.to_string().as_str(), night.hours, night.min_air_c),
        ("2031-01-06", 9, -4.0)
    );
    assert_eq!((night.to - night.from).num_hours(), 9);
    assert_eq!(night.from, start + chrono::TimeDelta::hours(10));
}
