//! `brimwater drip`.

use super::inputs::InputArgs;
use super::{Done, common, common::Common, common::Format};
use crate::drip::{AIR_RANGE_C, Account, Hazard, Heater, Sign, ToldRate, Water, When, Where, answer};
use crate::drip::{Behind, DeviceFacts};
use crate::faults::{Fault, Faults, Severity};
use crate::freeze::WhatIf;
use crate::inventory::{DeviceType, Language, NominalSize, Service};
use crate::plan::{Programme, Run};
use crate::units::{UnitError, UnitSystem, parse_power_w, parse_temperature_c, parse_volume_l};
use chrono::{DateTime, FixedOffset, Utc};
use std::collections::BTreeSet;

/// Arguments of `drip`.
#[derive(clap::Args)]
#[command(
    after_help = "Example: a small valve drips on a cold night, a cup in six minutes.\n  \
brimwater drip --where freeze-drip --rate \"1 cup in 6 min\" --when cold-nights --water cold --air \"24 F\"\n\n\
A planning aid: local code, the maker's instructions and licensed or certified people decide."
)]
pub struct Args {
    /// Where the water comes out: freeze-drip, relief-port, expansion-relief, heater-relief, canopy, test-cock, seam, ground, unsure.
    #[arg(long = "where", value_name = "PLACE", default_value = "unsure")]
    place: String,
    /// How much: "1 cup in 6 min", "20 drops/min", "0.5 gal/h", "steady stream", "none".
    #[arg(long, value_name = "RATE")]
    rate: Option<String>,
    /// When: cold-nights, heating, always, after-main-work, after-thaw, start-up, unsure.
    #[arg(long, default_value = "unsure")]
    when: String,
    /// How the water feels, as far as seen without touching: cold, warm, hot, scalding.
    #[arg(long)]
    water: Option<String>,
    /// Air temperature outside, such as "24 F" or "-4 C".
    #[arg(long, allow_hyphen_values = true, value_name = "TEMPERATURE")]
    air: Option<String>,
    /// It is a fire line.
    #[arg(long, conflicts_with = "not_fire")]
    fire: bool,
    /// Somebody who knows says that it is no fire line.
    #[arg(long)]
    not_fire: bool,
    /// A critical customer depends on it.
    #[arg(long)]
    critical: bool,
    /// What can hurt somebody now: flood, electric, steam, gas, person (several with commas).
    #[arg(long, value_delimiter = ',', value_name = "HAZARD")]
    hazard: Vec<String>,
    /// What else was noticed: ice, frost, after-test, covered, odd-water, no-water, owner-unknown, wrapped, tag-overdue,
    /// thawed-hot-water, thawed-flame (several with commas).
    #[arg(long, value_delimiter = ',', value_name = "SIGN")]
    also: Vec<String>,
    /// Kind of assembly when it is not looked up, as in the list: RP, RPZ, DC, PVB, ...
    #[arg(long)]
    device: Option<String>,
    /// Its nominal size, as in the list: 3/4, 1-1/2 in, 20 mm.
    #[arg(long)]
    size: Option<String>,
    /// What the line serves: domestic, irrigation, fire, process.
    #[arg(long)]
    service: Option<String>,
    /// Volume of the caller's water heater, such as "50 gal", when heating may be behind it.
    #[arg(long, value_name = "VOLUME")]
    heater: Option<String>,
    /// Its heat input, such as "40000 Btu/h" or "4.5 kW".
    #[arg(long, value_name = "POWER")]
    heat_input: Option<String>,
    /// Cold supply to it.
    #[arg(long, value_name = "TEMPERATURE")]
    cold: Option<String>,
    /// Hot storage in it.
    #[arg(long, value_name = "TEMPERATURE")]
    hot: Option<String>,
    /// The assembly on file; needs --assemblies. With --series the freeze model says what it expected.
    #[arg(long, requires = "assemblies", value_name = "ID")]
    id: Option<String>,
    #[command(flatten)]
    input: InputArgs,
    /// Time of the call, such as 2026-01-15T21:30:00-06:00; now when left out.
    #[arg(long, value_name = "TIME")]
    now: Option<DateTime<FixedOffset>>,
    /// Language of the answer: en, es.
    #[arg(long, visible_alias = "lang", default_value = "en")]
    language: String,
}

/// A reader of one quantity.
type Parse = fn(&str, UnitSystem) -> Result<f64, UnitError>;

/// Runs `drip`.
pub fn run(args: Args, common: &Common) -> Done {
    let system = common.system();
    let mut faults = Faults::new();
    let mut danger = Faults::new();
    let mut account = Account {
        place: word(
            "where",
            &args.place,
            Where::parse,
            Where::ALL.iter().map(|each| each.word()),
            &mut faults,
        )
        .unwrap_or(Where::Unsure),
        when: word(
            "when",
            &args.when,
            When::parse,
            When::ALL.iter().map(|each| each.word()),
            &mut faults,
        )
        .unwrap_or(When::Unsure),
        critical: args.critical,
        fire: if args.fire {
            Some(true)
        } else {
            args.not_fire.then_some(false)
        },
        ..Account::default()
    };
    account.water = args.water.as_ref().and_then(|text| {
        word(
            "water",
            text,
            Water::parse,
            Water::ALL.iter().map(|each| each.word()),
            &mut faults,
        )
    });
    account.hazards = set(
        "hazard",
        &args.hazard,
        Hazard::parse,
        Hazard::ALL.iter().map(|each| each.word()),
        &mut danger,
    );
    account.signs = set(
        "also",
        &args.also,
        Sign::parse,
        Sign::ALL.iter().map(|each| each.word()),
        &mut faults,
    );
    if let Some(text) = &args.rate {
        match ToldRate::parse(text, system) {
            Ok(rate) => account.rate = Some(rate),
            Err(error) => faults.push(
                Fault::new("BW-D10", Severity::Fatal, format!("--rate: {}", error.problem))
                    .value(text)
                    .expected(error.expected()),
            ),
        }
    }
    if let Some(text) = &args.air {
        match parse_temperature_c(text, system) {
            Ok(air_c) if (AIR_RANGE_C[0]..=AIR_RANGE_C[1]).contains(&air_c) => account.air_c = Some(air_c),
            Ok(_) => faults.push(
                Fault::new("BW-D11", Severity::Fatal, "--air: no place people live in has such air")
                    .value(text)
                    .expected(format!("{} to {} °C", AIR_RANGE_C[0], AIR_RANGE_C[1])),
            ),
            Err(error) => faults.push(
                Fault::new("BW-D11", Severity::Fatal, format!("--air: {}", error.problem))
                    .value(text)
                    .expected(error.expected()),
            ),
        }
    }
    {
        let mut read = |option: &str, text: &Option<String>, parse: Parse| {
            let text = text.as_ref()?;
            match parse(text, system) {
                Ok(value) => Some(value),
                Err(error) => {
                    faults.push(
                        Fault::new("BW-D14", Severity::Fatal, format!("--{option}: {}", error.problem))
                            .value(text)
                            .expected(error.expected()),
                    );
                    None
                }
            }
        };
        account.heater = Heater {
            volume_l: read("heater", &args.heater, parse_volume_l),
            heat_input_w: read("heat-input", &args.heat_input, parse_power_w),
            cold_c: read("cold", &args.cold, parse_temperature_c),
            hot_c: read("hot", &args.hot, parse_temperature_c),
        };
    }
    let device_words = DeviceType::ALL.iter().map(|each| each.word());
    account.device.device_type = args
        .device
        .as_ref()
        .and_then(|text| word("device", text, device_type, device_words, &mut faults));
    account.device.size = args.size.as_ref().and_then(|text| {
        word(
            "size",
            text,
            nominal_size,
            NominalSize::ALL.iter().map(|each| each.word()),
            &mut faults,
        )
    });
    account.device.service = args.service.as_ref().and_then(|text| {
        let parse = |text: &str| {
            Service::ALL
                .iter()
                .copied()
                .find(|each| each.word() == text.trim().to_ascii_lowercase())
        };
        word(
            "service",
            text,
            parse,
            Service::ALL.iter().map(|each| each.word()),
            &mut faults,
        )
    });
    let language = match args.language.trim() {
        "en" => Language::English,
        "es" => Language::Spanish,
        other => {
            faults.push(
                Fault::new("BW-D12", Severity::Fatal, "--language is not known")
                    .value(other)
                    .expected("en or es"),
            );
            Language::English
        }
    };
    // Whoever is in danger is answered whatever else cannot be read, as at the desk; a danger that cannot be read is asked about again.
    if !account.hazards.is_empty() && !danger.is_fatal() {
        for fault in faults.0.iter_mut().filter(|fault| fault.severity > Severity::Warning) {
            fault.severity = Severity::Warning;
            fault.remedy = "It was set aside: the danger is answered first.".into();
        }
    }
    faults.append(danger);
    if faults.is_fatal() {
        return Err(faults.into());
    }
    let programme = Programme::read(&args.input.files()?);
    let loaded = &programme.loaded;
    faults.append(loaded.faults.clone());
    faults.append(loaded.config.drip.check());
    if faults.is_fatal() {
        return Err(faults.into());
    }
    if let Some(id) = &args.id {
        let now = args.now.map(|time| time.with_timezone(&Utc));
        faults.append(look_up(id, &programme, now, &mut account)?);
    }
    let answer = answer(&account, &loaded.config.drip, system);
    let text = match common.format {
        Format::Json => format!("{:#}\n", crate::output::drip::json(&answer, language)),
        Format::Table => crate::output::drip::text(&answer, language, system),
        Format::Csv => crate::output::drip::csv(&answer, language)
            .map_err(|error| Fault::new("BW-O04", Severity::Fatal, format!("CSV cannot be written: {error}")))?,
    };
    common.tell(&faults);
    common::print(&text)?;
    Ok(faults.exit_status())
}

/// Fills the account from the assembly on file and, with a series, from the freeze model.
///
/// What comes back are the warnings of stale weather.
fn look_up(
    id: &str,
    programme: &Programme,
    now: Option<DateTime<Utc>>,
    account: &mut Account,
) -> Result<Faults, Fault> {
    let loaded = &programme.loaded;
    let found = loaded
        .inventory
        .assemblies
        .iter()
        .position(|each| each.assembly_id == id.trim());
    let Some((at, assembly)) = found.and_then(|at| Some((at, loaded.inventory.assemblies.get(at)?))) else {
        return Err(Fault::new("BW-D13", Severity::Fatal, "no assembly has this identifier")
            .value(id)
            .expected("an assembly_id of the list")
            .remedy("Look it up in the list, or leave --id out and tell --device and --size."));
    };
    // What was typed goes before what is on file.
    let filed = DeviceFacts::of(assembly);
    account.device = DeviceFacts {
        device_type: account.device.device_type.or(filed.device_type),
        size: account.device.size.or(filed.size),
        service: account.device.service.or(filed.service),
        ..filed
    };
    account.critical |= assembly.critical.is_some();
    let site = programme.site(at);
    let series = site.and_then(|site| loaded.series.get(site.place.series));
    let (Some(site), Some(series)) = (site, series) else {
        return Ok(Faults::new());
    };
    let (stand, told) = programme.stand(now);
    let run = Run {
        members: MEMBERS,
        seed: SEED,
        what_if: WhatIf::AsListed,
        advice_cases: 0,
        trace: true,
    };
    let (outlooks, _) = run.outlooks(programme, &[site.place], stand, &|_| {});
    account.behind = Behind::of(
        series,
        site.place.offset_k,
        outlooks.first().map(AsRef::as_ref).filter(|_| assembly.freeze_drip),
        // The call is at the clock's time, whatever the forecast says.
        now.unwrap_or_else(Utc::now),
    );
    Ok(told)
}

/// Members and seed of the run behind one call; the edges of the flow settle with few members (judgement).
const MEMBERS: usize = 64;
const SEED: u64 = 1;

fn word<T>(
    option: &str,
    text: &str,
    parse: impl Fn(&str) -> Option<T>,
    words: impl Iterator<Item = &'static str>,
    faults: &mut Faults,
) -> Option<T> {
    let value = parse(text);
    if value.is_none() {
        faults.push(
            Fault::new("BW-D12", Severity::Fatal, format!("--{option} is not known"))
                .value(text)
                .expected(format!("one of {}", words.collect::<Vec<_>>().join(", "))),
        );
    }
    value
}

fn set<T: Ord>(
    option: &str,
    texts: &[String],
    parse: impl Fn(&str) -> Option<T>,
    words: impl Iterator<Item = &'static str> + Clone,
    faults: &mut Faults,
) -> BTreeSet<T> {
    texts
        .iter()
        .flat_map(|text| text.split([',', ';']))
        .filter(|text| !text.trim().is_empty())
        .filter_map(|text| word(option, text, &parse, words.clone(), faults))
        .collect()
}

/// As the inventory reads it, so that a list and the phone take the same words; an unknown word is refused here.
fn device_type(text: &str) -> Option<DeviceType> {
    let read = crate::inventory::parse::device_type(text).ok().flatten()?;
    Some(read.device_type)
}

fn nominal_size(text: &str) -> Option<NominalSize> {
    let read = crate::inventory::parse::nominal_size(text).ok().flatten()?;
    Some(read.size)
}
