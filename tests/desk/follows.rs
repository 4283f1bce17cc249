//! A desk that follows a watch: the newest whole plan without a restart, what changed and why, and one answer at every moment.
#![allow(clippy::unwrap_used, clippy::panic)]

use crate::deskside::{Client, DeskRun, MEMBERS, link, program, programme, sign_in, with_passwords};
use serde_json::Value;
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

/// The hour with which the invented forecast begins, from which a watch without a given time looks ahead.
const BEGIN: &str = "2027-01-18T00:00:00-06:00";

/// The invented programme with a watch in its config.
fn watched(assemblies: usize) -> tempfile::TempDir {
    let folder = programme(assemblies);
    let config = folder.path().join("demo/config.toml");
    let text = std::fs::read_to_string(&config).unwrap();
    let rules = format!(
        "[watch]\nfolder = \"watched\"\nassemblies = \"assemblies.csv\"\nseries = [\"forecast.csv\"]\nstations = \"stations.csv\"\n\
         members = {MEMBERS}\nquiet_from = \"00:00:00\"\nquiet_until = \"00:00:00\"\n"
    );
    std::fs::write(&config, format!("{text}\n{rules}")).unwrap();
    folder
}

fn plans(folder: &Path) -> PathBuf {
    folder.join("demo/watched/plans")
}

/// The newest plan of the watch: its folder and its document.
fn newest(folder: &Path) -> (PathBuf, Value) {
    let mut all: Vec<PathBuf> = std::fs::read_dir(plans(folder))
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .collect();
    all.sort();
    let place = all.pop().unwrap();
    let text = std::fs::read_to_string(place.join("plan.json")).unwrap();
    (place, serde_json::from_str(&text).unwrap())
}

/// One run of the watch.
fn watch(folder: &Path) -> Value {
    // Two plans of one second would share a name.
    std::thread::sleep(Duration::from_millis(1_100));
    let done = program()
        .args(["watch", "--once", "--quiet", "--config"])
        .arg(folder.join("demo/config.toml"))
        .output()
        .unwrap();
    assert!(
        done.status.code().unwrap() < 2,
        "{}",
        String::from_utf8_lossy(&done.stderr)
    );
    newest(folder).1
}

/// The identifiers of a plan's rows in their order, at most a page of them.
fn order(plan: &Value) -> Vec<String> {
    let rows = plan["assemblies"].as_array().unwrap();
    rows.iter()
        .take(50)
        .map(|row| row["assembly_id"].as_str().unwrap().to_owned())
        .collect()
}

/// The same as the page of the plan has them; nothing while it has none.
fn rows(body: &str) -> Vec<String> {
    let after = body.split("<th scope=\"row\"><a href=\"/plan/a/").skip(1);
    after
        .map(|row| row.split_once('>').unwrap().1.split_once('<').unwrap().0.to_owned())
        .collect()
}

fn first(plan: &Value) -> BTreeSet<String> {
    let rows = plan["assemblies"].as_array().unwrap().iter();
    rows.filter(|row| row["tier"] == "call first")
        .map(|row| row["assembly_id"].as_str().unwrap().to_owned())
        .collect()
}

/// Moves the air of the forecast by so many °F.
fn shift(folder: &Path, by_f: f64) {
    shift_to(folder, by_f, "forecast.csv");
}

/// The same into a file of its own.
fn shift_to(folder: &Path, by_f: f64, name: &str) {
    let path = folder.join("demo/forecast.csv");
    let text = std::fs::read_to_string(&path).unwrap();
    let mut lines: Vec<String> = Vec::new();
    for (at, line) in text.lines().enumerate() {
        let mut cells: Vec<String> = line.split(',').map(str::to_owned).collect();
        if at > 0 {
            cells[2] = (cells[2].parse::<f64>().unwrap() + by_f).to_string();
        }
        lines.push(cells.join(","));
    }
    std::fs::write(folder.join("demo").join(name), lines.join("\n") + "\n").unwrap();
}

/// Looks at a page until it is as it should be; every look on the way must be one of `whole`.
fn until(
    client: &mut Client,
    path: &str,
    what: &str,
    done: impl Fn(&str) -> bool,
    whole: impl Fn(&str) -> bool,
) -> String {
    let end = Instant::now() + Duration::from_secs(120);
    loop {
        let body = client.get(path).body;
        assert!(whole(&body), "{what}: neither the old nor the new plan:\n{body}");
        if done(&body) {
            return body;
        }
        assert!(Instant::now() < end, "{what}: not in two minutes:\n{body}");
        std::thread::sleep(Duration::from_millis(100));
    }
}

/// Wrong programs: one that keeps its first plan; one that shows new rows with the old list's names, or a page without a plan, while it changes;
/// one that tells no change, another count, or a reason that the forecast does not bear out.
#[test]
fn a_newer_plan_is_taken_up_whole_and_each_person_is_told_what_changed_and_why() {
    let folder = watched(120);
    let at = folder.path();
    let old = watch(at);
    let passwords = with_passwords(at, &["rosa", "ana"]);
    let desk = DeskRun::following(at, BEGIN, &["--password-file", &passwords]);
    let mut rosa = Client::new(desk.address);
    assert_eq!(sign_in(&mut rosa, "rosa", crate::deskside::PASSWORD), 303);
    desk.wait_for_plan_as(rosa.clone());
    let body = rosa.get("/plan").body;
    // What the desk shows is what the watch planned.
    assert_eq!(rows(&body), order(&old));
    assert!(
        body.contains("The standing watch told on") && body.contains("to call first"),
        "{body}"
    );
    assert!(!body.contains("Since you looked last"), "{body}");

    shift(at, -5.0);
    let new = watch(at);
    assert_ne!(order(&old), order(&new), "the trial changes nothing");
    let whole = |body: &str| [order(&old), order(&new)].contains(&rows(body));
    let done = |body: &str| rows(body) == order(&new);
    let body = until(&mut rosa, "/plan", "the newer plan", done, whole);
    let (before, after) = (first(&old), first(&new));
    let told = format!(
        "{} new to call first, {} gone",
        after.difference(&before).count(),
        before.difference(&after).count()
    );
    assert!(body.contains(&told), "{told}: {body}");
    // The low fell by the 5 °F of this trial, whichever night it was.
    let low = regex::Regex::new(r"low (?:of the night of \w+ \w+ \d+ )?fell from (-?\d+) °F to (-?\d+) °F").unwrap();
    let found = low.captures(&body).unwrap_or_else(|| panic!("{body}"));
    let degrees = |at: usize| found[at].parse::<i32>().unwrap();
    assert_eq!(degrees(1) - degrees(2), 5, "{}", &found[0]);
    // Every page says it, in the reader's language.
    assert!(rosa.get("/phone").body.contains(&told));
    rosa.post("/settings", &[("language", "es"), ("units", "us"), ("back", "/phone")]);
    assert!(rosa.get("/phone").body.contains("Desde que miró por última vez"));
    rosa.post("/settings", &[("language", "en"), ("units", "us"), ("back", "/phone")]);
    // Whoever comes now has nothing to compare with; whoever has seen it is not told again, on another computer either.
    let mut ana = Client::new(desk.address);
    sign_in(&mut ana, "ana", crate::deskside::PASSWORD);
    assert!(!ana.get("/phone").body.contains("Since you looked last"));
    rosa.get("/plan/calls");
    assert_eq!(rosa.post("/plan/seen", &[("back", "/plan/calls")]).status, 303);
    let mut elsewhere = Client::new(desk.address);
    sign_in(&mut elsewhere, "rosa", crate::deskside::PASSWORD);
    assert!(!elsewhere.get("/phone").body.contains("Since you looked last"));
    // The search, the card and the list of the same assembly are of the new plan too: its rank there is its rank here.
    let id = order(&new)[0].clone();
    rosa.get("/phone");
    let hit = link(&rosa.post("/phone/find", &[("q", &id)]).body, "/phone/a/").unwrap();
    assert_eq!(rosa.get(&hit).status, 200);
}

/// Wrong programs: one that believes a plan that is cut off, that stops at it, that says nothing, or that never looks at it again.
#[test]
fn a_plan_that_is_not_whole_is_refused_and_told_and_the_one_before_stays_until_it_is() {
    let folder = watched(40);
    let at = folder.path();
    let old = watch(at);
    // Each plan has a forecast's file of its own, so that the earlier one can be worked out again.
    shift_to(at, -6.0, "colder.csv");
    let config = at.join("demo/config.toml");
    let text = std::fs::read_to_string(&config).unwrap();
    std::fs::write(
        &config,
        text.replace("series = [\"forecast.csv\"]", "series = [\"colder.csv\"]"),
    )
    .unwrap();
    let new = watch(at);
    let made = newest(at).0;
    assert_ne!(order(&old), order(&new));
    // The newer one is put aside, and comes back in pieces, as a slow copy would bring it.
    let aside = at.join("aside");
    std::fs::rename(&made, &aside).unwrap();
    let text = std::fs::read_to_string(aside.join("plan.json")).unwrap();
    std::fs::create_dir(&made).unwrap();
    std::fs::write(made.join("plan.json"), &text[..text.len() / 2]).unwrap();

    let desk = DeskRun::following(at, BEGIN, &[]);
    desk.wait_for_plan();
    let mut client = Client::new(desk.address);
    let body = client.get("/plan").body;
    assert_eq!(rows(&body), order(&old));
    let name = made.file_name().unwrap().to_str().unwrap();
    assert!(
        body.contains("cannot be used") && body.contains(name) && body.contains("stays in use"),
        "{body}"
    );

    std::fs::copy(aside.join("run.json"), made.join("run.json")).unwrap();
    std::thread::sleep(Duration::from_secs(5));
    let body = client.get("/plan").body;
    assert!(rows(&body) == order(&old) && body.contains("cannot be used"), "{body}");
    // Whole as JSON, but with a row too few.
    let mut short: Value = serde_json::from_str(&text).unwrap();
    short["assemblies"].as_array_mut().unwrap().pop();
    std::fs::write(made.join("plan.json"), short.to_string()).unwrap();
    std::thread::sleep(Duration::from_secs(5));
    let body = client.get("/plan").body;
    assert!(
        rows(&body) == order(&old) && body.contains("run.json tells of"),
        "{body}"
    );

    std::fs::write(made.join("plan.json"), &text).unwrap();
    let whole = |body: &str| [order(&old), order(&new)].contains(&rows(body));
    let done = |body: &str| rows(body) == order(&new);
    let body = until(&mut client, "/plan", "the plan made whole", done, whole);
    assert!(!body.contains("cannot be used"), "{body}");
}

/// Wrong programs: one that opens nothing without a plan, or takes the first one up only after a restart; one that calls an old plan new.
#[test]
fn a_desk_opens_before_the_first_plan_and_says_when_the_watch_has_stopped() {
    let folder = watched(40);
    let at = folder.path();
    let desk = DeskRun::following(at, BEGIN, &[]);
    let mut client = Client::new(desk.address);
    let body = client.get("/phone").body;
    assert!(body.contains("keeps no plan that can be used"), "{body}");
    let plan = watch(at);
    let done = |body: &str| rows(body) == order(&plan);
    let body = until(&mut client, "/plan", "the first plan", done, |body| {
        rows(body).is_empty() || done(body)
    });
    assert!(!body.contains("keeps no plan"), "{body}");
    drop(desk);
    // By this desk's clock, two months later than the watch's.
    let desk = DeskRun::following(at, "2027-01-19T20:00:00-06:00", &[]);
    desk.wait_for_plan();
    let body = Client::new(desk.address).get("/plan").body;
    assert!(body.contains("has made no plan that can be used since"), "{body}");
    // The forecast's file moves on before the watch has planned with it.
    drop(desk);
    shift(at, 1.0);
    let desk = DeskRun::following(at, BEGIN, &[]);
    desk.wait_for_plan();
    let body = Client::new(desk.address).get("/plan").body;
    assert!(body.contains("rest on the newer files"), "{body}");
}

/// Wrong programs: one that throws away what was typed under the earlier plan, keeps it twice, or lets nobody know.
#[test]
fn a_form_of_the_earlier_plan_is_kept_under_the_newer_one_and_its_sender_is_told() {
    let folder = watched(60);
    let at = folder.path();
    let old = watch(at);
    let desk = DeskRun::following(at, BEGIN, &[]);
    desk.wait_for_plan();
    let mut client = Client::new(desk.address);
    let page = client.get("/plan/calls").body;
    let field = |body: &str, name: &str| {
        let rest = body
            .split_once(&format!("name=\"{name}\" value=\""))
            .unwrap()
            .1
            .to_owned();
        rest.split('"').next().unwrap().to_owned()
    };
    let (contact, once, mark) = (field(&page, "contact"), field(&page, "once"), field(&page, "plan"));
    let id = order(&old)[0].clone();
    client.get("/phone");
    let card = link(&client.post("/phone/find", &[("q", &id)]).body, "/phone/a/").unwrap();
    client.get(&card);

    // Warm nights: nobody is left to call, so the form's person is on the new plan no more. And the list lost the card's row.
    shift(at, 25.0);
    let path = desk.assemblies.clone();
    let text = std::fs::read_to_string(&path).unwrap();
    let left: Vec<&str> = text.lines().filter(|line| !line.contains(&id)).collect();
    assert!(left.len() < text.lines().count());
    std::fs::write(&path, left.join("\n") + "\n").unwrap();
    let new = watch(at);
    assert!(first(&new).is_empty(), "the trial leaves somebody to call first");
    let done = |body: &str| rows(body) == order(&new);
    until(&mut client, "/plan", "the newer plan", done, |_| true);

    let form = [
        ("contact", contact.as_str()),
        ("once", once.as_str()),
        ("plan", mark.as_str()),
        ("by", "Rosa"),
        ("outcome", "reached"),
        ("text", "will wrap it tonight"),
    ];
    for _ in 0..2 {
        let saved = client.post("/plan/outcome", &form);
        assert_eq!(saved.status, 303, "{}", saved.body);
        let after = client.get("/plan/calls").body;
        assert!(
            after.contains("The plan was renewed while your page was open"),
            "{after}"
        );
        assert!(
            !client.get("/plan/calls").body.contains("The plan was renewed while"),
            "told twice"
        );
    }
    let log = || {
        let listed = program()
            .args(["log", "--quiet", "--list", "--format", "json", "--db"])
            .arg(&desk.log)
            .output()
            .unwrap();
        String::from_utf8(listed.stdout).unwrap()
    };
    assert_eq!(log().matches("will wrap it tonight").count(), 1, "{}", log());

    // The card's form: what was typed is offered for the record of the call, and is kept.
    let typed = [
        ("plan", mark.as_str()),
        ("once", "card"),
        ("by", "Rosa"),
        ("text", "drips at the relief port"),
        ("go", "answer"),
    ];
    let reply = client.post(&card, &typed);
    assert_eq!(reply.status, 409, "{}", reply.body);
    assert!(
        reply.body.contains("drips at the relief port") && reply.body.contains("&#x2f;note\""),
        "{}",
        reply.body
    );
    assert_eq!(client.post(&format!("{card}/note"), &typed).status, 303);
    let calls = program()
        .args(["log", "--quiet", "--calls", "--db"])
        .arg(&desk.log)
        .output()
        .unwrap();
    let calls = String::from_utf8_lossy(&calls.stdout).into_owned();
    assert!(
        calls.contains("drips at the relief port") || log().contains("drips at the relief port"),
        "{calls}"
    );
}
