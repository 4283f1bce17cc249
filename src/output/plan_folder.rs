//! All files of a plan into one folder.

use super::charts::{ChartError, Form};
use super::charts_plan::{self, Case, Dot};
use super::plan::{Plan, unwritten};
use super::report::Figure;
use super::safe::Folder;
use super::{geojson, joins_csv, plan_json, ranking_csv, rejects_csv, report, run_json};
use crate::faults::{Fault, Faults};
use crate::inventory::Reject;
use crate::weather::Station;
use rayon::prelude::*;
use serde::Serialize;
use std::io::{self, BufWriter, Write};

/// What goes into the folder beside the plan itself.
pub struct Contents<'a, C: ?Sized> {
    /// The plan.
    pub plan: &'a Plan<'a>,
    /// Lines of the contact plan, as `plan.json` carries them.
    pub contacts: &'a C,
    /// Rows set aside.
    pub rejects: &'a [Reject],
    /// The record of the run.
    pub run: &'a run_json::Run<'a>,
    /// Name that the page carries.
    pub utility: &'a str,
    /// The worst assemblies, with their traces.
    pub cases: &'a [Case<'a>],
    /// Charts of other rooms, with their file names under `charts/`.
    pub figures: Vec<(&'static str, Figure)>,
    /// Whether the ranking is written as Parquet too.
    pub parquet: bool,
    /// Other files, by name.
    pub files: Vec<(String, Vec<u8>)>,
}

/// The charts of a plan with their file names; a chart that cannot be drawn for lack of data is left out.
pub fn figures(plan: &Plan<'_>, cases: &[Case<'_>]) -> Vec<(&'static str, Figure)> {
    let words = &plan.words;
    let stations: Vec<Station> = plan.series.iter().map(|series| series.station.clone()).collect();
    let dots: Vec<Dot> = plan
        .lines()
        .filter_map(|(line, assembly, _)| {
            Some(Dot {
                latitude_deg: assembly.latitude_deg?,
                longitude_deg: assembly.longitude_deg?,
                tier: line.tier,
            })
        })
        .collect();
    let ensemble = plan.members > 1;
    let mut found = Vec::new();
    let mut take = |name, title, draw: &dyn Fn(Form) -> Result<String, ChartError>, caption: &str| {
        if let (Ok(svg), Ok(narrow)) = (draw(Form::Wide), draw(Form::Narrow)) {
            found.push((
                name,
                Figure {
                    title,
                    svg,
                    narrow,
                    caption: caption.to_owned(),
                },
            ));
        }
    };
    let unplaced = plan.ranked.len().saturating_sub(dots.len());
    let missing = match unplaced {
        0 => String::new(),
        1 => " One assembly has no coordinates and is not shown.".to_owned(),
        n => format!(" {n} assemblies have no coordinates and are not shown."),
    };
    take(
        "map.svg",
        "Where they stand",
        &|form| charts_plan::map_in(&dots, &stations, words, form),
        &format!(
            "Each mark is an assembly. The shape tells the tier, so that the map can be read in grey as well.{missing}"
        ),
    );
    take(
        "thresholds.svg",
        "The air against the thresholds",
        &|form| charts_plan::thresholds_in(plan.series, words, form),
        "Air at the stations. Bare metal can be colder than the air on a clear, calm night, and large assemblies take hours to follow.",
    );
    take(
        "first-ice.svg",
        "When first ice comes",
        &|form| charts_plan::first_ice_in(plan.outlooks, words, form),
        if ensemble {
            "How many assemblies have ice by each hour. Deadlines for calls come from the early edge: one member in ten has ice by then."
        } else {
            "How many assemblies have ice by each hour in the cautious run. Ice in small fittings comes to nearly all bare assemblies at \
             once: it sets the deadline, and which parts break sets the order."
        },
    );
    take(
        "spell.svg",
        "Air and coldest water through the spell",
        &|form| charts_plan::spell_in(cases, words, form),
        "Water lags behind the air, and holds at freezing while ice forms. Where it dips below freezing before ice starts, it is supercooled.",
    );
    take(
        "damage.svg",
        "Chance of damage through time",
        &|form| charts_plan::damage_in(cases, words, form),
        "Damage comes while ice grows; it is mostly noticed at the thaw.",
    );
    found
}

/// Writes every file. All that fail are told.
///
/// # Errors
/// A fault for each file that cannot be written, and for a page that cannot be rendered.
pub fn write<C: Serialize + Sync + ?Sized>(folder: &Folder, contents: Contents<'_, C>) -> Result<(), Faults> {
    let Contents {
        plan,
        contacts,
        rejects,
        run,
        utility,
        cases,
        figures: more,
        parquet,
        files,
    } = contents;
    type Job<'j> = Box<dyn Fn() -> Vec<Fault> + Sync + 'j>;
    let told = |done: Result<(), Fault>| done.err().into_iter().collect::<Vec<_>>();
    let jobs: Vec<Job<'_>> = vec![
        Box::new(|| told(stream(folder, "plan.json", |out| plan_json::write(plan, contacts, out)))),
        Box::new(|| told(stream(folder, "ranking.csv", |out| ranking_csv::write(plan, out)))),
        Box::new(|| {
            if !parquet {
                return Vec::new();
            }
            told(folder.create("ranking.parquet").and_then(|file| {
                ranking_csv::write_parquet(plan, BufWriter::with_capacity(1 << 17, file))
                    .map_err(|error| unwritten("ranking.parquet", error))
            }))
        }),
        Box::new(|| told(stream(folder, "map.geojson", |out| geojson::write(plan, out)))),
        Box::new(|| {
            let mut faults = told(stream(folder, "rejects.csv", |out| rejects_csv::write(rejects, out)));
            faults.extend(told(stream(folder, "run.json", |out| run_json::write(run, out))));
            faults
        }),
        Box::new(|| pages(folder, plan, utility, cases, &more)),
    ];
    let mut faults: Vec<Fault> = jobs.par_iter().flat_map_iter(|job| job()).collect();
    if !plan.what_if.is_empty() {
        let written = joins_csv::bytes(plan).map_err(|error| unwritten("joins.csv", error));
        faults.extend(written.and_then(|bytes| folder.write("joins.csv", &bytes)).err());
    }
    for (name, bytes) in &files {
        faults.extend(folder.write(name, bytes).err());
    }
    if faults.is_empty() { Ok(()) } else { Err(Faults(faults)) }
}

fn pages(
    folder: &Folder,
    plan: &Plan<'_>,
    utility: &str,
    cases: &[Case<'_>],
    more: &[(&'static str, Figure)],
) -> Vec<Fault> {
    let mut all = figures(plan, cases);
    all.extend(more.iter().cloned());
    let mut faults: Vec<Fault> = all
        .iter()
        .filter_map(|(name, figure)| folder.write(&format!("charts/{name}"), figure.svg.as_bytes()).err())
        .collect();
    let figures: Vec<Figure> = all.into_iter().map(|(_, figure)| figure).collect();
    match report::render(plan, utility, &figures) {
        Ok(page) => faults.extend(folder.write("report.html", page.as_bytes()).err()),
        Err(why) => faults.push(unwritten("report.html", why)),
    }
    faults
}

/// Writes one file of the folder through a buffer.
fn stream(folder: &Folder, name: &str, write: impl FnOnce(&mut dyn Write) -> io::Result<()>) -> Result<(), Fault> {
    let mut out = BufWriter::with_capacity(1 << 17, folder.create(name)?);
    write(&mut out)
        .and_then(|()| out.flush())
        .map_err(|error| unwritten(name, error))
}
