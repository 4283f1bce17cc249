//! Point forecasts of the German weather service, MOSMIX \[dwd-mosmix\]: KML, mostly in a KMZ (a ZIP archive), CC BY 4.0; hourly for ten
//! days, some 5,600 places in the world. `E_TTT` beside the air `TTT` is the expected absolute error.

use super::common::{Reading, reading, text_of};
use super::{Found, Nature, ReadOptions};
use crate::faults::{Faults, Severity};
use crate::units::ZERO_C_IN_K;
use crate::weather::assemble::RawReading;
use crate::weather::series::{Kind, Station};
use crate::weather::spread::{Told, When};
use crate::weather::stations::same_name;
use chrono::{DateTime, Utc};
use quick_xml::Reader;
use quick_xml::events::{BytesStart, Event};
use std::collections::BTreeMap;
use std::io::{Cursor, Read};

/// Name of the format.
pub const FORMAT: &str = "dwd-mosmix";
/// Largest document after decompression, bytes: a file of one place is below 1 MiB; those of all places are not for this reader.
const MOST_BYTES: u64 = 64 * 1024 * 1024;
/// Most time steps: the service gives 247.
const MOST_STEPS: usize = 1_000;
/// Standard deviation for an absolute error, of a normal distribution: √(π/2).
const SD_FOR_ABSOLUTE_ERROR: f64 = 1.253_314_137_315_500_3;
/// The elements that are used.
const ELEMENTS: [&str; 5] = ["TTT", "Td", "FF", "N", "E_TTT"];

/// Whether this is an archive or such a document. A document of another kind in an archive is told by [`read`].
pub fn recognises(bytes: &[u8]) -> bool {
    let head = super::common::head_of(bytes);
    bytes.starts_with(b"PK\x03\x04") || (head.trim_start().starts_with('<') && head.contains("ProductDefinition"))
}

/// What a document holds.
#[derive(Default)]
struct Document {
    issued: Option<DateTime<Utc>>,
    steps: Vec<DateTime<Utc>>,
    places: Vec<Place>,
    /// Places that are not wanted.
    passed: usize,
}

#[derive(Default)]
struct Place {
    name: String,
    coordinates: String,
    /// Values by element, as written.
    values: BTreeMap<String, String>,
}

/// The document inside a KMZ, or the bytes as they are.
fn unpacked(bytes: &[u8]) -> Result<Vec<u8>, String> {
    if !bytes.starts_with(b"PK\x03\x04") {
        return Ok(bytes.to_vec());
    }
    let mut archive = zip::ZipArchive::new(Cursor::new(bytes)).map_err(|error| error.to_string())?;
    let at = (0..archive.len()).find(|at| {
        let name = archive.name_for_index(*at).unwrap_or("").to_ascii_lowercase();
        name.ends_with(".kml")
    });
    let at = at.ok_or("it holds no .kml")?;
    let entry = archive.by_index(at).map_err(|error| error.to_string())?;
    let mut document = Vec::new();
    // The size that the archive tells is not believed: what comes out is counted.
    let mut limited = entry.take(MOST_BYTES + 1);
    limited.read_to_end(&mut document).map_err(|error| error.to_string())?;
    if document.len() as u64 > MOST_BYTES {
        return Err(format!("its document is larger than {} MiB", MOST_BYTES / 1024 / 1024));
    }
    Ok(document)
}

fn attribute(start: &BytesStart<'_>, name: &str) -> Option<String> {
    let found = start
        .attributes()
        .flatten()
        .find(|attribute| attribute.key.local_name().as_ref() == name)?;
    // Names of elements are letters: nothing in them is escaped.
    Some(found.value.into_owned())
}

/// Walks through the document.
fn walk(text: &str, options: &ReadOptions) -> Result<Document, String> {
    let mut reader = Reader::from_str(text);
    let mut out = Document::default();
    let mut place: Option<Place> = None;
    let mut element: Option<String> = None;
    let mut words = String::new();
    loop {
        let event = reader
            .read_event()
            .map_err(|error| format!("byte {}: {error}", reader.error_position()))?;
        match event {
            Event::Eof => {
                return if place.is_some() {
                    Err("it ends inside a place".into())
                } else {
                    Ok(out)
                };
            }
            Event::Start(start) => {
                words.clear();
                match start.local_name().as_ref() {
                    "Placemark" => place = Some(Place::default()),
                    "Forecast" => element = attribute(&start, "elementName"),
                    _ => {}
                }
            }
            Event::Text(text) => words.push_str(&text.xml10_content()),
            Event::End(end) => {
                let told = words.trim();
                match (end.local_name().as_ref(), place.as_mut()) {
                    ("IssueTime", None) => out.issued = instant(told),
                    ("TimeStep", None) => {
                        let step = instant(told).ok_or_else(|| format!("{told:?} is no time step"))?;
                        if out.steps.len() >= MOST_STEPS {
                            return Err(format!("it has more than {MOST_STEPS} time steps"));
                        }
                        out.steps.push(step);
                    }
                    ("name", Some(place)) => place.name = told.to_owned(),
                    ("coordinates", Some(place)) => place.coordinates = told.to_owned(),
                    ("value", Some(place)) => {
                        if let Some(name) = element.take().filter(|name| ELEMENTS.contains(&name.as_str())) {
                            place.values.insert(name, told.to_owned());
                        }
                    }
                    ("Placemark", Some(_)) => {
                        let done = place.take().unwrap_or_default();
                        let list = &options.stations;
                        if list.is_empty() || list.iter().any(|name| same_name(name, &done.name)) {
                            out.places.push(done);
                        } else {
                            out.passed += 1;
                        }
                    }
                    _ => {}
                }
                words.clear();
            }
            _ => {}
        }
    }
}

fn instant(text: &str) -> Option<DateTime<Utc>> {
    Some(DateTime::parse_from_rfc3339(text).ok()?.to_utc())
}

/// Reads the document.
///
/// Faults: `BW-S47` the archive cannot be opened or is too large, `BW-S48` the document is broken or another (both fatal), `BW-S45` values
/// and time steps differ in number (the place is not used), `BW-S31` a place without air temperature (not used), `BW-S43` places that
/// are not in the list of stations (note; warning when there is none that is).
pub fn read(bytes: &[u8], file_name: &str, options: &ReadOptions) -> (Vec<Found>, Faults) {
    let mut file = Reading::new(file_name, options);
    let bytes = match unpacked(bytes) {
        Ok(bytes) => bytes,
        Err(why) => {
            let fault = file
                .fault("BW-S47", Severity::Fatal, format!("the archive cannot be used: {why}"))
                .expected("a KMZ of one place")
                .remedy("Get the file again; take that of a single place.");
            file.push(fault);
            return (Vec::new(), file.finish());
        }
    };
    let broken = |file: &Reading<'_>, why: String| {
        file.fault("BW-S48", Severity::Fatal, format!("the document cannot be used: {why}"))
            .expected("KML with time steps and places")
            .remedy("Get the file again; it may have been cut short.")
    };
    let document = match walk(&text_of(&bytes), options) {
        Ok(document) => document,
        Err(why) => {
            let fault = broken(&file, why);
            file.push(fault);
            return (Vec::new(), file.finish());
        }
    };
    if document.steps.is_empty() || (document.places.is_empty() && document.passed == 0) {
        let fault = broken(&file, "it tells no time steps or no places".into());
        file.push(fault);
        return (Vec::new(), file.finish());
    }
    if document.passed > 0 {
        let severity = if document.places.is_empty() {
            Severity::Warning
        } else {
            Severity::Note
        };
        let fault = file.fault(
            "BW-S43",
            severity,
            format!(
                "{} places are not in the list of stations; they were passed over",
                document.passed
            ),
        );
        file.push(fault);
    }
    let mut found = Vec::new();
    for place in &document.places {
        found.extend(one(place, &document, &mut file));
    }
    (found, file.finish())
}

/// Values of an element by time step; `-` is missing. `None` when it is not told; an error tells how many there are.
fn values(place: &Place, name: &str, steps: usize) -> Result<Option<Vec<Option<f64>>>, usize> {
    let Some(text) = place.values.get(name) else {
        return Ok(None);
    };
    let values: Vec<Option<f64>> = text
        .split_whitespace()
        .map(|word| word.parse::<f64>().ok().filter(|value| value.is_finite()))
        .collect();
    if values.len() == steps {
        Ok(Some(values))
    } else {
        Err(values.len())
    }
}

fn one(place: &Place, document: &Document, file: &mut Reading<'_>) -> Option<Found> {
    let steps = document.steps.len();
    let mut columns = Vec::with_capacity(ELEMENTS.len());
    for name in ELEMENTS {
        match values(place, name, steps) {
            Ok(column) => columns.push(column),
            Err(count) => {
                let fault = file
                    .fault(
                        "BW-S45",
                        Severity::Rejected,
                        "an element has more or fewer values than there are time steps",
                    )
                    .column(name)
                    .value(&format!("{}: {count} values, {steps} steps", place.name))
                    .remedy("The place was not used.");
                file.push(fault);
                return None;
            }
        }
    }
    let at = |column: usize, step: usize| {
        let values = columns.get(column).and_then(Option::as_ref)?;
        values.get(step).copied().flatten()
    };
    let mut readings = Vec::new();
    let mut nodes = Vec::new();
    for (step, time) in document.steps.iter().enumerate() {
        let Some(air_k) = at(0, step) else { continue };
        let air_c = air_k - ZERO_C_IN_K;
        readings.push(reading(RawReading {
            time_utc: *time,
            air_c: Some(air_c),
            wind_m_s: at(2, step),
            dew_point_c: at(1, step).map(|dew| dew - ZERO_C_IN_K),
            sky_cover: at(3, step).map(|percent| percent / 100.0),
            kind: Kind::Forecast,
            set_aside: None,
        }));
        if let Some(error) = at(4, step).filter(|error| (0.0..=30.0).contains(error)) {
            let sd = error * SD_FOR_ABSOLUTE_ERROR;
            nodes.push((When::At(*time), vec![air_c - sd, air_c + sd]));
        }
    }
    if readings.is_empty() {
        let fault = file
            .fault("BW-S31", Severity::Rejected, "a place has no air temperature")
            .column("TTT")
            .value(&place.name)
            .remedy("The place was not used.");
        file.push(fault);
        return None;
    }
    let mut numbers = place.coordinates.split(',').map(|text| text.trim().parse::<f64>().ok());
    let (longitude_deg, latitude_deg, elevation_m) = (
        numbers.next().flatten().filter(|value| value.abs() <= 180.0),
        numbers.next().flatten().filter(|value| value.abs() <= 90.0),
        numbers.next().flatten().filter(|value| value.is_finite()),
    );
    let station = Station {
        station_id: place.name.clone(),
        latitude_deg,
        longitude_deg,
        elevation_m,
    };
    let mut found = file.hourly(FORMAT, station, readings, document.issued, Nature::Record);
    nodes.sort_by_key(|node| node.0.latest());
    let scores = vec![-1.0, 1.0];
    found.told = (!nodes.is_empty()).then_some(Told::Percentiles { scores, nodes });
    Some(found)
}
