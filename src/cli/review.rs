//! `brimwater review`: was the list any good, and what do we learn.

use super::Done;
use super::common::{self, Common, Failure, Format};
use super::inputs::InputArgs;
use super::{log_server, review_hours};
use crate::config::Config;
use crate::faults::{Fault, Faults, Severity};
use crate::input::{file, plain};
use crate::language::{Language, Tongue};
use crate::output::review as written;
use crate::output::review_rows;
use crate::output::safe::target::{Make, Target, may_write};
use crate::records::{self, Contacts, Spells};
use crate::review::proposal::may_carry_strength;
use crate::review::{Row, assess, table};
use crate::store::Filter;
use std::path::{Path, PathBuf};

/// Arguments of `review`.
#[derive(clap::Args, Debug, Clone)]
#[command(
    after_help = "Examples:\n  brimwater review --plan plan-friday --plan plan-after --record plan-after/inspection_record.csv\n  \
    brimwater review --plan plan-friday --record filled.csv --assemblies assemblies.csv --series observed.csv --calibrate\n  \
    brimwater review --rows winters.csv --calibrate --out proposal.toml --page review.html\n\n\
    Records of undamaged assemblies count as much as the damaged: without them nothing can be learnt. A table for --rows needs the columns \
    p_issued and found (damaged, no damage, unknown); with spell, assembly_id, p_hindcast, p_protected, loss_usd, rank, contact, \
    protected, inclusion_probability and how_found more can be told. Nothing changes by itself: --calibrate proposes, a person adopts."
)]
pub struct Args {
    /// A plan's folder or plan.json: as issued, and the one made after the spell on the hours that came. May be given several times.
    #[arg(long, value_name = "PLAN")]
    pub plan: Vec<PathBuf>,
    /// A filled inspection_record.csv. May be given several times.
    #[arg(long, value_name = "FILE")]
    pub record: Vec<PathBuf>,
    /// Log of contacts: what came of the calls.
    #[arg(long, value_name = "FILE|ADDRESS")]
    pub log: Option<PathBuf>,
    /// One flat table of rows in place of plans and records (CSV).
    #[arg(long, value_name = "FILE", conflicts_with_all = ["plan", "record", "log"])]
    pub rows: Option<PathBuf>,
    /// The hours that came, with the list: the freeze model is run on them again.
    #[command(flatten)]
    pub inputs: InputArgs,
    /// Propose a mean nucleation temperature from the records.
    #[arg(long)]
    pub calibrate: bool,
    /// With --calibrate: where the proposed config lines go.
    #[arg(long, value_name = "FILE", requires = "calibrate")]
    pub out: Option<PathBuf>,
    /// Where a page for sharing goes (HTML). It holds neither assemblies nor addresses.
    #[arg(long, value_name = "FILE")]
    pub page: Option<PathBuf>,
    /// Write the rows that the review was made of as Parquet, with types and units, for analysts.
    #[arg(long, value_name = "FILE")]
    pub parquet: Option<PathBuf>,
    /// Language of sentences and page: en or es.
    #[arg(long, value_name = "TAG", default_value = "en")]
    pub language: String,
    /// Members behind the chances of a table, and of the runs on the hours that came.
    #[arg(long, value_name = "N", default_value_t = 256)]
    pub members: usize,
    /// Seed of the draws behind intervals, and of those runs.
    #[arg(long, value_name = "S", default_value_t = 1)]
    pub seed: u64,
}

/// Runs `review`.
pub fn run(args: Args, common: &Common) -> Done {
    let out = args.out.as_deref().map(|path| Target::new("--out", path, Make::Config));
    let page = args
        .page
        .as_deref()
        .map(|path| Target::new("--page", path, Make::Markup));
    let rows_out = args
        .parquet
        .as_deref()
        .map(|path| Target::new("--parquet", path, Make::Parquet));
    let targets: Vec<Target<'_>> = out.into_iter().chain(page).chain(rows_out).collect();
    let inputs: Vec<&Path> = args
        .plan
        .iter()
        .chain(&args.record)
        .chain(&args.log)
        .chain(&args.rows)
        .chain(&args.inputs.config)
        .chain(&args.inputs.assemblies)
        .chain(&args.inputs.series)
        .chain(&args.inputs.stations)
        .chain(&args.inputs.climate)
        .map(PathBuf::as_path)
        .collect();
    may_write(&targets, &inputs, common.force)?;
    let config = match &args.inputs.config {
        Some(path) => read_config(path)?,
        None => Config::default(),
    };
    let tongue = Tongue {
        language: language(&args.language)?,
        units: common.system(),
    };
    let mut faults = Faults::new();
    let hours = asks_hindcast(&args)?;
    let (rows, spells) = rows(&args, &mut faults)?;
    let mut rows = records::settled(rows, &mut faults);
    let settings = records::settings(&config, args.members, args.seed, args.calibrate);
    if hours {
        let how = review_hours::Settings {
            members: settings.members,
            seed: settings.seed,
            calibrate: settings.calibrate,
            strengths: settings.calibrate && may_carry_strength(&rows),
            acts: settings.acts,
        };
        faults.append(review_hours::hindcast(&args.inputs, &spells, &mut rows, &how, common)?);
    }
    let mut review = assess(&rows, &settings);
    if let Some(proposal) = review.proposal.as_mut().filter(|_| hours) {
        proposal.tiers = review_hours::tiers(&args.inputs, &spells, proposal, &settings);
    }
    if let (Some(target), Some(proposal)) = (out, &review.proposal) {
        target.write(written::proposal_toml(proposal).as_bytes())?;
    } else if let Some(Target { path, .. }) = out {
        faults.push(
            Fault::new(
                "BW-R06",
                Severity::Warning,
                "nothing is proposed, so nothing was written",
            )
            .file(file::shown(path))
            .remedy("The review says why; the config in force stays."),
        );
    }
    let unmade = |what: String| {
        Failure::one(
            Fault::new(
                "BW-R07",
                Severity::Fatal,
                format!("the review cannot be written: {what}"),
            )
            .remedy("Tell whoever keeps the program."),
        )
    };
    if let Some(target) = page {
        let page =
            written::page(&review, &config.utility.name, tongue).map_err(|error| unmade(format!("{error:#}")))?;
        target.write(page.as_bytes())?;
    }
    if let Some(target) = rows_out {
        let rows = review_rows::parquet(&rows).map_err(|error| unmade(error.to_string()))?;
        target.write(&rows)?;
    }
    common.tell(&faults);
    let text = match common.format {
        Format::Table => written::text(&review, tongue),
        Format::Csv => written::csv(&review),
        Format::Json => written::json(&review, tongue).map_err(|error| unmade(error.to_string()))?,
    };
    common::print(&text)?;
    Ok(faults.exit_status())
}

/// Whether the hours that came are given; all that is missing or makes no sense is told.
fn asks_hindcast(args: &Args) -> Result<bool, Failure> {
    let inputs = &args.inputs;
    let mut faults = Faults::new();
    let mut wrong = |option: &str, what: &str, remedy: &str| {
        faults.push(
            Fault::new("BW-R19", Severity::Fatal, what)
                .column(option)
                .remedy(remedy),
        );
    };
    for (option, given) in [
        ("--spell", inputs.spell.is_some()),
        ("--spread", inputs.spread.is_some()),
    ] {
        if given {
            wrong(
                option,
                "a review takes the hours of each plan from the hours that came",
                "Leave it out.",
            );
        }
    }
    let hours = !inputs.series.is_empty();
    if hours && args.rows.is_some() {
        wrong(
            "--series",
            "a flat table of rows tells neither its plans nor their hours",
            "Give plans and records, or leave the series out: the table's p_hindcast counts.",
        );
    }
    if hours && inputs.assemblies.is_none() {
        wrong(
            "--assemblies",
            "the list is needed to run the model on the hours that came",
            "Add --assemblies with the list of the plan.",
        );
    }
    if !hours && inputs.assemblies.is_some() {
        wrong(
            "--series",
            "the hours that came are needed to run the model on them",
            "Add --series with the station's record of the spell.",
        );
    }
    if faults.is_fatal() {
        Err(faults.into())
    } else {
        Ok(hours)
    }
}

fn rows(args: &Args, faults: &mut Faults) -> Result<(Vec<Row>, Spells), Failure> {
    let Some(path) = &args.rows else {
        let read = records::read_all(&args.plan, &args.record, faults)?;
        let contacts = match &args.log {
            Some(path) => records::contacts(&log_server::store(path, None, faults)?.list(&Filter::default())?),
            None => Contacts::new(),
        };
        return Ok(read.rows(&contacts, faults));
    };
    let bytes = file::read_whole(path)?;
    let name = file::shown(path);
    let (bytes, marks) = plain(&bytes, &name, &|cell| table::COLUMNS.contains(&cell))?;
    faults.append(marks);
    let (rows, mut told) = table::rows(&String::from_utf8_lossy(&bytes), &name);
    if told.worst() == Some(Severity::Fatal) {
        return Err(told.into());
    }
    faults.append(std::mem::take(&mut told));
    Ok((rows, Spells::new()))
}

fn language(tag: &str) -> Result<Language, Failure> {
    Language::ALL
        .iter()
        .copied()
        .find(|language| language.word() == tag)
        .ok_or_else(|| {
            Fault::new("BW-R08", Severity::Fatal, "this language is not known")
                .column("--language")
                .value(tag)
                .expected("en or es")
                .remedy("Choose one of them.")
                .into()
        })
}

fn read_config(path: &Path) -> Result<Config, Failure> {
    let bytes = file::read_whole(path)?;
    let (text, _) = file::text(&bytes, path);
    Ok(Config::from_toml(&text, &file::shown(path))?)
}
