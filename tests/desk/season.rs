//! The page of budgets.

use crate::deskside::{Client, DeskRun, programme};
use crate::spanish::must_be_spanish;

fn table() -> String {
    format!("{}/tests/data/season/instance_400.csv", env!("CARGO_MANIFEST_DIR"))
}

/// X-Val: expected_knapsack.json and the table of its reference (HiGHS): $20,000 buys 745,613.31, $60,000 buys 1,120,239.66.
/// Catches: a page that shows the curve's point in the place of the choice, a budget that is not taken, Spanish that is English.
#[test]
fn any_budget_is_answered_in_both_languages() {
    let folder = programme(20);
    let table = table();
    let desk = DeskRun::start_without_weather(folder.path(), &["--season", &table]);
    let mut client = Client::new(desk.address);
    let first = client.get("/season");
    assert!(first.status == 200 && first.body.contains("$745,613"), "{}", first.body);
    assert!(first.body.contains("No choice saves more.") && first.body.contains("<svg"));
    let more = client.get("/season?budget=%2460%2C000");
    assert!(
        more.body.contains("$1,120,240") && more.body.contains("value=\"$60,000\""),
        "{}",
        more.body
    );
    assert!(
        more.body.matches("<tr><td class=\"num\" data-label").count() == 100,
        "a page of offers"
    );
    for wrong in ["-1", "lots", "1e400", "%3Cscript%3E"] {
        let told = client.get(&format!("/season?budget={wrong}"));
        assert!(
            told.status == 422 && told.body.contains("This is no budget") && !told.body.contains("<script"),
            "{wrong}"
        );
    }
    assert_eq!(client.get("/season?budget=0").status, 200);
    client.post("/settings", &[("language", "es"), ("units", "us")]);
    let spanish = client.get("/season?budget=20000");
    assert!(spanish.body.contains("Ninguna elección ahorra más") && spanish.body.contains("una envoltura aislante"));
    let town = ["Pellow Reach Water".to_owned()];
    must_be_spanish("/season", &spanish.body, &town);
    must_be_spanish("/season?budget=x", &client.get("/season?budget=x").body, &town);
}

/// Without a season there is neither page nor link; a table that cannot be read keeps the desk shut.
#[test]
fn without_a_season_there_is_no_page() {
    let folder = programme(20);
    let desk = DeskRun::start_without_weather(folder.path(), &[]);
    let mut client = Client::new(desk.address);
    assert_eq!(client.get("/season").status, 404);
    assert!(!client.get("/phone").body.contains("href=\"/season\""));
    let list = folder.path().join("demo/assemblies.csv");
    let list = list.to_str().unwrap();
    let done = crate::deskside::program()
        .args(["desk", "--bind", "127.0.0.1:0", "--assemblies", list, "--season", list])
        .output()
        .unwrap();
    assert_eq!(done.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&done.stderr).contains("BW-B03"));
}
