//! The shift's board: what it counts, who is calling whom, how it renews itself, and who sees it.
#![allow(clippy::unwrap_used, clippy::panic)]

use crate::deskside::{Client, DeskRun, MEMBERS, NOW, PASSWORD, program, programme, sign_in, with_passwords};
use crate::driver::{Driver, accessible, axe, fits, picture, skipped, text};
use fantoccini::Locator;
use fantoccini::key::Key;
use std::collections::BTreeSet;
use std::path::Path;

/// A count of the board by its label.
fn count(body: &str, label: &str) -> String {
    let (_, rest) = body
        .split_once(&format!("<dt>{label}</dt><dd>"))
        .unwrap_or_else(|| panic!("no {label}: {body}"));
    rest.split('<').next().unwrap().to_owned()
}

/// The people that the command's own plan calls, each once, at the desk's hour.
fn to_call(folder: &Path) -> BTreeSet<String> {
    let demo = folder.join("demo");
    let out = folder.join("plan");
    let done = program()
        .args(["plan", "--quiet", "--members", MEMBERS, "--now", NOW, "--assemblies"])
        .arg(demo.join("assemblies.csv"))
        .arg("--series")
        .arg(demo.join("forecast.csv"))
        .arg("--stations")
        .arg(demo.join("stations.csv"))
        .arg("--config")
        .arg(demo.join("config.toml"))
        .arg("--out")
        .arg(&out)
        .output()
        .unwrap();
    assert!(
        done.status.code().unwrap() < 2,
        "{}",
        String::from_utf8_lossy(&done.stderr)
    );
    crate::deskside::list(&out.join("contacts.csv"))
        .iter()
        .filter(|row| row["channel"] == "call")
        .map(|row| row["contact_id"].clone())
        .collect()
}

fn signed_in(desk: &DeskRun, name: &str) -> Client {
    let mut client = Client::new(desk.address);
    assert_eq!(sign_in(&mut client, name, PASSWORD), 303);
    client
}

fn field(body: &str, name: &str) -> String {
    let (_, rest) = body.split_once(&format!("name=\"{name}\" value=\"")).unwrap();
    rest.split('"').next().unwrap().to_owned()
}

/// Wrong programs: one that counts lines for people, counts nobody as called, lets two callers take one person, or keeps a claim after its outcome.
#[test]
fn the_board_counts_people_as_the_plan_calls_them_and_tells_who_is_calling_whom() {
    let folder = programme(120);
    let people = to_call(folder.path()).len();
    assert!(people > 3, "{people} people to call");
    let passwords = with_passwords(folder.path(), &["rosa", "ana"]);
    let desk = DeskRun::start(folder.path(), &["--password-file", &passwords]);
    let (mut rosa, mut ana) = (signed_in(&desk, "rosa"), signed_in(&desk, "ana"));
    desk.wait_for_plan_as(rosa.clone());
    let board = rosa.get("/plan/board").body;
    assert_eq!(count(&board, "People to call"), people.to_string());
    assert_eq!(count(&board, "Being called now"), "0");
    assert_eq!(count(&board, "Noted in the last 12 hours"), "0");

    let page = rosa.get("/plan/calls").body;
    let (contact, once) = (field(&page, "contact"), field(&page, "once"));
    assert_eq!(
        rosa.post("/plan/take", &[("contact", &contact), ("go", "take")]).status,
        303
    );
    assert!(ana.get("/plan/board").body.contains("rosa is calling since"));
    assert_eq!(count(&ana.get("/plan/board").body, "Being called now"), "1");
    let page = ana.get("/plan/calls").body;
    assert!(page.contains("rosa is calling since"), "{page}");
    let same = field(&page, "contact");
    let refused = ana.post("/plan/take", &[("contact", &same), ("go", "take")]);
    assert_eq!(refused.status, 409);
    assert!(
        refused.body.contains("Somebody else is calling") && refused.body.contains("rosa is calling"),
        "{}",
        refused.body
    );
    assert!(
        ana.get("/plan/board").body.contains("rosa is calling"),
        "a refused take took"
    );
    assert_eq!(
        ana.post("/plan/take", &[("contact", &same), ("go", "over")]).status,
        303
    );
    assert!(rosa.get("/plan/board").body.contains("ana is calling since"));
    rosa.get("/plan/calls");
    let outcome = [
        ("contact", contact.as_str()),
        ("once", once.as_str()),
        ("outcome", "reached"),
    ];
    assert_eq!(rosa.post("/plan/outcome", &outcome).status, 303);
    let board = ana.get("/plan/board").body;
    assert_eq!(count(&board, "People to call"), (people - 1).to_string());
    assert_eq!(count(&board, "Being called now"), "0");
    assert_eq!(count(&board, "Noted in the last 12 hours"), "1");
    assert!(board.contains("rosa 1"), "{board}");
    // The audit does not fill with looks that nobody took.
    let lists = || {
        let audit = std::fs::read_to_string(desk.log.with_extension("audit.jsonl")).unwrap();
        audit.matches("\"call-list\"").count()
    };
    let before = lists();
    for _ in 0..5 {
        assert_eq!(ana.get("/plan/board/part").status, 200);
        assert_eq!(ana.get("/plan/board?auto=1").status, 200);
    }
    assert_eq!(lists(), before);
    ana.get("/plan/board");
    assert_eq!(lists(), before + 1);
}

/// Wrong programs: a board that renews itself though it was stopped, and a page
/// that lets in scripts of others.
#[test]
fn the_board_renews_itself_by_its_own_script_alone_and_can_be_stopped() {
    let folder = programme(120);
    let desk = DeskRun::start(folder.path(), &[]);
    desk.wait_for_plan();
    let mut client = Client::new(desk.address);
    let live = client.get("/plan/board");
    let policy = &live.headers["content-security-policy"];
    assert!(
        policy.contains("default-src 'none'") && policy.contains("script-src 'self'") && !policy.contains("unsafe"),
        "{policy}"
    );
    assert_eq!(live.body.matches("<script").count(), 1);
    assert!(
        live.body
            .contains("<noscript><meta http-equiv=\"refresh\" content=\"60;url=/plan/board?auto=1\"></noscript>")
    );
    let still = client.get("/plan/board?still=1");
    assert!(
        !still.body.contains("http-equiv=\"refresh\"") && !still.body.contains("<script"),
        "{}",
        still.body
    );
    assert!(!still.headers["content-security-policy"].contains("script-src"));
    assert!(still.body.contains("href=\"/plan/board\""));
    let script = client.get("/board.js");
    assert_eq!(
        (script.status, script.headers["content-type"].as_str()),
        (200, "text/javascript; charset=utf-8")
    );
    // The part is what the page holds, without the page.
    let part = client.get("/plan/board/part").body;
    assert!(!part.contains("<html") && live.body.contains(part.trim()), "{part}");
    assert_eq!(count(&part, "Overdue"), "0");
}

fn board_in_a_browser(width: u32, scripts: bool, spanish: bool) {
    if skipped() {
        return;
    }
    let folder = programme(120);
    let desk = DeskRun::start(folder.path(), &[]);
    desk.wait_for_plan();
    let runtime = tokio::runtime::Runtime::new().unwrap();
    runtime.block_on(async {
        let driver = Driver::start();
        let (client, _profile) = driver.browser(width, scripts).await;
        client.goto(&desk.url("/plan/board")).await.unwrap();
        if spanish {
            let chosen = client
                .find(Locator::Css("select[name=language] option[value=es]"))
                .await
                .unwrap();
            chosen.click().await.unwrap();
            crate::driver::submit(&client, "form.settings button").await;
        }
        let name = format!("{width}-board{}", if spanish { "-es" } else { "" });
        accessible(&client, &axe(), &name).await;
        fits(&client, &name).await;
        picture(&client, &name).await;
        // By keyboard alone to the link that stops it.
        let stop = if spanish {
            "No actualizar más"
        } else {
            "Stop refreshing"
        };
        let mut reached = false;
        for _ in 0..40 {
            client
                .active_element()
                .await
                .unwrap()
                .send_keys(&String::from(char::from(Key::Tab)))
                .await
                .unwrap();
            if client.active_element().await.unwrap().text().await.unwrap() == stop {
                reached = true;
                break;
            }
        }
        assert!(reached, "the link that stops the board is not reached by keyboard");
        if scripts {
            // The focus is outside of the part that is renewed; somebody notes an outcome elsewhere.
            let before = text(&client, "#board .counts dd").await;
            let mut other = Client::new(desk.address);
            let page = other.get("/plan/calls").body;
            let (contact, once) = (field(&page, "contact"), field(&page, "once"));
            let form = [
                ("contact", contact.as_str()),
                ("once", once.as_str()),
                ("outcome", "reached"),
                ("by", "Ana"),
            ];
            assert_eq!(other.post("/plan/outcome", &form).status, 303);
            let mut renewed = false;
            for _ in 0..60 {
                tokio::time::sleep(std::time::Duration::from_millis(500)).await;
                if text(&client, "#board .counts dd").await != before {
                    renewed = true;
                    break;
                }
            }
            assert!(renewed, "the board did not renew itself");
            // Focus stays, and the change is told politely.
            assert_eq!(client.active_element().await.unwrap().text().await.unwrap(), stop);
            let said = client
                .execute("return document.getElementById('board-said').textContent;", vec![])
                .await
                .unwrap();
            assert!(said.as_str().unwrap().len() > 10, "{said}");
            accessible(&client, &axe(), "board renewed").await;
        }
        client
            .active_element()
            .await
            .unwrap()
            .send_keys(&String::from(char::from(Key::Enter)))
            .await
            .unwrap();
        for _ in 0..100 {
            if client.current_url().await.unwrap().query() == Some("still=1") {
                break;
            }
            tokio::time::sleep(std::time::Duration::from_millis(50)).await;
        }
        assert_eq!(client.current_url().await.unwrap().query(), Some("still=1"));
        accessible(&client, &axe(), "board stopped").await;
        client.close().await.unwrap();
    });
}

#[test]
fn the_board_at_desk_width_with_scripts() {
    board_in_a_browser(1280, true, false);
}

#[test]
fn the_board_on_a_telephone_in_spanish() {
    board_in_a_browser(360, true, true);
}
