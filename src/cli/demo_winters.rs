//! `brimwater demo --winters`: an invented programme with winters behind it, planned and recorded, to learn from.

use super::common::{Common, Failure};
use super::plan;
use crate::demo::winters::{TRUTH_C, Winter, found, winters};
use crate::demo::{Wish, write};
use crate::faults::{Fault, Severity};
use crate::freeze::{RunOptions, WhatIf, outlooks};
use crate::input::file;
use crate::input::load::Files;
use crate::output::safe::{Folder, write_file_atomically, write_private_file};
use crate::plan::Programme;
use crate::review::State;
use chrono::{DateTime, TimeDelta, Utc};
use clap::Parser;
use std::collections::HashMap;
use std::fs;
use std::path::{Path, PathBuf};

/// Days after the first of the week when the plan after the spell is made.
const AFTER_DAYS: i64 = 12;
/// Members of the truth: of the chance that each draw of what broke follows.
const MEMBERS: usize = 256;

/// A line of `plan`, read as a user types it.
#[derive(Parser)]
struct Line {
    #[command(flatten)]
    plan: plan::Args,
}

/// Makes the programme and its winters in a new or empty folder.
///
/// # Errors
/// `BW-P24` when something stands there already, `BW-P25` and `BW-P26` when `plan` takes or makes what this was not written for; what `plan`
/// cannot do.
pub fn make(out: &Path, wish: &Wish, count: usize, common: &Common) -> Result<Vec<String>, Failure> {
    let free = !out.exists() || fs::read_dir(out).is_ok_and(|mut entries| entries.next().is_none());
    if !free {
        return Err(
            Fault::new("BW-P24", Severity::Fatal, "something stands in this folder already")
                .file(file::shown(out))
                .expected("a new folder, or an empty one")
                .remedy("Name another.")
                .into(),
        );
    }
    let programme = out.join("programme");
    let folder = Folder::build_beside(&programme)?;
    write(wish, &folder)?;
    folder.finish()?;
    let mut made = vec!["programme".to_owned()];
    let quiet = Common {
        quiet: true,
        ..common.clone()
    };
    let all = winters(wish, count);
    for winter in &all {
        one(out, &programme, wish, winter, &quiet)?;
        made.push(winter.name.clone());
    }
    write_file_atomically(&out.join("README.md"), readme(&all).as_bytes())?;
    Ok(made)
}

fn one(out: &Path, programme: &Path, wish: &Wish, winter: &Winter, common: &Common) -> Result<(), Failure> {
    let place = out.join(&winter.name);
    let folder = Folder::build_beside(&place)?;
    folder.write("forecast.csv", winter.forecast.as_bytes())?;
    folder.write("observed.csv", winter.observed.as_bytes())?;
    folder.finish()?;
    let morning = winter.first_day.format("%Y-%m-%dT12:00:00Z").to_string();
    let after = (winter.first_day + TimeDelta::days(AFTER_DAYS))
        .format("%Y-%m-%dT12:00:00Z")
        .to_string();
    planned(
        programme,
        &place.join("forecast.csv"),
        &morning,
        &place.join("plan"),
        common,
    )?;
    planned(
        programme,
        &place.join("observed.csv"),
        &after,
        &place.join("after"),
        common,
    )?;
    let record = filled(programme, wish, winter, &place)?;
    write_private_file(&place.join("record.csv"), &record)?;
    Ok(())
}

fn planned(programme: &Path, series: &Path, now: &str, out: &Path, common: &Common) -> Result<(), Failure> {
    let at = |name: &str| programme.join(name).into_os_string();
    let line = Line::try_parse_from([
        "plan".into(),
        "--assemblies".into(),
        at("assemblies.csv"),
        "--stations".into(),
        at("stations.csv"),
        "--config".into(),
        at("config.toml"),
        "--series".into(),
        series.as_os_str().to_owned(),
        // Advice for the cases with the most at stake: nobody acts on it here.
        "--advice-cases".into(),
        "40".into(),
        "--now".into(),
        now.into(),
        "--out".into(),
        out.as_os_str().to_owned(),
    ])
    .map_err(|error| Failure::one(Fault::new("BW-P25", Severity::Fatal, error.to_string())))?;
    let mut args = line.plan;
    args.silent = true;
    plan::run(args, common).map(|_| ())
}

/// The inspection record of the plan after the spell, filled by testers who found what the truth left.
fn filled(programme: &Path, wish: &Wish, winter: &Winter, place: &Path) -> Result<Vec<u8>, Failure> {
    let files = Files {
        assemblies: Some(programme.join("assemblies.csv")),
        series: vec![place.join("observed.csv")],
        stations: Some(programme.join("stations.csv")),
        config: Some(programme.join("config.toml")),
        ..Files::default()
    };
    let broke = truth(&files, wish, winter);
    let form = place.join("after").join("inspection_record.csv");
    let bytes = file::read_whole(&form)?;
    let strange = |what: String| Failure::one(Fault::new("BW-P26", Severity::Fatal, what).file(file::shown(&form)));
    let mut reader = csv::Reader::from_reader(bytes.as_slice());
    let header = reader.headers().map_err(|error| strange(error.to_string()))?.clone();
    let at = |name: &str| {
        header
            .iter()
            .position(|column| column == name)
            .ok_or_else(|| strange(format!("the record form has no column {name}")))
    };
    let (id, must, state, date) = (at("assembly_id")?, at("must_look")?, at("state")?, at("date")?);
    let looked = (winter.first_day + TimeDelta::days(AFTER_DAYS + 2)).to_string();
    let mut writer = csv::Writer::from_writer(Vec::new());
    writer
        .write_record(&header)
        .map_err(|error| strange(error.to_string()))?;
    for row in reader.records() {
        let row = row.map_err(|error| strange(error.to_string()))?;
        let (was, told) = broke.get(row.get(id).unwrap_or("")).copied().unwrap_or((false, false));
        let sent = row.get(must) == Some("yes");
        let word = match (sent, was, told) {
            (true, true, _) => State::Damaged.word(),
            (true, false, _) => State::Whole.word(),
            (false, true, true) => State::Reported.word(),
            (false, ..) => "",
        };
        let cells = row.iter().enumerate().map(|(column, cell)| match column {
            _ if column == state => word,
            _ if column == date && sent => looked.as_str(),
            _ => cell,
        });
        writer.write_record(cells).map_err(|error| strange(error.to_string()))?;
    }
    writer.into_inner().map_err(|error| strange(error.to_string()))
}

/// Which assemblies broke, by identifier, and whether their owners report it: drawn from the chances that the freeze model gives on the hours that came with
/// the true temperature at which ice starts in this spell.
fn truth(files: &Files, wish: &Wish, winter: &Winter) -> HashMap<String, (bool, bool)> {
    let programme = Programme::read(files);
    let config = &programme.loaded.config;
    let mut ensemble = config.ensemble.clone();
    ensemble.nucleation_mean_c = winter.nucleation_c;
    let sites = programme.sites();
    let places: Vec<_> = sites.iter().map(|site| site.place).collect();
    let end: DateTime<Utc> = programme.window().map_or_else(DateTime::default, |(_, end)| end);
    let options = RunOptions {
        members: MEMBERS,
        seed: wish.seed.wrapping_add(1),
        now: end,
        reported_until: end,
        zone: programme.zone,
        what_if: WhatIf::AsListed,
        advice: false,
        advice_cases: 0,
        trace: false,
        regions: Some(std::sync::Arc::clone(&programme.regions)),
    };
    let (told, _) = outlooks(
        &places,
        &programme.loaded.series,
        &options,
        &config.freeze,
        &ensemble,
        &|_| {},
    );
    let chances: Vec<f64> = told.iter().map(|outlook| outlook.p_damage.unwrap_or(0.0)).collect();
    let broke = found(wish, winter, &chances);
    let ids = places.iter().map(|place| place.assembly.assembly_id.to_string());
    ids.zip(broke).collect()
}

fn readme(all: &[Winter]) -> String {
    let each = |text: &dyn Fn(&str) -> String| all.iter().map(|winter| text(&winter.name)).collect::<String>();
    let names: Vec<&str> = all.iter().map(|winter| winter.name.as_str()).collect();
    format!(
        "# Winters to learn from\n\
         \n\
         Everything here is invented: the town, its weather, what broke and who looked. `programme/` is the list with its stations and config.\n\
         Each winter ({names}) holds the forecast as it was issued, the plan made on it, the hours that came, the plan made on\n\
         them after the spell, and its inspection record as the testers filled it: those that had to be looked at were, and some of the\n\
         others reported what broke. Nobody was called, so nothing was protected.\n\
         \n\
         Was the list any good, and what do the records teach?\n\
         \n\
         \x20   brimwater review \\\n{plans}{records}{series}\
         \x20     --assemblies programme/assemblies.csv --stations programme/stations.csv --config programme/config.toml \\\n\
         \x20     --calibrate --out proposal.toml --page review.html\n\
         \n\
         `proposal.toml` holds the config lines that the records propose. Nothing changes by itself: a person adopts them, by putting them into\n\
         `programme/config.toml`; plans made after that say so.\n\
         \n\
         The truth of this town, which no programme knows of itself: ice starts at {truth} °C in the mean, in each spell at another\n\
         temperature near it. The model's own judgement is warmer by two of its own standard deviations, so its lists are too long. The\n\
         proposal weighs what was judged before with what was found: it lies between the two, nearer to the truth the more winters\n\
         there are. With a truth so far from what was judged the interval of 90 % holds it in 3 of 4 towns after three winters (151 of 200\n\
         drawn); with one a single deviation away in 9 of 10.\n",
        names = names.join(", "),
        plans = each(&|name| format!("\x20     --plan {name}/plan --plan {name}/after \\\n")),
        records = each(&|name| format!("\x20     --record {name}/record.csv \\\n")),
        series = each(&|name| format!("\x20     --series {name}/observed.csv \\\n")),
        truth = TRUTH_C,
    )
}

/// Where the walk is told.
pub fn walk(out: &Path) -> PathBuf {
    out.join("README.md")
}
