//! The charts of a plan: the spell, first ice, the map, the thresholds, the chance of damage.

use super::charts::{
    AIR, ChartError, Form, Frame, GRID, ICE, INK, LINES, MILD, PRESSING, SOFT, Sheet, Side, WATER, cut, lines, sheet,
    spread_labels,
};
use crate::freeze::{Outlook, Trace};
use crate::ranking::Words;
use crate::units;
use crate::weather::Series;
use chrono::{DateTime, TimeDelta, Utc};
use std::collections::BTreeMap;
use std::sync::Arc;

pub use super::charts_map::{Dot, map, map_in, tier_mark};

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

/// Width of a chart on a page, px, and on a telephone.
pub(super) const WIDTHS: (f64, f64) = (860.0, 400.0);
pub(super) const SMALL: f64 = 11.5;
pub(super) const PLAIN: f64 = 13.0;
const HEAD: f64 = 16.0;

/// The width of a form, px.
pub(super) fn width_of(form: Form) -> f64 {
    form.pick(WIDTHS.0, WIDTHS.1)
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

/// The heading; returns nothing, its height is [`head_px`].
pub(super) fn heading(sheet: &Sheet<'_>, title: &str, under: &str) -> Result<(), ChartError> {
    sheet.bold(title, (16.0, 22.0), Side::Start, HEAD, INK)?;
    for (at, line) in under_lines(sheet.width, under).iter().enumerate() {
        sheet.text(line, (16.0, 42.0 + 17.0 * at as f64), Side::Start, PLAIN, SOFT)?;
    }
    Ok(())
}

fn under_lines(width: f64, under: &str) -> Vec<String> {
    if width >= WIDTHS.0 {
        vec![under.to_owned()]
    } else {
        lines(under, width - 32.0, PLAIN)
    }
}

/// How much more than one line the words under the title take, px.
pub(super) fn head_px(form: Form, under: &str) -> f64 {
    17.0 * (under_lines(width_of(form), under).len().max(1) - 1) as f64
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
    spell_in(cases, words, Form::Wide)
}

/// [`spell`] in a form.
///
/// # Errors
/// As there.
pub fn spell_in(cases: &[Case<'_>], words: &Words, form: Form) -> Result<String, ChartError> {
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

    let width = width_of(form);
    let columns = if cases.len() == 1 { 1 } else { form.pick(2, 1) };
    let rows = cases.len().div_ceil(columns);
    let panel_w = (width - 16.0) / columns as f64;
    // A second line of words above each panel where one has no room.
    let second = form.pick(0.0, 17.0);
    let panel_h = 190.0 + second;
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
    let shift = head_px(form, under);
    let first_top = 74.0 + shift + second;
    let height = first_top + rows as f64 * panel_h + 8.0;
    sheet((width, height), title, &description, |s| {
        heading(s, title, under)?;
        let y = 62.0 + shift;
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
        let (x, y) = form.pick((390.0, y), (16.0, y + second));
        s.rect((x, y - 5.0), (x + 22.0, y + 5.0), ICE, 1.0)?;
        s.text(
            words.pick("below freezing", "bajo cero"),
            (x + 28.0, y),
            Side::Start,
            SMALL,
            SOFT,
        )?;
        for (i, (case, trace)) in cases.iter().enumerate() {
            let left = 8.0 + (i % columns) as f64 * panel_w;
            let top = first_top + (i / columns) as f64 * panel_h;
            let frame = Frame::over_time(
                (left + 48.0, top + 26.0 + second),
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
                &cut(
                    &format!("{}{alike}", case.label),
                    form.pick(170.0, panel_w - 60.0),
                    PLAIN,
                ),
                (left + 48.0, top + 14.0),
                Side::Start,
                PLAIN,
                INK,
            )?;
            let (place, side) = form.pick(
                ((left + panel_w - 10.0, top + 14.0), Side::End),
                ((left + 48.0, top + 14.0 + second), Side::Start),
            );
            let room = form.pick(panel_w - 240.0, panel_w - 60.0);
            s.text(&cut(&case.kind, room, SMALL), place, side, SMALL, SOFT)?;
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
            // The early edge, as every text and list tells it.
            if let Some(ice) = case
                .outlook
                .first_ice
                .p10
                .filter(|ice| *ice >= span.0 && *ice <= span.1)
            {
                let x = frame.x.px(ice.timestamp() as f64);
                s.dashed(&[(x, frame.y.px_to), (x, frame.y.px_from)], PRESSING, 1.2, 3.0, 3.0)?;
                let (side, dx) = if x > frame.x.px_to - 125.0 {
                    (Side::End, -4.0)
                } else {
                    (Side::Start, 4.0)
                };
                s.text(
                    &format!("{} {}", words.pick("ice from", "hielo desde"), words.moment(ice)),
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
    first_ice_in(outlooks, words, Form::Wide)
}

/// [`first_ice`] in a form.
///
/// # Errors
/// As there.
pub fn first_ice_in(outlooks: &[Arc<Outlook>], words: &Words, form: Form) -> Result<String, ChartError> {
    let Some(first) = outlooks.first() else {
        return Err(ChartError::new("there is no outlook"));
    };
    let ensemble = first.members > 1;
    let window = (first.window_start, first.window_end);
    // How many at each time: few times, and perhaps a million outlooks.
    let tally = |pick: fn(&Outlook) -> Option<DateTime<Utc>>| {
        let mut times: BTreeMap<DateTime<Utc>, usize> = BTreeMap::new();
        for time in outlooks.iter().filter_map(|outlook| pick(outlook)) {
            *times.entry(time).or_default() += 1;
        }
        times
    };
    let edges = [
        tally(|outlook| outlook.first_ice.p10),
        tally(|outlook| outlook.first_ice.p50),
        tally(|outlook| outlook.first_ice.p90),
    ];
    let span = focus(window, edges[0].keys().next().copied().unwrap_or(window.0));
    let counts = edges.each_ref().map(|times| times.values().sum::<usize>());
    let most = counts[0];
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
    let width = width_of(form);
    let shift = head_px(form, &under);
    let (right, foot) = form.pick((150.0, 0.0), (16.0, 66.0));
    sheet((width, 340.0 + shift + foot), title, &under, |s| {
        heading(s, title, &under)?;
        let frame = Frame::over_time(
            (form.pick(64.0, 44.0), 64.0 + shift),
            (width - right, 300.0 + shift),
            span,
            (0.0, (most.max(4) as f64) * 1.04),
        );
        frame.nights(s, words.zone)?;
        frame.y_axis(s, &frame.y.ticks(5), |v| format!("{v:.0}"), SMALL)?;
        frame.days(s, words.zone, words.language, SMALL)?;
        let steps = |times: &BTreeMap<DateTime<Utc>, usize>| {
            let mut line = vec![frame.point(span.0, 0.0)];
            let mut count = 0usize;
            for (time, more) in times {
                line.push(frame.point(*time, count as f64));
                count += more;
                line.push(frame.point(*time, count as f64));
            }
            line.push(frame.point(span.1, count as f64));
            line
        };
        let lines: Vec<Vec<(f64, f64)>> = edges.iter().map(steps).collect();
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
        for (row, ((k, name), y)) in names.iter().zip(placed).enumerate() {
            let ink = [PRESSING, WATER, SOFT][*k];
            let count = counts[*k].to_string();
            if form == Form::Narrow {
                // Below the chart: beside it there is no room.
                let y = 336.0 + shift + 20.0 * row as f64;
                s.bold(&count, (44.0, y), Side::End, PLAIN, ink)?;
                s.text(name, (52.0, y), Side::Start, PLAIN, ink)?;
                continue;
            }
            s.bold(&count, (width - 142.0, y - 7.0), Side::Start, PLAIN, ink)?;
            s.text(name, (width - 142.0, y + 8.0), Side::Start, SMALL, ink)?;
        }
        Ok(())
    })
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
    thresholds_in(series, words, Form::Wide)
}

/// [`thresholds`] in a form.
///
/// # Errors
/// As there.
pub fn thresholds_in(series: &[Series], words: &Words, form: Form) -> Result<String, ChartError> {
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
    let width = width_of(form);
    let right = form.pick(150.0, 92.0);
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
    let shift = head_px(form, &under);
    let left = form.pick(58.0, 48.0);
    let height = 58.0 + shift + panel * list.len() as f64 + 10.0;
    sheet((width, height), title, &under, |s| {
        heading(s, title, &under)?;
        for (i, (series, hour, air)) in list.iter().enumerate() {
            let top = 58.0 + shift + panel * i as f64;
            let frame = Frame::over_time(
                (left, top + 26.0),
                (width - right, top + panel - 28.0),
                span,
                (low, high),
            );
            let name = if series.station.station_id.is_empty() {
                words.pick("the station", "la estación")
            } else {
                &series.station.station_id
            };
            let room = form.pick(260.0, 130.0);
            s.bold(&cut(name, room, PLAIN), (left, top + 13.0), Side::Start, PLAIN, INK)?;
            let (lowest, moment) = (words.temperature(*air), words.moment(series.time(*hour)));
            let lowest = words.pick(
                format!("lowest {lowest} on {moment}"),
                format!("mínima {lowest}, {moment}"),
            );
            s.text(
                &lowest,
                (width - form.pick(150.0, 12.0), top + 13.0),
                Side::End,
                SMALL,
                SOFT,
            )?;
            frame.nights(s, words.zone)?;
            frame.days(s, words.zone, words.language, SMALL)?;
            let count = if panel > 200.0 { 6 } else { 4 };
            for tick in frame.y.ticks(count) {
                s.text(
                    &format!("{tick:.0} {}", unit_name(words)),
                    (left - 6.0, frame.y.px(tick)),
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
                    (width - right + 8.0, label_y),
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
    damage_in(cases, words, Form::Wide)
}

/// [`damage`] in a form.
///
/// # Errors
/// As there.
pub fn damage_in(cases: &[Case<'_>], words: &Words, form: Form) -> Result<String, ChartError> {
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
    let width = width_of(form);
    let shift = head_px(form, under);
    let (right, foot) = form.pick((190.0, 0.0), (16.0, 38.0 * cases.len() as f64));
    sheet((width, 360.0 + shift + foot), title, under, |s| {
        heading(s, title, under)?;
        let frame = Frame::over_time(
            (form.pick(58.0, 52.0), 64.0 + shift),
            (width - right, 320.0 + shift),
            span,
            (0.0, 1.0),
        );
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
            let chance = crate::ranking::words::percent_in(last, words.language);
            if form == Form::Narrow {
                // Below the chart, with a piece of the line: beside it there is no room.
                let y = 366.0 + shift + 38.0 * k as f64;
                let sample = [(16.0, y), (46.0, y)];
                if k % 2 == 0 {
                    s.line(&sample, LINES[k], 2.2)?;
                } else {
                    s.dashed(&sample, LINES[k], 2.2, 7.0, 4.0)?;
                }
                let label = format!("{}: {chance}", case.label);
                s.bold(
                    &cut(&label, width - 70.0, PLAIN),
                    (54.0, y),
                    Side::Start,
                    PLAIN,
                    LINES[k],
                )?;
                s.text(
                    &cut(&case.kind, width - 70.0, SMALL),
                    (54.0, y + 15.0),
                    Side::Start,
                    SMALL,
                    SOFT,
                )?;
                continue;
            }
            let x = width - 182.0;
            s.line(&[(frame.x.px_to, ends[k]), (x - 2.0, y)], GRID, 1.0)?;
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
