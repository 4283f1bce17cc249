//! The three journeys in a browser: desk and phone width, keyboard only, scripts off, and an accessibility engine on every page.
//!
//! Needs Debian's chromium and chromium-driver and axe-core from npm. Set up:
//! `apt-get install -y chromium chromium-driver && npm install --prefix target/axe axe-core@4`.
#![allow(clippy::unwrap_used, clippy::panic)]

use crate::deskside::{DeskRun, MEMBERS, NOW, list, program, programme};
use crate::driver::{Driver, accessible, axe, choose, fits, picture, skipped, submit, text};
use fantoccini::key::Key;
use fantoccini::{Client, Locator};
use serde_json::Value;

/// A row of the invented list with an address and no fire line, with a freeze-drip if there is one.
fn caller(desk: &DeskRun) -> std::collections::HashMap<String, String> {
    let plain = |row: &std::collections::HashMap<String, String>| {
        let kind = row["device_type"].trim().to_uppercase();
        let fire = row["service"].to_lowercase().starts_with("fi") || kind.ends_with("DA");
        !row["site_address"].is_empty() && row["critical"].is_empty() && !fire
    };
    let drips = |row: &std::collections::HashMap<String, String>| row["freeze_drip"].to_lowercase().starts_with('y');
    let rows: Vec<_> = list(&desk.assemblies).into_iter().filter(plain).collect();
    // Rows that the reader sets aside (a second use of an identifier, say) have no card.
    let known = |row: &&std::collections::HashMap<String, String>| {
        rows.iter()
            .filter(|other| other["assembly_id"] == row["assembly_id"])
            .count()
            == 1
    };
    let best = rows
        .iter()
        .filter(|row| drips(row))
        .find(known)
        .or_else(|| rows.iter().find(known));
    best.expect("the invented programme has an assembly with an address")
        .clone()
}

async fn journeys(driver: &Driver, desk: &DeskRun, width: u32, engine: &str) {
    let (client, _profile) = driver.browser(width, true).await;
    let tag = |name: &str| format!("{width}-{name}");

    // The rep: finds the caller by address with a slip, opens the card, answers the questions, reads the answer, saves a note.
    client.goto(&desk.url("/")).await.unwrap();
    accessible(&client, engine, "phone").await;
    fits(&client, "phone").await;
    picture(&client, &tag("phone")).await;
    let row = caller(desk);
    client
        .find(Locator::Id("q"))
        .await
        .unwrap()
        .send_keys(&row["site_address"])
        .await
        .unwrap();
    submit(&client, ".find button").await;
    assert!(
        !client
            .current_url()
            .await
            .unwrap()
            .as_str()
            .contains(&row["site_address"].replace(' ', "+"))
    );
    accessible(&client, engine, "found").await;
    fits(&client, "found").await;
    picture(&client, &tag("found")).await;
    let hits = client.find_all(Locator::Css(".hits a")).await.unwrap();
    let mut opened = false;
    for hit in hits {
        if hit.text().await.unwrap().contains(&row["assembly_id"]) {
            hit.click().await.unwrap();
            opened = true;
            break;
        }
    }
    assert!(opened, "{} was not among the hits", row["assembly_id"]);
    let url = client.current_url().await.unwrap().to_string();
    assert!(
        !url.contains(&row["assembly_id"]),
        "the address names the assembly: {url}"
    );
    accessible(&client, engine, "card").await;
    fits(&client, "card").await;
    picture(&client, &tag("card")).await;
    one_by_one(&client, engine, &tag("question")).await;
    submit(&client, ".questions button[value='all']").await;
    accessible(&client, engine, "all questions").await;
    fits(&client, "all questions").await;
    picture(&client, &tag("questions")).await;
    choose(&client, "fire", "no").await;
    choose(&client, "where", "freeze-drip").await;
    choose(&client, "rate", "1 cup in 10 min").await;
    choose(&client, "when", "cold-nights").await;
    choose(&client, "water", "cold").await;
    client
        .find(Locator::Id("air"))
        .await
        .unwrap()
        .send_keys("24 F")
        .await
        .unwrap();
    submit(&client, ".questions .act button").await;
    accessible(&client, engine, "answer").await;
    fits(&client, "answer").await;
    picture(&client, &tag("answer")).await;
    let heading = text(&client, "#answer-h").await;
    let page = text(&client, "#answer").await;
    // The page's answer is the command's for the same account.
    let command = program()
        .args([
            "drip",
            "--where",
            "freeze-drip",
            "--rate",
            "1 cup in 10 min",
            "--when",
            "cold-nights",
            "--water",
            "cold",
        ])
        .args([
            "--air",
            "24 F",
            "--not-fire",
            "--format",
            "json",
            "--quiet",
            "--now",
            NOW,
            "--id",
            &row["assembly_id"],
        ])
        .arg("--assemblies")
        .arg(&desk.assemblies)
        .args(files(desk))
        .output()
        .unwrap();
    let told: Value = serde_json::from_slice(&command.stdout).unwrap();
    let say = told["say"]["en"].as_str().unwrap();
    assert!(page.contains(say), "{heading}: {page} lacks {say}");
    assert!(page.contains(told["within"].as_str().unwrap()));
    if client.find(Locator::Id("by")).await.is_ok() {
        client
            .find(Locator::Id("by"))
            .await
            .unwrap()
            .send_keys("Rosa")
            .await
            .unwrap();
    }
    let note = format!("Drips at {width} px");
    client
        .find(Locator::Id("text"))
        .await
        .unwrap()
        .send_keys(&note)
        .await
        .unwrap();
    submit(&client, ".note button").await;
    assert!(
        text(&client, ".card").await.contains(&note),
        "the saved note is not on the card"
    );

    // The plumber.
    client.goto(&desk.url("/expansion")).await.unwrap();
    accessible(&client, engine, "expansion").await;
    fits(&client, "expansion").await;
    for (field, value) in [
        ("heater", "50 gal"),
        ("cold", "50 F"),
        ("hot", "140 F"),
        ("static", "60 psi"),
        ("limit", "80 psi"),
    ] {
        client
            .find(Locator::Id(&format!("f-{field}")))
            .await
            .unwrap()
            .send_keys(value)
            .await
            .unwrap();
    }
    choose(&client, "closed_by", "backflow-assembly").await;
    submit(&client, ".questions .act button").await;
    accessible(&client, engine, "expansion answer").await;
    fits(&client, "expansion answer").await;
    picture(&client, &tag("expansion")).await;
    let page = text(&client, "#answer").await;
    let command = program()
        .args([
            "expansion",
            "--heater",
            "50 gal",
            "--cold",
            "50 F",
            "--hot",
            "140 F",
            "--static",
            "60 psi",
            "--limit",
            "80 psi",
        ])
        .args(["--closed-by", "backflow-assembly", "--format", "json", "--quiet"])
        .output()
        .unwrap();
    let told: Value = serde_json::from_slice(&command.stdout).unwrap();
    let gallons = told["tank"]["min_volume_l"].as_f64().unwrap() / 3.785_411_784;
    let shown = brimwater::units::show_volume_at_least(gallons * 3.785_411_784, brimwater::units::UnitSystem::Us);
    assert!(page.contains(&shown), "{page} lacks the command's {shown}");
    submit(&client, "#answer form button").await;
    assert!(client.source().await.unwrap().contains("50"), "the record is empty");
    picture(&client, &tag("record")).await;
    fits(&client, "record").await;

    // The planner.
    client.goto(&desk.url("/plan")).await.unwrap();
    accessible(&client, engine, "plan").await;
    fits(&client, "plan").await;
    picture(&client, &tag("plan")).await;
    let first = text(&client, ".ranking tbody tr").await;
    let command = program()
        .args([
            "plan",
            "--format",
            "json",
            "--quiet",
            "--members",
            MEMBERS,
            "--now",
            NOW,
            "--out",
        ])
        .arg(desk.log.with_extension(format!("plan-{width}")))
        .arg("--assemblies")
        .arg(&desk.assemblies)
        .args(files(desk))
        .output()
        .unwrap();
    let told: Value = serde_json::from_slice(&command.stdout).unwrap();
    let best = &told["assemblies"][0];
    assert!(
        first.contains(best["assembly_id"].as_str().unwrap()),
        "{first} is not {best}"
    );
    let chance = best["p_damage"].as_f64().unwrap();
    // People are not told that anything is certain.
    let percent = if chance > 0.99 {
        "over 99 %".to_string()
    } else {
        format!("{:.0} %", chance * 100.0)
    };
    assert!(first.contains(&percent), "{first} lacks the command's {percent}");
    submit(&client, ".ranking tbody a").await;
    accessible(&client, engine, "assembly").await;
    fits(&client, "assembly").await;
    picture(&client, &tag("assembly")).await;
    client.goto(&desk.url("/plan/map")).await.unwrap();
    accessible(&client, engine, "map").await;
    fits(&client, "map").await;
    picture(&client, &tag("map")).await;
    client.goto(&desk.url("/plan/calls")).await.unwrap();
    accessible(&client, engine, "calls").await;
    fits(&client, "calls").await;
    picture(&client, &tag("calls")).await;
    let before = text(&client, ".calls li h2").await;
    submit(&client, ".calls li button[value='no-answer']").await;
    let after = text(&client, ".calls li h2").await;
    assert_ne!(before, after, "the person who was tried still stands first");
    client.close().await.unwrap();
}

fn files(desk: &DeskRun) -> Vec<String> {
    let demo = desk.assemblies.parent().unwrap();
    [
        ("--series", "forecast.csv"),
        ("--stations", "stations.csv"),
        ("--config", "config.toml"),
    ]
    .iter()
    .flat_map(|(option, file)| [(*option).to_string(), demo.join(file).display().to_string()])
    .collect()
}

/// Through the first questions one after the other, back to the first, and to an emergency's answer from it; then the page begins anew.
async fn one_by_one(client: &Client, engine: &str, tag: &str) {
    let title = async || client.title().await.unwrap();
    for (step, name) in [(1, "hazard"), (2, "where"), (3, "rate")] {
        assert!(
            client
                .find(Locator::Css(&format!("fieldset input[name='{name}']")))
                .await
                .is_ok(),
            "{name} is not asked {step}th"
        );
        submit(client, ".questions button[value='next']").await;
        assert!(
            title().await.starts_with(&format!("Question {} of 9", step + 1)),
            "{}",
            title().await
        );
    }
    accessible(client, engine, "a question").await;
    fits(client, "a question").await;
    picture(client, tag).await;
    for _ in 0..3 {
        submit(client, ".questions button[value='back']").await;
    }
    choose(client, "hazard", "electric").await;
    submit(client, ".questions button.alarm").await;
    assert_eq!(text(client, "#answer-h").await, "Emergency");
    // The state stands in the title, the focus on the answer, the utility's number beside it, all on the first screen.
    assert!(title().await.contains("Emergency"), "{}", title().await);
    assert_eq!(
        client
            .active_element()
            .await
            .unwrap()
            .attr("id")
            .await
            .unwrap()
            .as_deref(),
        Some("answer-h")
    );
    assert!(text(client, "#answer .line").await.contains("555-0199"));
    let seen = client
        .execute(
            "const r = document.querySelector('#answer .line').getBoundingClientRect(); return [r.bottom, window.innerHeight];",
            vec![],
        )
        .await
        .unwrap();
    assert!(
        seen[0].as_f64() <= seen[1].as_f64(),
        "the emergency line is below the first screen: {seen}"
    );
    accessible(client, engine, "emergency").await;
    fits(client, "emergency").await;
    picture(client, &format!("{tag}-emergency")).await;
    // What was told can be changed, and stands until it is.
    submit(client, ".so-far button[value='to-0']").await;
    let chosen = client
        .find(Locator::Css("input[name='hazard'][value='electric']"))
        .await
        .unwrap();
    assert_eq!(chosen.prop("checked").await.unwrap().as_deref(), Some("true"));
    choose(client, "hazard", "electric").await;
}

/// Answers a drip question with the keyboard alone, in Spanish, and with scripts off if asked.
async fn keyboard_only(driver: &Driver, desk: &DeskRun, scripts: bool) {
    let (client, _profile) = driver.browser(1000, scripts).await;
    client.goto(&desk.url("/phone")).await.unwrap();
    let press = async |key: &str| client.active_element().await.unwrap().send_keys(key).await.unwrap();
    let tab = String::from(char::from(Key::Tab));
    let space = String::from(" ");
    let enter = String::from(char::from(Key::Enter));
    let focus = async || client.active_element().await.unwrap();
    // The page opens with the focus on the search field; typed and sent by return.
    assert_eq!(
        focus().await.attr("id").await.unwrap().as_deref(),
        Some("q"),
        "the search field has not the focus"
    );
    let row = caller(desk);
    press(&format!("{}{enter}", row["assembly_id"])).await;
    // The page that was left takes its elements with it: nothing is asked of them before the next one stands.
    let found = Locator::Css("a[href^='/phone/a/']");
    client.wait().for_element(found).await.unwrap();
    for _ in 0..25 {
        if focus()
            .await
            .attr("href")
            .await
            .unwrap()
            .is_some_and(|href| href.starts_with("/phone/a/"))
        {
            break;
        }
        press(&tab).await;
    }
    press(&enter).await;
    assert!(text(&client, "#card-h").await.contains(&row["site_address"]));
    // One question after the other, each reached by tab; a radio group is one stop, chosen by space.
    let mut stops: Vec<String> = Vec::new();
    for step in 1..=9 {
        let begun = stops.len();
        for _ in 0..40 {
            press(&tab).await;
            let at = focus().await;
            let name = at.attr("name").await.unwrap().unwrap_or_default();
            if at.tag_name().await.unwrap() == "button" && name == "go" && stops.len() > begun {
                break;
            }
            let asked = at
                .attr("type")
                .await
                .unwrap()
                .is_some_and(|kind| ["radio", "checkbox", "text"].contains(&kind.as_str()));
            if (asked || name.starts_with("rate_") || name == "air" || name.starts_with("heat"))
                && stops.last() != Some(&name)
            {
                if name == "where" || name == "hazard" {
                    press(&space).await;
                }
                stops.push(name);
            }
        }
        assert!(
            stops.len() > begun,
            "step {step} asks nothing that is reached by tab: {stops:?}"
        );
        let question = text(&client, "#ask-h").await;
        press(&enter).await;
        if step < 9 {
            for _ in 0..100 {
                if text(&client, "#ask-h").await != question {
                    break;
                }
                tokio::time::sleep(std::time::Duration::from_millis(50)).await;
            }
        }
    }
    for needed in [
        "hazard",
        "where",
        "rate",
        "rate_other",
        "fire",
        "critical",
        "when",
        "water",
        "also",
        "air",
        "heater",
        "heat_input",
    ] {
        assert!(
            stops.iter().any(|stop| stop == needed),
            "{needed} is not reached by tab: {stops:?}"
        );
    }
    // The first hazard was chosen, so the answer is an emergency.
    assert_eq!(text(&client, "#answer-h").await, "Emergency");
    client.close().await.unwrap();
}

#[tokio::test(flavor = "multi_thread")]
async fn three_journeys_work_at_desk_and_phone_width_with_the_commands_numbers_and_nothing_inaccessible() {
    if skipped() {
        return;
    }
    let engine = axe();
    let driver = Driver::start();
    for width in [1280, 360] {
        let folder = programme(150);
        let desk = DeskRun::start(folder.path(), &[]);
        desk.wait_for_plan();
        journeys(&driver, &desk, width, &engine).await;
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn a_drip_is_answered_by_keyboard_alone_with_scripts_on_and_off() {
    if skipped() {
        return;
    }
    let driver = Driver::start();
    let folder = programme(150);
    let desk = DeskRun::start(folder.path(), &[]);
    for scripts in [true, false] {
        keyboard_only(&driver, &desk, scripts).await;
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn spanish_pages_are_marked_as_spanish_and_stay_accessible() {
    if skipped() {
        return;
    }
    let engine = axe();
    let driver = Driver::start();
    let folder = programme(150);
    let desk = DeskRun::start(folder.path(), &[]);
    let (client, _profile) = driver.browser(1280, true).await;
    client.goto(&desk.url("/phone/drip")).await.unwrap();
    client
        .find(Locator::Css(".settings select[name='language']"))
        .await
        .unwrap()
        .select_by_value("es")
        .await
        .unwrap();
    submit(&client, ".settings button").await;
    // The page stays where it was, with what was answered.
    let heading = text(&client, "h1").await;
    assert!(heading.starts_with("Pregunta 1 de"), "{heading}");
    client.goto(&desk.url("/phone")).await.unwrap();
    assert_eq!(text(&client, "h1").await, "¿Quién llama?");
    client.goto(&desk.url("/phone/drip")).await.unwrap();
    accessible(&client, &engine, "a question in Spanish").await;
    submit(&client, ".questions button[value='all']").await;
    choose(&client, "where", "relief-port").await;
    choose(&client, "when", "always").await;
    submit(&client, ".questions .act button").await;
    assert_eq!(
        client
            .find(Locator::Css("html"))
            .await
            .unwrap()
            .attr("lang")
            .await
            .unwrap()
            .as_deref(),
        Some("es")
    );
    accessible(&client, &engine, "answer in Spanish").await;
    picture(&client, "es-answer").await;
    client.close().await.unwrap();
}
