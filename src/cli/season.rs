//! `brimwater season`: before the season, where protection money does most good.

use super::Done;
use super::common::{self, Common, Failure, Format};
use super::season_programme::{self, ProgrammeArgs};
use crate::faults::{Fault, Faults, Severity};
use crate::input::file::{read_whole, shown};
use crate::input::plain;
use crate::output::charts::Form;
use crate::output::safe::target::{Make, Target, may_write};
use crate::output::{charts_season, season as out};
use crate::season::answer::{self, Answer};
use crate::season::choice::Rule;
use crate::season::choices_table;
use std::path::{Path, PathBuf};

/// Arguments of `season`.
#[derive(clap::Args)]
#[command(
    after_help = "Examples:\n  brimwater season --assemblies assemblies.csv --record station.dly --budget 20000 --out offers-autumn\n  \
brimwater season --choices choices.csv --budget 20000 --floor 0.95 --critical-first\n\n\
The first weighs every assembly with each measure through the winters of its station and writes offers.csv, season.json, curve.csv, \
curve.svg, map.geojson, manager.html, council.html, choices.csv, rejects.csv and personal/letters.csv. Exit status 0: all input was used; \
1: done, but rows were set aside or the record is short or gappy; 2: not done."
)]
pub struct Args {
    /// A flat table to choose from: assembly_id, district, critical, cost_<measure> and benefit_<measure> for each.
    #[arg(long, value_name = "FILE")]
    choices: Option<PathBuf>,
    #[command(flatten)]
    pub programme: ProgrammeArgs,
    /// Money there is, US dollars.
    #[arg(long, value_name = "USD", allow_hyphen_values = true)]
    budget: String,
    /// Each district gets at least this share of its part of the money, 0 to 1.
    #[arg(long, value_name = "SHARE", allow_hyphen_values = true)]
    floor: Option<f64>,
    /// Each customer class gets at least this share of its part of the money, 0 to 1.
    #[arg(long, value_name = "SHARE", allow_hyphen_values = true)]
    class_floor: Option<f64>,
    /// Every critical assembly gets something.
    #[arg(long)]
    critical_first: bool,
    /// Draw the curve of loss avoided against budget into this SVG file.
    #[arg(long, value_name = "FILE.svg")]
    chart: Option<PathBuf>,
    /// Lines of the table on the terminal.
    #[arg(long, value_name = "N", default_value_t = 20)]
    pub top: usize,
}

/// Runs `season`.
pub fn run(args: Args, common: &Common) -> Done {
    let mut faults = Faults::new();
    let budget = answer::budget(&args.budget)
        .map_err(|fault| faults.push(fault))
        .unwrap_or(0);
    let rules = rules(&args, &mut faults);
    let inputs: Vec<&Path> = args.choices.iter().map(PathBuf::as_path).collect();
    let chart: Vec<Target<'_>> = chart(&args).into_iter().collect();
    if let Err(told) = may_write(&chart, &inputs, common.force) {
        faults.append(told);
    }
    match &args.choices {
        Some(file) => from_table(file, budget, &rules, faults, &args, common),
        None => season_programme::run(&args, budget, &rules, faults, common),
    }
}

fn chart(args: &Args) -> Option<Target<'_>> {
    args.chart
        .as_deref()
        .map(|path| Target::new("--chart", path, Make::Markup))
}

fn rules(args: &Args, faults: &mut Faults) -> Vec<Rule> {
    let mut rules = Vec::new();
    let mut floor =
        |name, share: Option<f64>, rule: fn(f64) -> Rule| match share.map(|share| answer::floor(name, share)) {
            Some(Ok(share)) => rules.push(rule(share)),
            Some(Err(fault)) => faults.push(fault),
            None => {}
        };
    floor("--floor", args.floor, Rule::DistrictFloor);
    floor("--class-floor", args.class_floor, Rule::ClassFloor);
    if args.critical_first {
        rules.push(Rule::CriticalFirst);
    }
    rules
}

fn from_table(file: &Path, budget: u64, rules: &[Rule], mut faults: Faults, args: &Args, common: &Common) -> Done {
    let bytes = match read_whole(file) {
        Ok(bytes) => bytes,
        Err(fault) => {
            faults.push(fault);
            return Err(faults.into());
        }
    };
    let name = shown(file);
    let known = |cell: &str| cell == "assembly_id" || cell.starts_with("cost_") || cell.starts_with("benefit_");
    let (bytes, marks) = match plain(&bytes, &name, &known) {
        Ok(plain) => plain,
        Err(fault) => {
            faults.push(fault);
            return Err(faults.into());
        }
    };
    faults.append(marks);
    let (table, told) = choices_table::read(&bytes, &name);
    faults.append(told);
    if faults.is_fatal() {
        return Err(faults.into());
    }
    let (answer, told) = Answer::of(table.measures, table.items, budget, rules)?;
    faults.append(told);
    if let Some(chart) = chart(args) {
        let svg = charts_season::curve(&answer, Form::Wide).map_err(|error| {
            Failure::one(Fault::new("BW-O10", Severity::Fatal, error.to_string()).file(shown(chart.path)))
        })?;
        chart.write(svg.as_bytes())?;
    }
    tell(&answer, &faults, args.top, common)
}

fn tell(answer: &Answer, faults: &Faults, top: usize, common: &Common) -> Done {
    let text = match common.format {
        Format::Json => serde_json::to_string_pretty(&out::json(answer)).unwrap_or_default() + "\n",
        Format::Csv => out::chosen_csv(answer),
        Format::Table => out::table(answer, top),
    };
    common::print(&text)?;
    common.tell(faults);
    Ok(faults.exit_status())
}
