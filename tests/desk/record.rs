//! The record that a plumber leaves behind, printed by a browser on the two papers, and looked at on a phone.
//!
//! Needs the chromium of [`super::browser`]; left out with it.

use crate::deskside::program;
use crate::driver::{Driver, SET_UP, fits, picture, skipped};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

/// The papers, and their size in points: 8.5 × 11 in and, by ISO 216, 210 × 297 mm.
const PAPERS: [(&str, [f64; 2]); 2] = [("letter", [612.0, 792.0]), ("A4", [595.3, 841.9])];

/// All that one house can tell, with names as long as they come.
const EVERYTHING: &[&str] = &[
    "--heater",
    "75 gal",
    "--heater",
    "50 gal @ 140 F",
    "--cold",
    "40 F",
    "--hot",
    "150 F",
    "--static",
    "62 psi",
    "--limit",
    "80 psi",
    "--closed-by",
    "backflow-assembly,softener-with-check,recirculation-check",
    "--elevation",
    "5280 ft",
    "--tank-height",
    "6 ft",
    "--tank-temperature",
    "90 F",
    "--precharge-temperature",
    "65 F",
    "--recirculation",
    "--mixing-valve",
    "--pipe",
    "copper-L 3/4 in 120 ft",
    "--pipe",
    "copper-L 1/2 in 90 ft",
    "--cold-pipe",
    "copper-L 3/4 in 60 ft",
    "--heat-input",
    "75000 Btu/h",
    "--efficiency",
    "0.8",
    "--daily-draw",
    "90 gal",
    "--rating",
    "125 psi",
    "--hygiene",
    "160 F",
    "--material-credit",
];
const TWO_TANKS: &[&str] = &[
    "--existing-tank",
    "2.1 gal",
    "--precharge",
    "40 psi",
    "--existing-tank",
    "4.4 gal",
    "--precharge",
    "38 psi",
    "--max-acceptance",
    "0.9 gal",
    "--max-acceptance",
    "2.5 gal",
    "--tank-rating",
    "150 psi",
    "--tank-rating",
    "125 psi",
];
/// Readings that are taken and asked about all the same.
const ASKED_ABOUT: &[&str] = &["--street", "118 psi", "--heater-relief", "85 psi", "--accept-unusual"];
const NO_ROOM: &[&str] = &[
    "--street",
    "118 psi",
    "--room-for-tank",
    "6 gal",
    "--relief-at",
    "78 psi",
];

fn catalogue(folder: &Path) -> PathBuf {
    let path = folder.join("tanks.csv");
    let text = "name,volume_gal,max_acceptance_gal,max_pressure_psi\n\
        \"upright diaphragm tank with a rather long name, series 12\",2.1,0.9,150\n\
        \"upright diaphragm tank with a rather long name, series 45\",14,6.1,150\n";
    std::fs::write(&path, text).unwrap();
    path
}

fn record(folder: &Path, parts: &[&[&str]]) -> String {
    let path = folder.join("record.html");
    let out = program()
        .args(["expansion", "--force", "--record"])
        .arg(&path)
        .args(parts.concat())
        .output()
        .unwrap();
    assert!(out.status.success(), "{}", String::from_utf8_lossy(&out.stderr));
    std::fs::read_to_string(&path).unwrap()
}

/// The page as a browser prints it on a paper: how many sheets, and the size of the first.
fn printed(folder: &Path, page: &str, paper: &str) -> (usize, [f64; 2]) {
    let (html, pdf) = (folder.join("printed.html"), folder.join("printed.pdf"));
    // What the print dialogue would choose; the record itself leaves the paper to it.
    let sized = page.replacen("<style>", &format!("<style>@page {{ size: {paper}; }}"), 1);
    assert_ne!(sized, page);
    std::fs::write(&html, sized).unwrap();
    let _ = std::fs::remove_file(&pdf);
    let done = Command::new("chromium")
        .args([
            "--headless",
            "--no-sandbox",
            "--disable-gpu",
            "--disable-dev-shm-usage",
            "--no-first-run",
        ])
        .arg(format!("--user-data-dir={}", folder.join("profile").display()))
        .args(["--no-pdf-header-footer", &format!("--print-to-pdf={}", pdf.display())])
        .arg(format!("file://{}", html.display()))
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .status()
        .unwrap_or_else(|error| panic!("chromium does not start ({error}). Set up with: {SET_UP}"));
    assert!(done.success());
    let bytes = std::fs::read(&pdf).unwrap();
    let text = String::from_utf8_lossy(&bytes);
    // Each sheet is an object of the type Page; the tree over them is of the type Pages.
    let sheets = text
        .match_indices("/Type /Page")
        .filter(|(at, mark)| !text[at + mark.len()..].starts_with('s'))
        .count();
    let sizes = text.split("/MediaBox [").nth(1).unwrap().split(']').next().unwrap();
    let size: Vec<f64> = sizes.split_whitespace().map(|side| side.parse().unwrap()).collect();
    (sheets, [size[2], size[3]])
}

// One page on either paper at the most that can be told: two tanks, every reading, Spanish, long names of factory sizes, readings to look at
// again. A wrong style prints a second sheet with the signatures on it; a page that never breaks is no test, so that the same page made
// longer must take two.
#[test]
fn the_record_prints_on_one_page_of_either_paper() {
    if skipped() {
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    let tanks = catalogue(folder.path());
    let sizes: &[&str] = &["--catalogue", tanks.to_str().unwrap()];
    let (spanish, metric): (&[&str], &[&str]) = (&["--language", "es"], &["--units", "bar"]);
    let pages = [
        (
            "two tanks and a list",
            record(folder.path(), &[EVERYTHING, TWO_TANKS, sizes, spanish]),
        ),
        (
            "a relief",
            record(folder.path(), &[EVERYTHING, TWO_TANKS, NO_ROOM, spanish, metric]),
        ),
        (
            "readings asked about",
            record(
                folder.path(),
                &[EVERYTHING, TWO_TANKS, ASKED_ABOUT, sizes, spanish, metric],
            ),
        ),
        (
            "English",
            record(folder.path(), &[EVERYTHING, TWO_TANKS, ASKED_ABOUT, sizes]),
        ),
    ];
    assert!(pages[0].1.contains("series 45") && pages[0].1.contains("Tanques que ya están"));
    for (name, page) in &pages {
        for (paper, size) in PAPERS {
            let (sheets, printed) = printed(folder.path(), page, paper);
            assert_eq!(sheets, 1, "{name} on {paper}");
            assert!(
                (printed[0] - size[0]).abs() < 1.0 && (printed[1] - size[1]).abs() < 1.0,
                "{paper}: {printed:?}"
            );
        }
    }
    let longer = pages[0]
        .1
        .replace("</main>", &format!("{}</main>", "<p>more</p>".repeat(60)));
    assert!(printed(folder.path(), &longer, "letter").0 > 1);
}

// On a phone nothing is wider than the screen; the drawings scroll in their own frame.
#[tokio::test(flavor = "multi_thread")]
async fn the_record_is_no_wider_than_a_phone() {
    if skipped() {
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    let tanks = catalogue(folder.path());
    let sizes: &[&str] = &["--catalogue", tanks.to_str().unwrap(), "--language", "es"];
    record(folder.path(), &[EVERYTHING, TWO_TANKS, ASKED_ABOUT, sizes]);
    let driver = Driver::start();
    for width in [360, 1000] {
        let (client, _profile) = driver.browser(width, true).await;
        let page = format!("file://{}", folder.path().join("record.html").display());
        client.goto(&page).await.unwrap();
        fits(&client, &format!("record at {width}")).await;
        picture(&client, &format!("record-{width}")).await;
        client.close().await.unwrap();
    }
}
