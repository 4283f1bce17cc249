//! One file a command: typed-in arguments to validated jobs, then a call into the library.

mod check;
pub mod common;
mod config;
mod cooldown;
mod demo;
mod demo_winters;
mod desk;
mod desk_follow;
mod drip;
mod expansion;
mod expansion_catalogue;
mod expansion_climate;
mod expansion_lists;
mod expansion_reading;
mod expansion_readings;
mod expansion_table;
pub mod inputs;
mod log;
mod log_import;
mod log_next;
mod log_server;
mod log_shown;
mod plan;
mod plan_contacts;
mod plan_inputs;
mod plan_reports;
mod review;
mod review_curves;
mod review_hours;
mod season;
mod season_cache;
mod season_inputs;
mod season_programme;
mod secret;
mod show;
mod signals;
mod watch;
mod weather;
mod weather_fetch;
mod weather_replay;

use clap::{CommandFactory, Parser, Subcommand};
use common::{Common, Failure};
use std::ffi::OsString;
use std::process::ExitCode;

#[derive(Parser)]
#[command(name = "brimwater", version, about = "Freeze and thermal-expansion advice for plumbing behind backflow prevention assemblies", after_help = crate::PLANNING_AID)]
struct Cli {
    #[command(flatten)]
    common: Common,
    #[command(subcommand)]
    command: Command,
}

#[derive(Subcommand)]
enum Command {
    /// Write the invented demonstration programme.
    Demo(demo::Args),
    /// Read everything, tell every problem, write nothing.
    Check(check::Args),
    /// The main job: ranking, contacts, map, charts, report.
    Plan(plan::Args),
    /// One assembly in full: parts, hour by hour, what would protect it.
    Show(show::Args),
    /// How long one pipe or assembly lasts in constant conditions.
    Cooldown(cooldown::Args),
    /// Size or check expansion protection of one system, or of many.
    Expansion(Box<expansion::Args>),
    /// Answer one drip question.
    Drip(drip::Args),
    /// Get a forecast, see a series, cold extremes, coldest supply water.
    Weather(weather::Args),
    /// Before the season: where protection money does most good.
    Season(season::Args),
    /// Was the list any good: records of what was found against what the plan said.
    Review(Box<review::Args>),
    /// Record what came of a contact.
    Log(log::Args),
    /// Local web pages for the phone desk, plumbers and planners.
    Desk(desk::Args),
    /// Every key of the config file: default, unit, range, meaning.
    Config(config::Args),
    /// Plan again at intervals, and tell people when something that matters has changed.
    Watch(watch::Args),
    /// Completion script for a shell.
    Completions {
        /// The shell.
        shell: clap_complete::Shell,
    },
}

/// Parses the command line, runs the command, and returns the exit status of the interface.
pub fn main() -> ExitCode {
    run(std::env::args_os())
}

/// The same for these words, the name of the program first.
pub fn run(words: impl IntoIterator<Item = OsString>) -> ExitCode {
    let cli = match Cli::try_parse_from(words) {
        Ok(cli) => cli,
        Err(error) => {
            let _ = error.print();
            return ExitCode::from(if error.use_stderr() { 2 } else { 0 });
        }
    };
    let common = &cli.common;
    // The desk answers its open requests before it stops.
    if !matches!(cli.command, Command::Desk(_)) {
        signals::clear_up_when_stopped();
    }
    let done = match cli.command {
        Command::Demo(args) => demo::run(args, common),
        Command::Check(args) => check::run(args, common),
        Command::Plan(args) => plan::run(args, common),
        Command::Show(args) => show::run(args, common),
        Command::Cooldown(args) => cooldown::run(args, common),
        Command::Expansion(args) => expansion::run(*args, common),
        Command::Drip(args) => drip::run(args, common),
        Command::Weather(args) => weather::run(args, common),
        Command::Season(args) => season::run(args, common),
        Command::Review(args) => review::run(*args, common),
        Command::Log(args) => log::run(args, common),
        Command::Desk(args) => desk::run(args, common),
        Command::Config(args) => config::run(&args, common),
        Command::Watch(args) => watch::run(args, common),
        Command::Completions { shell } => {
            let mut script = Vec::new();
            clap_complete::generate(shell, &mut Cli::command(), "brimwater", &mut script);
            common::print(&String::from_utf8_lossy(&script))
        }
    };
    match done {
        Ok(status) => ExitCode::from(status),
        Err(failure) => {
            failure.report();
            ExitCode::from(2)
        }
    }
}

/// The whole command-line definition, for completions and tests.
pub fn command() -> clap::Command {
    Cli::command()
}

type Done = Result<u8, Failure>;
