//! The forecast of a point from a weather service: point, grid, forecast, nearest station's observations.
//!
//! The answer is one file, a bundle of the replies as they came (see [`readers`](super::readers)), which `plan --series` takes as it
//! is. When the service fails the last good replies stand in, marked stale with their age.

mod documents;

use self::documents::{Document, Session, age, rfc3339, update_time, without_credentials};
use super::cache::Cache;
use super::http::{Asker, Limits};
use super::readers::{BUNDLE_SCHEMA, ReadOptions, read_reported};
use super::series::Series;
use super::stations::distance_km;
use crate::faults::{Fault, Faults, Severity};
use chrono::{DateTime, TimeDelta, Utc};
use serde_json::{Value, json};

/// The US weather service's public address.
pub const PUBLIC_SERVICE: &str = "https://api.weather.gov";
/// Age from which a forecast is called stale, h (judgement: offices renew theirs at least twice a day).
pub const STALE_AFTER_H: i64 = 12;
/// Farthest station whose observations stand for the point, km (judgement).
const FAR_STATION_KM: f64 = 40.0;
/// Largest difference of elevation for the same, m (judgement).
const HIGH_STATION_M: f64 = 150.0;
/// Stations that are asked before the observations are given up.
const STATIONS_ASKED: usize = 2;
/// How long the grid of a point is believed without asking when the service does not say, s.
const POINT_MAX_AGE_S: u64 = 86_400;

/// What is asked, of whom and how.
#[derive(Debug, Clone)]
pub struct FetchOptions {
    /// Address of the service, without a path.
    pub service: String,
    /// Mail address or page of whoever runs the programme: the service requires it.
    pub contact: String,
    /// Where good replies are kept.
    pub cache: Cache,
    /// Limits of each request.
    pub limits: Limits,
    /// This computer's clock.
    pub now: DateTime<Utc>,
}

/// What was fetched.
#[derive(Debug, Clone)]
pub struct Fetched {
    /// The bundle, as it is written to the file.
    pub bundle: Vec<u8>,
    /// The series that the bundle holds.
    pub series: Series,
    /// Whether any part is a kept reply because the service failed, or the forecast is old.
    pub stale: bool,
    /// What happened: notes and warnings, never fatal.
    pub faults: Faults,
}

/// Checks the place and the contact.
///
/// # Errors
/// `BW-S60` place or contact that cannot be used, all at once.
fn checked(latitude_deg: f64, longitude_deg: f64, options: &FetchOptions) -> Result<(), Faults> {
    let mut faults = Faults::new();
    let mut wrong = |column: &str, value: &str, expected: &str| {
        faults.push(
            Fault::new("BW-S60", Severity::Fatal, format!("{column} cannot be used"))
                .column(column)
                .value(value)
                .expected(expected),
        );
    };
    if !(-90.0..=90.0).contains(&latitude_deg) {
        wrong("--lat", &latitude_deg.to_string(), "degrees north, -90 to 90");
    }
    if !(-180.0..=180.0).contains(&longitude_deg) {
        wrong(
            "--lon",
            &longitude_deg.to_string(),
            "degrees east, -180 to 180; west is negative",
        );
    }
    let contact = options.contact.trim();
    if !(contact.contains('@') || contact.contains("://")) || !contact.bytes().all(|byte| (0x20..0x7f).contains(&byte))
    {
        wrong(
            "--contact",
            contact,
            "a mail address or a page of whoever runs the programme: the service asks for it, to reach you if your requests cause trouble",
        );
    }
    if faults.is_fatal() { Err(faults) } else { Ok(()) }
}

/// A coordinate with at most four decimals and no trailing zeros: more decimals are redirected.
fn coordinate(degrees: f64) -> String {
    let text = format!("{degrees:.4}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".into() } else { text.to_owned() }
}

/// Fetches the forecast of a point.
///
/// # Errors
/// `BW-S60` wrong place or contact; `BW-S61` the service did not give a forecast and none is kept (both fatal).
pub fn fetch(latitude_deg: f64, longitude_deg: f64, options: &FetchOptions) -> Result<Fetched, Faults> {
    checked(latitude_deg, longitude_deg, options)?;
    let user_agent = format!("brimwater/{} ({})", crate::VERSION, options.contact.trim());
    let asker = Asker::new(&user_agent, options.limits.clone())
        .map_err(|error| no_forecast(options, &error.to_string(), Faults::new()))?;
    let mut session = Session {
        options,
        asker,
        faults: Faults::new(),
        clock_told: false,
        service_now: None,
    };
    let path = format!("/points/{},{}", coordinate(latitude_deg), coordinate(longitude_deg));
    let point = match session.document("point", &path, Some(POINT_MAX_AGE_S), &|body| {
        body.get("properties")
            .is_some_and(|own| own.get("forecastGridData").is_some())
    }) {
        Ok(point) => point,
        Err(error) => return Err(no_forecast(options, &error, session.faults)),
    };
    let link = |key: &str| {
        let url = point
            .body
            .get("properties")
            .and_then(|own| own.get(key))
            .and_then(Value::as_str);
        url.and_then(path_of)
    };
    let forecast = session.forecast(link("forecastGridData"), link("forecastHourly"));
    let forecast = match forecast {
        Ok(forecast) => forecast,
        Err(error) => return Err(no_forecast(options, &error, session.faults)),
    };
    let observations = link("observationStations")
        .and_then(|stations| session.observations(&stations, latitude_deg, longitude_deg, &forecast.body));
    session.finish(latitude_deg, longitude_deg, forecast, observations)
}

/// An address as it may be shown and kept.
pub fn shown_service(url: &str) -> String {
    without_credentials(url)
}

/// Clocks differ by a little; a forecast from farther in the future tells no age (judgement).
const FUTURE_H: i64 = 1;

/// Why the time at which a forecast says that it was made tells nothing of its age, if it does not.
fn unbelievable(made: Option<DateTime<Utc>>, now: DateTime<Utc>) -> Option<String> {
    match made {
        None => Some("when it was made is not told, or cannot be read".into()),
        Some(made) if made > now + TimeDelta::hours(FUTURE_H) => Some(format!(
            "it says that it was made {}, which lies in the future",
            rfc3339(made)
        )),
        Some(_) => None,
    }
}

fn no_forecast(options: &FetchOptions, why: &str, mut faults: Faults) -> Faults {
    faults.push(
        Fault::new(
            "BW-S61",
            Severity::Fatal,
            format!(
                "no forecast could be got from {}, and none is kept: {why}",
                without_credentials(&options.service)
            ),
        )
        .expected("an answer of the weather service")
        .remedy("Try again in some minutes, check the place and the connection, or give a file with --series."),
    );
    faults
}

/// Path and query of a link, so that it is asked at the service that was named, whatever host its replies name.
fn path_of(url: &str) -> Option<String> {
    let url = reqwest::Url::parse(url).ok()?;
    Some(match url.query() {
        Some(query) => format!("{}?{query}", url.path()),
        None => url.path().to_owned(),
    })
}

/// Whether a body reads as weather.
fn is_weather(body: &Value) -> bool {
    let options = ReadOptions {
        allow_gaps: true,
        ..ReadOptions::default()
    };
    let (found, _) = read_reported(body.to_string().as_bytes(), "", &options);
    found.iter().any(|one| one.series.is_some())
}

impl Session<'_> {
    /// The gridpoint forecast; if there is none, not even a kept one, the hourly forecast, which has no sky cover.
    fn forecast(&mut self, grid: Option<String>, hourly: Option<String>) -> Result<Document, String> {
        let first = match grid {
            Some(path) => self.document("gridpoint", &path, None, &is_weather),
            None => Err("the service named no grid for the point".into()),
        };
        match (first, hourly) {
            (Ok(document), _) => Ok(document),
            (Err(why), Some(path)) => match self.document("hourly", &path, None, &is_weather) {
                Ok(document) => {
                    self.faults.push(Fault::new(
                        "BW-S65",
                        Severity::Warning,
                        format!("the gridpoint forecast failed ({why}); the hourly forecast was used, which tells no sky cover"),
                    ));
                    Ok(document)
                }
                Err(_) => Err(why),
            },
            (Err(why), None) => Err(why),
        }
    }

    /// Observations of the nearest station that has any and stands for the point; without them the forecast goes alone, and that
    /// is told as a note.
    fn observations(
        &mut self,
        stations: &str,
        latitude_deg: f64,
        longitude_deg: f64,
        forecast: &Value,
    ) -> Option<Document> {
        let list = match self.document("stations", stations, Some(POINT_MAX_AGE_S), &|body| {
            body.get("features").is_some_and(Value::is_array)
        }) {
            Ok(list) => list,
            Err(why) => {
                self.no_observations(&why);
                return None;
            }
        };
        let number = |value: Option<&Value>| value.and_then(Value::as_f64);
        let elevation = |feature: &Value| number(feature.get("properties")?.get("elevation")?.get("value"));
        let here_m = elevation(forecast);
        let mut near: Vec<(f64, String)> = list
            .body
            .get("features")
            .and_then(Value::as_array)
            .map_or(&[][..], Vec::as_slice)
            .iter()
            .filter_map(|feature| {
                let id = feature.get("properties")?.get("stationIdentifier")?.as_str()?;
                let place = feature.get("geometry")?.get("coordinates")?.as_array()?;
                let km = distance_km(
                    (latitude_deg, longitude_deg),
                    (number(place.get(1))?, number(place.first())?),
                );
                let level = match (here_m, elevation(feature)) {
                    (Some(here), Some(there)) => (here - there).abs() <= HIGH_STATION_M,
                    _ => true,
                };
                let plain = !id.is_empty() && id.bytes().all(|byte| byte.is_ascii_alphanumeric());
                (plain && level && km <= FAR_STATION_KM).then(|| (km, id.to_owned()))
            })
            .collect();
        near.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        let mut last = format!("no station within {FAR_STATION_KM:.0} km and {HIGH_STATION_M:.0} m of elevation");
        for (km, id) in near.into_iter().take(STATIONS_ASKED) {
            match self.document(
                "observations",
                &format!("/stations/{id}/observations?limit=60"),
                None,
                &is_weather,
            ) {
                Ok(document) => {
                    self.faults.push(Fault::new(
                        "BW-S66",
                        Severity::Note,
                        format!("observed hours are those of station {id}, {km:.0} km away"),
                    ));
                    return Some(document);
                }
                Err(why) => last = format!("station {id}: {why}"),
            }
        }
        self.no_observations(&last);
        None
    }

    fn no_observations(&mut self, why: &str) {
        self.faults.push(Fault::new(
            "BW-S67",
            Severity::Note,
            format!("no observations were added ({why}); all hours are forecast"),
        ));
    }

    fn finish(
        mut self,
        latitude_deg: f64,
        longitude_deg: f64,
        forecast: Document,
        observations: Option<Document>,
    ) -> Result<Fetched, Faults> {
        let now = self.now();
        let mut stale = forecast.stale || observations.as_ref().is_some_and(|document| document.stale);
        let made = update_time(&forecast.body);
        if let Some(why) = unbelievable(made, now) {
            stale = true;
            self.faults.push(
                Fault::new(
                    "BW-S72",
                    Severity::Warning,
                    format!("the forecast counts as stale: {why}"),
                )
                .expected("the time at which it was made")
                .remedy("Look at the weather service's own page before you act on it."),
            );
        } else if let Some(made) = made {
            let old = now - made;
            if old > TimeDelta::hours(STALE_AFTER_H) {
                stale = true;
                self.faults.push(
                    Fault::new(
                        "BW-S68",
                        Severity::Warning,
                        format!(
                            "the forecast is stale: it was made {} ({} ago)",
                            rfc3339(made),
                            age(made, now)
                        ),
                    )
                    .expected(format!("a forecast of the last {STALE_AFTER_H} h"))
                    .remedy("Look at the weather service's own page before you act on it."),
                );
            } else {
                self.faults.push(Fault::new(
                    "BW-S69",
                    Severity::Note,
                    format!("the forecast was made {} ({} ago)", rfc3339(made), age(made, now)),
                ));
            }
        }
        let documents: Vec<Value> = std::iter::once(&forecast)
            .chain(&observations)
            .map(|document| {
                json!({
                    "role": document.role,
                    "url": document.url,
                    "retrieved": rfc3339(document.retrieved),
                    "stale": document.stale,
                    "body": document.body,
                })
            })
            .collect();
        let bundle = json!({
            "schema": BUNDLE_SCHEMA,
            "fetched": rfc3339(self.options.now),
            "service": without_credentials(&self.options.service),
            "latitude_deg": latitude_deg,
            "longitude_deg": longitude_deg,
            "stale": stale,
            "documents": documents,
        });
        let bytes = serde_json::to_vec_pretty(&bundle).unwrap_or_default();
        let options = ReadOptions {
            allow_gaps: true,
            ..ReadOptions::default()
        };
        let (found, read_faults) = read_reported(&bytes, "the fetched file", &options);
        let Some(series) = found.into_iter().find_map(|one| one.series) else {
            self.faults.append(read_faults);
            return Err(no_forecast(
                self.options,
                "the replies do not make a series",
                self.faults,
            ));
        };
        // What the reader tells of staleness was told above; gaps and lowered nights are news.
        let told = read_faults
            .0
            .into_iter()
            .filter(|fault| !["BW-S36", "BW-S71"].contains(&fault.code))
            .collect();
        self.faults.append(Faults(told));
        Ok(Fetched {
            bundle: bytes,
            series,
            stale,
            faults: self.faults,
        })
    }
}
