//! Forecasts that carry their own spread: bulletins of the national blend, MET Norway, Open-Meteo, MOSMIX.

use brimwater::faults::Faults;
use brimwater::weather::readers::{Format, Found, read_reported, recognise};
use brimwater::weather::spread::{Spread, Told, When};
use brimwater::weather::{AssembleOptions, Kind, RawReading, ReadOptions, Series, Station, assemble};
use chrono::{DateTime, TimeDelta, Utc};
use std::io::Write;

const NBP: &str = include_str!("../data/forecast/nbp.txt");
const NBS: &str = include_str!("../data/forecast/nbs.txt");

fn at(text: &str) -> DateTime<Utc> {
    text.parse().unwrap()
}

fn read(bytes: &[u8]) -> (Vec<Found>, Faults) {
    read_reported(bytes, "forecast", &ReadOptions::default())
}

fn codes(faults: &Faults) -> Vec<&'static str> {
    faults.0.iter().map(|fault| fault.code).collect()
}

/// Days whose coldest hour is 12 − 3 = 09 UTC and whose warmest is 21 UTC, °C.
fn daily(start: &str, hours: u32) -> Series {
    let start = at(start);
    let readings = (0..hours)
        .map(|hour| {
            let time = start + TimeDelta::hours(i64::from(hour));
            let phase = (time.timestamp() as f64 / 3600.0 - 9.0) / 24.0 * std::f64::consts::TAU;
            RawReading::of_air(time, 5.0 - 6.0 * phase.cos(), Kind::Forecast)
        })
        .collect();
    let station = Station {
        station_id: "PRAF".into(),
        ..Station::default()
    };
    assemble(station, readings, &AssembleOptions::new("made", "made"))
        .0
        .unwrap()
}

#[test]
fn a_nights_percentiles_stand_at_the_nights_own_minimum() {
    // X-Val: the blend's text card: minimum between 00 and 18 UTC listed at 12, maximum between 12 and 06 UTC listed at 00. The wrong
    // program puts them at 12 and at 00 UTC, and its night at 09 UTC is colder than told by the curve between, 1.8 K here.
    let (found, faults) = read(NBP.as_bytes());
    assert!(faults.0.is_empty(), "{:?}", faults.0);
    assert_eq!(recognise(NBP.as_bytes()), Some(Format::Blend));
    let told = found[0].told.clone().unwrap();
    let Told::Percentiles { scores, nodes } = &told else {
        panic!("members")
    };
    assert_eq!(nodes.len(), 12);
    assert!((scores[0] + 1.2816).abs() < 1e-3 && scores[2].abs() < 1e-9);
    assert_eq!(
        nodes[1].0,
        When::LowestIn(at("2027-01-19T00:00:00Z"), at("2027-01-19T18:00:00Z"))
    );
    assert_eq!(
        nodes[0].0,
        When::HighestIn(at("2027-01-18T12:00:00Z"), at("2027-01-19T06:00:00Z"))
    );
    // 19 °F is the 10 % of the third night, 25 °F its middle.
    assert!((nodes[5].1[0] - (19.0 - 32.0) / 1.8).abs() < 1e-9 && (nodes[5].1[2] - (25.0 - 32.0) / 1.8).abs() < 1e-9);
    let spread = Spread {
        stations: [("PRAF".to_owned(), told)].into(),
        own_only: false,
    };
    let series = daily("2027-01-18T12:00:00Z", 160);
    let departures = spread.departures(&series).unwrap();
    let middle = departures.at(at("2027-01-21T09:00:00Z"), 0, 0.0).unwrap();
    let night = 5.0 - 6.0 + middle;
    assert!((night - (25.0 - 32.0) / 1.8).abs() < 1e-6, "{night}");
    let day = 5.0 + 6.0 + departures.at(at("2027-01-20T21:00:00Z"), 0, 0.0).unwrap();
    assert!((day - (56.0 - 32.0) / 1.8).abs() < 1e-6, "{day}");
}

#[test]
fn a_night_that_the_series_cuts_is_not_placed() {
    // Wrong program: takes the edge of the series for the night's minimum. The series begins at 11 UTC, after the coldest hour.
    let (found, _) = read(NBP.as_bytes());
    let spread = Spread {
        stations: [(String::new(), found[0].told.clone().unwrap())].into(),
        own_only: false,
    };
    let series = daily("2027-01-19T11:00:00Z", 30);
    let departures = spread.departures(&series).unwrap();
    assert!(departures.at(at("2027-01-19T11:00:00Z"), 0, 0.0).is_none());
    assert!(departures.at(at("2027-01-19T22:00:00Z"), 0, 0.0).is_some());
}

#[test]
fn the_three_hourly_bulletin_is_read_by_columns() {
    // X-Val: a published bulletin of 6 May 2025 (public domain): 54 °F at 12 UTC, sd 2 °F, night's minimum 50 °F listed at 12 UTC of
    // the 7th. Wrong programs: split by blanks (a row TXN has fewer values than columns), or miss the minimum between the hours.
    let (found, faults) = read(NBS.as_bytes());
    // The hours between are filled and that is noted; nothing else is.
    assert_eq!(codes(&faults), ["BW-S12"]);
    let series = found[0].series.as_ref().unwrap();
    assert_eq!(series.start, at("2025-05-06T12:00:00Z"));
    assert_eq!(series.end(), at("2025-05-09T06:00:00Z"));
    assert!((series.air_c[0] - (54.0 - 32.0) / 1.8).abs() < 1e-9);
    let (coldest, air) = series.coldest().unwrap();
    assert!((air - 10.0).abs() < 1e-9, "{air}");
    // 53 °F at 09 UTC is the coldest of the columns; 55 before it is colder than 56 after it.
    assert_eq!(series.time(coldest), at("2025-05-07T08:00:00Z"));
    let Some(Told::Percentiles { nodes, scores }) = &found[0].told else {
        panic!("no spread")
    };
    assert_eq!((nodes.len(), scores.as_slice()), (23, &[-1.0, 1.0][..]));
    assert!((nodes[0].1[1] - nodes[0].1[0] - 4.0 / 1.8).abs() < 1e-9);
}

#[test]
fn fields_that_run_together_are_parted() {
    // X-Val: fields of three characters; "100100" is twice 100 and "  9-88" is 9 and −88.
    let text = " KAAA    NBM V5.0 NBS GUIDANCE    1/18/2027  1300 UTC\n UTC  18 21 00\n FHR  05 08 11\n TMP   9-18100\n TSD   2  2  3\n SKY 100100-99\n";
    let (found, faults) = read(text.as_bytes());
    assert!(
        faults
            .0
            .iter()
            .all(|fault| fault.code != "BW-S32" && fault.code != "BW-S41"),
        "{:?}",
        faults.0
    );
    let series = found[0].series.as_ref().unwrap();
    for (hour, air_f) in [(0, 9.0), (3, -18.0), (6, 100.0)] {
        assert!(
            (series.air_c[hour] - (air_f - 32.0) / 1.8).abs() < 1e-9,
            "{hour}: {}",
            series.air_c[hour]
        );
    }
    assert_eq!(series.sky_cover[0], Some(1.0));
}

#[test]
fn bulletins_that_are_not_whole_are_refused() {
    // Wrong program: reads what is left of a bulletin that a broken transfer cut, or columns that slipped by one.
    let cut = &NBP[..NBP.len() - 90];
    let (found, faults) = read(cut.as_bytes());
    assert!(found.is_empty() && codes(&faults).contains(&"BW-S41"), "{:?}", faults.0);
    let slipped = NBP.replace("11   23", "12   23");
    let (found, faults) = read(slipped.as_bytes());
    assert!(found.is_empty() && codes(&faults) == ["BW-S44"], "{:?}", faults.0);
    // An hour later in issue and in every column: they agree, and no night or day is listed at such an hour.
    let between = NBP.replace("1300 UTC", "1400 UTC").replace(
        " UTC    00   12|  00   12|  00   12|  00   12|  00   12|  00   12",
        " UTC    01   13|  01   13|  01   13|  01   13|  01   13|  01   13",
    );
    assert_ne!(between, NBP);
    let (found, faults) = read(between.as_bytes());
    assert!(found.is_empty() && codes(&faults) == ["BW-S44"], "{:?}", faults.0);
    assert!(faults.0[0].what.contains("12"), "{:?}", faults.0);
    let crossed = NBP.replace("TXNP1  56", "TXNP1  66");
    let (found, faults) = read(crossed.as_bytes());
    assert!(found.is_empty() && codes(&faults) == ["BW-S25"], "{:?}", faults.0);
    // Every cut of either bulletin: told or whole, never a panic.
    for text in [NBP, NBS] {
        for end in 0..text.len() {
            let (found, faults) = read(&text.as_bytes()[..end]);
            assert!(!found.is_empty() || !faults.0.is_empty());
        }
    }
}

#[test]
fn versions_that_are_mixed_and_stations_that_are_unknown_are_told() {
    let later = NBP
        .replace("1/18/2027  1300", "1/19/2027  1300")
        .replace("V5.0", "V4.3")
        .replace(" 59   45", " 60   46");
    let (found, faults) = read(format!("{later}\n{NBP}").as_bytes());
    assert_eq!(codes(&faults), ["BW-S42"]);
    let Some(Told::Percentiles { nodes, .. }) = &found[0].told else {
        panic!("no spread")
    };
    // Wrong program: the last in the file wins.
    assert_eq!(nodes[0].0.latest(), at("2027-01-20T06:00:00Z"));
    let options = ReadOptions {
        stations: vec!["KXYZ".into()],
        ..ReadOptions::default()
    };
    let (found, faults) = read_reported(NBP.as_bytes(), "nbp", &options);
    assert!(found.is_empty() && codes(&faults) == ["BW-S43"]);
}

fn met(p10: f64, unit: &str) -> String {
    let mut steps = Vec::new();
    for hour in [0, 1, 2, 8, 14] {
        let time = (at("2026-11-24T17:00:00Z") + TimeDelta::hours(hour)).to_rfc3339();
        steps.push(format!(
            r#"{{"time":"{time}","data":{{"instant":{{"details":{{"air_temperature":-1.5,"air_temperature_percentile_10":{p10},"air_temperature_percentile_90":-0.9,"dew_point_temperature":-4.4,"wind_speed":0.2,"cloud_area_fraction":99.9}}}},"next_6_hours":{{"details":{{"air_temperature_min":-4.0,"air_temperature_max":-1.5}}}}}}}}"#
        ));
    }
    format!(
        r#"{{"type":"Feature","geometry":{{"type":"Point","coordinates":[10.75,59.91,5]}},"properties":{{"meta":{{"updated_at":"2026-11-24T16:30:00Z","units":{{{unit}"air_temperature_percentile_10":"celsius","air_temperature_percentile_90":"celsius","wind_speed":"m/s","cloud_area_fraction":"%"}}}},"timeseries":[{}]}}}}"#,
        steps.join(",")
    )
}

#[test]
fn met_norway_gives_hours_percentiles_and_the_cold_between_six_hour_steps() {
    // X-Val: values of a published reply (−1.5, 10th percentile −2.5, 90th −0.9 °C). Wrong program: a straight line over six hours
    // hides the −4 °C that the step itself tells.
    let unit = r#""air_temperature":"celsius","#;
    let (found, faults) = read(met(-2.5, unit).as_bytes());
    assert!(!faults.is_fatal(), "{:?}", faults.0);
    let series = found[0].series.as_ref().unwrap();
    assert_eq!(
        (series.station.latitude_deg, series.station.elevation_m),
        (Some(59.91), Some(5.0))
    );
    assert_eq!(series.hours(), 15);
    assert!((series.air_c[5] + 4.0).abs() < 1e-9);
    let Some(Told::Percentiles { nodes, .. }) = &found[0].told else {
        panic!("no spread")
    };
    assert_eq!(nodes[0].1, [-2.5, -0.9]);
    let (_, faults) = read(met(-0.5, unit).as_bytes());
    assert!(codes(&faults).contains(&"BW-S25"));
    let (found, faults) = read(met(-2.5, "").as_bytes());
    assert!(found.is_empty() && codes(&faults) == ["BW-S46"]);
}

#[test]
fn open_meteo_members_are_members_and_unequal_ones_are_refused() {
    let text = |last: &str, unit: &str| {
        format!(
            r#"{{"latitude":52.5,"longitude":13.4,"elevation":38.0,"utc_offset_seconds":3600,"hourly_units":{{"time":"iso8601"{unit}}},"hourly":{{"time":["2026-11-20T01:00","2026-11-20T02:00","2026-11-20T03:00"],"temperature_2m":[1.0,0.0,-1.0],"temperature_2m_member01":[2.0,1.0,0.5],"temperature_2m_member02":{last}}}}}"#
        )
    };
    let unit = r#","temperature_2m":"°C""#;
    let (found, faults) = read(text("[0.0,-1.0,-2.5]", unit).as_bytes());
    assert!(faults.0.is_empty(), "{:?}", faults.0);
    // Wrong program: takes local times for UTC.
    assert_eq!(found[0].series.as_ref().unwrap().start, at("2026-11-20T00:00:00Z"));
    let Some(Told::Members(nodes)) = &found[0].told else {
        panic!("no members")
    };
    assert_eq!(nodes[2].1, [-1.0, 0.5, -2.5]);
    let (found, faults) = read(text("[0.0,-1.0]", unit).as_bytes());
    assert_eq!(codes(&faults), ["BW-S45"]);
    let Some(Told::Members(nodes)) = &found[0].told else {
        panic!("no members")
    };
    assert_eq!(nodes[2].1, [-1.0, 0.5]);
    let (found, faults) = read(text("[0.0,-1.0,-2.5]", "").as_bytes());
    assert!(found.is_empty() && codes(&faults) == ["BW-S46"]);
    // Fahrenheit is converted, not believed to be Celsius.
    let (found, _) = read(text("[0.0,-1.0,-2.5]", r#","temperature_2m":"°F""#).as_bytes());
    assert!((found[0].series.as_ref().unwrap().air_c[0] + 31.0 / 1.8).abs() < 1e-9);
}

#[test]
fn open_meteo_places_in_one_document_keep_apart_and_each_unit_of_wind_is_converted() {
    // X-Val: the units' definitions: 1 mi = 1.609344 km, 1 nautical mile = 1.852 km.
    for (unit, m_per_s) in [
        ("m/s", 1.0),
        ("km/h", 1.0 / 3.6),
        ("mp/h", 1.609_344 / 3.6),
        ("mph", 1.609_344 / 3.6),
        ("kn", 1.852 / 3.6),
    ] {
        let one = |air: f64| {
            format!(
                r#"{{"latitude":52.5,"longitude":13.4,"utc_offset_seconds":0,"hourly_units":{{"time":"unixtime","temperature_2m":"°C","wind_speed_10m":"{unit}","dew_point_2m":"°F"}},"hourly":{{"time":[1795132800,1795136400],"temperature_2m":[{air},0.0],"wind_speed_10m":[10.0,8.0],"dew_point_2m":[23.0,23.0],"cloud_cover":[40,40]}}}}"#
            )
        };
        let (found, faults) = read(format!("[{},{}]", one(1.0), one(3.0)).as_bytes());
        assert!(faults.0.is_empty(), "{unit}: {:?}", faults.0);
        let series: Vec<&Series> = found.iter().map(|found| found.series.as_ref().unwrap()).collect();
        assert_eq!(series.len(), 2);
        assert_eq!([series[0].air_c[0], series[1].air_c[0]], [1.0, 3.0]);
        assert_ne!(series[0].station.station_id, series[1].station.station_id);
        assert_eq!(series[0].start.timestamp(), 1_795_132_800);
        let wind_m_s = series[0].wind_m_s[0].unwrap();
        assert!((wind_m_s - 10.0 * m_per_s).abs() < 1e-9, "{unit}: {wind_m_s}");
    }
    // A unit that nobody knows gives no wind rather than a wrong one.
    let text = r#"{"hourly_units":{"temperature_2m":"°C","wind_speed_10m":"Bft"},"hourly":{"time":["2026-11-20T00:00","2026-11-20T01:00"],"temperature_2m":[1.0,0.0],"wind_speed_10m":[10.0,8.0]}}"#;
    let (found, _) = read(text.as_bytes());
    assert!(found[0].series.as_ref().unwrap().wind_m_s[0].is_none_or(|wind| wind < 9.0));
    // What is no time, and a forecast without a run, are told.
    let no_time = text.replace("2026-11-20T01:00", "tomorrow");
    let (found, faults) = read(no_time.as_bytes());
    assert!(found.is_empty() && codes(&faults) == ["BW-S04"]);
    let (found, faults) = read(text.replace("[1.0,0.0]", "[null,null]").as_bytes());
    assert!(found.is_empty() && codes(&faults) == ["BW-S31"]);
}

fn kml(air: &str) -> String {
    format!(
        r#"<?xml version="1.0" encoding="UTF-8"?><kml:kml xmlns:dwd="d" xmlns:kml="k"><kml:Document><kml:ExtendedData><dwd:ProductDefinition><dwd:IssueTime>2026-11-24T09:00:00.000Z</dwd:IssueTime><dwd:ForecastTimeSteps><dwd:TimeStep>2026-11-24T10:00:00.000Z</dwd:TimeStep><dwd:TimeStep>2026-11-24T11:00:00.000Z</dwd:TimeStep><dwd:TimeStep>2026-11-24T12:00:00.000Z</dwd:TimeStep></dwd:ForecastTimeSteps></dwd:ProductDefinition></kml:ExtendedData><kml:Placemark><kml:name>P0001</kml:name><kml:ExtendedData><dwd:Forecast dwd:elementName="TTT"><dwd:value>   {air} </dwd:value></dwd:Forecast><dwd:Forecast dwd:elementName="E_TTT"><dwd:value> 1.00 1.50 - </dwd:value></dwd:Forecast></kml:ExtendedData><kml:Point><kml:coordinates>6.67,49.75,278.0</kml:coordinates></kml:Point></kml:Placemark></kml:Document></kml:kml>"#
    )
}

fn kmz(document: &[u8]) -> Vec<u8> {
    let mut archive = zip::ZipWriter::new(std::io::Cursor::new(Vec::new()));
    archive
        .start_file("forecast.kml", zip::write::SimpleFileOptions::default())
        .unwrap();
    archive.write_all(document).unwrap();
    archive.finish().unwrap().into_inner()
}

#[test]
fn mosmix_is_read_from_its_archive() {
    // X-Val: kelvin less 273.15; an absolute error of 1 K is a standard deviation of 1.2533 K (normal distribution, √(π/2)).
    let whole = kmz(kml("273.15 272.15 271.65").as_bytes());
    let (found, faults) = read(&whole);
    assert!(faults.0.is_empty(), "{:?}", faults.0);
    let series = found[0].series.as_ref().unwrap();
    assert_eq!(
        (series.station.station_id.as_str(), series.station.latitude_deg),
        ("P0001", Some(49.75))
    );
    assert!((series.air_c[1] + 1.0).abs() < 1e-9);
    let Some(Told::Percentiles { nodes, .. }) = &found[0].told else {
        panic!("no spread")
    };
    assert_eq!(nodes.len(), 2);
    assert!((nodes[0].1[0] + 1.253_314).abs() < 1e-5);
    let (found, faults) = read(&kmz(kml("273.15 272.15").as_bytes()));
    assert!(found.is_empty() && codes(&faults) == ["BW-S45"]);
    let (found, faults) = read(&whole[..whole.len() / 2]);
    assert!(found.is_empty() && codes(&faults) == ["BW-S47"]);
    let (found, faults) = read(kml("273.15 272.15 271.65").split_at(700).0.as_bytes());
    assert!(found.is_empty() && codes(&faults) == ["BW-S48"], "{:?}", faults.0);
}

#[test]
fn mosmix_without_steps_or_with_more_than_can_be_is_refused() {
    // X-Val: the service gives 247 steps \[dwd-mosmix\]; a thousand are none of its files. Wrong program: a list of steps without bound.
    let whole = kml("273.15 272.15 271.65");
    let (from, to) = (
        whole.find("<dwd:TimeStep>").unwrap(),
        whole.find("</dwd:ForecastTimeSteps>").unwrap(),
    );
    let with_steps = |count: usize| {
        let steps = "<dwd:TimeStep>2026-11-24T10:00:00.000Z</dwd:TimeStep>".repeat(count);
        format!("{}{steps}{}", &whole[..from], &whole[to..])
    };
    for count in [0, 1_001] {
        let (found, faults) = read(with_steps(count).as_bytes());
        assert!(
            found.is_empty() && codes(&faults) == ["BW-S48"],
            "{count}: {:?}",
            faults.0
        );
    }
    // As many as are told are needed of each element.
    let (found, faults) = read(with_steps(1_000).as_bytes());
    assert!(found.is_empty() && codes(&faults) == ["BW-S45"], "{:?}", faults.0);
    let no_place = whole.replace("Placemark", "Somewhere");
    let (found, faults) = read(no_place.as_bytes());
    assert!(found.is_empty() && codes(&faults) == ["BW-S48"], "{:?}", faults.0);
}

#[test]
fn an_archive_that_swells_is_refused() {
    // Wrong program: believes the size that the archive tells, or unpacks 65 MiB and more into memory.
    let swollen = kmz(&vec![b' '; 65 * 1024 * 1024]);
    let (found, faults) = read(&swollen);
    assert!(found.is_empty() && codes(&faults) == ["BW-S47"]);
}
