//! The inspection record on a telephone: what is entered there is what a review reads, and nothing of it is lost.

use crate::deskside::{Client, DeskRun, Reply, program};
use crate::driver::{Driver, accessible, axe, choose, fits, picture, skipped, submit, text};
use crate::spanish::must_be_spanish;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

/// A month after the spell of the invented programme: its hours have come.
pub(crate) const AFTER: &str = "2027-02-20T12:00:00-06:00";
pub(crate) const COUNT: usize = 24;

/// The invented programme, planned before its spell and after it.
pub(crate) struct Town {
    folder: tempfile::TempDir,
}

impl Town {
    pub(crate) fn new() -> Self {
        let town = Self {
            folder: crate::deskside::programme(COUNT),
        };
        town.plan("2027-01-18T12:00:00Z", "issued", &[]);
        town.plan(AFTER, "after", &[]);
        town
    }

    pub(crate) fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    fn plan(&self, now: &str, out: &str, more: &[&str]) -> String {
        let demo = self.path("demo");
        let mut command = program();
        command.arg("plan");
        for (option, file) in [
            ("--assemblies", "assemblies.csv"),
            ("--series", "forecast.csv"),
            ("--stations", "stations.csv"),
            ("--config", "config.toml"),
        ] {
            command.arg(option).arg(demo.join(file));
        }
        let done = command
            .args(["--members", "16", "--advice-cases", "2", "--now", now, "--out"])
            .arg(self.path(out))
            .args(more)
            .output()
            .unwrap();
        let told = String::from_utf8_lossy(&done.stderr).into_owned();
        assert!(matches!(done.status.code(), Some(0 | 1)), "{told}");
        told
    }

    pub(crate) fn filled(&self) -> PathBuf {
        self.path("after-inspection_record_filled.csv")
    }

    fn desk(&self) -> DeskRun {
        let after = self.path("after");
        DeskRun::start_without_weather_at(self.folder.path(), AFTER, &["--plan", after.to_str().unwrap()])
    }

    /// What a review reads in the filled file: the command's own counts.
    fn review(&self) -> BTreeMap<String, u64> {
        let done = program()
            .args(["review", "--quiet", "--format", "json", "--plan"])
            .arg(self.path("issued"))
            .arg("--plan")
            .arg(self.path("after"))
            .arg("--record")
            .arg(self.filled())
            .output()
            .unwrap();
        assert_eq!(done.status.code(), Some(0), "{}", String::from_utf8_lossy(&done.stderr));
        let told: serde_json::Value = serde_json::from_slice(&done.stdout).unwrap();
        let counts = told["counts"].as_object().unwrap();
        let number = |(key, value): (&String, &serde_json::Value)| Some((key.clone(), value.as_u64()?));
        counts.iter().filter_map(number).collect()
    }
}

/// The filled file by assembly, read by a general CSV reader.
fn rows(path: &Path) -> BTreeMap<String, BTreeMap<String, String>> {
    let mut reader = csv::Reader::from_path(path).unwrap();
    let header = reader.headers().unwrap().clone();
    let mut found = BTreeMap::new();
    for record in reader.records().map(Result::unwrap) {
        let row: BTreeMap<String, String> = header
            .iter()
            .zip(record.iter())
            .map(|(a, b)| (a.into(), b.into()))
            .collect();
        assert!(
            found.insert(row["assembly_id"].clone(), row).is_none(),
            "a row is doubled"
        );
    }
    found
}

/// Links of a page to single visits with the assembly that each leads to, in the order of the page.
pub(crate) fn visits(page: &str) -> Vec<(String, String)> {
    page.split("<a href=\"/record/a/")
        .skip(1)
        .filter_map(|rest| {
            let link = rest.split('"').next()?;
            let id = rest.split("</span>").next()?.rsplit([' ', '>']).next()?;
            Some((format!("/record/a/{link}"), id.to_owned()))
        })
        .collect()
}

fn stood(page: &str) -> String {
    let rest = page.split("name=\"stood\" value=\"").nth(1).unwrap();
    rest.split('"').next().unwrap().to_owned()
}

/// Opens a visit and sends what was found.
pub(crate) fn enter(client: &mut Client, path: &str, fields: &[(&str, &str)]) -> Reply {
    let stood = stood(&client.get(path).body);
    let mut all = vec![("stood", stood.as_str())];
    all.extend_from_slice(fields);
    client.post(path, &all)
}

pub(crate) const WHOLE: [(&str, &str); 2] = [("go", "whole"), ("by", "Rosa")];

/// X-Val: the counts of `review` on the file, whose reading of a filled form has checks of its own (tests/review/round_trip.rs).
/// Catches: a page that writes another word than the reader knows, forgets the blank rows, or drops the columns of the plan.
#[test]
fn what_is_entered_is_what_a_review_reads() {
    let town = Town::new();
    let desk = town.desk();
    let mut client = Client::new(desk.address);
    let page = client.get("/record");
    assert_eq!(page.status, 200);
    assert!(!page.body.contains("<script"));
    let all = visits(&page.body);
    let form = rows(&town.path("after/inspection_record.csv"));
    assert_eq!(all.len(), form.len(), "{}", page.body);
    assert!(page.body.contains(&format!("0 of {} looked at", form.len())));
    // Nothing is entered: the first save begins the file.
    assert!(!town.filled().exists());
    let saved = enter(&mut client, &all[0].0, &WHOLE);
    assert_eq!(saved.status, 303, "{}", saved.body);
    let told = client.get(&saved.headers["location"]).body;
    assert!(
        told.contains("Saved.") && told.contains("No damage") && told.contains("Rosa"),
        "{told}"
    );
    let more: [&[(&str, &str)]; 4] = [
        &[
            ("state", "damaged"),
            ("part", "bonnet"),
            ("severity", "split"),
            ("ice", "yes"),
            ("text", "=1+1\nby the hedge"),
        ],
        &[("state", "looked at, cannot tell"), ("ice", "no")],
        &[("state", "not exposed"), ("inspected_by", "inspector")],
        &[("state", "no damage"), ("ice", "no"), ("date", "2027-02-18")],
    ];
    for (fields, (path, _)) in more.iter().zip(&all[1..]) {
        assert_eq!(enter(&mut client, path, fields).status, 303);
    }
    let counts = town.review();
    let n = form.len() as u64;
    assert_eq!(
        ["whole", "damaged", "cannot_tell", "not_exposed", "unknown"].map(|key| counts[key]),
        [2, 1, 1, 1, n - 5],
        "{counts:?}"
    );
    let filled = rows(&town.filled());
    assert_eq!(filled.len(), form.len());
    let damaged = &filled[&all[1].1];
    let cells = [
        "damage_part",
        "severity",
        "ice",
        "inspected_by",
        "inspector_name",
        "date",
        "hour",
        "state",
    ];
    assert_eq!(
        cells.map(|cell| damaged[cell].as_str()),
        [
            "bonnet",
            "split",
            "yes",
            "tester",
            "Rosa",
            "2027-02-20",
            "12:00",
            "damaged"
        ]
    );
    // A spreadsheet must not run what was typed.
    assert_eq!(damaged["note"], "'=1+1 by the hedge");
    assert_eq!(filled[&all[4].1]["date"], "2027-02-18");
    // What the plan wrote stands as it was.
    for (id, row) in &form {
        for column in [
            "plan_id",
            "must_look",
            "inclusion_probability",
            "p_damage",
            "event",
            "exposure",
        ] {
            assert_eq!(row[column], filled[id][column], "{id} {column}");
        }
    }
    #[cfg(unix)]
    assert_eq!(crate::account::mode(&town.filled()), 0o600);
    let page = client.get("/record").body;
    assert!(page.contains(&format!("5 of {} looked at", form.len())), "{page}");
    // An entry on the wrong assembly is taken back.
    assert_eq!(enter(&mut client, &all[0].0, &[("state", "not looked at")]).status, 303);
    assert_eq!(town.review()["whole"], 1);
    assert!(
        client
            .get("/record")
            .body
            .contains(&format!("4 of {} looked at", form.len()))
    );
    let audit = std::fs::read_to_string(desk.log.with_extension("audit.jsonl")).unwrap();
    assert_eq!(audit.matches("\"event\":\"inspected\"").count(), 6);
    assert!(!audit.contains("hedge") && !audit.contains("bonnet"), "{audit}");
}

/// Catches: a filter by the form that lets the rest of the list through, an order that is the list's, a search that puts words in a URL.
#[test]
fn visits_are_found_by_address_and_those_that_must_be_looked_at_come_first() {
    let town = Town::new();
    // A form of which every second must be looked at, and that lacks one assembly.
    let path = town.path("after/inspection_record.csv");
    let text = std::fs::read_to_string(&path).unwrap();
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let header = reader.headers().unwrap().clone();
    let at = |name: &str| header.iter().position(|column| column == name).unwrap();
    let mut out = csv::Writer::from_path(&path).unwrap();
    out.write_record(&header).unwrap();
    let mut must = Vec::new();
    let mut left_out = String::new();
    for (row, record) in reader.records().map(Result::unwrap).enumerate() {
        let mut cells: Vec<String> = record.iter().map(str::to_owned).collect();
        let id = cells[at("assembly_id")].clone();
        if row == 0 {
            left_out = id;
            continue;
        }
        cells[at("must_look")] = if row % 2 == 0 { "yes".into() } else { String::new() };
        if row % 2 == 0 {
            must.push(id);
        }
        out.write_record(&cells).unwrap();
    }
    out.flush().unwrap();
    drop(out);
    let desk = town.desk();
    let mut client = Client::new(desk.address);
    let first: Vec<String> = visits(&client.get("/record").body)
        .into_iter()
        .map(|(_, id)| id)
        .collect();
    assert_eq!(first[..must.len()], must[..]);
    assert_eq!(
        client.get("/record").body.matches("Must be looked at").count(),
        must.len()
    );
    let list = crate::deskside::list(&desk.assemblies);
    let address = |id: &str| list.iter().find(|row| row["assembly_id"] == id).unwrap()["site_address"].clone();
    let some = must.iter().find(|id| !address(id).is_empty()).unwrap();
    for asked in [address(some), some.clone()] {
        let found = client.post("/record/find", &[("q", &asked)]);
        assert_eq!(visits(&found.body)[0].1, *some, "{asked}");
    }
    let found = client.post("/record/find", &[("q", &left_out)]);
    assert!(visits(&found.body).iter().all(|(_, id)| *id != left_out));
    // A link of another session opens nothing.
    let (link, _) = visits(&client.get("/record").body)[0].clone();
    let mut other = Client::new(desk.address);
    other.get("/record");
    assert_eq!(other.get(&link).status, 404);
}

/// Catches: what one of two saved at once written over by the other; an entry that replaces another one unseen; a form sent twice that
/// stands twice, or undoes what came after it.
#[test]
fn testers_at_once_lose_nothing_and_a_form_sent_again_changes_nothing() {
    let town = Town::new();
    // Two desks beside each other over one file.
    let desks = [town.desk(), town.desk()];
    // All have their list before the first saves: afterwards it is another one.
    let lists = desks.iter().flat_map(|desk| [desk, desk]).map(|desk| {
        let mut client = Client::new(desk.address);
        let all = visits(&client.get("/record").body);
        (client, all)
    });
    let lists: Vec<_> = lists.collect();
    let testers: Vec<_> = lists
        .into_iter()
        .enumerate()
        .map(|(n, (mut client, all))| {
            std::thread::spawn(move || {
                for (path, _) in all.iter().skip(n).step_by(4) {
                    let by = format!("Tester {n}");
                    assert_eq!(enter(&mut client, path, &[("go", "whole"), ("by", &by)]).status, 303);
                }
            })
        })
        .collect();
    testers.into_iter().for_each(|tester| tester.join().unwrap());
    let filled = rows(&town.filled());
    assert!(filled.values().all(|row| row["state"] == "no damage"), "{filled:?}");

    let desk = &desks[0];
    let (mut ana, mut beto) = (Client::new(desk.address), Client::new(desk.address));
    let (for_ana, for_beto) = (visits(&ana.get("/record").body), visits(&beto.get("/record").body));
    let (path, id) = for_ana[0].clone();
    let beto_path = &for_beto.iter().find(|(_, each)| *each == id).unwrap().0;
    let seen_by_both = stood(&ana.get(&path).body);
    assert_eq!(stood(&beto.get(beto_path).body), seen_by_both);
    let damaged = [
        ("stood", seen_by_both.as_str()),
        ("by", "Ana"),
        ("state", "damaged"),
        ("part", "riser"),
    ];
    assert_eq!(ana.post(&path, &damaged).status, 303);
    // The same form again, as after a reload.
    let before = std::fs::read(town.filled()).unwrap();
    assert_eq!(ana.post(&path, &damaged).status, 303);
    assert_eq!(std::fs::read(town.filled()).unwrap(), before);
    // Beto saw the page before that: he is told, nothing is replaced, and what he typed stands there.
    let refused = beto.post(
        beto_path,
        &[
            ("stood", &seen_by_both),
            ("by", "Beto"),
            ("state", "looked at, cannot tell"),
            ("text", "snow on it"),
        ],
    );
    assert_eq!(refused.status, 409);
    assert!(
        refused.body.contains("Ana") && refused.body.contains("Riser") && refused.body.contains("snow on it"),
        "{}",
        refused.body
    );
    assert_eq!(std::fs::read(town.filled()).unwrap(), before);
    // Having seen it he may replace it.
    let now = stood(&refused.body);
    let again = [
        ("stood", now.as_str()),
        ("state", "looked at, cannot tell"),
        ("text", "snow on it"),
    ];
    assert_eq!(beto.post(beto_path, &again).status, 303);
    let row = &rows(&town.filled())[&id];
    assert_eq!(
        ["state", "damage_part", "inspector_name"].map(|cell| row[cell].as_str()),
        ["looked at, cannot tell", "", "Beto"]
    );
    // Ana's telephone sends hers once more: it does not undo his.
    assert_eq!(ana.post(&path, &damaged).status, 409);
    assert_eq!(rows(&town.filled())[&id]["inspector_name"], "Beto");
}

/// Catches: a file that a kill leaves half written, an answer of "saved" before it is on the disk.
#[test]
fn a_kill_between_entries_leaves_a_whole_file_with_all_that_was_acknowledged() {
    let town = Town::new();
    for wait_ms in [5, 30, 60, 90] {
        let mut desk = town.desk();
        let _ = std::fs::remove_file(town.filled());
        let mut client = Client::new(desk.address);
        let all = visits(&client.get("/record").body);
        let (tell, told) = std::sync::mpsc::channel();
        let writer = std::thread::spawn(move || {
            for (path, id) in all {
                let page = client.get(&path);
                if page.status != 200 {
                    return;
                }
                let stood = stood(&page.body);
                let fields = [("stood", stood.as_str()), ("go", "whole"), ("by", "Rosa")];
                if client.post(&path, &fields).status == 303 {
                    tell.send(id).unwrap();
                }
            }
        });
        let first = told.recv().unwrap();
        std::thread::sleep(std::time::Duration::from_millis(wait_ms));
        desk.kill();
        // A client cut off in the middle has nothing to say.
        let _ = writer.join();
        let filled = rows(&town.filled());
        for id in std::iter::once(first).chain(told) {
            assert_eq!(filled[&id]["state"], "no damage", "{id}");
        }
    }
}

/// Catches: a file in the folder that the next plan refuses or takes along; entries that are gone from the page after it.
#[test]
fn a_plan_made_again_keeps_what_was_entered() {
    let town = Town::new();
    let desk = town.desk();
    let mut client = Client::new(desk.address);
    let all = visits(&client.get("/record").body);
    for (path, _) in &all[..3] {
        assert_eq!(enter(&mut client, path, &WHOLE).status, 303);
    }
    let before = std::fs::read(town.filled()).unwrap();
    // The same hours: the plan is the same one, and so is what the review reads.
    town.plan(AFTER, "after", &[]);
    assert_eq!(std::fs::read(town.filled()).unwrap(), before);
    assert!(client.get("/record").body.contains(&format!("3 of {COUNT} looked at")));
    assert_eq!(enter(&mut client, &all[3].0, &WHOLE).status, 303);
    assert_eq!(town.review()["whole"], 4);
    // Another plan: the entries stay, and it is said that they belong to the earlier one.
    town.plan(AFTER, "after", &["--seed", "7"]);
    let page = client.get("/record").body;
    assert!(page.contains("made for an earlier plan in this folder: 4"), "{page}");
    assert_eq!(enter(&mut client, &all[4].0, &WHOLE).status, 303);
    let filled = rows(&town.filled());
    let entered = filled.values().filter(|row| row["state"] == "no damage").count();
    assert_eq!((entered, filled.len()), (5, COUNT));
}

#[test]
fn what_is_wrong_is_told_and_nothing_is_written() {
    let town = Town::new();
    let desk = town.desk();
    let mut client = Client::new(desk.address);
    let (path, _) = visits(&client.get("/record").body)[0].clone();
    for (fields, why) in [
        (&[("go", "whole")][..], "name of whoever looked"),
        (&[("by", "Rosa")][..], "say how it was found"),
        (
            &[("state", "reported damaged, not looked at")][..],
            "say how it was found",
        ),
        (
            &[("state", "no damage"), ("part", "bonnet")][..],
            "Choose one of the two",
        ),
        (
            &[("state", "no damage"), ("severity", "leak")][..],
            "Choose one of the two",
        ),
        (&[("state", "damaged"), ("date", "2027-02-21")][..], "not in the future"),
        (
            &[("state", "damaged"), ("date", "yesterday"), ("text", "gate locked")][..],
            "gate locked",
        ),
    ] {
        let told = enter(&mut client, &path, fields);
        assert!(
            told.status == 422 && told.body.contains(why),
            "{fields:?}: {}",
            told.body
        );
    }
    assert!(!town.filled().exists());
    // A file that is no record is not written over, and what was typed is offered again.
    std::fs::write(town.filled(), "shopping\nmilk\n").unwrap();
    assert_eq!(client.get("/record").status, 503);
    assert_eq!(client.post(&path, &[("go", "whole"), ("stood", "0")]).status, 503);
    assert_eq!(std::fs::read_to_string(town.filled()).unwrap(), "shopping\nmilk\n");
    std::fs::remove_file(town.filled()).unwrap();
    #[cfg(unix)]
    {
        let elsewhere = town.path("elsewhere.csv");
        std::fs::write(&elsewhere, "theirs").unwrap();
        std::os::unix::fs::symlink(&elsewhere, town.filled()).unwrap();
        assert_eq!(client.post(&path, &[("go", "whole"), ("stood", "0")]).status, 503);
        assert_eq!(std::fs::read_to_string(&elsewhere).unwrap(), "theirs");
        std::fs::remove_file(town.filled()).unwrap();
    }
    drop(desk);
    // Without a plan after the spell the page says why, and how to get there.
    let issued = town.path("issued");
    for (options, why) in [
        (&[][..], "without --plan"),
        (&["--plan", issued.to_str().unwrap()][..], "before the end of the spell"),
    ] {
        let desk = DeskRun::start_without_weather(town.folder.path(), options);
        let mut client = Client::new(desk.address);
        let page = client.get("/record");
        assert!(
            page.status == 200 && page.body.contains(why) && page.body.contains("brimwater plan"),
            "{}",
            page.body
        );
        assert_eq!(page.body.contains("href=\"/record\""), !options.is_empty());
    }
    let list = town.path("demo/assemblies.csv");
    let done = program()
        .args(["desk", "--bind", "127.0.0.1:0", "--plan", "nowhere", "--assemblies"])
        .arg(list)
        .output()
        .unwrap();
    assert_eq!(done.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&done.stderr).contains("BW-D34"));
}

#[test]
fn the_record_is_spanish_for_who_reads_spanish() {
    let town = Town::new();
    let desk = town.desk();
    let mut client = Client::new(desk.address);
    client.get("/record");
    client.post("/settings", &[("language", "es"), ("units", "si")]);
    let names = ["Pellow Reach Water".to_owned()];
    let mut data: Vec<String> = crate::deskside::list(&desk.assemblies)
        .iter()
        .map(|row| row["site_address"].clone())
        .filter(|cell| cell.len() > 3)
        .chain(names)
        .collect();
    data.push(town.filled().display().to_string());
    data.sort_by_key(|cell| std::cmp::Reverse(cell.len()));
    let list = client.get("/record");
    must_be_spanish("/record", &list.body, &data);
    let (path, _) = visits(&list.body)[0].clone();
    must_be_spanish("a visit", &client.get(&path).body, &data);
    let refused = enter(&mut client, &path, &[("by", "Rosa")]);
    must_be_spanish("a refusal", &refused.body, &data);
    let fields = [
        ("state", "damaged"),
        ("part", "check cover"),
        ("severity", "weep"),
        ("ice", "yes"),
    ];
    let saved = enter(&mut client, &path, &fields);
    let told = client.get(&saved.headers["location"]).body;
    assert!(
        told.contains("Guardado.") && told.contains("Tapa de la válvula de retención"),
        "{told}"
    );
    must_be_spanish("saved", &told, &data);
    must_be_spanish("found", &client.post("/record/find", &[("q", "a")]).body, &data);
    must_be_spanish("again", &client.get(&path).body, &data);
}

/// A tester goes from the list to "no damage" with one tap, and through the longer form, at telephone width; the accessibility engine looks
/// at each page (set-up as in `browser`).
#[tokio::test(flavor = "multi_thread")]
async fn a_tester_fills_the_record_on_a_telephone() {
    if skipped() {
        return;
    }
    let town = Town::new();
    let (driver, engine) = (Driver::start(), axe());
    let desk = town.desk();
    let (client, _profile) = driver.browser(360, true).await;
    let look = async |page: &str| {
        accessible(&client, &engine, page).await;
        fits(&client, page).await;
        picture(&client, page).await;
    };
    client.goto(&desk.url("/record")).await.unwrap();
    look("record-list").await;
    submit(&client, "main .hits a").await;
    look("record-visit").await;
    let name = client.find(fantoccini::Locator::Css("#by")).await.unwrap();
    name.send_keys("Rosa").await.unwrap();
    submit(&client, "#whole button").await;
    assert!(text(&client, ".done").await.contains("No damage"));
    look("record-saved").await;
    submit(&client, "main .hits a").await;
    // The button is there at once, without scrolling.
    let button = client.find(fantoccini::Locator::Css("#whole button")).await.unwrap();
    let (_, top, _, height) = button.rectangle().await.unwrap();
    assert!(height >= 44.0, "{height}");
    assert!(top + height <= 740.0, "the one tap stands at {top}");
    client
        .find(fantoccini::Locator::Css("summary"))
        .await
        .unwrap()
        .click()
        .await
        .unwrap();
    look("record-more").await;
    choose(&client, "state", "damaged").await;
    choose(&client, "ice", "yes").await;
    let part = client.find(fantoccini::Locator::Css("#part")).await.unwrap();
    part.select_by_value("bonnet").await.unwrap();
    submit(&client, "#more button").await;
    let told = text(&client, ".done").await;
    assert!(
        told.contains("Damaged") && told.contains("Bonnet") && told.contains("ice seen"),
        "{told}"
    );
    client.close().await.unwrap();
    let counts = town.review();
    assert_eq!((counts["whole"], counts["damaged"]), (1, 1));
}

/// Presses tab until `there` says so of the focused element; how often it was pressed.
async fn tab_to(client: &fantoccini::Client, what: &str, there: impl Fn(&str, &str, &str) -> bool) -> usize {
    let tab = String::from(char::from(fantoccini::key::Key::Tab));
    for pressed in 1..=60 {
        client.active_element().await.unwrap().send_keys(&tab).await.unwrap();
        let at = client.active_element().await.unwrap();
        let tag = at.tag_name().await.unwrap();
        let name = at.attr("name").await.unwrap().unwrap_or_default();
        let href = at.attr("href").await.unwrap().unwrap_or_default();
        if there(&tag, &name, &href) {
            return pressed;
        }
    }
    panic!("the keyboard does not reach {what}");
}

/// Common practice of accessible forms (WCAG 2.2, 2.1.1 Keyboard and 2.4.3 Focus Order, read as of memory): everything is reached by tab in the
/// order of the page and done by return and space, with scripts and without, at telephone width.
/// Catches: a longer form that opens by script alone, a button that is a picture, states that take no keys.
#[tokio::test(flavor = "multi_thread")]
async fn a_tester_fills_the_record_by_keyboard_alone_with_scripts_on_and_off() {
    if skipped() {
        return;
    }
    let driver = Driver::start();
    let enter = String::from(char::from(fantoccini::key::Key::Enter));
    for scripts in [true, false] {
        let town = Town::new();
        let desk = town.desk();
        let (client, _profile) = driver.browser(360, scripts).await;
        let press = async |key: &str| client.active_element().await.unwrap().send_keys(key).await.unwrap();
        let seen = async |css: &str| {
            let element = fantoccini::Locator::Css(css);
            client.wait().for_element(element).await.unwrap();
        };
        let visit = |_: &str, _: &str, href: &str| href.starts_with("/record/a/");
        client.goto(&desk.url("/record")).await.unwrap();
        // One tap where nothing is broken.
        tab_to(&client, "the first visit", visit).await;
        press(&enter).await;
        seen("#whole").await;
        tab_to(&client, "the name", |_, name, _| name == "by").await;
        press("Rosa").await;
        assert_eq!(tab_to(&client, "no damage", |tag, _, _| tag == "button").await, 1);
        press(&enter).await;
        seen(".done").await;
        assert!(text(&client, ".done").await.contains("No damage"), "scripts {scripts}");
        // The longer form.
        client.goto(&desk.url("/record")).await.unwrap();
        tab_to(&client, "the next visit", visit).await;
        press(&enter).await;
        seen("#whole").await;
        tab_to(&client, "the longer form", |tag, _, _| tag == "summary").await;
        press(&enter).await;
        tab_to(&client, "the state", |_, name, _| name == "state").await;
        press(" ").await;
        tab_to(&client, "the part", |_, name, _| name == "part").await;
        press("Bonnet").await;
        tab_to(&client, "the ice", |_, name, _| name == "ice").await;
        press(" ").await;
        tab_to(&client, "save", |tag, _, _| tag == "button").await;
        press(&enter).await;
        seen(".done").await;
        let told = text(&client, ".done").await;
        assert!(
            told.contains("Damaged") && told.contains("Bonnet"),
            "scripts {scripts}: {told}"
        );
        client.close().await.unwrap();
        let counts = town.review();
        assert_eq!((counts["whole"], counts["damaged"]), (1, 1), "scripts {scripts}");
    }
}

/// X-Val: the counts of the command, whose reading of a filled form has checks of its own (tests/store/reports.rs).
/// Catches: a filled file that the log takes for something else, a second import that counts twice.
#[test]
fn what_is_entered_becomes_reports_of_the_log_once() {
    let town = Town::new();
    let desk = town.desk();
    let mut client = Client::new(desk.address);
    let all = visits(&client.get("/record").body);
    for ((path, _), state) in all.iter().zip(["damaged", "no damage"]) {
        let fields = [
            ("state", state),
            ("ice", "yes"),
            ("date", "2026-11-02"),
            ("by", "Rosa"),
            ("go", "more"),
        ];
        let saved = enter(&mut client, path, &fields);
        assert_eq!(saved.status, 303, "{}", saved.body);
    }
    for expected in [
        ["2 reports added", "0 known already"],
        ["0 reports added", "2 known already"],
    ] {
        let done = program()
            .args(["log", "--by", "Rosa", "--db"])
            .arg(town.path("other.db"))
            .arg("--config")
            .arg(town.path("demo/config.toml"))
            .arg("--import")
            .arg(town.filled())
            .output()
            .unwrap();
        let told = [done.stdout, done.stderr]
            .map(|told| String::from_utf8_lossy(&told).into_owned())
            .concat();
        assert!(expected.iter().all(|expected| told.contains(expected)), "{told}");
    }
}
