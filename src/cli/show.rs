//! `brimwater show`: one assembly in full.

use super::common::{Common, Failure, Format, Units, print};
use super::{Done, inputs::InputArgs, plan, plan_inputs};
use crate::faults::{Fault, Faults, Severity};
use crate::freeze::detail::{Detail, detail};
use crate::freeze::{Outlook, WhatIf};
use crate::input::load::Loaded;
use crate::inventory::Assembly;
use crate::output::plan::Plan;
use crate::output::show_json;
use crate::output::table::{plain, trimmed};
use crate::plan::{Plan as Found, Programme, Run};
use crate::ranking::reason::{advice_words, percent, what_it_is};
use crate::ranking::{Ranked, Words};
use chrono::{DateTime, Utc};
use std::fmt::Write;
use std::sync::Arc;

/// Arguments of `show`.
#[derive(clap::Args, Debug, Clone)]
#[command(
    after_help = "Example:\n  brimwater show A-0042 --assemblies assemblies.csv --series forecast.csv\n  \
    brimwater show A-0042 --assemblies assemblies.csv --series forecast.csv --network --format json\n\n\
    The odds come from the ensemble; --network adds the parts and every step of the cautious run (ice at 32 °F), with all \
    coefficients, enough to integrate it again with another method."
)]
pub struct Args {
    /// Identifier of the assembly.
    id: String,
    #[command(flatten)]
    inputs: InputArgs,
    /// Members of the ensemble; 1 is the cautious run alone.
    #[arg(long, value_name = "N", default_value_t = 256)]
    members: usize,
    /// Seed of the ensemble.
    #[arg(long, value_name = "S", default_value_t = 1)]
    seed: u64,
    /// The time from which it looks ahead; the clock's when left out.
    #[arg(long, value_name = "TIME")]
    now: Option<String>,
    /// A case that differs from the listed one.
    #[arg(long, value_name = "CASE", value_enum)]
    what_if: Option<plan::CaseName>,
    /// Parts, and every step of the cautious run.
    #[arg(long)]
    network: bool,
}

/// What was read and found for one assembly.
struct Shown {
    assembly: Assembly,
    loaded: Loaded,
    outlook: Arc<Outlook>,
    detail: Option<Detail>,
    ranked: Vec<Ranked>,
    words: Words,
    now: DateTime<Utc>,
    issued: Option<DateTime<Utc>>,
    series: usize,
    what_if: &'static str,
    stats: crate::freeze::RunStats,
}

/// Runs `show`.
pub fn run(args: Args, common: &Common) -> Done {
    let shown = find(&args, common)?;
    common.tell(&shown.loaded.faults);
    let outlooks = [Arc::clone(&shown.outlook)];
    let plan = Plan {
        assemblies: std::slice::from_ref(&shown.assembly),
        outlooks: &outlooks,
        series_of: &[shown.series],
        ranked: &shown.ranked,
        series: &shown.loaded.series,
        words: shown.words,
        now: shown.now,
        forecast_issued: shown.issued,
        window: (shown.outlook.window_start, shown.outlook.window_end),
        members: shown.outlook.members,
        seed: args.seed,
        what_if: shown.what_if,
        joins: &[],
        keepers: &[],
        over: false,
        rejected: 0,
        stats: shown.stats.clone(),
        total: None,
        faults: &shown.loaded.faults,
    };
    let text = match common.format {
        Format::Json => {
            show_json::text(&plan, &shown.assembly, &shown.outlook, shown.detail.as_ref()).map_err(unwritten)?
        }
        Format::Csv => show_json::hours_csv(&shown.outlook).map_err(unwritten)?,
        Format::Table => table(&plan, &shown),
    };
    print(&text)?;
    Ok(shown.loaded.faults.exit_status())
}

fn unwritten(error: std::io::Error) -> Failure {
    Failure::one(Fault::new(
        "BW-O04",
        Severity::Fatal,
        format!("the answer cannot be written: {error}"),
    ))
}

fn find(args: &Args, common: &Common) -> Result<Shown, Failure> {
    let mut faults = Faults::new();
    for (option, given) in [
        ("--assemblies", args.inputs.assemblies.is_some()),
        ("--series", !args.inputs.series.is_empty()),
    ] {
        if !given {
            faults.push(
                Fault::new("BW-P01", Severity::Fatal, format!("{option} is needed"))
                    .column(option)
                    .remedy(format!("Add {option}; see brimwater show --help.")),
            );
        }
    }
    if faults.is_fatal() {
        return Err(faults.into());
    }
    let mut programme = Programme::read(&args.inputs.files()?);
    let zone = programme.zone;
    let told = args
        .now
        .as_deref()
        .map(|text| plan_inputs::moment(text, zone))
        .transpose()?;
    if programme.loaded.faults.is_fatal() {
        return Err(Failure(programme.loaded.faults));
    }
    let (stand, told_faults) = programme.stand(told);
    programme.loaded.faults.append(told_faults);
    let loaded = &programme.loaded;
    let at = loaded
        .inventory
        .assemblies
        .iter()
        .position(|a| a.assembly_id.trim() == args.id.trim());
    let Some(at) = at else {
        return Err(no_such(&args.id, loaded).into());
    };
    let assembly = loaded.inventory.assemblies[at].clone();
    let Some(site) = programme.site(at) else {
        return Err(
            Fault::new("BW-S16", Severity::Fatal, "no series can be chosen for this assembly")
                .value(&assembly.assembly_id)
                .expected("coordinates, or a station_id that a series has")
                .remedy("Complete the row.")
                .into(),
        );
    };
    let words = Words {
        zone,
        us: common.units == Units::Us,
        language: crate::language::Language::English,
    };
    let run = Run {
        members: args.members.clamp(1, 65_536),
        seed: args.seed,
        what_if: args.what_if.map_or(WhatIf::AsListed, plan::CaseName::what_if),
        advice_cases: 1,
        trace: true,
    };
    let found = Found::find(&programme, &[site], stand, &run, &words, &|_| {}).ok_or_else(not_answered)?;
    let mut found = found.into_owned();
    let outlook = found.outlooks.pop().ok_or_else(not_answered)?;
    let outlook = run.with_band(&programme, site.place, stand, outlook);
    let config = &loaded.config;
    let detail = if args.network {
        let options = run.options(programme.zone, stand);
        detail(&site.place, &loaded.series, &options, &config.freeze, &config.ensemble)
    } else {
        None
    };
    let series = site.place.series;
    let mut loaded = programme.loaded;
    // What is wrong with other rows is not this question's.
    loaded
        .faults
        .0
        .retain(|fault| fault.line.is_none_or(|line| line == assembly.line) || !fault.code.starts_with("BW-A"));
    Ok(Shown {
        series,
        what_if: args.what_if.map_or("", plan::CaseName::words),
        assembly,
        loaded,
        outlook,
        detail,
        ranked: found.ranked,
        words,
        now: stand.now,
        issued: stand.issued,
        stats: found.stats,
    })
}

fn not_answered() -> Fault {
    Fault::new(
        "BW-P09",
        Severity::Fatal,
        "the freeze model did not answer for every assembly",
    )
}

fn no_such(id: &str, loaded: &Loaded) -> Fault {
    let rejected = loaded
        .inventory
        .rejects
        .iter()
        .any(|reject| reject.record.iter().any(|cell| cell.trim() == id.trim()));
    let near = loaded
        .inventory
        .assemblies
        .iter()
        .map(|a| (strsim::damerau_levenshtein(&a.assembly_id, id), a.assembly_id.as_str()))
        .min()
        .filter(|(distance, _)| *distance <= 3);
    let fault = Fault::new("BW-P14", Severity::Fatal, "no assembly has this identifier")
        .column("assembly_id")
        .value(id);
    match near {
        _ if rejected => fault.remedy("A row with it was set aside: run brimwater check to see why."),
        Some((_, name)) => fault.remedy(format!("Did you mean {name}?")),
        None => fault.remedy("Look it up in the list."),
    }
}

fn table(plan: &Plan<'_>, shown: &Shown) -> String {
    let (a, o, words) = (&shown.assembly, &*shown.outlook, &shown.words);
    let mut text = String::new();
    let _ = writeln!(text, "{}: {}", a.assembly_id, what_it_is(a, words.language));
    if let Some(line) = shown.ranked.first() {
        let _ = writeln!(text, "{}. {}", line.tier.words(), line.reason);
    }
    if !a.assumed.is_empty() {
        let blanks: Vec<String> = a.assumed.iter().map(|x| format!("{} ({})", x.field, x.used)).collect();
        let _ = writeln!(text, "assumed where the list is blank: {}", blanks.join(", "));
    }
    let _ = writeln!(
        text,
        "\nweather station {}, {} to {}, times in {}",
        plan.station(0),
        words.moment(o.window_start),
        words.moment(o.window_end),
        words.zone
    );
    let when = |t: Option<DateTime<Utc>>| t.map_or("no ice".to_owned(), |t| words.moment(t));
    let chance = |p: Option<f64>| p.map_or("not computed".to_owned(), percent);
    let _ = writeln!(
        text,
        "lowest air {}, {:.0} h below freezing; coldest water {} (10 %), {} (median)",
        words.temperature(o.min_air_c),
        o.hours_air_below_0c,
        words.temperature(o.coldest_water_c.p10),
        words.temperature(o.coldest_water_c.p50)
    );
    let _ = writeln!(
        text,
        "chance of ice {}, of blockage {}, of damage {}{}",
        chance(o.p_ice),
        chance(o.p_blocked),
        chance(o.p_damage),
        o.p_damage_judged.map_or(String::new(), |(low, high)| format!(
            " ({} to {} by other judgement of what nobody has measured)",
            percent(low),
            percent(high)
        ))
    );
    let _ = writeln!(
        text,
        "first ice: early edge {}, median {}{}",
        when(o.first_ice.p10),
        when(o.first_ice.p50),
        o.first_part.map_or(String::new(), |part| format!(", in the {part}"))
    );
    let mut parts = plain();
    parts.set_header(["part", "ice", "damage", "repair"]);
    for part in &o.parts {
        parts.add_row([
            part.name.to_owned(),
            format!("{:.0} %", 100.0 * part.ice_fraction),
            part.p_damage.map_or(
                if part.strained {
                    "strained".into()
                } else {
                    "holds".into()
                },
                percent,
            ),
            format!("${:.0}", part.repair_usd),
        ]);
    }
    let _ = writeln!(text, "\n{}", trimmed(&parts.to_string()));
    if let Some(trace) = &o.trace {
        text += &hours(plan, trace, words);
    }
    if o.advice.is_empty() {
        let _ = writeln!(text, "\nNothing needs doing for this spell.");
    } else {
        let _ = writeln!(text, "\nwhat would protect it");
        for advice in &o.advice {
            let _ = writeln!(
                text,
                "  {} {}: {}",
                if advice.enough { "enough    " } else { "not enough" },
                advice.measure.word().replace('_', " "),
                advice.detail
            );
            if advice.enough && !words.us {
                let _ = writeln!(text, "             {}", advice_words(advice, words));
            }
        }
    }
    let _ = writeln!(text, "\n{}", crate::PLANNING_AID);
    text
}

/// Every third hour of the cold.
fn hours(plan: &Plan<'_>, trace: &crate::freeze::Trace, words: &Words) -> String {
    let mut table = plain();
    table.set_header([
        "time",
        "air",
        "coldest water (10 / 50 / 90 %)",
        "ice by then",
        "damage by then",
        "drip",
    ]);
    let cold = |hour: usize| {
        trace.coldest_water_c.get(hour).is_some_and(|w| w[0] < 4.0) || trace.air_c.get(hour).is_some_and(|a| *a < 2.0)
    };
    let mut rows = 0;
    for hour in (0..trace.air_c.len()).step_by(3).filter(|hour| cold(*hour)) {
        let time = plan.window.0 + chrono::TimeDelta::hours(hour as i64);
        let water = trace.coldest_water_c.get(hour).copied().unwrap_or_default();
        table.add_row([
            words.moment(time),
            words.temperature(trace.air_c[hour]),
            water.map(|w| words.temperature(w)).join(" / "),
            trace.p_ice_by.get(hour).map_or(String::new(), |p| percent(*p)),
            trace.p_damage_by.get(hour).map_or(String::new(), |p| percent(*p)),
            trace
                .drip_l
                .get(hour)
                .filter(|d| d[2] > 0.0)
                .map_or(String::new(), |d| {
                    crate::units::show_volume(
                        d[1],
                        if words.us {
                            crate::units::UnitSystem::Us
                        } else {
                            crate::units::UnitSystem::Si
                        },
                    )
                }),
        ]);
        rows += 1;
    }
    if rows == 0 {
        String::new()
    } else {
        format!("\n{}\n", trimmed(&table.to_string()))
    }
}
