//! What is assumed of the weather where the files tell nothing: the cloud, and the climate behind ground and supply water. Nothing of it is
//! silent: it is told, recorded and printed.

use crate::faults::{Fault, Faults, Severity};
use crate::freeze::config::{FreezeConfig, MILD_MEAN_AIR_C, MILD_RANGE_K};
use crate::input::load::Loaded;
use crate::units::f_from_c;
use crate::weather::Series;
use crate::weather::inlet::inlet_of;
use crate::weather::readers::Found;
use serde::Serialize;

/// Where the cloud of hours without one comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum CloudFrom {
    /// Every hour tells it.
    #[default]
    Series,
    /// The config's one value.
    Config,
    /// Each member draws its own; the cautious run takes a clear sky.
    Members,
}

/// Where the climate comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum ClimateFrom {
    /// The config.
    Config,
    /// A record of a year or more that was given.
    Record,
    /// The built-in mild climate.
    #[default]
    BuiltIn,
}

/// What was assumed, for the record of the run.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize)]
pub struct Assumed {
    /// Hours of all series.
    pub hours: usize,
    /// Of these, hours that tell no cloud.
    pub hours_without_sky_cover: usize,
    /// Where their cloud comes from.
    pub sky_cover_from: CloudFrom,
    /// Its mean, 0 to 1; `None` where every hour tells it.
    pub sky_cover_mean: Option<f64>,
    /// Where the climate of ground and supply water comes from.
    pub climate_from: ClimateFrom,
    /// Its annual mean air, °C.
    pub annual_mean_air_c: f64,
    /// Its warmest less its coldest monthly mean, K.
    pub monthly_range_k: f64,
}

/// The climate of ground and supply water: the record's that was given for it, else the config's, else that of records of a year or more
/// among the series, else the built-in one. Puts it into the config.
///
/// Faults: `BW-S87` taken from a record (note), `BW-S88` the built-in one (note), `BW-S89` the record given for it holds no year (fatal).
pub fn climate(loaded: &mut Loaded) -> (ClimateFrom, Faults) {
    let mut faults = Faults::new();
    let given = climate_of(loaded.climate.iter());
    let own = given.or_else(|| climate_of(loaded.reports.iter().map(|(_, found)| found)));
    if given.is_none() && !loaded.climate.is_empty() {
        let why = loaded.climate.iter().find_map(|one| inlet_of(one).err());
        faults.push(
            Fault::new(
                "BW-S89",
                Severity::Fatal,
                "the record for the climate holds no whole year",
            )
            .column("--climate")
            .value(&why.map_or_else(String::new, |fault| fault.what))
            .expected("an hourly or daily record, or a typical year, with all twelve months")
            .remedy("Give a longer one, or set [freeze.climate] in the config."),
        );
    }
    let told = &mut loaded.config.freeze.climate;
    if given.is_none() && told.annual_mean_air_c.is_some() {
        return (ClimateFrom::Config, faults);
    }
    if let Some(own) = own {
        told.annual_mean_air_c = Some(own.0);
        // What was given for it goes before the config; a long series only fills what that leaves open.
        told.monthly_range_k = given.map(|given| given.1).or(told.monthly_range_k).or(Some(own.1));
        faults.push(
            Fault::new(
                "BW-S87",
                Severity::Note,
                format!(
                    "the climate of ground and supply water was taken from the record: {}",
                    words(own)
                ),
            )
            .remedy("Set [freeze.climate] in the config to take another."),
        );
        return (ClimateFrom::Record, faults);
    }
    let supply = if told.supply_c.is_some() {
        "the ground"
    } else {
        "ground and supply water"
    };
    faults.push(
        Fault::new(
            "BW-S88",
            Severity::Note,
            format!(
                "the climate of {supply} is not told: a mild one was taken, {}",
                words((told.mean_air_c(), told.range_k()))
            ),
        )
        .expected(
            "[freeze.climate] in the config, from `brimwater weather inlet` on a record of a year or more of the place",
        )
        .remedy("In a colder place ground and water are colder than that, and more freezes."),
    );
    (ClimateFrom::BuiltIn, faults)
}

fn words(climate: (f64, f64)) -> String {
    format!(
        "annual mean {:.1} °C ({:.0} °F), warmest month {:.0} K above the coldest",
        climate.0,
        f_from_c(climate.0),
        climate.1
    )
}

/// Annual mean and monthly range of the records that are long enough, each with the same weight.
fn climate_of<'f>(found: impl Iterator<Item = &'f Found>) -> Option<(f64, f64)> {
    let all: Vec<(f64, f64)> = found
        .filter_map(|one| inlet_of(one).ok())
        .map(|inlet| (inlet.annual_mean_air_c, inlet.monthly_range_k))
        .collect();
    let n = all.len() as f64;
    (n > 0.0).then(|| {
        (
            all.iter().map(|one| one.0).sum::<f64>() / n,
            all.iter().map(|one| one.1).sum::<f64>() / n,
        )
    })
}

/// What is assumed of series that are about to be planned.
///
/// Faults: `BW-S86` hours without cloud, which members draw (note).
pub fn cloud(series: &[Series], loaded: &Loaded, climate_from: ClimateFrom) -> (Assumed, Faults) {
    let mut faults = Faults::new();
    let freeze: &FreezeConfig = &loaded.config.freeze;
    let hours = series.iter().map(Series::hours).sum();
    let lacking = |one: &Series| one.sky_cover.iter().filter(|cover| cover.is_none()).count();
    let without: usize = series.iter().map(lacking).sum();
    let drawn = loaded.config.ensemble.sky_cover_mean;
    let (sky_cover_from, sky_cover_mean) = match (without, freeze.default_sky_cover) {
        (0, _) => (CloudFrom::Series, None),
        (_, Some(cover)) => (CloudFrom::Config, Some(cover)),
        _ => (CloudFrom::Members, Some(drawn)),
    };
    if sky_cover_from == CloudFrom::Members {
        faults.push(
            Fault::new(
                "BW-S86",
                Severity::Note,
                format!(
                    "{without} of {hours} hours tell no cloud: the members draw it, from clear to overcast with a mean of {:.0} %; the cautious run takes a clear sky",
                    100.0 * drawn
                ),
            )
            .column("sky_cover_percent")
            .expected("the cloud cover of each hour: under a clear sky metal is colder than the air")
            .remedy("Give it with the series, or one value as freeze.default_sky_cover."),
        );
    }
    let climate = &freeze.climate;
    let assumed = Assumed {
        hours,
        hours_without_sky_cover: without,
        sky_cover_from,
        sky_cover_mean,
        climate_from,
        annual_mean_air_c: climate.annual_mean_air_c.unwrap_or(MILD_MEAN_AIR_C),
        monthly_range_k: climate.monthly_range_k.unwrap_or(MILD_RANGE_K),
    };
    (assumed, faults)
}

/// Whether a fault tells an assumption of these.
pub fn is_one(code: &str) -> bool {
    ["BW-S86", "BW-S87", "BW-S88"].contains(&code)
}
