//! `brimwater cooldown`: how long one pipe or one assembly lasts in constant conditions.

use super::Done;
use super::common::{Common, Failure, Format, print};
use crate::faults::{Fault, Faults, Severity};
use crate::freeze::config::FreezeConfig;
use crate::freeze::cooldown::{Conditions, Cooldown, Subject, cooldown};
use crate::inventory::{Assembly, NominalSize, defaults, parse};
use crate::physics::pipe::{Pipe, PipeKind, pipe};
use crate::units::{self, UnitError, UnitSystem, show_film, show_temperature};
use serde::Serialize;

/// Arguments of `cooldown`.
#[derive(clap::Args, Debug)]
#[command(
    after_help = "Example: a 2 in steel pipe under 1.5 in of insulation, water at 42 °F, air at 20 °F, insulation alone:\n  \
    brimwater cooldown --pipe steel-40 --size 2 --air \"20 F\" --start \"42 F\" \\\n    --insulation \"1.5 in\" --insulation-k \"0.30 Btu in/h ft2 F\" --ground none --no-film --no-metal\n\
    A 1 in reduced pressure assembly in wind:\n  brimwater cooldown --device RP --size 1 --air \"20 F\" --wind \"5 mph\"\n\n\
    Reaching 32 °F is not yet damage, and not reaching it here is no promise: sites, wind and water differ."
)]
pub struct Args {
    /// Kind of assembly: RP, RPDA, DC, DCDA, PVB, SVB, AVB.
    #[arg(long, value_name = "TYPE", conflicts_with = "pipe")]
    device: Option<String>,
    /// Kind of pipe: copper-L, copper-M, copper-K, steel-40, pvc-40, ductile-iron, brass, cpvc-sdr11, pex-sdr9.
    #[arg(long, value_name = "KIND")]
    pipe: Option<String>,
    /// Nominal size, such as 3/4 or 2.
    #[arg(long)]
    size: String,
    /// Length of the pipe [default: 1 m]; matters only with ground at its ends.
    #[arg(long)]
    length: Option<String>,
    /// Height of the assembly's centreline above grade.
    #[arg(long)]
    height: Option<String>,
    /// Air temperature.
    #[arg(long, allow_hyphen_values = true)]
    air: String,
    /// Water temperature at the start [default: 50 °F].
    #[arg(long, allow_hyphen_values = true)]
    start: Option<String>,
    /// Wind at the part [default: calm].
    #[arg(long, allow_hyphen_values = true)]
    wind: Option<String>,
    /// Outside coefficient that replaces convection and radiation, such as "20 W/m2K".
    #[arg(long, allow_hyphen_values = true)]
    film: Option<String>,
    /// Thickness of insulation around it.
    #[arg(long)]
    insulation: Option<String>,
    /// Conductivity of the insulation [default: 0.30 Btu in/h ft2 F].
    #[arg(long)]
    insulation_k: Option<String>,
    /// R-value of a wrap around it, in place of a thickness.
    #[arg(long, conflicts_with = "insulation")]
    wrap_r: Option<String>,
    /// Ground temperature at the foot, or `none` [default: none].
    #[arg(long, allow_hyphen_values = true)]
    ground: Option<String>,
    /// Temperature at which ice starts [default: 0 °C, the cautious edge].
    #[arg(long, allow_hyphen_values = true)]
    nucleation: Option<String>,
    /// Ignore the heat capacity of the metal.
    #[arg(long)]
    no_metal: bool,
    /// Insulation alone without an air film, as the handbook's table.
    #[arg(long)]
    no_film: bool,
}

/// What was typed, checked.
struct Job {
    subject: Typed,
    name: String,
    conditions: Conditions,
}

enum Typed {
    Pipe(Pipe, f64),
    Assembly(Box<Assembly>),
}

/// Runs `cooldown`.
pub fn run(args: Args, common: &Common) -> Done {
    let job = job(&args, common.system())?;
    let subject = match &job.subject {
        Typed::Pipe(pipe, length_m) => Subject::Pipe {
            pipe: *pipe,
            length_m: *length_m,
        },
        Typed::Assembly(assembly) => Subject::Assembly(assembly),
    };
    let answer = cooldown(&subject, &job.conditions, &FreezeConfig::default());
    match common.format {
        Format::Json => print(&json(&answer)?),
        Format::Csv => print(&csv(&answer)?),
        Format::Table => print(&table(&job, &answer, common.system())),
    }
}

fn job(args: &Args, system: UnitSystem) -> Result<Job, Failure> {
    let mut faults = Faults::new();
    let mut unit = |option: &str, told: Result<f64, UnitError>| match told {
        Ok(value) => Some(value),
        Err(error) => {
            faults.push(
                Fault::new("BW-F01", Severity::Fatal, error.problem.to_string())
                    .column(option)
                    .value(&error.text)
                    .expected(error.expected())
                    .remedy("Correct the value; give its unit if in doubt."),
            );
            None
        }
    };
    let optional = |text: &Option<String>| text.clone();
    let air_c = unit("--air", units::parse_temperature_c(&args.air, system));
    let start_c = match optional(&args.start) {
        Some(text) => unit("--start", units::parse_temperature_c(&text, system)),
        None => Some(units::c_from_f(50.0)),
    };
    let wind_m_s = match optional(&args.wind) {
        Some(text) => unit("--wind", units::parse_wind_m_s(&text, system)),
        None => Some(0.0),
    };
    let film_w_m2k = match optional(&args.film) {
        Some(text) => unit("--film", units::parse_film_w_m2k(&text, system)),
        None => None,
    };
    let k = match optional(&args.insulation_k) {
        Some(text) => unit("--insulation-k", units::parse_conductivity_w_mk(&text, system)),
        None => units::parse_conductivity_w_mk("0.30 Btu in/h ft2 F", system).ok(),
    };
    let insulation = match optional(&args.insulation) {
        Some(text) => unit("--insulation", units::parse_small_length_m(&text, system)).zip(k),
        None => None,
    };
    let wrap = match optional(&args.wrap_r) {
        Some(text) => unit("--wrap-r", units::parse_r_value_m2k_per_w(&text, system)),
        None => Some(0.0),
    };
    let ground_c = match optional(&args.ground) {
        Some(text) if !text.trim().eq_ignore_ascii_case("none") => {
            unit("--ground", units::parse_temperature_c(&text, system))
        }
        _ => None,
    };
    let nucleation_c = match optional(&args.nucleation) {
        Some(text) => unit("--nucleation", units::parse_temperature_c(&text, system)),
        None => Some(0.0),
    };
    let length_m = match optional(&args.length) {
        Some(text) => unit("--length", units::parse_length_m(&text, system)),
        None => Some(1.0),
    };
    let height_m = match optional(&args.height) {
        Some(text) => unit("--height", units::parse_small_length_m(&text, system)),
        None => None,
    };
    let subject = subject(args, length_m.unwrap_or(1.0), height_m, &mut faults);
    check_ranges(
        &[
            ("--air", air_c, -90.0, 60.0, "°C"),
            ("--start", start_c, -15.0, 100.0, "°C"),
            ("--wind", wind_m_s, 0.0, 60.0, "m/s"),
            ("--film", film_w_m2k, 0.01, 1e6, "W/m²K"),
            ("--insulation", insulation.map(|i| i.0), 0.0, 1.0, "m"),
            ("--insulation-k", k, 1e-4, 1000.0, "W/mK"),
            ("--wrap-r", wrap, 0.0, 50.0, "m²K/W"),
            ("--ground", ground_c, -50.0, 60.0, "°C"),
            ("--nucleation", nucleation_c, -40.0, 0.0, "°C"),
            ("--length", length_m, 0.01, 10_000.0, "m"),
            ("--height", height_m, 0.02, 5.0, "m"),
        ],
        &mut faults,
    );
    if args.no_film && args.film.is_some() {
        faults.push(
            Fault::new("BW-F03", Severity::Fatal, "--film and --no-film contradict each other")
                .column("--film")
                .remedy("Give one of them."),
        );
    }
    let bare = insulation.is_none_or(|i| i.0 <= 0.0) && wrap.unwrap_or(0.0) <= 0.0;
    if args.no_film && bare {
        faults.push(
            Fault::new(
                "BW-F04",
                Severity::Fatal,
                "without a film and without insulation nothing holds the heat",
            )
            .column("--no-film")
            .expected("--insulation or --wrap-r beside --no-film")
            .remedy("Add the insulation or leave --no-film out."),
        );
    }
    let (Some((subject, name)), Some(air_c), Some(start_c), Some(wind_m_s), Some(wrap), Some(nucleation_c), false) =
        (subject, air_c, start_c, wind_m_s, wrap, nucleation_c, faults.is_fatal())
    else {
        return Err(faults.into());
    };
    Ok(Job {
        subject,
        name,
        conditions: Conditions {
            air_c,
            start_c,
            wind_m_s,
            film_w_m2k,
            insulation,
            wrap_m2k_per_w: wrap,
            ground_c,
            nucleation_c,
            no_metal: args.no_metal,
            no_film: args.no_film,
        },
    })
}

fn check_ranges(values: &[(&str, Option<f64>, f64, f64, &str)], faults: &mut Faults) {
    for (option, value, lowest, highest, unit) in values {
        if let Some(value) = value.filter(|v| !(*lowest..=*highest).contains(v)) {
            faults.push(
                Fault::new("BW-F02", Severity::Fatal, format!("{value:.6} {unit} is out of range"))
                    .column(*option)
                    .expected(format!("{lowest} to {highest} {unit}"))
                    .remedy("Correct the value; give its unit if in doubt."),
            );
        }
    }
}

fn subject(args: &Args, length_m: f64, height_m: Option<f64>, faults: &mut Faults) -> Option<(Typed, String)> {
    let size = match parse::nominal_size(&args.size) {
        Ok(Some(read)) => Some(read.size),
        Ok(None) => None,
        Err(_) => None,
    };
    let Some(size) = size else {
        faults.push(
            Fault::new("BW-F05", Severity::Fatal, "this is not a nominal size")
                .column("--size")
                .value(&args.size)
                .expected("3/8, 1/2, 3/4, 1, 1-1/4, 1-1/2, 2, 2-1/2, 3, 4, 6, 8 or 10")
                .remedy("Give the nominal size."),
        );
        return None;
    };
    match (&args.device, &args.pipe) {
        (Some(device), None) => match parse::device_type(device) {
            Ok(Some(read)) => {
                let assembly = stand_alone(read.device_type, size, height_m);
                Some((
                    Typed::Assembly(Box::new(assembly)),
                    format!("{} in {}", size.word(), read.device_type),
                ))
            }
            _ => {
                faults.push(
                    Fault::new("BW-F06", Severity::Fatal, "this is not a kind of assembly")
                        .column("--device")
                        .value(device)
                        .expected("RP, RPDA, DC, DCDA, PVB, SVB or AVB")
                        .remedy("Give the kind."),
                );
                None
            }
        },
        (None, Some(kind)) => {
            let Some(pipe_kind) = pipe_kind(kind) else {
                faults.push(
                    Fault::new("BW-F07", Severity::Fatal, "this is not a kind of pipe")
                        .column("--pipe")
                        .value(kind)
                        .expected("copper-K, copper-L, copper-M, steel-40, pvc-40, ductile-iron, brass, cpvc-sdr11 or pex-sdr9")
                        .remedy("Give the kind."),
                );
                return None;
            };
            match pipe(pipe_kind, size.inches()) {
                Some(found) => Some((Typed::Pipe(found, length_m), format!("{} in {kind}", size.word()))),
                None => {
                    let sizes: Vec<String> = pipe_kind.sizes_in().iter().map(|s| format!("{s}")).collect();
                    faults.push(
                        Fault::new("BW-F08", Severity::Fatal, format!("{kind} is not made in this size"))
                            .column("--size")
                            .value(&args.size)
                            .expected(format!("one of {} in", sizes.join(", ")))
                            .remedy("Give another size or another kind of pipe."),
                    );
                    None
                }
            }
        }
        _ => {
            faults.push(
                Fault::new("BW-F09", Severity::Fatal, "what is to cool down?")
                    .expected("--device with --size, or --pipe with --size")
                    .remedy("Give one of them."),
            );
            None
        }
    }
}

/// An assembly of this kind and size with the usual risers, bare, in the open, without flow.
fn stand_alone(device: crate::inventory::DeviceType, size: NominalSize, height_m: Option<f64>) -> Assembly {
    use crate::inventory::{Contact, CustomerClass, Placement, RiserMaterial, Service, WindExposure, WinterUse};
    Assembly {
        assembly_id: "typed".into(),
        device_type: device,
        nominal_size: size,
        latitude_deg: None,
        longitude_deg: None,
        elevation_m: None,
        station_id: None,
        customer_class: CustomerClass::Unknown,
        service: Service::Irrigation,
        placement: Placement::Open,
        wrap_m2k_per_w: 0.0,
        riser_material: if size.inches() > 2.0 {
            RiserMaterial::DuctileIron
        } else {
            RiserMaterial::Copper
        },
        riser_height_m: height_m.unwrap_or_else(|| defaults::usual_height_in(device, size) * units::M_PER_IN),
        wind_exposure: WindExposure::Open,
        freeze_drip: false,
        heat_trace_w: 0.0,
        expansion_relief: None,
        winter_use: WinterUse::Idle,
        critical: None,
        last_test: None,
        contact: Contact::default(),
        extra: Vec::new(),
        assumed: crate::inventory::Assumed::default(),
        line: 0,
    }
}

/// The kind of pipe with this name; case, blanks and hyphens do not matter.
pub fn pipe_kind(name: &str) -> Option<PipeKind> {
    let plain: String = name
        .chars()
        .filter(|c| c.is_ascii_alphanumeric())
        .flat_map(char::to_lowercase)
        .collect();
    Some(match plain.as_str() {
        "copperk" => PipeKind::CopperK,
        "copperl" | "copper" => PipeKind::CopperL,
        "copperm" => PipeKind::CopperM,
        "steel40" | "steel" => PipeKind::Steel40,
        "pvc40" | "pvc" => PipeKind::Pvc40,
        "ductileiron" => PipeKind::DuctileIron,
        "brass" => PipeKind::Brass,
        "cpvcsdr11" | "cpvc" => PipeKind::CpvcSdr11,
        "pexsdr9" | "pex" => PipeKind::PexSdr9,
        _ => return None,
    })
}

#[derive(Serialize)]
struct Json<'a> {
    schema: &'static str,
    hours_to_freezing: Option<f64>,
    hours_to_blocked: Option<f64>,
    hours_to_solid: Option<f64>,
    first_part: Option<&'a str>,
    film: JsonFilm,
    parts: Vec<JsonPart<'a>>,
    cautions: [&'static str; 2],
}

#[derive(Serialize)]
struct JsonFilm {
    convection_w_m2k: Option<f64>,
    radiation_w_m2k: Option<f64>,
}

#[derive(Serialize)]
struct JsonPart<'a> {
    name: &'a str,
    water_kg: f64,
    metal_j_per_k: f64,
    outside_area_m2: f64,
    hours_to_freezing: Option<f64>,
    hours_to_solid: Option<f64>,
}

const CAUTION: &str = "Constant conditions and generic dimensions: real nights, sites and devices differ. Ice can start later, and damage needs trapped water.";

fn json(answer: &Cooldown) -> Result<String, Failure> {
    let document = Json {
        schema: "brimwater.cooldown/1",
        hours_to_freezing: answer.hours_to_freezing,
        hours_to_blocked: answer.hours_to_blocked,
        hours_to_solid: answer.hours_to_solid,
        first_part: answer.first_part,
        film: JsonFilm {
            convection_w_m2k: answer.convection_w_m2k,
            radiation_w_m2k: answer.radiation_w_m2k,
        },
        parts: answer
            .parts
            .iter()
            .map(|part| JsonPart {
                name: part.name,
                water_kg: part.water_kg,
                metal_j_per_k: part.metal_j_per_k,
                outside_area_m2: part.outside_area_m2,
                hours_to_freezing: part.hours_to_freezing,
                hours_to_solid: part.hours_to_solid,
            })
            .collect(),
        cautions: [CAUTION, crate::PLANNING_AID],
    };
    let mut text = serde_json::to_string_pretty(&document).map_err(|error| {
        Failure::one(Fault::new(
            "BW-O04",
            Severity::Fatal,
            format!("the answer cannot be written as JSON: {error}"),
        ))
    })?;
    text.push('\n');
    Ok(text)
}

fn csv(answer: &Cooldown) -> Result<String, Failure> {
    let failed = |error: String| {
        Failure::one(Fault::new(
            "BW-O03",
            Severity::Fatal,
            format!("the answer cannot be written as CSV: {error}"),
        ))
    };
    let mut writer = csv::Writer::from_writer(Vec::new());
    let hours = |value: Option<f64>| value.map_or(String::new(), |h| format!("{h:.4}"));
    writer
        .write_record([
            "part",
            "water_kg",
            "outside_area_m2",
            "hours_to_freezing",
            "hours_to_solid",
        ])
        .map_err(|error| failed(error.to_string()))?;
    for part in &answer.parts {
        writer
            .write_record([
                part.name.to_owned(),
                format!("{:.4}", part.water_kg),
                format!("{:.5}", part.outside_area_m2),
                hours(part.hours_to_freezing),
                hours(part.hours_to_solid),
            ])
            .map_err(|error| failed(error.to_string()))?;
    }
    let bytes = writer.into_inner().map_err(|error| failed(error.to_string()))?;
    Ok(String::from_utf8_lossy(&bytes).into_owned())
}

fn table(job: &Job, answer: &Cooldown, system: UnitSystem) -> String {
    let hours = |value: Option<f64>| match value {
        Some(h) if h < 1.0 => format!("{:.0} min", h * 60.0),
        Some(h) if h < 100.0 => format!("{h:.1} h"),
        Some(h) => format!("{h:.0} h"),
        None => "never".to_owned(),
    };
    let c = &job.conditions;
    let mut text = format!(
        "{} from {} in air at {}\n\n  first ice        {}{}\n  flow blocked     {}\n  all water ice    {}\n",
        job.name,
        show_temperature(c.start_c, system),
        show_temperature(c.air_c, system),
        hours(answer.hours_to_freezing),
        answer.first_part.map_or(String::new(), |part| format!("  ({part})")),
        hours(answer.hours_to_blocked),
        hours(answer.hours_to_solid),
    );
    if let Some((convection, radiation)) = answer.convection_w_m2k.zip(answer.radiation_w_m2k) {
        text += &format!(
            "\n  film at the start: convection {}, radiation {}\n",
            show_film(convection, system),
            show_film(radiation, system)
        );
    }
    if answer.parts.len() > 1 {
        let mut table = crate::output::table::plain();
        table.set_header(["part", "first ice", "all ice"]);
        for part in &answer.parts {
            table.add_row([
                part.name.to_owned(),
                hours(part.hours_to_freezing),
                hours(part.hours_to_solid),
            ]);
        }
        text += &format!("\n{}\n", crate::output::table::trimmed(&table.to_string()));
    }
    text += &format!("\n{CAUTION}\n{}\n", crate::PLANNING_AID);
    text
}
