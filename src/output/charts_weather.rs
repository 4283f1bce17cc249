//! Charts of weather: a series with its thresholds, gaps and set-aside values; return levels with their band; winter by winter.

use super::charts::{
    AIR, ChartError, Frame, GRID, ICE, INK, MILD, NEXT, PRESSING, SOFT, Scale, Shape, Sheet, Side, WATER, sheet, ticks,
};
use crate::language::Language;
use crate::units::{UnitSystem, c_from_f, f_from_c, show_temperature};
use crate::weather::extremes::Extremes;
use crate::weather::gev::fit_minima;
use crate::weather::inlet::Inlet;
use crate::weather::readers::Found;
use crate::weather::series::{Kind, Series};
use crate::weather::winters::{THRESHOLDS_C, Winter};
use chrono_tz::Tz;

/// Width and height of a chart, px.
const SIZE: (f64, f64) = (720.0, 380.0);
/// Size of axis text, px.
const SMALL: f64 = 12.0;

/// A value as people read it on an axis.
fn degrees(celsius: f64, units: UnitSystem) -> String {
    match units {
        UnitSystem::Us => format!("{:.0} °F", f_from_c(celsius)),
        UnitSystem::Si | UnitSystem::Bar => format!("{celsius:.0} °C"),
    }
}

/// `1 hour`, `2 hours`.
fn counted(count: usize, what: &str) -> String {
    format!("{count} {what}{}", if count == 1 { "" } else { "s" })
}

/// Round steps of the people's unit between two temperatures, °C.
fn steps(low_c: f64, high_c: f64, units: UnitSystem, count: usize) -> Vec<f64> {
    match units {
        UnitSystem::Us => ticks(f_from_c(low_c), f_from_c(high_c), count)
            .into_iter()
            .map(c_from_f)
            .collect(),
        UnitSystem::Si | UnitSystem::Bar => ticks(low_c, high_c, count),
    }
}

/// The series over time: nights, thresholds, forecast apart from observations, gaps as bands, set-aside values as crosses.
///
/// # Errors
/// When there is no series, or the backend refuses.
pub fn series(found: &Found, units: UnitSystem, zone: Tz) -> Result<String, ChartError> {
    let made;
    let series = match (&found.series, &found.daily) {
        (Some(series), _) => series,
        (None, Some(record)) => {
            made = record
                .to_hourly(crate::weather::diurnal::Shape::PartonLogan, "", true)
                .0;
            made.as_ref()
                .ok_or_else(|| ChartError::new("no day has both a minimum and a maximum"))?
        }
        (None, None) => return Err(ChartError::new("there is no series")),
    };
    let (hour, coldest) = series.coldest().ok_or_else(|| ChartError::new("the series is empty"))?;
    let warmest = series.air_c.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let name = if found.station.station_id.is_empty() {
        "the series"
    } else {
        &found.station.station_id
    };
    let title = format!("Air temperature of {name}");
    let (missing, unit) = match &found.daily {
        Some(record) => (record.missing_days(), "day"),
        None => (found.report.missing_hours, "hour"),
    };
    let set_aside = found.report.set_aside.len();
    let told = format!(
        "Coldest {} at {}; {} missing, {} set aside.{}",
        show_temperature(coldest, units),
        series.time(hour).with_timezone(&zone).format("%Y-%m-%d %H:%M %Z"),
        counted(missing, unit),
        counted(set_aside, "value"),
        if found.daily.is_some() {
            " Hours made from daily minima and maxima."
        } else {
            ""
        }
    );
    sheet(SIZE, &title, &told, |sheet| {
        sheet.bold(&title, (16.0, 20.0), Side::Start, 15.0, INK)?;
        sheet.text(&told, (16.0, 40.0), Side::Start, SMALL, SOFT)?;
        let value = (coldest.min(THRESHOLDS_C[3]) - 2.0, warmest.max(2.0) + 2.0);
        let frame = Frame::over_time(
            (64.0, 60.0),
            (SIZE.0 - 84.0, SIZE.1 - 44.0),
            (series.start, series.end()),
            value,
        );
        let days = series.hours() / 24;
        // Without a zone it is not known when it is night there.
        if days <= 31 && zone != Tz::UTC {
            frame.nights(sheet, zone)?;
        }
        gaps(sheet, &frame, series)?;
        frame.y_axis(sheet, &steps(value.0, value.1, units, 6), |c| degrees(c, units), SMALL)?;
        if days <= 40 {
            frame.days(sheet, zone, Language::English, SMALL)?;
        } else {
            years(sheet, &frame, series, zone)?;
        }
        lines(sheet, &frame, series)?;
        // Over the line: a record of years would hide them.
        for threshold in [THRESHOLDS_C[0], THRESHOLDS_C[3]] {
            let y = frame.y.px(threshold);
            sheet.dashed(&[(frame.x.px_from, y), (frame.x.px_to, y)], MILD, 1.2, 5.0, 4.0)?;
            sheet.text(
                &degrees(threshold, units),
                (frame.x.px_to + 5.0, y),
                Side::Start,
                SMALL,
                MILD,
            )?;
        }
        for one in &found.report.set_aside {
            sheet.mark(Shape::Cross, frame.point(one.time, one.value_c), 5.0, PRESSING)?;
        }
        sheet.mark(Shape::Ring, frame.point(series.time(hour), coldest), 5.0, PRESSING)?;
        let legend = SIZE.1 - 8.0;
        let observed = series.kind.contains(&Kind::Observed);
        let mut x = 64.0;
        let mut entry = |words: &str, mark: Option<Shape>, ink| -> Result<(), ChartError> {
            match mark {
                Some(shape) => sheet.mark(shape, (x, legend - 4.0), 4.0, ink)?,
                None => sheet.line(&[(x - 8.0, legend - 4.0), (x + 8.0, legend - 4.0)], ink, 2.0)?,
            }
            sheet.text(words, (x + 13.0, legend - 4.0), Side::Start, 11.0, SOFT)?;
            x += 34.0 + words.len() as f64 * 6.2;
            Ok(())
        };
        if observed {
            entry("observed", None, INK)?;
        }
        if series.kind.contains(&Kind::Forecast) {
            entry("forecast", None, WATER)?;
        }
        if series.interpolated.contains(&true) {
            entry("missing (band)", None, NEXT)?;
        }
        if !found.report.set_aside.is_empty() {
            entry("set aside", Some(Shape::Cross), PRESSING)?;
        }
        entry("coldest", Some(Shape::Ring), PRESSING)?;
        Ok(())
    })
}

/// Bands over hours that were filled.
fn gaps(sheet: &Sheet<'_>, frame: &Frame, series: &Series) -> Result<(), ChartError> {
    let mut at = 0;
    for run in series.interpolated.chunk_by(|a, b| a == b) {
        if run.first() == Some(&true) {
            let half = chrono::TimeDelta::minutes(30);
            let left = frame.x.px((series.time(at) - half).timestamp() as f64);
            let right = frame.x.px((series.time(at + run.len() - 1) + half).timestamp() as f64);
            sheet.rect(
                (left, frame.y.px_to),
                (right.max(left + 1.0), frame.y.px_from),
                NEXT,
                0.25,
            )?;
        }
        at += run.len();
    }
    Ok(())
}

/// Observed and forecast stretches in their own ink; a long series is drawn by its extremes in each pixel column.
fn lines(sheet: &Sheet<'_>, frame: &Frame, series: &Series) -> Result<(), ChartError> {
    let columns = (frame.x.px_to - frame.x.px_from).max(1.0);
    let mut at = 0;
    for run in series.kind.chunk_by(|a, b| a == b) {
        let ink = if run.first() == Some(&Kind::Observed) {
            INK
        } else {
            WATER
        };
        // One hour more, so that stretches meet.
        let until = (at + run.len() + 1).min(series.hours());
        let per_column = (series.hours() as f64 / columns / 2.0).ceil().max(1.0) as usize;
        let mut points = Vec::new();
        let mut from = at;
        while from < until {
            let to = (from + per_column).min(until);
            let part = series.air_c.get(from..to).unwrap_or_default();
            let low = part.iter().copied().fold(f64::INFINITY, f64::min);
            let high = part.iter().copied().fold(f64::NEG_INFINITY, f64::max);
            points.push(frame.point(series.time(from), high));
            if per_column > 1 {
                points.push(frame.point(series.time(from), low));
            }
            from = to;
        }
        sheet.line(&points, ink, if per_column > 1 { 0.8 } else { 1.8 })?;
        at += run.len();
    }
    Ok(())
}

/// Labels of months or years for a long series.
fn years(sheet: &Sheet<'_>, frame: &Frame, series: &Series, zone: Tz) -> Result<(), ChartError> {
    let count = 7;
    for step in 0..=count {
        let hour = series.hours().saturating_sub(1) * step / count;
        let x = frame.x.px(series.time(hour).timestamp() as f64);
        sheet.line(&[(x, frame.y.px_to), (x, frame.y.px_from)], GRID, 1.0)?;
        let style = if series.hours() < 24 * 500 { "%b %-d" } else { "%b %Y" };
        let words = series.time(hour).with_timezone(&zone).format(style).to_string();
        sheet.text(&words, (x, frame.y.px_from + 14.0), Side::Middle, 11.0, SOFT)?;
    }
    Ok(())
}

/// Return levels with their band and the winters as points above, hours below freezing winter by winter beneath.
///
/// # Errors
/// When there are no winters, or the backend refuses.
pub fn extremes(answer: &Extremes, units: UnitSystem) -> Result<String, ChartError> {
    if answer.winters.is_empty() {
        return Err(ChartError::new("there are no winters"));
    }
    let size = (SIZE.0, 640.0);
    let title = "How cold, and how often";
    let told = answer
        .return_levels
        .iter()
        .find(|level| level.years == 10.0)
        .map_or_else(
            || format!("{} winters", answer.winters.len()),
            |level| {
                format!(
                    "From {} complete winters; once in ten years {}",
                    answer.seasons,
                    show_temperature(level.gev_c.unwrap_or(level.handbook_c), units)
                )
            },
        );
    sheet(size, title, &told, |sheet| {
        sheet.bold(title, (16.0, 20.0), Side::Start, 15.0, INK)?;
        sheet.text(&told, (16.0, 40.0), Side::Start, SMALL, SOFT)?;
        if !answer.return_levels.is_empty() {
            levels(sheet, answer, units, (64.0, 58.0), (size.0 - 24.0, 350.0))?;
        }
        winters(sheet, &answer.winters, (64.0, 430.0), (size.0 - 24.0, size.1 - 40.0))
    })
}

/// Abscissa of a return period: the reduced variate of Gumbel, on which that distribution is a straight line.
fn reduced(years: f64) -> f64 {
    -(-(1.0 - 1.0 / years.max(1.01)).ln()).ln()
}

fn levels(
    sheet: &Sheet<'_>,
    answer: &Extremes,
    units: UnitSystem,
    upper_left: (f64, f64),
    lower_right: (f64, f64),
) -> Result<(), ChartError> {
    let mut minima: Vec<f64> = answer
        .winters
        .iter()
        .filter(|winter| winter.is_complete())
        .map(|winter| winter.min_c)
        .collect();
    let values = answer
        .return_levels
        .iter()
        .flat_map(|level| [level.gev_low_c, level.gev_high_c, Some(level.handbook_c), level.gev_c])
        .flatten()
        .chain(minima.iter().copied());
    let (low, high) = values.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), value| {
        (low.min(value), high.max(value))
    });
    let x = Scale {
        from: reduced(1.005),
        to: reduced(110.0),
        px_from: upper_left.0,
        px_to: lower_right.0,
    };
    let y = Scale {
        from: low - 1.0,
        to: high + 1.0,
        px_from: lower_right.1,
        px_to: upper_left.1,
    };
    let frame = Frame { x, y };
    frame.y_axis(sheet, &steps(y.from, y.to, units, 6), |c| degrees(c, units), SMALL)?;
    for years in [2.0, 5.0, 10.0, 20.0, 50.0, 100.0] {
        let at = x.px(reduced(years));
        sheet.line(&[(at, y.px_to), (at, y.px_from)], GRID, 1.0)?;
        sheet.text(
            &format!("{years:.0}"),
            (at, y.px_from + 12.0),
            Side::Middle,
            SMALL,
            SOFT,
        )?;
    }
    sheet.text(
        "once in so many years, on average",
        ((x.px_from + x.px_to) / 2.0, y.px_from + 30.0),
        Side::Middle,
        SMALL,
        SOFT,
    )?;
    let point = |years: f64, value: f64| (x.px(reduced(years)), y.px(value));
    let band = |pick: fn(&crate::weather::extremes::ReturnLevel) -> Option<f64>| -> Vec<(f64, f64)> {
        answer
            .return_levels
            .iter()
            .filter_map(|level| Some(point(level.years, pick(level)?)))
            .collect()
    };
    let (colder, warmer) = (band(|level| level.gev_low_c), band(|level| level.gev_high_c));
    if colder.len() > 1 && colder.len() == warmer.len() {
        sheet.band(&colder, &warmer, ICE, 0.9)?;
    }
    if let Some(gev) = fit_minima(&minima) {
        let curve: Vec<(f64, f64)> = (0..=60)
            .map(|step| {
                let variate = x.from + (x.to - x.from) * f64::from(step) / 60.0;
                let years = 1.0 / (1.0 - (-(-variate).exp()).exp());
                point(years, gev.minimum_c(years))
            })
            .collect();
        sheet.line(&curve, WATER, 2.0)?;
    }
    let handbook: Vec<(f64, f64)> = answer
        .return_levels
        .iter()
        .map(|level| point(level.years, level.handbook_c))
        .collect();
    sheet.dashed(&handbook, NEXT, 1.8, 6.0, 4.0)?;
    // The winters at Gringorten's plotting positions, coldest first.
    minima.sort_by(f64::total_cmp);
    let count = minima.len() as f64;
    for (rank, value) in minima.iter().enumerate() {
        let years = (count + 0.12) / (rank as f64 + 1.0 - 0.44);
        sheet.mark(Shape::Dot, point(years, *value), 3.5, INK)?;
    }
    let (left, row) = (x.px_from + 10.0, y.px_from - 12.0);
    sheet.line(&[(left, row), (left + 18.0, row)], WATER, 2.0)?;
    sheet.text(
        "extreme value fit and its 90 % band",
        (left + 24.0, row),
        Side::Start,
        11.0,
        SOFT,
    )?;
    sheet.dashed(&[(left + 236.0, row), (left + 254.0, row)], NEXT, 1.8, 6.0, 4.0)?;
    sheet.text("handbook formula", (left + 260.0, row), Side::Start, 11.0, SOFT)?;
    sheet.mark(Shape::Dot, (left + 378.0, row), 3.5, INK)?;
    sheet.text("winters", (left + 386.0, row), Side::Start, 11.0, SOFT)
}

fn winters(
    sheet: &Sheet<'_>,
    all: &[Winter],
    upper_left: (f64, f64),
    lower_right: (f64, f64),
) -> Result<(), ChartError> {
    let (first, last) = (
        all.first().map_or(0, |one| one.season),
        all.last().map_or(0, |one| one.season),
    );
    let most = all.iter().map(|one| one.hours_below[0]).fold(1.0, f64::max);
    let x = Scale {
        from: f64::from(first) - 0.6,
        to: f64::from(last) + 0.6,
        px_from: upper_left.0,
        px_to: lower_right.0,
    };
    let y = Scale {
        from: 0.0,
        to: most * 1.05,
        px_from: lower_right.1,
        px_to: upper_left.1,
    };
    sheet.bold(
        "Hours below freezing, winter by winter",
        (16.0, upper_left.1 - 22.0),
        Side::Start,
        13.0,
        INK,
    )?;
    Frame { x, y }.y_axis(sheet, &y.ticks(4), |hours| format!("{hours:.0} h"), SMALL)?;
    let width = ((x.px_to - x.px_from) / (x.to - x.from) * 0.7).clamp(1.0, 26.0);
    for winter in all {
        let middle = x.px(f64::from(winter.season));
        let bar = |hours: f64, ink, share: f64| {
            let half = width * share / 2.0;
            sheet.rect(
                (middle - half, y.px(hours)),
                (middle + half, y.px(0.0)),
                ink,
                if winter.is_complete() { 1.0 } else { 0.35 },
            )
        };
        bar(winter.hours_below[0], AIR, 1.0)?;
        bar(winter.hours_below[3], PRESSING, 0.6)?;
    }
    for season in ticks(f64::from(first), f64::from(last), 8) {
        if (season - season.round()).abs() < 1e-9 {
            let words = format!("{season:.0}");
            sheet.text(&words, (x.px(season), y.px_from + 12.0), Side::Middle, SMALL, SOFT)?;
        }
    }
    let row = lower_right.1 + 30.0;
    sheet.rect((64.0, row - 5.0), (74.0, row + 5.0), AIR, 1.0)?;
    sheet.text("below 32 °F (0 °C)", (80.0, row), Side::Start, 11.0, SOFT)?;
    sheet.rect((200.0, row - 5.0), (210.0, row + 5.0), PRESSING, 1.0)?;
    sheet.text("below 20 °F (-6.7 °C)", (216.0, row), Side::Start, 11.0, SOFT)?;
    sheet.rect((354.0, row - 5.0), (364.0, row + 5.0), AIR, 0.35)?;
    sheet.text("pale: gaps in the record", (370.0, row), Side::Start, 11.0, SOFT)
}

/// Supply water through the year.
///
/// # Errors
/// When the backend refuses.
pub fn inlet(answer: &Inlet, units: UnitSystem) -> Result<String, ChartError> {
    let title = "Supply water through the year";
    let told = format!(
        "Coldest {} about {}, warmest {}; a norm, not a cold snap",
        show_temperature(answer.coldest_c, units),
        super::weather_inlet::coldest_date(answer),
        show_temperature(answer.warmest_c, units)
    );
    sheet((SIZE.0, 320.0), title, &told, |sheet| {
        sheet.bold(title, (16.0, 20.0), Side::Start, 15.0, INK)?;
        sheet.text(&told, (16.0, 40.0), Side::Start, SMALL, SOFT)?;
        let x = Scale {
            from: 1.0,
            to: 366.0,
            px_from: 64.0,
            px_to: SIZE.0 - 24.0,
        };
        let y = Scale {
            from: answer.coldest_c - 2.0,
            to: answer.warmest_c + 2.0,
            px_from: 280.0,
            px_to: 58.0,
        };
        Frame { x, y }.y_axis(sheet, &steps(y.from, y.to, units, 6), |c| degrees(c, units), SMALL)?;
        for (month, name) in super::weather_inlet::MONTHS.iter().enumerate() {
            let at = x.px(1.0 + (month as f64 + 0.5) * 365.0 / 12.0);
            sheet.text(name, (at, y.px_from + 14.0), Side::Middle, SMALL, SOFT)?;
        }
        let curve: Vec<(f64, f64)> = (1..=365)
            .map(|day| (x.px(f64::from(day)), y.px(answer.on_day_c(f64::from(day)))))
            .collect();
        sheet.line(&curve, WATER, 2.0)?;
        sheet.mark(
            Shape::Ring,
            (x.px(f64::from(answer.coldest_day)), y.px(answer.coldest_c)),
            5.0,
            PRESSING,
        )
    })
}
