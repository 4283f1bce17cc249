//! What every chart shares: the sheet, the pens, scales and axes. All plotters calls stand in `charts*.rs`.
//!
//! Charts are SVG with text as text, so that they print sharply and can be searched. They are drawn at two
//! units a pixel, because the backend knows whole units only. The palette is our own: dark ink on white,
//! and states told apart by shape and lightness first, by hue second, so that the pictures work in grey and
//! for colour-blind readers.

use crate::language::Language;
use chrono::{DateTime, Datelike, TimeDelta, TimeZone, Utc};
use chrono_tz::Tz;
use plotters::backend::SVGBackend;
use plotters::coord::Shift;
use plotters::drawing::{DrawingArea, IntoDrawingArea};
use plotters::element::{Circle, PathElement, Polygon, Rectangle};
use plotters::style::text_anchor::{HPos, Pos, VPos};
use plotters::style::{Color, FontStyle, IntoFont, RGBColor, ShapeStyle, TextStyle};
use std::fmt::Write;

/// A colour of the palette.
pub type Ink = RGBColor;

/// Text and axes.
pub const INK: Ink = RGBColor(0x1e, 0x2a, 0x32);
/// Secondary text.
pub const SOFT: Ink = RGBColor(0x5d, 0x6a, 0x72);
/// Grid lines.
pub const GRID: Ink = RGBColor(0xdd, 0xe3, 0xe6);
/// Night bands.
pub const NIGHT: Ink = RGBColor(0xf2, 0xf4, 0xf6);
/// Below freezing.
pub const ICE: Ink = RGBColor(0xd3, 0xe6, 0xee);
/// Water.
pub const WATER: Ink = RGBColor(0x17, 0x5e, 0x73);
/// Air.
pub const AIR: Ink = RGBColor(0x8a, 0x96, 0x9d);
/// The most pressing state: dark.
pub const PRESSING: Ink = RGBColor(0x6e, 0x1f, 0x2f);
/// The next state: middle.
pub const NEXT: Ink = RGBColor(0xc9, 0x7b, 0x2c);
/// A mild state.
pub const MILD: Ink = RGBColor(0x4f, 0x7f, 0x9c);
/// Nothing to do: light.
pub const QUIET: Ink = RGBColor(0xb4, 0xbe, 0xc4);

/// Line colours for up to six series told apart by lightness as well as hue.
pub const LINES: [Ink; 6] = [
    RGBColor(0x6e, 0x1f, 0x2f),
    RGBColor(0x17, 0x5e, 0x73),
    RGBColor(0xc9, 0x7b, 0x2c),
    RGBColor(0x3d, 0x4a, 0x52),
    RGBColor(0x4f, 0x9c, 0x8a),
    RGBColor(0x8f, 0x7a, 0xb5),
];

/// Why a chart was not drawn.
#[derive(Debug, Clone, thiserror::Error)]
#[error("the chart cannot be drawn: {0}")]
pub struct ChartError(String);

impl ChartError {
    /// A chart error with its reason.
    pub fn new(why: impl Into<String>) -> Self {
        Self(why.into())
    }
}

/// For which width a chart is drawn: a page and paper, or a telephone, where the same picture made small could not be read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Form {
    /// A page or paper.
    Wide,
    /// A telephone of 360 px and more.
    Narrow,
}

impl Form {
    /// The one of two values that is of this form.
    pub fn pick<T>(self, wide: T, narrow: T) -> T {
        match self {
            Form::Wide => wide,
            Form::Narrow => narrow,
        }
    }
}

/// A text in lines of about `px` pixels at this size; widths are guessed from the count of characters.
pub fn lines(text: &str, px: f64, size: f64) -> Vec<String> {
    let room = (px / (size * 0.5)).floor().max(8.0) as usize;
    textwrap::wrap(text, room)
        .into_iter()
        .map(std::borrow::Cow::into_owned)
        .collect()
}

/// Where a text stands against its point.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Side {
    /// The text begins at the point.
    Start,
    /// The text is centred on the point.
    Middle,
    /// The text ends at the point.
    End,
}

/// A shape of a mark; told apart without colour.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shape {
    /// Filled triangle.
    Triangle,
    /// Filled diamond.
    Diamond,
    /// Ring.
    Ring,
    /// Small filled dot.
    Dot,
    /// Upright cross.
    Cross,
}

/// The sheet being drawn on. Coordinates are pixels from the upper left corner.
pub struct Sheet<'a> {
    area: DrawingArea<SVGBackend<'a>, Shift>,
    /// Width, px.
    pub width: f64,
    /// Height, px.
    pub height: f64,
}

const UNITS: f64 = 2.0;

fn unit(px: f64) -> i32 {
    // Saturating conversion; NaN becomes 0.
    (px * UNITS).round() as i32
}

fn at(point: (f64, f64)) -> (i32, i32) {
    (unit(point.0), unit(point.1))
}

/// Draws a chart and returns the SVG text.
///
/// `title` and `description` are for readers who do not see the picture (SVG `title` and `desc`).
///
/// # Errors
/// When the backend refuses, or what `draw` returns.
pub fn sheet(
    (width, height): (f64, f64),
    title: &str,
    description: &str,
    draw: impl FnOnce(&Sheet<'_>) -> Result<(), ChartError>,
) -> Result<String, ChartError> {
    let size = (unit(width).max(2) as u32, unit(height).max(2) as u32);
    let mut svg = String::new();
    {
        let area = SVGBackend::with_string(&mut svg, size).into_drawing_area();
        let sheet = Sheet { area, width, height };
        sheet.rect((0.0, 0.0), (width, height), RGBColor(255, 255, 255), 1.0)?;
        draw(&sheet)?;
        sheet.area.present().map_err(refused)?;
    }
    Ok(dress(&svg, size, title, description))
}

/// Gives the SVG its size in pixels and its words for screen readers.
fn dress(svg: &str, size: (u32, u32), title: &str, description: &str) -> String {
    let old = format!(
        "<svg width=\"{0}\" height=\"{1}\" viewBox=\"0 0 {0} {1}\" xmlns=\"http://www.w3.org/2000/svg\">",
        size.0, size.1
    );
    let new = format!(
        "<svg width=\"{}\" height=\"{}\" viewBox=\"0 0 {} {}\" xmlns=\"http://www.w3.org/2000/svg\" role=\"img\">\n\
         <title>{}</title>\n<desc>{}</desc>",
        f64::from(size.0) / UNITS,
        f64::from(size.1) / UNITS,
        size.0,
        size.1,
        escape(title),
        escape(description)
    );
    match svg.strip_prefix(&old) {
        Some(rest) => format!("{new}{rest}"),
        None => svg.to_owned(),
    }
}

/// Escapes text for XML and HTML.
pub fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '&' => out.push_str("&amp;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            // Characters that XML 1.0 forbids are shown as the replacement character.
            c if c < ' ' && !matches!(c, '\t' | '\n' | '\r') => out.push('\u{fffd}'),
            '\u{fffe}' | '\u{ffff}' => out.push('\u{fffd}'),
            c => out.push(c),
        }
    }
    out
}

fn refused(error: impl std::fmt::Display) -> ChartError {
    ChartError(error.to_string())
}

impl Sheet<'_> {
    /// A line through points; fewer than two points draw nothing.
    pub fn line(&self, points: &[(f64, f64)], ink: Ink, width: f64) -> Result<(), ChartError> {
        if points.len() < 2 {
            return Ok(());
        }
        let path: Vec<_> = points.iter().map(|p| at(*p)).collect();
        let style = ShapeStyle::from(ink).stroke_width(unit(width).max(1) as u32);
        self.area.draw(&PathElement::new(path, style)).map_err(refused)
    }

    /// A dashed line through points: `on` px drawn, `off` px left.
    pub fn dashed(&self, points: &[(f64, f64)], ink: Ink, width: f64, on: f64, off: f64) -> Result<(), ChartError> {
        let period = on + off;
        if !(period > 0.5 && period.is_finite()) {
            return self.line(points, ink, width);
        }
        let mut gone = 0.0_f64;
        let mut dash: Vec<(f64, f64)> = Vec::new();
        for pair in points.windows(2) {
            let (a, b) = (pair[0], pair[1]);
            let length = (b.0 - a.0).hypot(b.1 - a.1);
            if !(length > 0.0 && length < 1e5) {
                continue;
            }
            let mut from = 0.0;
            while from < length {
                let phase = gone % period;
                let drawn = phase < on;
                let step = (if drawn { on - phase } else { period - phase })
                    .max(0.01)
                    .min(length - from);
                let point = |d: f64| (a.0 + (b.0 - a.0) * d / length, a.1 + (b.1 - a.1) * d / length);
                if drawn {
                    if dash.is_empty() {
                        dash.push(point(from));
                    }
                    dash.push(point(from + step));
                } else if !dash.is_empty() {
                    self.line(&dash, ink, width)?;
                    dash.clear();
                }
                from += step;
                gone += step;
            }
        }
        self.line(&dash, ink, width)
    }

    /// A filled polygon.
    pub fn polygon(&self, points: &[(f64, f64)], ink: Ink, opacity: f64) -> Result<(), ChartError> {
        if points.len() < 3 {
            return Ok(());
        }
        let path: Vec<_> = points.iter().map(|p| at(*p)).collect();
        self.area
            .draw(&Polygon::new(path, ink.mix(opacity).filled()))
            .map_err(refused)
    }

    /// The band between two lines that share their x, such as a 10 to 90 % fan.
    pub fn band(&self, low: &[(f64, f64)], high: &[(f64, f64)], ink: Ink, opacity: f64) -> Result<(), ChartError> {
        let ring: Vec<_> = low.iter().chain(high.iter().rev()).copied().collect();
        self.polygon(&ring, ink, opacity)
    }

    /// A filled rectangle.
    pub fn rect(&self, from: (f64, f64), to: (f64, f64), ink: Ink, opacity: f64) -> Result<(), ChartError> {
        self.area
            .draw(&Rectangle::new([at(from), at(to)], ink.mix(opacity).filled()))
            .map_err(refused)
    }

    /// A mark of the given radius, px.
    pub fn mark(&self, shape: Shape, centre: (f64, f64), radius: f64, ink: Ink) -> Result<(), ChartError> {
        let (x, y) = centre;
        let r = radius;
        match shape {
            Shape::Triangle => self.polygon(
                &[(x, y - r), (x + 0.95 * r, y + 0.75 * r), (x - 0.95 * r, y + 0.75 * r)],
                ink,
                1.0,
            ),
            Shape::Diamond => self.polygon(&[(x, y - r), (x + r, y), (x, y + r), (x - r, y)], ink, 1.0),
            Shape::Ring => {
                let style = ShapeStyle::from(ink).stroke_width(unit(1.0) as u32);
                self.area
                    .draw(&Circle::new(at(centre), unit(r).max(1), style))
                    .map_err(refused)
            }
            Shape::Dot => self
                .area
                .draw(&Circle::new(at(centre), unit(r).max(1), ShapeStyle::from(ink).filled()))
                .map_err(refused),
            Shape::Cross => {
                self.line(&[(x - r, y), (x + r, y)], ink, 1.5)?;
                self.line(&[(x, y - r), (x, y + r)], ink, 1.5)
            }
        }
    }

    /// One line of text, `size` px high, its middle at the height of the point.
    pub fn text(&self, text: &str, point: (f64, f64), side: Side, size: f64, ink: Ink) -> Result<(), ChartError> {
        self.write(text, point, side, size, ink, false)
    }

    /// As [`Sheet::text`], in bold.
    pub fn bold(&self, text: &str, point: (f64, f64), side: Side, size: f64, ink: Ink) -> Result<(), ChartError> {
        self.write(text, point, side, size, ink, true)
    }

    fn write(
        &self,
        text: &str,
        point: (f64, f64),
        side: Side,
        size: f64,
        ink: Ink,
        bold: bool,
    ) -> Result<(), ChartError> {
        let h = match side {
            Side::Start => HPos::Left,
            Side::Middle => HPos::Center,
            Side::End => HPos::Right,
        };
        // The backend divides a font's size by 1.24.
        let mut font = ("sans-serif", size * UNITS * 1.24).into_font();
        if bold {
            font = font.style(FontStyle::Bold);
        }
        let style = TextStyle::from(font).color(&ink).pos(Pos::new(h, VPos::Center));
        self.area.draw_text(text, &style, at(point)).map_err(refused)
    }
}

/// A straight scale from values to pixels.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scale {
    /// Value at the first pixel.
    pub from: f64,
    /// Value at the last pixel.
    pub to: f64,
    /// First pixel.
    pub px_from: f64,
    /// Last pixel.
    pub px_to: f64,
}

impl Scale {
    /// The pixel of a value; beyond the ends it is held at the end.
    pub fn px(&self, value: f64) -> f64 {
        let span = self.to - self.from;
        let share = if span == 0.0 { 0.0 } else { (value - self.from) / span };
        let share = if share.is_finite() { share.clamp(0.0, 1.0) } else { 0.0 };
        self.px_from + share * (self.px_to - self.px_from)
    }

    /// Round steps within the scale, about `count` of them.
    pub fn ticks(&self, count: usize) -> Vec<f64> {
        ticks(self.from.min(self.to), self.from.max(self.to), count)
    }
}

/// Round numbers (1, 2, 5 times a power of ten) from `low` to `high`, about `count` of them.
pub fn ticks(low: f64, high: f64, count: usize) -> Vec<f64> {
    let span = high - low;
    if !(span > 0.0 && span.is_finite()) {
        return vec![low];
    }
    let raw = span / count.max(1) as f64;
    let power = 10f64.powf(raw.log10().floor());
    let step = [1.0, 2.0, 5.0, 10.0]
        .iter()
        .map(|m| m * power)
        .find(|step| *step >= raw * 0.999)
        .unwrap_or(10.0 * power);
    let first = (low / step).ceil() as i64;
    let last = (high / step + 1e-9).floor() as i64;
    (first..=last.min(first + 100)).map(|i| i as f64 * step).collect()
}

/// The frame of a chart: where it stands on the sheet and its two scales.
#[derive(Debug, Clone, Copy)]
pub struct Frame {
    /// Time to x; values are seconds since the epoch.
    pub x: Scale,
    /// Value to y (the larger the higher).
    pub y: Scale,
}

impl Frame {
    /// A frame for time against a value, in the rectangle from `upper_left` to `lower_right`, px.
    pub fn over_time(
        upper_left: (f64, f64),
        lower_right: (f64, f64),
        time: (DateTime<Utc>, DateTime<Utc>),
        value: (f64, f64),
    ) -> Self {
        Self {
            x: Scale {
                from: time.0.timestamp() as f64,
                to: time.1.timestamp() as f64,
                px_from: upper_left.0,
                px_to: lower_right.0,
            },
            y: Scale {
                from: value.0,
                to: value.1,
                px_from: lower_right.1,
                px_to: upper_left.1,
            },
        }
    }

    /// The pixel of a moment and a value.
    pub fn point(&self, time: DateTime<Utc>, value: f64) -> (f64, f64) {
        (self.x.px(time.timestamp() as f64), self.y.px(value))
    }

    /// Light bands for the nights (6 pm to 6 am by the clock of the zone).
    pub fn nights(&self, sheet: &Sheet<'_>, zone: Tz) -> Result<(), ChartError> {
        for midnight in self.midnights(zone, 1) {
            let left = self.x.px((midnight - TimeDelta::hours(6)).timestamp() as f64);
            let right = self.x.px((midnight + TimeDelta::hours(6)).timestamp() as f64);
            sheet.rect((left, self.y.px_to), (right, self.y.px_from), NIGHT, 1.0)?;
        }
        Ok(())
    }

    /// Horizontal grid lines with their labels to the left.
    pub fn y_axis(
        &self,
        sheet: &Sheet<'_>,
        ticks: &[f64],
        label: impl Fn(f64) -> String,
        size: f64,
    ) -> Result<(), ChartError> {
        for tick in ticks {
            let y = self.y.px(*tick);
            sheet.line(&[(self.x.px_from, y), (self.x.px_to, y)], GRID, 1.0)?;
            sheet.text(&label(*tick), (self.x.px_from - 6.0, y), Side::End, size, SOFT)?;
        }
        Ok(())
    }

    /// A line at each local midnight and the day's name in the middle of its day.
    pub fn days(&self, sheet: &Sheet<'_>, zone: Tz, language: Language, size: f64) -> Result<(), ChartError> {
        let hours = (self.x.to - self.x.from) / 3_600.0;
        let px_per_day = (self.x.px_to - self.x.px_from) / (hours / 24.0).max(0.1);
        let every = (size * 4.2 / px_per_day).ceil().max(1.0) as usize;
        for midnight in self.midnights(zone, every) {
            let seconds = midnight.timestamp() as f64;
            if seconds >= self.x.from && seconds <= self.x.to {
                let x = self.x.px(seconds);
                sheet.line(&[(x, self.y.px_to), (x, self.y.px_from + 4.0)], GRID, 1.0)?;
            }
            let noon = seconds + 12.0 * 3_600.0 * if every == 1 { 1.0 } else { 0.0 };
            // A label that would stand over the edge is left out.
            let room = size * 1.9 * (self.x.to - self.x.from) / (self.x.px_to - self.x.px_from).max(1.0);
            if noon >= self.x.from && noon + room <= self.x.to {
                let local = midnight.with_timezone(&zone);
                let x = self.x.px(noon);
                let name = format!("{} {}", language.day_short(local.weekday()), local.day());
                sheet.text(&name, (x, self.y.px_from + size + 2.0), Side::Middle, size, SOFT)?;
            }
        }
        sheet.line(
            &[(self.x.px_from, self.y.px_from), (self.x.px_to, self.y.px_from)],
            SOFT,
            1.0,
        )
    }

    /// Local midnights from a day before the frame to its end, every so many days.
    fn midnights(&self, zone: Tz, every: usize) -> Vec<DateTime<Utc>> {
        let Some(start) = DateTime::<Utc>::from_timestamp(self.x.from as i64, 0) else {
            return Vec::new();
        };
        let mut day = start.with_timezone(&zone).date_naive();
        let mut found = Vec::new();
        // A frame of more than some years gets no more than 2,000 days.
        for _ in 0..2_000 {
            let midnight = day.and_hms_opt(0, 0, 0).and_then(|naive| {
                let local = zone.from_local_datetime(&naive);
                local.earliest().or_else(|| {
                    // Some zones skip midnight when summer time begins.
                    zone.from_local_datetime(&(naive + TimeDelta::hours(1))).earliest()
                })
            });
            if let Some(midnight) = midnight {
                let midnight = midnight.with_timezone(&Utc);
                if midnight.timestamp() as f64 > self.x.to {
                    break;
                }
                found.push(midnight);
            }
            match day.checked_add_days(chrono::Days::new(every as u64)) {
                Some(next) => day = next,
                None => break,
            }
        }
        found
    }
}

/// Moves labels apart so that they stand at least `gap` px from each other, keeping their order; `ys` need not be sorted.
pub fn spread_labels(ys: &[f64], gap: f64, low: f64, high: f64) -> Vec<f64> {
    let mut order: Vec<usize> = (0..ys.len()).collect();
    order.sort_by(|a, b| ys[*a].total_cmp(&ys[*b]).then(a.cmp(b)));
    let mut placed = vec![0.0; ys.len()];
    let mut last = f64::NEG_INFINITY;
    for at in &order {
        let y = ys[*at].max(low).max(last + gap);
        placed[*at] = y;
        last = y;
    }
    // Push back up from the lower edge.
    let mut limit = high;
    for at in order.iter().rev() {
        if placed[*at] > limit {
            placed[*at] = limit;
        }
        limit = placed[*at] - gap;
    }
    placed
}

/// A text cut to about `px` pixels at this size, with an ellipsis; widths are guessed from the count of characters.
pub fn cut(text: &str, px: f64, size: f64) -> String {
    let room = (px / (size * 0.55)).floor().max(1.0) as usize;
    if text.chars().count() <= room {
        return text.to_owned();
    }
    let mut out: String = text.chars().take(room.saturating_sub(1)).collect();
    let _ = write!(out, "…");
    out
}
