//! The map of a plan: dots by tier where the assemblies stand.

use super::charts::{ChartError, Form, INK, Ink, MILD, NEXT, NIGHT, PRESSING, QUIET, Shape, Sheet, Side, cut, sheet};
use super::charts_plan::{PLAIN, SMALL, head_px, heading, width_of};
use crate::ranking::{Tier, Words};
use crate::weather::Station;

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

/// Shape and colour of a tier; shape and lightness tell them apart without hue.
pub fn tier_mark(tier: Tier) -> (Shape, f64, Ink) {
    match tier {
        Tier::CallFirst => (Shape::Triangle, 6.0, PRESSING),
        Tier::CallNext => (Shape::Diamond, 4.6, NEXT),
        Tier::Message => (Shape::Ring, 3.4, MILD),
        Tier::NoContact => (Shape::Dot, 1.7, QUIET),
    }
}

/// Dots by tier where the assemblies stand; a cell of the sheet that holds several shows the most pressing one.
///
/// # Errors
/// When no assembly has coordinates.
pub fn map(dots: &[Dot], stations: &[Station], words: &Words) -> Result<String, ChartError> {
    map_in(dots, stations, words, Form::Wide)
}

/// [`map`] in a form.
///
/// # Errors
/// As there.
pub fn map_in(dots: &[Dot], stations: &[Station], words: &Words, form: Form) -> Result<String, ChartError> {
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
    let width = width_of(form);
    let crowded = dots.len() > 4_000;
    let under = if crowded {
        words.pick(
            "North is up; where dots would cover each other the most pressing is shown",
            "El norte va arriba; donde los puntos se taparían se ve el más urgente",
        )
    } else {
        words.pick("North is up", "El norte va arriba")
    };
    let (room_w, top) = (width - form.pick(200.0, 32.0), 60.0 + head_px(form, under));
    let px_per_km = (room_w / width_km).min(540.0 / height_km);
    let map_h = (height_km * px_per_km).max(220.0);
    let (cx, cy) = (16.0 + room_w / 2.0, top + map_h / 2.0);
    let place = |lat: f64, lon: f64| {
        (
            cx + (lon - (west + east) / 2.0) * km_per_degree_east * px_per_km,
            cy - (lat - middle) * 111.195 * px_per_km,
        )
    };
    let cell = if crowded { 7.0 } else { 2.0 };
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
    let marks: Vec<(f64, f64)> = cells
        .values()
        .filter(|dot| dot.tier != Tier::NoContact)
        .map(|dot| place(dot.latitude_deg, dot.longitude_deg))
        .collect();
    let foot = form.pick(44.0, 44.0 + 24.0 * 5.0);
    sheet((width, top + map_h + foot), title, &description, |s| {
        heading(s, title, under)?;
        s.rect((16.0, top), (16.0 + room_w, top + map_h), NIGHT, 1.0)?;
        // Names first, each where it lies under the fewest marks: a name that is crossed can still be read, a mark that is covered is lost.
        for (station, lat, lon) in &near {
            let name = cut(&station.station_id, 120.0, SMALL);
            let px = name.chars().count() as f64 * SMALL * 0.66;
            let (at, side) = spot(place(*lat, *lon), px, (16.0, 16.0 + room_w), (top, top + map_h), &marks);
            s.text(&name, at, side, SMALL, INK)?;
        }
        for tier in Tier::ALL.iter().rev() {
            let (shape, radius, ink) = tier_mark(*tier);
            for dot in cells.values().filter(|dot| dot.tier == *tier) {
                s.mark(shape, place(dot.latitude_deg, dot.longitude_deg), radius, ink)?;
            }
        }
        for (_, lat, lon) in &near {
            let (x, y) = place(*lat, *lon);
            s.mark(Shape::Cross, (x, y), 6.0, INK)?;
        }
        let (left, mut y) = form.pick((width - 168.0, top + 14.0), (24.0, top + map_h + 52.0));
        for (tier, count) in Tier::ALL.iter().zip(&counts) {
            let (shape, radius, ink) = tier_mark(*tier);
            s.mark(shape, (left, y), radius, ink)?;
            s.text(tier.words_in(words.language), (left + 14.0, y), Side::Start, PLAIN, INK)?;
            s.text(
                &count.to_string(),
                (form.pick(width - 20.0, 190.0), y),
                Side::End,
                PLAIN,
                INK,
            )?;
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

/// Where a name of so many pixels beside a point covers the fewest marks, inside the map; the right of the point when all are alike.
fn spot((x, y): (f64, f64), px: f64, across: (f64, f64), down: (f64, f64), marks: &[(f64, f64)]) -> ((f64, f64), Side) {
    const HALF: f64 = 12.0;
    let mut best = ((x + 9.0, y), Side::Start);
    let mut fewest = usize::MAX;
    for (dx, dy) in [
        (1.0, 0.0),
        (-1.0, 0.0),
        (0.0, -16.0),
        (0.0, 16.0),
        (1.0, -13.0),
        (1.0, 13.0),
        (-1.0, -13.0),
        (-1.0, 13.0),
    ] {
        let from = match dx {
            d if d > 0.0 => x + 9.0,
            d if d < 0.0 => x - 9.0 - px,
            _ => x - px / 2.0,
        };
        let middle = y + dy;
        if from < across.0 || from + px > across.1 || middle - 8.0 < down.0 || middle + 8.0 > down.1 {
            continue;
        }
        let covered = marks
            .iter()
            .filter(|mark| mark.0 > from - 6.0 && mark.0 < from + px + 6.0 && (mark.1 - middle).abs() < HALF)
            .count();
        if covered < fewest {
            fewest = covered;
            best = ((from, middle), Side::Start);
        }
    }
    best
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
