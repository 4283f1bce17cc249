//! What a caller tells of an assembly is kept and counted; pictures have a form for telephones; the list's page is `check --propose`.
#![allow(clippy::unwrap_used, clippy::panic)]

use crate::deskside::{Client, DeskRun, link, list, program, programme};

/// Catches a report that is kept and changes nothing, one that counts as a contact, and a card that goes on showing the chance of before.
#[test]
fn what_a_caller_tells_of_an_assembly_stands_on_its_card_and_is_no_contact() {
    let folder = programme(40);
    // The morning before the coldest night, with a night of frost behind.
    let desk = DeskRun::start_at(folder.path(), "2027-01-21T09:00:00-06:00", &[]);
    let mut client = Client::new(desk.address);
    client.get("/phone");
    let row = list(&desk.assemblies)
        .into_iter()
        .find(|row| row["placement"] == "open" && row["winter_use"] == "idle")
        .unwrap();
    let found = client.post("/phone/find", &[("q", &row["assembly_id"])]).body;
    let card = link(&found, "/phone/a/").unwrap();
    let before = client.get(&card).body;
    assert!(before.contains("name=\"seen\"") && !before.contains("Reported broken"));
    let note = [
        ("by", "Rosa"),
        ("caller", "the gardener"),
        ("seen", "broken"),
        ("once", "n1"),
    ];
    for _ in 0..2 {
        assert_eq!(client.post(&format!("{card}/note"), &note).status, 303);
    }
    let after = client.get(&card).body;
    // Nine on the morning of the twenty-first of January 2027, a Thursday.
    assert!(after.contains("Reported broken Thursday at 9:00 am"), "{after}");
    assert_eq!(
        after.matches("seen broken or leaking, the gardener").count(),
        1,
        "{after}"
    );
    let (log, _) = brimwater::store::Log::open(&desk.log, None).unwrap();
    assert!(
        log.history(None).unwrap().0.is_empty(),
        "a report was counted as a contact"
    );
    // The narrow form stands beside the wide one, and neither has a width of its own.
    assert!(after.contains("class=\"at-desk\"") && after.contains("class=\"at-phone\""));
    let style = client.get("/style.css").body;
    assert!(
        style.contains(".at-phone{display:none}") && style.contains(".at-desk{display:none}.at-phone{display:block}")
    );
    let map = client.get("/plan/map").body;
    assert!(
        map.contains("being computed") || map.matches("class=\"at-phone\"").count() >= 2,
        "{map}"
    );
}

/// X-Val: the file that `check --propose` writes of the same list.
#[test]
fn the_lists_page_proposes_what_check_proposes() {
    let folder = programme(30);
    let demo = folder.path().join("demo");
    // Headers of another make, so that there is something to propose.
    let text = std::fs::read_to_string(demo.join("assemblies.csv")).unwrap();
    let messy = text
        .replacen("device_type", "Device Type", 1)
        .replacen("nominal_size_in", "Size (in)", 1)
        .replacen("placement", "Enclosure Type", 1)
        .replace(",indoors,", ",Mech room,");
    std::fs::write(demo.join("assemblies.csv"), messy).unwrap();
    let done = program()
        .current_dir(folder.path())
        .args(["check", "--assemblies"])
        .arg(demo.join("assemblies.csv"))
        .arg("--config")
        .arg(demo.join("config.toml"))
        .args(["--propose", "proposed.toml"])
        .output()
        .unwrap();
    assert!(
        done.status.code() < Some(2),
        "{}",
        String::from_utf8_lossy(&done.stderr)
    );
    let proposed = std::fs::read_to_string(folder.path().join("proposed.toml")).unwrap();
    let desk = DeskRun::start_without_weather(folder.path(), &[]);
    let mut client = Client::new(desk.address);
    let page = client.get("/plan/list").body;
    let shown = page.split("<pre").nth(1).unwrap().split("</pre>").next().unwrap();
    let shown = shown.split_once('>').unwrap().1;
    let shown = shown
        .replace("&quot;", "\"")
        .replace("&#x27;", "'")
        .replace("&lt;", "<")
        .replace("&gt;", ">")
        .replace("&#x2f;", "/")
        .replace("&amp;", "&");
    let lines = |text: &str| -> Vec<String> {
        let kept = text.lines().map(str::trim).filter(|line| !line.is_empty());
        // The last line of the file carries its digest; a page has none.
        kept.filter(|line| !line.contains("sha256") && !line.contains("SHA-256"))
            .map(str::to_owned)
            .collect()
    };
    assert!(
        lines(&proposed).iter().any(|line| line.contains("Device Type")),
        "{proposed}"
    );
    assert_eq!(lines(&shown), lines(&proposed));
}
