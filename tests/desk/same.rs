//! Card, list, assembly page and chart say the same of one assembly.
#![allow(clippy::unwrap_used, clippy::panic)]

use crate::deskside::{Client, DeskRun, link, list, programme};

/// The page without its charts, whose axes begin at 0 %.
fn without_charts(body: &str) -> String {
    let mut parts = body.split("<svg");
    let first = parts.next().unwrap_or_default().to_owned();
    parts.fold(first, |text, part| {
        text + part.split_once("</svg>").map_or("", |(_, after)| after)
    })
}

fn between<'a>(text: &'a str, before: &str, after: &str) -> Option<&'a str> {
    text.split_once(before)?.1.split_once(after).map(|(between, _)| between)
}

/// Wrong programs: a chart that marks the middle of first ice beside a text that tells its early edge; a chance of none of the members as 0 %.
#[test]
fn first_ice_is_one_hour_in_text_chart_and_list_and_no_chance_is_nought() {
    let folder = programme(60);
    let desk = DeskRun::start(folder.path(), &[]);
    desk.wait_for_plan();
    let mut client = Client::new(desk.address);
    let nought = regex::Regex::new(r"(?:^|[^0-9.,])0 %").unwrap();
    let (mut iced, mut low) = (0, 0);
    let plan = client.get("/plan").body;
    for row in list(&desk.assemblies)
        .iter()
        .filter(|row| row["assembly_id"].starts_with("A-"))
        .take(25)
    {
        client.get("/phone");
        let found = client.post("/phone/find", &[("q", &row["assembly_id"])]);
        let Some(path) = link(&found.body, "/phone/a/") else {
            continue;
        };
        let card = client.get(&path).body;
        let text = without_charts(&card);
        assert!(!nought.is_match(&text), "{}: {text}", row["assembly_id"]);
        low += usize::from(text.contains("under 1 %"));
        let Some(moment) = between(&text, "Ice may form from ", ".") else {
            continue;
        };
        iced += 1;
        // Once in the chart for a desk and once in that for a telephone.
        let marked = format!("ice from {moment}");
        assert_eq!(card.matches(&marked).count(), 2, "{}: {marked}", row["assembly_id"]);
        // The list's cells of this row, where it stands on the first page.
        if let Some(cells) = between(&plan, &format!(">{}</a>", row["assembly_id"]), "</tr>") {
            assert!(cells.contains(&format!(">{moment}</td>")), "{cells} lacks {moment}");
        }
    }
    assert!(iced >= 3 && low >= 1, "{iced} with ice, {low} under 1 %");
    assert!(!nought.is_match(&without_charts(&plan)), "the list");
}
