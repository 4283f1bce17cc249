//! The page of a review: it says what the command says of the same files.

use crate::deskside::{Client, DeskRun, program};
use crate::driver::{Driver, accessible, axe, fits, picture, skipped};
use crate::spanish::must_be_spanish;
use crate::visits::{AFTER, COUNT, Town, WHOLE, enter, visits};
use std::path::Path;

const DAMAGED: [(&str, &str); 5] = [
    ("state", "damaged"),
    ("part", "bonnet"),
    ("severity", "weep"),
    ("ice", "yes"),
    ("by", "Rosa"),
];

fn desk(town: &Town, plans: &[&str]) -> DeskRun {
    let plans: Vec<String> = plans.iter().map(|plan| town.path(plan).display().to_string()).collect();
    let options: Vec<&str> = plans.iter().flat_map(|plan| ["--plan", plan.as_str()]).collect();
    DeskRun::start_without_weather_at(&town.path(""), AFTER, &[&options[..], &["--members", "64"]].concat())
}

/// What the command prints of the same files, a line a sentence.
fn command(town: &Town, log: &Path, language: &str) -> Vec<String> {
    let done = program()
        .args(["review", "--quiet", "--members", "64", "--language", language, "--plan"])
        .arg(town.path("issued"))
        .arg("--plan")
        .arg(town.path("after"))
        .arg("--record")
        .arg(town.filled())
        .arg("--log")
        .arg(log)
        .arg("--config")
        .arg(town.path("demo/config.toml"))
        .output()
        .unwrap();
    assert_eq!(done.status.code(), Some(0), "{}", String::from_utf8_lossy(&done.stderr));
    let text = String::from_utf8(done.stdout).unwrap();
    let lines = text.lines().map(|line| line.trim_start_matches("- ").to_owned());
    lines.filter(|line| !line.is_empty()).collect()
}

fn unescaped(page: &str) -> String {
    let marks = [
        ("&#x27;", "'"),
        ("&#x2f;", "/"),
        ("&quot;", "\""),
        ("&lt;", "<"),
        ("&gt;", ">"),
        ("&amp;", "&"),
    ];
    marks
        .iter()
        .fold(page.to_owned(), |page, (mark, sign)| page.replace(mark, sign))
}

/// X-Val: the command, whose figures are held against published scores elsewhere (tests/review/), for both languages.
/// Catches: a page with a reading of plans and records of its own, one that forgets the log, other members or another seed, a page that is made
/// once and not again after the next finding.
#[test]
fn the_page_says_what_the_command_says() {
    let town = Town::new();
    let desk = desk(&town, &["issued", "after"]);
    let log = town.path("calls.db");
    let mut client = Client::new(desk.address);
    let none = client.get("/review");
    assert!(
        none.status == 200 && none.body.contains("Nothing has been entered yet"),
        "{}",
        none.body
    );
    assert!(client.get("/record").body.contains("href=\"/review\""));
    let all = visits(&client.get("/record").body);
    assert_eq!(all.len(), COUNT);
    let (damaged, whole) = all.split_at(6);
    let mut before = String::new();
    for (round, some) in [&damaged[..3], damaged, whole].into_iter().enumerate() {
        for (path, _) in some {
            let fields: &[(&str, &str)] = if round == 2 { &WHOLE } else { &DAMAGED };
            assert_eq!(enter(&mut client, path, fields).status, 303);
        }
        let page = client.get("/review");
        assert_eq!(page.status, 200);
        let shown = unescaped(&page.body);
        let told = command(&town, &log, "en");
        assert!(told.len() >= 3, "{told:?}");
        for line in &told {
            assert!(shown.contains(line), "the page lacks: {line}");
        }
        assert_ne!(shown, before);
        before = shown;
    }
    client.post("/settings", &[("language", "es"), ("units", "us")]);
    let page = unescaped(&client.get("/review").body);
    for line in command(&town, &log, "es") {
        assert!(page.contains(&line), "the page lacks: {line}");
    }
    let mut data: Vec<String> = ["issued", "after"]
        .iter()
        .map(|plan| town.path(plan).display().to_string())
        .collect();
    data.extend([town.filled().display().to_string(), "Pellow Reach Water".to_owned()]);
    data.sort_by_key(|cell| std::cmp::Reverse(cell.len()));
    must_be_spanish("/review", &page, &data);
    // Nothing of anybody: neither an address nor an assembly.
    for row in crate::deskside::list(&desk.assemblies) {
        assert!(!page.contains(&row["assembly_id"]), "{}", row["assembly_id"]);
        assert!(row["site_address"].len() < 4 || !page.contains(&row["site_address"]));
    }
}

/// Catches: a record that is dropped without a word, a file that cannot be read as an empty review.
#[test]
fn what_cannot_be_reviewed_is_told() {
    let town = Town::new();
    let only_after = desk(&town, &["after"]);
    let mut client = Client::new(only_after.address);
    let (path, _) = visits(&client.get("/record").body)[0].clone();
    assert_eq!(enter(&mut client, &path, &WHOLE).status, 303);
    let page = client.get("/review");
    assert!(page.status == 200 && page.body.contains("BW-R11"), "{}", page.body);
    std::fs::write(town.path("after/plan.json"), "{").unwrap();
    let page = client.get("/review");
    assert!(page.status == 503 && page.body.contains("BW-R10"), "{}", page.body);
    assert!(page.body.contains("The review cannot be made"));
    let without = DeskRun::start_without_weather(&town.path(""), &[]);
    let mut client = Client::new(without.address);
    assert!(!client.get("/phone").body.contains("href=\"/review\""));
    assert!(client.get("/review").body.contains("without"));
}

/// At telephone width and wide; the accessibility engine looks at it (set-up as in `browser`).
#[tokio::test(flavor = "multi_thread")]
async fn the_page_is_read_on_a_telephone() {
    if skipped() {
        return;
    }
    let town = Town::new();
    let (driver, engine) = (Driver::start(), axe());
    let desk = desk(&town, &["issued", "after"]);
    let mut client = Client::new(desk.address);
    for (at, (path, _)) in visits(&client.get("/record").body).iter().enumerate() {
        let fields: &[(&str, &str)] = if at % 4 == 0 { &DAMAGED } else { &WHOLE };
        assert_eq!(enter(&mut client, path, fields).status, 303);
    }
    for (name, width) in [("review-360", 360), ("review-wide", 1280)] {
        let (client, _profile) = driver.browser(width, true).await;
        client.goto(&desk.url("/review")).await.unwrap();
        accessible(&client, &engine, name).await;
        fits(&client, name).await;
        picture(&client, name).await;
        client.close().await.unwrap();
    }
}
