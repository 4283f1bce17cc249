//! What a programme before the season is given: list, records, log of offers, all checked, all faults told at once.

use super::common::Failure;
use super::season_programme::ProgrammeArgs;
use crate::faults::{Fault, Faults, Severity};
use crate::input::file::{read_whole, shown};
use crate::input::load::{Loaded, load};
use crate::input::plain;
use crate::inventory::Reject;
use crate::output::safe::Folder;
use crate::output::safe::target::{Make, Target, may_write, none_inside};
use crate::plan::{self, assumed};
use crate::season::offers_log::{self, OffersLog};
use crate::season::spells::{RecordWinter, winters};
use crate::season::warming::Warming;
use crate::weather::extremes::LEAST_WINTERS;
use crate::weather::readers::Nature;
use crate::weather::{Kind, normals};
use chrono_tz::Tz;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// Hours that a forecast may reach, two months (judgement: none reaches half of it).
const FORECAST_H: usize = 1_464;

/// What was read.
pub struct Read {
    /// List, records, config.
    pub loaded: Loaded,
    /// The folder being built.
    pub folder: Folder,
    /// Where winters are kept between runs.
    pub cache: PathBuf,
    /// Zone of the draws' hours.
    pub zone: Tz,
    /// Winters of each station.
    pub winters: Vec<Vec<RecordWinter>>,
    /// What each station's record says of its winters.
    pub warming: Vec<Warming>,
    /// What became of earlier offers.
    pub log: OffersLog,
    /// Measures that were fitted and are in the list now.
    pub fitted: usize,
    /// Rows that are not weighed.
    pub rejects: Vec<Reject>,
    /// All faults so far.
    pub faults: Faults,
}

/// Reads and checks everything, so that all that is wrong is told at once.
pub fn read(args: &ProgrammeArgs, mut faults: Faults) -> Result<Read, Failure> {
    let folder = given(args, &mut faults);
    let files = match args.inputs().files() {
        Ok(files) => files,
        Err(fault) => {
            faults.push(fault);
            return Err(faults.into());
        }
    };
    let mut loaded = load(&files);
    for mut fault in std::mem::take(&mut loaded.faults).0 {
        // Gaps and made hours are what records are like; what they cost is told below, winter by winter.
        if matches!(fault.code, "BW-S11" | "BW-S20") && fault.severity == Severity::Warning {
            fault.severity = Severity::Note;
        }
        faults.push(fault);
    }
    records(&loaded, &mut faults);
    let (climate_from, told) = assumed::climate(&mut loaded);
    faults.append(told);
    let (_, told) = assumed::cloud(&loaded.series, &loaded, climate_from);
    faults.append(told);
    let zone = plan::zone(files.zone, &loaded);
    let season = &loaded.config.season;
    let lowest = loaded
        .choices
        .iter()
        .flatten()
        .map(|choice| choice.offset_k)
        .fold(0.0, f64::min);
    let winters: Vec<Vec<RecordWinter>> = loaded
        .series
        .iter()
        .map(|series| winters(series, season.spells, lowest))
        .collect();
    let stations = loaded.series.iter().map(|series| series.station.station_id.as_str());
    let warming: Vec<Warming> = stations
        .zip(&winters)
        .map(|(station, winters)| Warming::of(station, winters))
        .collect();
    lengths(&loaded, &winters, &mut faults);
    let (log, fitted) = log(args, &mut loaded, &mut faults);
    let rejects = rejects(&loaded, &winters, &faults);
    if !loaded.inventory.assemblies.is_empty()
        && !loaded.series.is_empty()
        && rejects.len() >= loaded.inventory.assemblies.len() + loaded.inventory.rejects.len()
    {
        faults.push(
            Fault::new(
                "BW-B16",
                Severity::Fatal,
                "no assembly has a station with complete winters",
            )
            .expected("a station for each assembly: named, nearest, or the only one")
            .remedy("Fill in coordinates or station_id, or add the records of their stations."),
        );
    }
    match folder {
        Some((folder, cache)) if !faults.is_fatal() => Ok(Read {
            loaded,
            folder,
            cache,
            zone,
            winters,
            warming,
            log,
            fitted,
            rejects,
            faults,
        }),
        _ => Err(faults.into()),
    }
}

fn given(args: &ProgrammeArgs, faults: &mut Faults) -> Option<(Folder, PathBuf)> {
    if args.assemblies.is_none() {
        faults.push(
            Fault::new("BW-B10", Severity::Fatal, "nothing was given to choose from")
                .column("--assemblies")
                .expected("--assemblies FILE with --record FILE, or --choices FILE")
                .remedy("Give the list of assemblies."),
        );
    }
    if args.record.is_empty() {
        faults.push(
            Fault::new("BW-B11", Severity::Fatal, "no station's record was given, so nobody can say how often it freezes")
                .column("--record")
                .expected("a station's own daily minima and maxima, or its hours, of ten winters or more: thirty are good")
                .remedy(
                    "The national archive of daily or hourly station records gives such files for nothing: take the station nearest to the \
                     assemblies with few gaps, all years, and name the file with --record.",
                ),
        );
    }
    if args.members.is_some_and(|members| !(2..=65_536).contains(&members)) {
        faults.push(
            Fault::new("BW-P02", Severity::Fatal, "this number of members cannot be run")
                .column("--members")
                .expected("2 to 65536"),
        );
    }
    let Some(out) = &args.out else {
        faults.push(
            Fault::new("BW-B12", Severity::Fatal, "--out is needed")
                .column("--out")
                .expected("the folder that the offers are written into")
                .remedy("Add --out DIR."),
        );
        return None;
    };
    let mut beside = out.clone().into_os_string();
    beside.push(".winters.jsonl");
    let cache = args.cache.clone().unwrap_or_else(|| beside.into());
    let inputs: Vec<&Path> = args
        .record
        .iter()
        .chain(&args.assemblies)
        .chain(&args.stations)
        .chain(&args.config)
        .chain(&args.offers)
        .map(PathBuf::as_path)
        .collect();
    // What is in the cache its own reader sees.
    let kept = Target::new("--cache", &cache, Make::Kept);
    let checked = [none_inside(out, &inputs), may_write(&[kept], &inputs, true)];
    for told in checked.into_iter().filter_map(Result::err) {
        faults.append(told);
    }
    if faults.is_fatal() {
        return None;
    }
    // The letters hold names and addresses.
    match Folder::build_private(out) {
        Ok(folder) => {
            faults.0.extend(folder.told());
            Some((folder, cache))
        }
        Err(fault) => {
            faults.push(fault);
            None
        }
    }
}

/// Whether the files are records of weather that was.
fn records(loaded: &Loaded, faults: &mut Faults) {
    for (name, found) in &loaded.reports {
        let smooth = found.series.as_ref().is_some_and(normals::are_normals);
        let what = match found.nature {
            Nature::TypicalYear => Some("a typical year leaves extremes out on purpose"),
            Nature::Normals => Some("climate normals hold no weather"),
            Nature::Record if smooth => Some("the values are as smooth as climate normals and hold no weather"),
            Nature::Record => None,
        };
        if let Some(what) = what {
            faults.push(
                Fault::new(
                    "BW-S51",
                    Severity::Fatal,
                    format!("{what}: it cannot tell how often it freezes"),
                )
                .file(name)
                .expected("a station's own record over many winters")
                .remedy("Get the station's daily or hourly record."),
            );
        }
        // Our own table takes hours of no kind for forecast ones; no forecast reaches so far.
        let forecast = found
            .series
            .as_ref()
            .is_some_and(|series| series.kind.contains(&Kind::Forecast) && series.hours() < FORECAST_H);
        if forecast {
            faults.push(
                Fault::new("BW-B14", Severity::Fatal, "this holds a forecast, not what was")
                    .file(name)
                    .column("--record")
                    .expected("a station's own record over many winters")
                    .remedy("Get the station's daily or hourly record; `plan` takes forecasts."),
            );
        }
    }
}

/// Whether the records are long enough, and what was left out of them.
fn lengths(loaded: &Loaded, winters: &[Vec<RecordWinter>], faults: &mut Faults) {
    for (series, winters) in loaded.series.iter().zip(winters) {
        let complete = winters.iter().filter(|winter| winter.complete).count();
        let station = series.station.station_id.as_str();
        // The first and last season of a record are cut by its ends.
        let inner = winters.get(1..winters.len().saturating_sub(1)).unwrap_or(&[]);
        let gappy: Vec<String> = inner
            .iter()
            .filter(|winter| !winter.complete)
            .map(|winter| winter.season.to_string())
            .collect();
        if !gappy.is_empty() {
            faults.push(
                Fault::new(
                    "BW-B15",
                    Severity::Warning,
                    "winters with gaps in their cold months were left out",
                )
                .value(&gappy.join(", "))
                .column(station)
                .expected("nine tenths of the hours or days of each winter"),
            );
        }
        if complete == 0 {
            faults.push(
                Fault::new(
                    "BW-B13",
                    Severity::Rejected,
                    "this record holds no complete winter, so its assemblies cannot be weighed",
                )
                .column(station)
                .expected("ten winters or more")
                .remedy("Get a longer record of the station."),
            );
        } else if complete < LEAST_WINTERS {
            faults.push(
                Fault::new(
                    "BW-B13",
                    Severity::Warning,
                    format!(
                        "the record is short: it is taken for the mean, with a wide interval; it says nothing of extremes or a trend, which need {LEAST_WINTERS} winters"
                    ),
                )
                .column(station)
                .value(&format!("{complete} complete winters"))
                .expected(format!("{LEAST_WINTERS} or more; thirty are good"))
                .remedy("Get a longer record of the station before much money is spent."),
            );
        }
    }
}

/// What became of earlier offers; what was fitted is put into the list.
fn log(args: &ProgrammeArgs, loaded: &mut Loaded, faults: &mut Faults) -> (OffersLog, usize) {
    let Some(path) = &args.offers else {
        return (OffersLog::default(), 0);
    };
    let read =
        read_whole(path).and_then(|bytes| plain(&bytes, &shown(path), &|cell| offers_log::COLUMNS.contains(&cell)));
    let bytes = match read {
        Ok((bytes, marks)) => {
            faults.append(marks);
            bytes
        }
        Err(fault) => {
            faults.push(fault);
            return (OffersLog::default(), 0);
        }
    };
    let (log, told) = offers_log::read(&bytes, &shown(path));
    faults.append(told);
    let config = &loaded.config;
    let (fitted, told) = log.apply(
        &mut loaded.inventory.assemblies,
        &config.season.measures,
        &config.freeze,
        &shown(path),
    );
    faults.append(told);
    (log, fitted)
}

/// Rows that were set aside in reading, and assemblies without a station that has winters.
fn rejects(loaded: &Loaded, winters: &[Vec<RecordWinter>], faults: &Faults) -> Vec<Reject> {
    let mut rejects = loaded.inventory.rejects.clone();
    let header = Arc::new(vec!["assembly_id".to_owned()]);
    for (at, assembly) in loaded.inventory.assemblies.iter().enumerate() {
        let choice = loaded.choices.get(at).copied().flatten();
        let weighed = choice.is_some_and(|choice| {
            let winters = winters.get(choice.series);
            winters.is_some_and(|winters| winters.iter().any(|winter| winter.complete))
        });
        if weighed {
            continue;
        }
        let own = faults
            .0
            .iter()
            .find(|fault| fault.code == "BW-S16" && fault.line == Some(assembly.line));
        let fault = own.cloned().unwrap_or_else(|| {
            Fault::new(
                "BW-S16",
                Severity::Rejected,
                "no series can be chosen for this assembly",
            )
        });
        rejects.push(Reject {
            line: assembly.line,
            record: vec![assembly.assembly_id.to_string()],
            header: Arc::clone(&header),
            faults: vec![fault],
        });
    }
    rejects.sort_by_key(|reject| reject.line);
    rejects
}
