//! The charts of a plan: the spell, first ice, the map, the thresholds, the chance of damage.

use super::charts::{
    AIR, ChartError, Frame, GRID, ICE, INK, Ink, LINES, MILD, NEXT, PRESSING, QUIET, SOFT, Shape, Sheet, Side, WATER,
    cut, sheet, spread_labels,
};
use crate::freeze::{Outlook, Trace};
use crate::ranking::{Tier, Words};
use crate::units;
use crate::weather::{Series, Station};
use chrono::{DateTime, TimeDelta, Utc};
use std::sync::Arc;

/// One of the worst assemblies, for the charts that show single ones.
#[derive(Debug, Clone)]
pub struct Case<'a> {
    /// Rank and identifier, such as `1 · B-0142`.
    pub label: String,
    /// What it is, such as `1 in PVB, open`.
    pub kind: String,
    /// Its outlook, with the trace.
    pub outlook: &'a Outlook,
    /// How many more are the same thermal case.
    pub alike: usize,
}

/// A point of the map.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Dot {
    /// Latitude, degrees north.
    pub latitude_deg: f64,
    /// Longitude, degrees east.
    pub longitude_deg: f64,
    /// Tier.
    pub tier: Tier,
}

const WIDTH: f64 = 860.0;
const SMALL: f64 = 11.5;
const PLAIN: f64 = 13.0;
const HEAD: f64 = 16.0;

/// Shape and colour of a tier; shape and lightness tell them apart without hue.
pub fn tier_mark(tier: Tier) -> (Shape, f64, Ink) {
    match tier {
        Tier::CallFirst => (Shape::Triangle, 6.0, PRESSING),
        Tier::CallNext => (Shape::Diamond, 4.6, NEXT),
        Tier::Message => (Shape::Ring, 3.4, MILD),
        Tier::NoContact => (Shape::Dot, 1.7, QUIET),
    }
}

/// The part of a window that a chart shows: all of it up to 14 days, else ten days about the coldest hour.
pub fn focus(window: (DateTime<Utc>, DateTime<Utc>), coldest: DateTime<Utc>) -> (DateTime<Utc>, DateTime<Utc>) {
    let (start, end) = window;
    if end - start <= TimeDelta::days(14) {
        return window;
    }
    let from = (coldest - TimeDelta::days(5)).clamp(start, end - TimeDelta::days(10));
    (from, from + TimeDelta::days(10))
}

/// Where the coldest air of a trace stands.
fn coldest_of(trace: &Trace, start: DateTime<Utc>) -> DateTime<Utc> {
    let at = trace
        .air_c
        .iter()
        .enumerate()
        .min_by(|a, b| a.1.total_cmp(b.1))
        .map_or(0, |(i, _)| i);
    start + TimeDelta::hours(at as i64)
}

fn shown(celsius: f64, words: &Words) -> f64 {
    if words.us { units::f_from_c(celsius) } else { celsius }
}

fn unit_name(words: &Words) -> &'static str {
    if words.us { "°F" } else { "°C" }
}

/// Lowest and highest of the values, widened to hold freezing and to a whole step.
fn range(values: impl Iterator<Item = f64>, freezing: f64) -> (f64, f64) {
    let (mut low, mut high) = (freezing - 4.0, freezing + 4.0);
    for value in values.filter(|value| value.is_finite()) {
        low = low.min(value);
        high = high.max(value);
    }
    ((low - 1.0).floor(), (high + 1.0).ceil())
}

fn heading(sheet: &Sheet<'_>, title: &str, under: &str) -> Result<(), ChartError> {
    sheet.bold(title, (16.0, 22.0), Side::Start, HEAD, INK)?;
    sheet.text(under, (16.0, 42.0), Side::Start, PLAIN, SOFT)
}

/// Hours of a trace inside a span, as indices.
fn hours_in(trace_len: usize, start: DateTime<Utc>, span: (DateTime<Utc>, DateTime<Utc>)) -> std::ops::Range<usize> {
    let from = (span.0 - start).num_hours().max(0) as usize;
    let to = ((span.1 - start).num_hours().max(0) as usize + 1).min(trace_len);
    from.min(to)..to
}

/// Air and coldest water through the spell, one panel for each of up to six cases.
///
/// # Errors
/// When no case has a trace.
pub fn spell(cases: &[Case<'_>], words: &Words) -> Result<String, ChartError> {
    let cases: Vec<(&Case<'_>, &Trace)> = cases
        .iter()
        .filter_map(|case| case.outlook.trace.as_ref().map(|trace| (case, trace)))
        .filter(|(_, trace)| !trace.air_c.is_empty())
        .take(6)
        .collect();
    let Some((first, first_trace)) = cases.first() else {
        return Err(ChartError::new("no assembly has an hourly trace"));
    };
    let window = (first.outlook.window_start, first.outlook.window_end);
    let span = focus(window, coldest_of(first_trace, window.0));
    let ensemble = first.outlook.members > 1;
    let freezing = shown(0.0, words);
    let all = cases.iter().flat_map(|(case, trace)| {
        let hours = hours_in(trace.air_c.len(), case.outlook.window_start, span);
        let air = trace.air_c[hours].iter().copied();
        air.chain(trace.coldest_water_c.iter().flatten().copied())
    });
    let (low, high) = range(all.map(|c| shown(c, words)), freezing);
    // Warm water far above freezing is not what this chart is about.
    let high = high.min(freezing + if words.us { 36.0 } else { 20.0 });

    let columns = if cases.len() == 1 { 1 } else { 2 };
    let rows = cases.len().div_ceil(columns);
    let panel_w = (WIDTH - 16.0) / columns as f64;
    let panel_h = 190.0;
    let height = 74.0 + rows as f64 * panel_h + 8.0;
    let count = cases.len();
    let description = words.pick(
        format!(
            "One panel for each of the worst {count} cases; a grey line for the air, a dark line for the coldest water in the assembly, \
             and a pale band below freezing."
        ),
        format!(
            "Un panel por cada uno de los {count} casos peores; línea gris para el aire, línea oscura para el agua más fría del conjunto \
             y franja clara bajo cero."
        ),
    );
    let title = words.pick(
        "Air and coldest water through the spell",
        "Aire y agua más fría durante la helada",
    );
    // One assembly is shown on its own page; only a list has a worst.
    let under = if cases.len() == 1 {
        ""
    } else {
        words.pick(
            "The worst assemblies; those that are the same case share a panel",
            "Los conjuntos peores; los del mismo caso comparten panel",
        )
    };
    sheet((WIDTH, height), title, &description, |s| {
        heading(s, title, under)?;
        let y = 62.0;
        s.line(&[(16.0, y), (38.0, y)], AIR, 1.5)?;
        s.text(words.pick("air", "aire"), (44.0, y), Side::Start, SMALL, SOFT)?;
        s.line(&[(80.0, y), (102.0, y)], WATER, 2.2)?;
        s.text(
            words.pick("coldest water", "agua más fría"),
            (108.0, y),
            Side::Start,
            SMALL,
            SOFT,
        )?;
        if ensemble {
            s.rect((206.0, y - 5.0), (228.0, y + 5.0), WATER, 0.25)?;
            s.text(
                words.pick("10 to 90 % of members", "10 a 90 % de los casos"),
                (234.0, y),
                Side::Start,
                SMALL,
                SOFT,
            )?;
        }
        s.rect((390.0, y - 5.0), (412.0, y + 5.0), ICE, 1.0)?;
        s.text(
            words.pick("below freezing", "bajo cero"),
            (418.0, y),
            Side::Start,
            SMALL,
            SOFT,
        )?;
        for (i, (case, trace)) in cases.iter().enumerate() {
            let left = 8.0 + (i % columns) as f64 * panel_w;
            let top = 74.0 + (i / columns) as f64 * panel_h;
            let frame = Frame::over_time(
                (left + 48.0, top + 26.0),
                (left + panel_w - 10.0, top + panel_h - 30.0),
                span,
                (low, high),
            );
            let alike = if case.alike > 0 {
                words.pick(format!(" and {} more", case.alike), format!(" y {} más", case.alike))
            } else {
                String::new()
            };
            s.bold(
                &cut(&format!("{}{alike}", case.label), 170.0, PLAIN),
                (left + 48.0, top + 14.0),
                Side::Start,
                PLAIN,
                INK,
            )?;
            s.text(
                &cut(&case.kind, panel_w - 240.0, SMALL),
                (left + panel_w - 10.0, top + 14.0),
                Side::End,
                SMALL,
                SOFT,
            )?;
            s.rect(
                (frame.x.px_from, frame.y.px(freezing)),
                (frame.x.px_to, frame.y.px_from),
                ICE,
                1.0,
            )?;
            let degree = |v: f64| format!("{v:.0} {}", unit_name(words));
            frame.y_axis(s, &frame.y.ticks(4), degree, SMALL)?;
            frame.days(s, words.zone, words.language, SMALL)?;
            let start = case.outlook.window_start;
            let hours = hours_in(trace.air_c.len().min(trace.coldest_water_c.len()), start, span);
            let at = |h: usize, c: f64| frame.point(start + TimeDelta::hours(h as i64), shown(c, words));
            let edge = |k: usize| {
                hours
                    .clone()
                    .map(|h| at(h, trace.coldest_water_c[h][k]))
                    .collect::<Vec<_>>()
            };
            if ensemble {
                s.band(&edge(0), &edge(2), WATER, 0.25)?;
            }
            s.line(
                &hours.clone().map(|h| at(h, trace.air_c[h])).collect::<Vec<_>>(),
                AIR,
                1.5,
            )?;
            s.line(&edge(1), WATER, 2.2)?;
            if let Some(ice) = case
                .outlook
                .first_ice
                .p50
                .filter(|ice| *ice >= span.0 && *ice <= span.1)
            {
                let x = frame.x.px(ice.timestamp() as f64);
                s.dashed(&[(x, frame.y.px_to), (x, frame.y.px_from)], PRESSING, 1.2, 3.0, 3.0)?;
                let (side, dx) = if x > frame.x.px_to - 90.0 {
                    (Side::End, -4.0)
                } else {
                    (Side::Start, 4.0)
                };
                s.text(
                    &format!("{} {}", words.pick("ice", "hielo"), words.moment(ice)),
                    (x + dx, frame.y.px_to + 8.0),
                    side,
                    SMALL,
                    PRESSING,
                )?;
            }
        }
        Ok(())
    })
}

/// When first ice comes across the programme: assemblies in which ice has formed by each hour, early edge, middle, late edge.
///
/// # Errors
/// When there is no outlook.
pub fn first_ice(outlooks: &[Arc<Outlook>], words: &Words) -> Result<String, ChartError> {
    let Some(first) = outlooks.first() else {
        return Err(ChartError::new("there is no outlook"));
    };
    let ensemble = first.members > 1;
    let window = (first.window_start, first.window_end);
    let sorted = |pick: fn(&Outlook) -> Option<DateTime<Utc>>| {
        let mut times: Vec<DateTime<Utc>> = outlooks.iter().filter_map(|outlook| pick(outlook)).collect();
        times.sort_unstable();
        times
    };
    let edges = [
        sorted(|outlook| outlook.first_ice.p10),
        sorted(|outlook| outlook.first_ice.p50),
        sorted(|outlook| outlook.first_ice.p90),
    ];
    let span = focus(window, edges[0].first().copied().unwrap_or(window.0));
    let most = edges[0].len();
    let under = if most == 0 {
        words.pick(
            format!("No ice is expected in any of the {} assemblies", outlooks.len()),
            format!("No se espera hielo en ninguno de los {} conjuntos", outlooks.len()),
        )
    } else {
        words.pick(
            format!(
                "Assemblies in which ice has formed by each hour, of {}; nights are shaded",
                outlooks.len()
            ),
            format!(
                "Conjuntos con hielo ya formado a cada hora, de {}; las noches van sombreadas",
                outlooks.len()
            ),
        )
    };
    let title = words.pick("When first ice comes", "Cuándo llega el primer hielo");
    sheet((WIDTH, 340.0), title, &under, |s| {
        heading(s, title, &under)?;
        let frame = Frame::over_time(
            (64.0, 64.0),
            (WIDTH - 150.0, 300.0),
            span,
            (0.0, (most.max(4) as f64) * 1.04),
        );
        frame.nights(s, words.zone)?;
        frame.y_axis(s, &frame.y.ticks(5), |v| format!("{v:.0}"), SMALL)?;
        frame.days(s, words.zone, words.language, SMALL)?;
        let steps = |times: &[DateTime<Utc>]| {
            let mut line = vec![frame.point(span.0, 0.0)];
            let mut count = 0usize;
            let mut i = 0;
            while i < times.len() {
                let time = times[i];
                line.push(frame.point(time, count as f64));
                while i < times.len() && times[i] == time {
                    count += 1;
                    i += 1;
                }
                line.push(frame.point(time, count as f64));
            }
            line.push(frame.point(span.1, count as f64));
            line
        };
        let lines: Vec<Vec<(f64, f64)>> = edges.iter().map(|times| steps(times)).collect();
        let names: &[(usize, &str)] = if ensemble {
            &[
                (0, words.pick("early edge (10 %)", "lo más pronto (10 %)")),
                (1, words.pick("middle", "en medio")),
                (2, words.pick("late edge (90 %)", "lo más tarde (90 %)")),
            ]
        } else {
            &[(1, words.pick("cautious run", "cálculo cauto"))]
        };
        if ensemble {
            s.band(&lines[0], &lines[2], WATER, 0.14)?;
            s.line(&lines[0], PRESSING, 1.6)?;
            s.dashed(&lines[2], SOFT, 1.4, 5.0, 4.0)?;
        }
        s.line(&lines[1], WATER, 2.4)?;
        let ends: Vec<f64> = names
            .iter()
            .map(|(k, _)| lines[*k].last().map_or(300.0, |point| point.1))
            .collect();
        let placed = spread_labels(&ends, 32.0, 72.0, 296.0);
        for ((k, name), y) in names.iter().zip(placed) {
            let ink = [PRESSING, WATER, SOFT][*k];
            s.bold(
                &edges[*k].len().to_string(),
                (WIDTH - 142.0, y - 7.0),
                Side::Start,
                PLAIN,
                ink,
            )?;
            s.text(name, (WIDTH - 142.0, y + 8.0), Side::Start, SMALL, ink)?;
        }
        Ok(())
    })
}

/// Dots by tier where the assemblies stand; a cell of the sheet that holds several shows the most pressing one.
///
/// # Errors
/// When no assembly has coordinates.
pub fn map(dots: &[Dot], stations: &[Station], words: &Words) -> Result<String, ChartError> {
    let known = dots.iter().map(|dot| (dot.latitude_deg, dot.longitude_deg));
    let mut bounds: Option<(f64, f64, f64, f64)> = None;
    for (lat, lon) in known.filter(|(lat, lon)| lat.is_finite() && lon.is_finite()) {
        let b = bounds.unwrap_or((lat, lat, lon, lon));
        bounds = Some((b.0.min(lat), b.1.max(lat), b.2.min(lon), b.3.max(lon)));
    }
    let Some((south, north, west, east)) = bounds else {
        return Err(ChartError::new("no assembly has coordinates"));
    };
    // Stations near by are drawn; a far one must not shrink the town to a dot.
    let reach = ((north - south).max(east - west) * 0.3).max(0.01);
    let near: Vec<(&Station, f64, f64)> = stations
        .iter()
        .filter_map(|station| Some((station, station.latitude_deg?, station.longitude_deg?)))
        .filter(|(_, lat, lon)| {
            (south - reach..=north + reach).contains(lat) && (west - reach..=east + reach).contains(lon)
        })
        .collect();
    let (mut south, mut north, mut west, mut east) = (south, north, west, east);
    for (_, lat, lon) in &near {
        south = south.min(*lat);
        north = north.max(*lat);
        west = west.min(*lon);
        east = east.max(*lon);
    }
    // Kilometres on a sphere of 6,371 km: 111.195 km a degree of latitude.
    let middle = (south + north) / 2.0;
    let km_per_degree_east = 111.195 * middle.to_radians().cos().abs().max(0.01);
    let height_km = ((north - south) * 111.195).max(0.5) * 1.06;
    let width_km = ((east - west) * km_per_degree_east).max(0.5) * 1.06;
    let (room_w, top) = (WIDTH - 200.0, 60.0);
    let px_per_km = (room_w / width_km).min(540.0 / height_km);
    let map_h = (height_km * px_per_km).max(220.0);
    let (cx, cy) = (16.0 + room_w / 2.0, top + map_h / 2.0);
    let place = |lat: f64, lon: f64| {
        (
            cx + (lon - (west + east) / 2.0) * km_per_degree_east * px_per_km,
            cy - (lat - middle) * 111.195 * px_per_km,
        )
    };
    let cell = if dots.len() > 4_000 { 7.0 } else { 2.0 };
    let mut cells: std::collections::BTreeMap<(i64, i64), Dot> = std::collections::BTreeMap::new();
    for dot in dots {
        let (x, y) = place(dot.latitude_deg, dot.longitude_deg);
        if !(x.is_finite() && y.is_finite()) {
            continue;
        }
        let key = ((x / cell).floor() as i64, (y / cell).floor() as i64);
        let rank = |dot: &Dot| (dot.tier, dot.latitude_deg.to_bits(), dot.longitude_deg.to_bits());
        cells
            .entry(key)
            .and_modify(|held| {
                if rank(dot) < rank(held) {
                    *held = *dot;
                }
            })
            .or_insert(*dot);
    }
    let counts = Tier::ALL.map(|tier| dots.iter().filter(|dot| dot.tier == tier).count());
    let under = if cell > 2.0 {
        words.pick(
            "North is up; where dots would cover each other the most pressing is shown",
            "El norte va arriba; donde los puntos se taparían se ve el más urgente",
        )
    } else {
        words.pick("North is up", "El norte va arriba")
    };
    let (all, [first, next, message, none]) = (dots.len(), counts);
    let description = words.pick(
        format!(
            "Map of {all} assemblies: {first} to call first, {next} to call next, {message} to message, {none} without contact."
        ),
        format!(
            "Mapa de {all} conjuntos: {first} por llamar primero, {next} por llamar después, {message} por mensaje, {none} sin contacto."
        ),
    );
    let title = words.pick("Where they stand", "Dónde están");
    sheet((WIDTH, top + map_h + 44.0), title, &description, |s| {
        heading(s, title, under)?;
        s.rect((16.0, top), (16.0 + room_w, top + map_h), super::charts::NIGHT, 1.0)?;
        for tier in Tier::ALL.iter().rev() {
            let (shape, radius, ink) = tier_mark(*tier);
            for dot in cells.values().filter(|dot| dot.tier == *tier) {
                s.mark(shape, place(dot.latitude_deg, dot.longitude_deg), radius, ink)?;
            }
        }
        for (station, lat, lon) in &near {
            let (x, y) = place(*lat, *lon);
            s.mark(Shape::Cross, (x, y), 6.0, INK)?;
            let (side, dx) = if x > 16.0 + room_w - 90.0 {
                (Side::End, -9.0)
            } else {
                (Side::Start, 9.0)
            };
            let name = cut(&station.station_id, 120.0, SMALL);
            // A pale plate, so that the name can be read and no mark below it vanishes.
            let width = name.chars().count() as f64 * SMALL * 0.66;
            let from = if side == Side::End { x + dx - width } else { x + dx };
            s.rect(
                (from - 2.0, y - 8.0),
                (from + width + 2.0, y + 8.0),
                super::charts::NIGHT,
                0.85,
            )?;
            s.text(&name, (x + dx, y), side, SMALL, INK)?;
        }
        let left = WIDTH - 168.0;
        let mut y = top + 14.0;
        for (tier, count) in Tier::ALL.iter().zip(&counts) {
            let (shape, radius, ink) = tier_mark(*tier);
            s.mark(shape, (left, y), radius, ink)?;
            s.text(tier.words_in(words.language), (left + 14.0, y), Side::Start, PLAIN, INK)?;
            s.text(&count.to_string(), (WIDTH - 20.0, y), Side::End, PLAIN, INK)?;
            y += 24.0;
        }
        if !near.is_empty() {
            s.mark(Shape::Cross, (left, y), 5.0, INK)?;
            s.text(
                words.pick("weather station", "estación del tiempo"),
                (left + 14.0, y),
                Side::Start,
                PLAIN,
                INK,
            )?;
        }
        scale_bar(s, (16.0, top + map_h + 22.0), px_per_km, words)
    })
}

fn scale_bar(s: &Sheet<'_>, (x, y): (f64, f64), px_per_km: f64, words: &Words) -> Result<(), ChartError> {
    // International mile: 1.609344 km (NIST SP 811).
    let (px_per, name) = if words.us {
        (px_per_km * 1.609_344, "mi")
    } else {
        (px_per_km, "km")
    };
    let length = [0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 200.0, 500.0]
        .into_iter()
        .find(|length| length * px_per >= 70.0)
        .unwrap_or(1_000.0);
    let end = x + length * px_per;
    s.line(&[(x, y - 4.0), (x, y), (end, y), (end, y - 4.0)], INK, 1.2)?;
    s.text(
        &format!("{length} {name}"),
        (end + 8.0, y - 2.0),
        Side::Start,
        SMALL,
        INK,
    )
}

/// Thresholds people speak of, °F.
pub const THRESHOLDS_F: [f64; 4] = [32.0, 28.0, 24.0, 20.0];

/// Hours of a series with air below a threshold, °C.
pub fn hours_below(series: &Series, threshold_c: f64) -> usize {
    series.air_c.iter().filter(|air| **air < threshold_c).count()
}

/// The air of up to four stations against 32, 28, 24 and 20 °F, with the hours below each. The coldest stations come first.
///
/// # Errors
/// When there is no series.
pub fn thresholds(series: &[Series], words: &Words) -> Result<String, ChartError> {
    let mut list: Vec<(&Series, usize, f64)> = series
        .iter()
        .filter_map(|s| s.coldest().map(|(hour, air)| (s, hour, air)))
        .collect();
    list.sort_by(|a, b| {
        a.2.total_cmp(&b.2)
            .then_with(|| a.0.station.station_id.cmp(&b.0.station.station_id))
    });
    let more = list.len().saturating_sub(4);
    list.truncate(4);
    let Some((coldest, hour, _)) = list.first() else {
        return Err(ChartError::new("there is no series"));
    };
    let span = focus((coldest.start, coldest.end()), coldest.time(*hour));
    let freezing = shown(0.0, words);
    let airs = list.iter().flat_map(|(s, _, _)| {
        let hours = hours_in(s.hours(), s.start, span);
        s.air_c[hours].iter().copied()
    });
    let (low, high) = range(airs.map(|c| shown(c, words)), freezing);
    let low = low.min(shown(units::c_from_f(18.0), words));
    let panel = if list.len() == 1 { 270.0 } else { 170.0 };
    let height = 58.0 + panel * list.len() as f64 + 10.0;
    let under = if more > 0 {
        words.pick(
            format!(
                "The coldest four stations of {}; hours below each line through the whole window",
                more + 4
            ),
            format!(
                "Las cuatro estaciones más frías de {}; horas bajo cada línea en todo el periodo",
                more + 4
            ),
        )
    } else {
        words
            .pick(
                "Hours below each line through the whole window; nights are shaded",
                "Horas bajo cada línea en todo el periodo; las noches van sombreadas",
            )
            .to_owned()
    };
    let title = words.pick("The air against the thresholds", "El aire frente a los umbrales");
    sheet((WIDTH, height), title, &under, |s| {
        heading(s, title, &under)?;
        for (i, (series, hour, air)) in list.iter().enumerate() {
            let top = 58.0 + panel * i as f64;
            let frame = Frame::over_time(
                (58.0, top + 26.0),
                (WIDTH - 150.0, top + panel - 28.0),
                span,
                (low, high),
            );
            let name = if series.station.station_id.is_empty() {
                words.pick("the station", "la estación")
            } else {
                &series.station.station_id
            };
            s.bold(&cut(name, 260.0, PLAIN), (58.0, top + 13.0), Side::Start, PLAIN, INK)?;
            let (lowest, moment) = (words.temperature(*air), words.moment(series.time(*hour)));
            let lowest = words.pick(
                format!("lowest {lowest} on {moment}"),
                format!("mínima {lowest}, {moment}"),
            );
            s.text(&lowest, (WIDTH - 150.0, top + 13.0), Side::End, SMALL, SOFT)?;
            frame.nights(s, words.zone)?;
            frame.days(s, words.zone, words.language, SMALL)?;
            let count = if panel > 200.0 { 6 } else { 4 };
            for tick in frame.y.ticks(count) {
                s.text(
                    &format!("{tick:.0} {}", unit_name(words)),
                    (52.0, frame.y.px(tick)),
                    Side::End,
                    SMALL,
                    SOFT,
                )?;
            }
            let lines: Vec<f64> = THRESHOLDS_F.iter().map(|f| shown(units::c_from_f(*f), words)).collect();
            let ys: Vec<f64> = lines.iter().map(|line| frame.y.px(*line)).collect();
            let placed = spread_labels(&ys, 14.0, frame.y.px_to + 4.0, frame.y.px_from);
            for (k, (y, label_y)) in ys.iter().zip(placed).enumerate() {
                let strong = k == 0;
                if strong {
                    s.line(&[(frame.x.px_from, *y), (frame.x.px_to, *y)], MILD, 1.6)?;
                } else {
                    s.dashed(&[(frame.x.px_from, *y), (frame.x.px_to, *y)], MILD, 1.0, 4.0, 4.0)?;
                }
                let hours = hours_below(series, units::c_from_f(THRESHOLDS_F[k]));
                let line = if words.us {
                    format!("{:.0} °F: {hours} h", lines[k])
                } else {
                    format!("{:.1} °C: {hours} h", lines[k])
                };
                s.text(
                    &line,
                    (WIDTH - 142.0, label_y),
                    Side::Start,
                    SMALL,
                    if hours > 0 { INK } else { SOFT },
                )?;
            }
            let hours = hours_in(series.hours(), series.start, span);
            let points: Vec<(f64, f64)> = hours
                .map(|h| frame.point(series.time(h), shown(series.air_c[h], words)))
                .collect();
            let floor = frame.y.px(freezing);
            let under: Vec<(f64, f64)> = points.iter().map(|p| (p.0, p.1.max(floor))).collect();
            let base: Vec<(f64, f64)> = points.iter().map(|p| (p.0, floor)).collect();
            s.band(&under, &base, WATER, 0.22)?;
            s.line(&points, INK, 1.8)?;
        }
        Ok(())
    })
}

/// Chance that damage has happened by each hour, for up to six cases of an ensemble.
///
/// # Errors
/// When no case has a trace with chances (a deterministic run has none).
pub fn damage(cases: &[Case<'_>], words: &Words) -> Result<String, ChartError> {
    let cases: Vec<(&Case<'_>, &Trace)> = cases
        .iter()
        .filter_map(|case| case.outlook.trace.as_ref().map(|trace| (case, trace)))
        .filter(|(_, trace)| !trace.p_damage_by.is_empty())
        .take(6)
        .collect();
    let Some((first, trace)) = cases.first() else {
        return Err(ChartError::new("a deterministic run has no chances"));
    };
    let window = (first.outlook.window_start, first.outlook.window_end);
    let span = focus(window, coldest_of(trace, window.0));
    let title = words.pick("Chance of damage through time", "Probabilidad de daño en el tiempo");
    let under = if cases.len() == 1 {
        words.pick(
            "The chance that a part has broken by each hour; nights are shaded",
            "La probabilidad de que ya se rompió una pieza a cada hora; las noches van sombreadas",
        )
    } else {
        words.pick(
            "The worst assemblies; the chance that a part has broken by each hour; nights are shaded",
            "Los conjuntos peores; la probabilidad de que ya se rompió una pieza a cada hora; las noches van sombreadas",
        )
    };
    sheet((WIDTH, 360.0), title, under, |s| {
        heading(s, title, under)?;
        let frame = Frame::over_time((58.0, 64.0), (WIDTH - 190.0, 320.0), span, (0.0, 1.0));
        frame.nights(s, words.zone)?;
        frame.y_axis(
            s,
            &[0.0, 0.25, 0.5, 0.75, 1.0],
            |v| format!("{:.0} %", v * 100.0),
            SMALL,
        )?;
        frame.days(s, words.zone, words.language, SMALL)?;
        let mut ends = Vec::new();
        for (k, (case, trace)) in cases.iter().enumerate() {
            let start = case.outlook.window_start;
            let hours = hours_in(trace.p_damage_by.len(), start, span);
            let points: Vec<(f64, f64)> = hours
                .map(|h| frame.point(start + TimeDelta::hours(h as i64), trace.p_damage_by[h]))
                .collect();
            let ink = LINES[k];
            // Every other line is dashed, so that they part in grey as well.
            if k % 2 == 0 {
                s.line(&points, ink, 2.2)?;
            } else {
                s.dashed(&points, ink, 2.2, 7.0, 4.0)?;
            }
            ends.push(points.last().map_or(320.0, |point| point.1));
        }
        for (k, y) in spread_labels(&ends, 30.0, 74.0, 316.0).into_iter().enumerate() {
            let (case, trace) = cases[k];
            let last = trace.p_damage_by.last().copied().unwrap_or(0.0);
            let x = WIDTH - 182.0;
            s.line(&[(frame.x.px_to, ends[k]), (x - 2.0, y)], GRID, 1.0)?;
            let chance = crate::ranking::words::percent_in(last, words.language);
            s.bold(
                &cut(&format!("{}: {chance}", case.label), 176.0, SMALL),
                (x, y - 7.0),
                Side::Start,
                SMALL,
                LINES[k],
            )?;
            s.text(&cut(&case.kind, 176.0, SMALL), (x, y + 8.0), Side::Start, SMALL, SOFT)?;
        }
        Ok(())
    })
}
