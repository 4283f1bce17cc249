//! The files of a plan: the contract's keys, RFC 7946, tables that read back, a page that is well-formed.
#![allow(clippy::unwrap_used, clippy::panic)]

use crate::made::{MadePlan, breaker, ensemble, programme, single};
use brimwater::faults::{Fault, Severity};
use brimwater::inventory::Reject;
use brimwater::output::defuse::defuse;
use brimwater::output::{charts_plan, geojson, plan_json, ranking_csv, rejects_csv, report, table};
use proptest::prelude::*;
use serde_json::Value;
use std::sync::Arc;

fn bytes(write: impl FnOnce(&mut dyn std::io::Write) -> std::io::Result<()>) -> Vec<u8> {
    let mut out = Vec::new();
    write(&mut out).unwrap();
    out
}

fn json(bytes: &[u8]) -> Value {
    serde_json::from_slice(bytes).unwrap()
}

fn keys(value: &Value) -> Vec<&str> {
    value.as_object().unwrap().keys().map(String::as_str).collect()
}

#[test]
fn plan_json_has_the_keys_of_the_contract() {
    let made = MadePlan::new(programme(50), true);
    let plan = json(&bytes(|out| plan_json::write(&made.plan(), &[0u8; 0], out)));
    assert_eq!(plan["schema"], "brimwater.plan/1");
    assert!(plan["issued"].is_string());
    for key in ["start", "end"] {
        assert!(chrono::DateTime::parse_from_rfc3339(plan["window"][key].as_str().unwrap()).is_ok());
    }
    assert!(plan["contacts"].is_array());
    let assemblies = plan["assemblies"].as_array().unwrap();
    assert_eq!(assemblies.len(), 50);
    for (i, assembly) in assemblies.iter().enumerate() {
        for key in [
            "assembly_id",
            "rank",
            "tier",
            "p_ice",
            "p_blocked",
            "p_damage",
            "damage_by_part",
            "first_ice",
            "coldest_water_c",
            "first_part",
            "hours_air_below_0c",
            "min_air_c",
            "expected_loss",
            "reason",
            "advice",
            "assumed",
        ] {
            assert!(assembly.get(key).is_some(), "{key} is missing");
        }
        assert_eq!(assembly["rank"], i + 1);
        assert_eq!(keys(&assembly["first_ice"]), ["p10", "p50", "p90"]);
        assert_eq!(keys(&assembly["coldest_water_c"]), ["p10", "p50", "p90"]);
        assert!(assembly["assumed"].as_array().unwrap().iter().all(Value::is_string));
        for part in assembly["damage_by_part"].as_array().unwrap() {
            assert!(part["part"].is_string() && part["p"].is_number());
        }
    }
}

#[test]
fn a_deterministic_plan_leaves_chances_null() {
    let made = MadePlan::new(
        vec![(breaker("A"), single(0.8, 50)), (breaker("B"), single(0.0, 0))],
        true,
    );
    let plan = json(&bytes(|out| plan_json::write(&made.plan(), &[0u8; 0], out)));
    for assembly in plan["assemblies"].as_array().unwrap() {
        for key in ["p_ice", "p_blocked", "p_damage"] {
            assert!(assembly[key].is_null(), "{key} is faked");
        }
        assert!(
            assembly["damage_by_part"]
                .as_array()
                .unwrap()
                .iter()
                .all(|part| part["p"].is_null())
        );
    }
    assert_eq!(plan["assemblies"][0]["damage_by_part"][1]["strained"], true);
    assert!(plan["assemblies"][1]["first_ice"]["p50"].is_null());
}

/// Checks a document against the rules of RFC 7946 that bear on points.
fn assert_rfc_7946(document: &Value) {
    // X-Val: RFC 7946, sections 3 (FeatureCollection has a features array), 3.1.1 (longitude first), 3.2 (Feature has geometry and
    // properties, id is a string or number), 4 (WGS 84, no crs member), 5 (bbox west south east north), 7.1 (no mixed members).
    assert_eq!(document["type"], "FeatureCollection");
    assert!(document.get("crs").is_none());
    for forbidden in ["coordinates", "geometries", "geometry", "properties"] {
        assert!(document.get(forbidden).is_none());
    }
    let bbox: Vec<f64> = document["bbox"]
        .as_array()
        .unwrap()
        .iter()
        .map(|v| v.as_f64().unwrap())
        .collect();
    assert_eq!(bbox.len(), 4);
    for feature in document["features"].as_array().unwrap() {
        assert_eq!(feature["type"], "Feature");
        assert!(feature["properties"].is_object());
        assert!(feature["id"].is_string() || feature["id"].is_number());
        for forbidden in ["coordinates", "geometries", "features"] {
            assert!(feature.get(forbidden).is_none());
        }
        let geometry = &feature["geometry"];
        assert_eq!(geometry["type"], "Point");
        let at: Vec<f64> = geometry["coordinates"]
            .as_array()
            .unwrap()
            .iter()
            .map(|v| v.as_f64().unwrap())
            .collect();
        assert_eq!(at.len(), 2);
        assert!((-180.0..=180.0).contains(&at[0]) && (-90.0..=90.0).contains(&at[1]));
        assert!(at[0] >= bbox[0] && at[0] <= bbox[2] && at[1] >= bbox[1] && at[1] <= bbox[3]);
    }
}

#[test]
fn the_map_follows_rfc_7946_longitude_first() {
    let mut rows = programme(40);
    rows[3].0.latitude_deg = None;
    rows[4].0.longitude_deg = Some(f64::NAN);
    let made = MadePlan::new(rows, true);
    let map = json(&bytes(|out| geojson::write(&made.plan(), out)));
    assert_rfc_7946(&map);
    let features = map["features"].as_array().unwrap();
    assert_eq!(features.len(), 38);
    let first = features.iter().find(|feature| feature["id"] == "B-0000").unwrap();
    assert_eq!(first["geometry"]["coordinates"], serde_json::json!([-41.25, 31.5]));
}

#[test]
fn the_map_and_the_page_carry_no_personal_data() {
    let mut assembly = breaker("A");
    assembly.contact.contact_name = Some("Quillon Tarrant".into());
    assembly.contact.phone = Some("555-0142".into());
    assembly.contact.email = Some("q@example.com".into());
    assembly.contact.site_address = Some("14 Sedge Row".into());
    let made = MadePlan::new(vec![(assembly, ensemble(0.9, 50, 400.0, 4.0))], true);
    let plan = made.plan();
    let map = bytes(|out| geojson::write(&plan, out));
    let list = bytes(|out| ranking_csv::write(&plan, out));
    let whole = bytes(|out| plan_json::write(&plan, &[0u8; 0], out));
    let page = report::render(&plan, "your water utility", &[]).unwrap();
    for text in [&map[..], &list, &whole, page.as_bytes()] {
        let text = String::from_utf8_lossy(text);
        for secret in ["Quillon", "555-0142", "q@example", "Sedge"] {
            assert!(!text.contains(secret), "{secret}");
        }
    }
}

#[test]
fn the_ranking_reads_back_with_own_columns_and_without_formulas() {
    let mut first = breaker("=HYPERLINK(\"x\")");
    first.extra = vec![("route".into(), "7".into()), ("note".into(), "a, \"b\"\nc".into())];
    let mut second = breaker("B");
    second.extra = vec![("note".into(), "@SUM(A1)".into()), ("rank".into(), "-12.5".into())];
    let made = MadePlan::new(
        vec![
            (first, ensemble(0.9, 50, 400.0, 4.0)),
            (second, ensemble(0.5, 50, 100.0, 4.0)),
        ],
        true,
    );
    let plan = made.plan();
    let text = bytes(|out| ranking_csv::write(&plan, out));
    let mut reader = csv::Reader::from_reader(&text[..]);
    let headers = reader.headers().unwrap().clone();
    let at = |name: &str| headers.iter().position(|header| header == name).unwrap();
    let rows: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
    assert_eq!(rows.len(), 2);
    assert_eq!(&rows[0][at("rank")], "1");
    assert_eq!(&rows[0][at("tier")], "call next");
    assert_eq!(&rows[0][at("assembly_id")], "'=HYPERLINK(\"x\")");
    assert_eq!(&rows[0][at("route")], "7");
    assert_eq!(&rows[0][at("note")], "a, \"b\"\nc");
    assert_eq!(&rows[1][at("note")], "'@SUM(A1)");
    // A number stays a number, and the utility's own "rank" does not shadow ours.
    assert_eq!(&rows[1][at("listed_rank")], "-12.5");
    assert_eq!(&rows[1][at("route")], "");
    // -7.2 °C is 19.04 °F (exact: 1.8 × -7.2 + 32).
    assert_eq!(&rows[0][at("min_air_f")], "19.0");
    // Local time with its offset: start is 2031-01-10 00:00 UTC, plus 50 h, at UTC-6 in winter.
    assert_eq!(&rows[0][at("first_ice_early")], "2031-01-11T20:00:00-06:00");
    assert_eq!(&rows[0][at("assembly_id")], &rows[0][2]);
    // The moment in UTC is the analyst's: it left the planner's list for ranking.parquet.
    let analyst = ranking_csv::columns(&plan);
    let utc = analyst
        .iter()
        .find(|column| column.name == "first_ice_early_utc")
        .unwrap();
    let line = plan.lines().next().unwrap();
    assert_eq!(
        (utc.cell)(&line),
        brimwater::output::columns::Cell::Time("2031-01-12T02:00:00Z".parse().unwrap())
    );
}

#[test]
fn columns_take_the_units_that_people_read() {
    let made = MadePlan::new(vec![(breaker("A"), ensemble(0.9, 50, 400.0, 4.0))], false);
    let text = bytes(|out| ranking_csv::write(&made.plan(), out));
    let text = String::from_utf8(text).unwrap();
    assert!(text.contains("min_air_c") && !text.contains("min_air_f"));
    assert!(text.contains("-7.2"));
}

#[test]
fn rejects_carry_place_reason_remedy_and_their_own_cells() {
    let header = Arc::new(vec!["assembly_id".to_owned(), "value".to_owned()]);
    let fault = Fault::new("BW-A07", Severity::Rejected, "the size cannot be read")
        .column("nominal_size_in")
        .value("=2+3")
        .expected("3/4, 1, 2 in, 50 mm")
        .remedy("Correct the cell.");
    let note = Fault::new("BW-A20", Severity::Note, "a blank was filled");
    let rejects = vec![Reject {
        line: 17,
        record: vec!["X-1".into(), "=2+3".into()],
        header,
        faults: vec![note, fault],
    }];
    let text = bytes(|out| rejects_csv::write(&rejects, out));
    let mut reader = csv::Reader::from_reader(&text[..]);
    let headers: Vec<String> = reader.headers().unwrap().iter().map(str::to_owned).collect();
    assert_eq!(&headers[..8], rejects_csv::COLUMNS);
    assert_eq!(&headers[8..], ["assembly_id", "listed_value"]);
    let row = reader.records().next().unwrap().unwrap();
    assert_eq!(
        row.iter().collect::<Vec<_>>(),
        [
            "17",
            "BW-A07",
            "nominal_size_in",
            "'=2+3",
            "the size cannot be read",
            "3/4, 1, 2 in, 50 mm",
            "Correct the cell.",
            "BW-A20: a blank was filled",
            "X-1",
            "'=2+3"
        ]
    );
    // No rejects: the header alone.
    let text = bytes(|out| rejects_csv::write(&[], out));
    assert_eq!(String::from_utf8(text).unwrap().lines().count(), 1);
}

fn figures(made: &MadePlan) -> Vec<report::Figure> {
    let plan = made.plan();
    let dots: Vec<charts_plan::Dot> = plan
        .lines()
        .filter_map(|(line, assembly, _)| {
            Some(charts_plan::Dot {
                latitude_deg: assembly.latitude_deg?,
                longitude_deg: assembly.longitude_deg?,
                tier: line.tier,
            })
        })
        .collect();
    vec![
        report::Figure {
            title: "When first ice comes",
            svg: charts_plan::first_ice(plan.outlooks, &plan.words).unwrap(),
            narrow: String::new(),
            caption: "Counts of assemblies.".into(),
        },
        report::Figure {
            title: "Where they stand",
            svg: charts_plan::map(&dots, &[plan.series[0].station.clone()], &plan.words).unwrap(),
            narrow: String::new(),
            caption: "By tier.".into(),
        },
    ]
}

/// Void elements of HTML need no end tag; every other one is closed in order, in these pages.
fn assert_balanced_html(html: &str) {
    const VOID: [&str; 5] = ["meta", "br", "link", "img", "hr"];
    let body = html.strip_prefix("<!DOCTYPE html>").expect("a doctype");
    let mut stack: Vec<String> = Vec::new();
    let mut rest = body;
    while let Some(open) = rest.find('<') {
        let close = rest[open..].find('>').unwrap() + open;
        let tag = &rest[open + 1..close];
        if let Some(name) = tag.strip_prefix('/') {
            assert_eq!(
                stack.pop().as_deref(),
                Some(name.trim()),
                "near {}",
                &rest[..open.min(60)]
            );
        } else {
            let name = tag.split_whitespace().next().unwrap().to_owned();
            if name == "style" {
                let end = rest.find("</style>").unwrap();
                rest = &rest[end + 8..];
                continue;
            }
            if !tag.ends_with('/') && !VOID.contains(&name.as_str()) {
                stack.push(name);
            }
        }
        rest = &rest[close + 1..];
    }
    assert!(stack.is_empty(), "{stack:?}");
}

#[test]
fn the_page_is_whole_self_contained_and_ends_with_its_caution() {
    let mut made = MadePlan::new(programme(300), true);
    made.faults.push(
        Fault::new("BW-P04", Severity::Warning, "the forecast is 14 h old").remedy("Get a newer one before calling."),
    );
    for _ in 0..5 {
        made.faults.push(
            Fault::new("BW-A61", Severity::Warning, "the telephone number cannot be used")
                .remedy("Correct the number."),
        );
    }
    let page = report::render(&made.plan(), "Saltmarsh & Quay <Water>", &figures(&made)).unwrap();
    if let Ok(dir) = std::env::var("BRIMWATER_KEEP_CHARTS") {
        std::fs::write(std::path::Path::new(&dir).join("report.html"), &page).unwrap();
    }
    assert_balanced_html(&page);
    assert!(page.contains("Saltmarsh &amp; Quay &lt;Water&gt;"));
    for outside in ["http://", "https://", "<script", "<link", "url(", "@import", "src="] {
        let page = page.replace("http://www.w3.org/2000/svg", "");
        assert!(!page.contains(outside), "{outside}");
    }
    assert!(page.contains("The forecast is 14 h old. Get a newer one before calling."));
    // What is wrong with single rows is counted below the list, not told at its head.
    assert_eq!(page.matches("The telephone number cannot be used.").count(), 1);
    assert!(page.find("telephone number").unwrap() > page.find("Whom to call first").unwrap());
    let tail = &page[page.len() - 300..];
    assert!(tail.contains("licensed or certified people"));
    assert!(page.contains("call first") && page.contains("B-0"));
}

#[test]
fn a_page_of_a_mild_week_says_that_nobody_needs_a_call() {
    let made = MadePlan::new(vec![(breaker("A"), ensemble(0.0, 0, 0.0, 0.0))], true);
    let page = report::render(&made.plan(), "your water utility", &[]).unwrap();
    assert!(page.contains("Nobody needs to be called"));
}

#[test]
fn the_terminal_table_fits_a_hundred_columns_worst_first() {
    let mut rows = programme(200);
    rows[0].0.assembly_id = "a-very-long-identifier-of-some-utility-0000001".into();
    let made = MadePlan::new(rows, true);
    let text = table::list(&made.plan(), 20);
    if std::env::var("BRIMWATER_KEEP_CHARTS").is_ok() {
        eprintln!("{text}{}", table::last_line(&made.plan(), "out"));
    }
    assert!(text.lines().all(|line| line.chars().count() <= 100), "{text}");
    assert!(text.contains("and 180 more in ranking.csv"));
    let last = table::last_line(&made.plan(), "out");
    assert!(last.starts_with("200 used, 0 rejected, "));
}

proptest! {
    #[test]
    fn a_defused_cell_never_starts_a_formula_and_keeps_its_text(cell in "[ =+@\\-\t\r'a-z0-9.]{0,12}") {
        let safe = defuse(&cell);
        prop_assert!(safe.ends_with(cell.as_str()));
        let first = safe.trim_start_matches(' ').chars().next();
        let number = safe.trim().parse::<f64>().is_ok();
        prop_assert!(number || !matches!(first, Some('=' | '+' | '-' | '@' | '\t' | '\r')), "{safe:?}");
    }

    #[test]
    fn any_text_in_an_identifier_survives_the_files(id in "\\PC{1,20}") {
        let made = MadePlan::new(vec![(breaker(&id), ensemble(0.9, 50, 400.0, 4.0))], true);
        let plan = json(&bytes(|out| plan_json::write(&made.plan(), &[0u8; 0], out)));
        prop_assert_eq!(plan["assemblies"][0]["assembly_id"].as_str(), Some(id.as_str()));
        let text = bytes(|out| ranking_csv::write(&made.plan(), out));
        let row = csv::Reader::from_reader(&text[..]).records().next().unwrap().unwrap();
        prop_assert!(row[2].ends_with(id.as_str()));
        let page = report::render(&made.plan(), &id, &[]).unwrap();
        assert_balanced_html(&page);
    }
}

/// Catches a list for planners that grows back to what a machine wants, that loses who and where, or that drops the utility's own columns.
#[test]
fn the_planners_list_is_short_and_names_whom_to_call_until_when() {
    use brimwater::output::plan::Keeper;
    let mut first = breaker("A");
    first.extra = vec![("route".into(), "7".into())];
    let made = MadePlan::new(vec![(first, ensemble(0.9, 50, 400.0, 4.0))], true);
    let keepers = [Keeper {
        contact_id: "=C-A".into(),
        act_by: Some("2031-01-11T20:00:00Z".parse().unwrap()),
    }];
    let plan = brimwater::output::plan::Plan {
        keepers: &keepers,
        ..made.plan()
    };
    let text = String::from_utf8(bytes(|out| ranking_csv::write(&plan, out))).unwrap();
    let mut lines = text.lines();
    assert_eq!(
        lines.next().unwrap(),
        "rank,tier,assembly_id,p_damage,p_blocked,p_ice,expected_loss_usd,first_ice_early,min_air_f,critical,advice,reason,act_by,\
         contact_id,route"
    );
    // 20:00 UTC is 14:00 in Chicago in winter; an identifier is no formula.
    assert!(
        lines.next().unwrap().ends_with(",2031-01-11T14:00:00-06:00,'=C-A,7"),
        "{text}"
    );
    let page = report::render(&plan, "your water utility", &[]).unwrap();
    for told in ["Sat 2 pm", "=C-A"] {
        assert!(page.contains(told), "{told}");
    }
    let parquet: Vec<String> = ranking_csv::columns(&plan)
        .iter()
        .map(|column| column.name.to_string())
        .collect();
    assert!(
        parquet.len() > 25 && !parquet.iter().any(|name| name == "act_by"),
        "{parquet:?}"
    );
    let over = brimwater::output::plan::Plan { over: true, ..plan };
    let page = report::render(&over, "your water utility", &[]).unwrap();
    assert!(
        !page.contains("call first</h2>") && !page.contains("to call next"),
        "after the spell nobody is called"
    );
}
