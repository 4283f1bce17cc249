//! `season --assemblies … --record …`: a programme from its list and its stations' records to offers.

use super::common::{self, Common, Failure, Format, Units};
use super::season::Args;
use super::season_cache::Cache;
use super::season_inputs::{self, Read};
use super::{Done, inputs::InputArgs};
use crate::faults::{Fault, Faults, Severity};
use crate::freeze::members::Members;
use crate::output::plan::unwritten;
use crate::output::season as told;
use crate::output::season_folder::{self, Report};
use crate::output::season_json;
use crate::season::answer::Answer;
use crate::season::choice::hull::Increments;
use crate::season::choice::{Item, Rule, along_hulls};
use crate::season::exposure::{StationYears, fingerprint};
use crate::season::programme::{Cases, Inputs, SiteValue, cases, items, measure_words, refusals, solve, value};
use crate::season::resampling::resampled;
use indicatif::{ProgressBar, ProgressStyle};
use sha2::{Digest, Sha256};
use std::sync::atomic::{AtomicUsize, Ordering};

/// Options of a programme.
#[derive(clap::Args, Debug, Clone)]
pub struct ProgrammeArgs {
    /// List of assemblies (CSV).
    #[arg(long, value_name = "FILE")]
    pub assemblies: Option<std::path::PathBuf>,
    /// A station's own record of many winters, hourly or daily, in any format that `weather` reads; may be given several times.
    #[arg(long, value_name = "FILE")]
    pub record: Vec<std::path::PathBuf>,
    /// List of weather stations (CSV).
    #[arg(long, value_name = "FILE")]
    pub stations: Option<std::path::PathBuf>,
    /// Write the offers as Parquet too (offers.parquet), with types and units, for analysts.
    #[arg(long)]
    pub parquet: bool,
    /// The utility's own choices (TOML); measures, costs and lives stand under [season].
    #[arg(long, value_name = "FILE")]
    pub config: Option<std::path::PathBuf>,
    /// Time zone of times written without an offset, such as America/Chicago.
    #[arg(long, value_name = "ZONE")]
    pub zone: Option<String>,
    /// Folder that the offers are written into. It must be new, empty, or one that this program made.
    #[arg(long, value_name = "DIR")]
    pub out: Option<std::path::PathBuf>,
    /// What became of earlier offers (CSV: assembly_id, measure, outcome accepted, refused or fitted).
    #[arg(long, value_name = "FILE")]
    pub offers: Option<std::path::PathBuf>,
    /// Members of the ensemble; the config's [season] members when left out.
    #[arg(long, value_name = "N")]
    pub members: Option<usize>,
    /// Seed: the same seed gives the same offers.
    #[arg(long, value_name = "S", default_value_t = 1)]
    pub seed: u64,
    /// File in which winters are kept between runs; beside --out when left out.
    #[arg(long, value_name = "FILE")]
    pub cache: Option<std::path::PathBuf>,
}

impl ProgrammeArgs {
    /// Files and zone as the other commands take them.
    pub(super) fn inputs(&self) -> InputArgs {
        InputArgs {
            assemblies: self.assemblies.clone(),
            series: self.record.clone(),
            spread: None,
            climate: None,
            stations: self.stations.clone(),
            config: self.config.clone(),
            zone: self.zone.clone(),
            allow_gaps: true,
            spell: None,
        }
    }
}

/// Runs a programme.
pub fn run(args: &Args, budget_usd: u64, rules: &[Rule], faults: Faults, common: &Common) -> Done {
    let mut read = season_inputs::read(&args.programme, faults)?;
    let config = read.loaded.config.clone();
    let season = &config.season;
    let members = Members::new(
        args.programme.members.unwrap_or(season.members),
        args.programme.seed,
        config.freeze.damage.strength_log_sd,
        &config.ensemble,
    );
    let moving = read.warming.iter().any(crate::season::warming::Warming::is_moving);
    let cache = Cache::open(&read.cache)?;
    let stations = station_years(&read, &members, moving);
    let used = Inputs {
        assemblies: &read.loaded.inventory.assemblies,
        choices: &read.loaded.choices,
        stations: &stations,
        members: &members,
        freeze: &config.freeze,
        ranking: &config.ranking,
        outreach: &config.outreach,
        season,
        log: &read.log,
    };
    let found = cases(&used);
    let values = weigh(&found, &used, &cache, &config, args.programme.seed, common);
    // The other answer is told where a trend is used: what the record says as it stands.
    let as_recorded = moving.then(|| {
        let stations = station_years(&read, &members, false);
        let inputs = Inputs {
            stations: &stations,
            ..used
        };
        let found = cases(&inputs);
        let values = weigh(&found, &inputs, &cache, &config, args.programme.seed, common);
        items(&values, &inputs, &[])
    });
    let mut faults = std::mem::take(&mut read.faults);
    if !cache.is_whole() {
        faults.push(
            Fault::new(
                "BW-B18",
                Severity::Note,
                "not every winter could be kept; the next run takes longer",
            )
            .file(crate::input::file::shown(&read.cache)),
        );
    }
    let spent = budget(budget_usd, found.committed_usd, &mut faults);
    let items_now = items(&values, &used, &[]);
    faults
        .0
        .extend(no_districts(&items_now, rules, &season.district_column));
    let (answer, more) = Answer::of(measure_words(), items_now, spent, rules)?;
    faults.append(more);
    let drawn = resampled(&values, &used, &answer, rules, &stations, args.programme.seed);
    let reserve = reserve(&answer, season.accept_share, rules);
    let recorded_usd = as_recorded.map(|items| crate::season::choice::sums(&items, &answer.choice.pick).0);
    let report = Report {
        answer: &answer,
        values: &values,
        assemblies: &read.loaded.inventory.assemblies,
        config: &config,
        drawn: drawn.as_ref(),
        reserve: &reserve,
        warming: &read.warming,
        winters: &read.winters,
        series: &read.loaded.series,
        committed_usd: found.committed_usd,
        fitted: read.fitted,
        refused: &refusals(&found),
        recorded_usd,
        rejects: &read.rejects,
        faults: &faults,
        taken: &read.loaded.taken,
        members: members.count(),
        seed: args.programme.seed,
        cases: found.cases.len(),
        us: common.units == Units::Us,
    };
    season_folder::write(&read.folder, &report, args.programme.parquet)?;
    let placed = read.folder.finish()?;
    common.tell(&placed.told);
    tell(&report, &placed.place.display().to_string(), args.top, common)?;
    Ok(faults.exit_status().max(placed.told.exit_status()))
}

/// `BW-B24`: a floor for districts that no row names.
fn no_districts(items: &[Item], rules: &[Rule], column: &str) -> Option<Fault> {
    let floor = rules.iter().any(|rule| matches!(rule, Rule::DistrictFloor(_)));
    (floor && items.iter().all(|item| item.district.is_empty())).then(|| {
        Fault::new(
            "BW-B24",
            Severity::Warning,
            "no row names a district, so the floor holds nobody's share",
        )
        .column("--floor")
        .value(column)
        .expected("a column of the list with the district of each assembly")
        .remedy("Name the column with season.district_column of the config.")
    })
}

/// The winters of each station, as recorded or moved to the years to come.
fn station_years(read: &Read, members: &Members, moved: bool) -> Vec<StationYears> {
    let config = &read.loaded.config;
    let horizon = config.season.horizon_years;
    let stations = read.loaded.series.iter().zip(&read.winters).zip(&read.warming);
    stations
        .map(|((series, winters), warming)| {
            let shift_k = |winter: i32| if moved { warming.shift_k(winter, horizon) } else { 0.0 };
            let (freeze, ensemble) = (&config.freeze, &config.ensemble);
            StationYears::new(series, winters, members, read.zone, freeze, ensemble, &shift_k)
        })
        .collect()
}

/// Money that is left once what was accepted is paid.
fn budget(budget_usd: u64, committed_usd: u64, faults: &mut Faults) -> u64 {
    if committed_usd > budget_usd {
        faults.push(
            Fault::new(
                "BW-B19",
                Severity::Warning,
                "what was accepted already costs more than there is, so nothing new is offered",
            )
            .column("--budget")
            .value(&budget_usd.to_string())
            .expected(format!("at least {committed_usd} US dollars")),
        );
    }
    budget_usd.saturating_sub(committed_usd)
}

/// Who is offered something when others refuse, best first: the choice with so much more money as refusals leave.
fn reserve(answer: &Answer, accept_share: f64, rules: &[Rule]) -> Vec<(usize, usize)> {
    let more = (answer.budget_usd as f64 / accept_share.clamp(0.01, 1.0)).floor() as u64;
    let increments = Increments::of(&answer.items);
    let Ok(longer) = along_hulls(&answer.items, &increments, more, rules) else {
        return Vec::new();
    };
    let mut found: Vec<(usize, usize)> = longer
        .pick
        .iter()
        .zip(&answer.choice.pick)
        .enumerate()
        .filter(|(_, (_, chosen))| chosen.is_none())
        .filter_map(|(item, (pick, _))| Some((item, (*pick)?)))
        .collect();
    answer.by_worth(&mut found);
    found
}

fn weigh(
    found: &Cases,
    inputs: &Inputs<'_>,
    cache: &Cache,
    config: &crate::config::Config,
    seed: u64,
    common: &Common,
) -> Vec<SiteValue> {
    let digests: Vec<String> = inputs.stations.iter().map(StationYears::digest).collect();
    let model = found.cases.first().map_or(String::new(), |case| {
        let mut plain = case.assembly.clone();
        plain.winter_use = crate::inventory::WinterUse::Idle;
        fingerprint(&plain, inputs.members, inputs.freeze)
    });
    let settings = serde_json::to_string(&(&config.freeze, &config.ensemble)).unwrap_or_default();
    let key = |text: &str, series: usize| -> String {
        let mut hash = Sha256::new();
        let station = digests.get(series).map_or("", String::as_str);
        for part in [crate::VERSION, &settings, station, text] {
            hash.update((part.len() as u64).to_le_bytes());
            hash.update(part);
        }
        hash.update(seed.to_le_bytes());
        hash.update((inputs.members.count() as u64).to_le_bytes());
        hash.update(&model);
        hash.finalize().iter().map(|byte| format!("{byte:02x}")).collect()
    };
    let bar = progress(common, found.cases.len());
    let ready = AtomicUsize::new(0);
    let solved = solve(
        found,
        inputs,
        &|case, series| cache.get(&key(&case.text, series)),
        &|case, series, winters| {
            if let Some(winters) = winters {
                cache.keep(&key(&case.text, series), winters);
            }
            bar.set_position(1 + ready.fetch_add(1, Ordering::Relaxed) as u64);
        },
    );
    bar.finish_and_clear();
    value(found, &solved, inputs)
}

fn progress(common: &Common, total: usize) -> ProgressBar {
    if !common.progress() {
        return ProgressBar::hidden();
    }
    let bar = ProgressBar::new(total as u64);
    if let Ok(style) = ProgressStyle::with_template("{bar:40} {pos} of {len} cases through their winters, {eta} left") {
        bar.set_style(style);
    }
    bar
}

fn tell(report: &Report<'_>, place: &str, top: usize, common: &Common) -> Result<(), Failure> {
    common.tell(report.faults);
    let text = match common.format {
        Format::Json => serde_json::to_string_pretty(&season_json::json(report)).unwrap_or_default() + "\n",
        Format::Csv => {
            let offers = season_folder::offers_csv(report).map_err(|error| unwritten("offers.csv", error))?;
            String::from_utf8_lossy(&offers).into_owned()
        }
        Format::Table => format!(
            "{}\n{}\n{} assemblies weighed, {} rows set aside; written to {place}\n",
            told::table(report.answer, top),
            season_folder::sentences(report, crate::language::Language::English).join("\n"),
            report.values.len(),
            report.rejects.len()
        ),
    };
    common::print(&text).map(|_| ())
}
