//! `brimwater weather fetch`.

use super::Done;
use super::common::{self, Common, Failure, Format};
use crate::input::file::shown;
use crate::output::safe::target::{Make, Target, may_write};
use crate::units::show_temperature;
use crate::weather::cache::Cache;
use crate::weather::fetch::{FetchOptions, PUBLIC_SERVICE, fetch};
use crate::weather::http::Limits;
use chrono::Utc;
use std::path::PathBuf;
use std::time::Duration;

/// Arguments of `weather fetch`.
#[derive(clap::Args)]
#[command(
    after_help = "Example: brimwater weather fetch --lat 32.5 --lon -96.9 --contact water@example.com --out forecast.json\nThen:    brimwater plan --assemblies assemblies.csv --series forecast.json --out plan/"
)]
pub struct Args {
    /// Latitude, degrees north.
    #[arg(long, allow_hyphen_values = true)]
    lat: f64,
    /// Longitude, degrees east; west is negative.
    #[arg(long, allow_hyphen_values = true)]
    lon: f64,
    /// File to write; `plan --series` takes it as it is.
    #[arg(long, value_name = "FILE")]
    out: PathBuf,
    #[command(flatten)]
    service: ServiceArgs,
}

/// Which service, who asks, and how patiently.
#[derive(clap::Args, Debug, Clone)]
pub struct ServiceArgs {
    /// Address of the weather service.
    #[arg(long, value_name = "URL", default_value = PUBLIC_SERVICE)]
    pub service: String,
    /// Mail address or page of whoever runs the programme; the service requires it.
    #[arg(long, value_name = "ADDRESS")]
    pub contact: Option<String>,
    /// Folder that keeps the last good replies [default: the user's cache folder].
    #[arg(long, value_name = "DIR")]
    pub cache: Option<PathBuf>,
    /// Most tries of one address.
    #[arg(long, value_name = "N", default_value_t = 3, value_parser = clap::value_parser!(u32).range(1..=5))]
    pub tries: u32,
    /// Seconds before the second try; later waits double.
    #[arg(long, value_name = "S", default_value_t = 5.0)]
    pub retry_wait: f64,
    /// Seconds that one request may take.
    #[arg(long, value_name = "S", default_value_t = 20.0)]
    pub timeout: f64,
}

impl ServiceArgs {
    /// The options of the library, with this computer's clock.
    pub fn options(&self) -> FetchOptions {
        let seconds = |value: f64, least: f64, most: f64| {
            Duration::from_secs_f64(if value.is_finite() {
                value.clamp(least, most)
            } else {
                most
            })
        };
        FetchOptions {
            service: self.service.clone(),
            contact: self.contact.clone().unwrap_or_default(),
            cache: self
                .cache
                .clone()
                .or_else(default_cache)
                .map_or_else(Cache::none, Cache::in_folder),
            limits: Limits {
                tries: self.tries,
                first_wait: seconds(self.retry_wait, 0.0, 60.0),
                timeout: seconds(self.timeout, 0.1, 300.0),
                ..Limits::default()
            },
            now: Utc::now(),
        }
    }
}

/// The user's cache folder, by the desktop's base directory convention.
fn default_cache() -> Option<PathBuf> {
    let set = |name: &str| {
        std::env::var_os(name)
            .filter(|value| !value.is_empty())
            .map(PathBuf::from)
    };
    set("XDG_CACHE_HOME")
        .filter(|folder| folder.is_absolute())
        .or_else(|| set("HOME").map(|home| home.join(".cache")))
        .map(|folder| folder.join("brimwater"))
}

/// Runs `weather fetch`.
pub fn run(args: Args, common: &Common) -> Done {
    let out = Target::new("--out", &args.out, Make::Json);
    may_write(&[out], &[], common.force)?;
    let fetched = fetch(args.lat, args.lon, &args.service.options()).map_err(Failure::from)?;
    out.write(&fetched.bundle)?;
    common.tell(&fetched.faults);
    let series = &fetched.series;
    let coldest = series.coldest();
    let text = match common.format {
        Format::Json => {
            let value = serde_json::json!({
                "schema": "brimwater.fetched-summary/1",
                "out": shown(&args.out),
                "stale": fetched.stale,
                "issued": series.issued,
                "start": series.start,
                "end": series.end(),
                "hours": series.hours(),
                "min_air_c": coldest.map(|(_, air)| (air * 1000.0).round() / 1000.0),
                "min_time": coldest.map(|(hour, _)| series.time(hour)),
            });
            format!("{value:#}\n")
        }
        Format::Csv | Format::Table => format!(
            "{}: {} hours from {} to {}{}{}\n",
            shown(&args.out),
            series.hours(),
            series.start.format("%Y-%m-%d %H:%M UTC"),
            series.end().format("%Y-%m-%d %H:%M UTC"),
            coldest.map_or_else(String::new, |(hour, air)| format!(
                ", coldest {} at {}",
                show_temperature(air, common.system()),
                series.time(hour).format("%Y-%m-%d %H:%M UTC")
            )),
            if fetched.stale { "; STALE, see above" } else { "" }
        ),
    };
    Ok(common::print_done(&text, "The forecast was written").max(fetched.faults.exit_status()))
}
