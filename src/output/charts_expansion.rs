//! Charts of one expansion answer: pressure against water temperature, and tank size against supply pressure.

use super::charts::{
    ChartError, Form, Frame, GRID, INK, Ink, PRESSING, SOFT, Scale, Shape, Sheet, Side, WATER, sheet, spread_labels,
};
use crate::expansion::existing::{self, TankState};
use crate::expansion::lowering::usual_setting_pa;
use crate::expansion::pressure::Sealed;
use crate::expansion::tank::{at_tank_abs_pa, diaphragm_tank_l};
use crate::expansion::{Assessment, System};
use crate::expansion::{Measure, supply, volume};
use crate::language::Tongue;
use crate::units::{
    L_PER_US_GAL, PA_PER_PSI, UnitSystem, f_from_c, gal_from_l, psi_from_pa, show_gauge, show_volume,
    show_volume_at_least,
};

/// Where things stand on a chart, and how large its letters are.
#[derive(Debug, Clone, Copy)]
struct Layout {
    size: (f64, f64),
    upper_left: (f64, f64),
    lower_right: (f64, f64),
    text: f64,
    /// Whether title and footnote stand on it; a page that carries it has its own.
    titled: bool,
    /// Most characters of a line's name in one row right of its end; `None` where the names stand below, each in a row of its own.
    name: Option<usize>,
}

/// A chart of its own.
const ALONE: Layout = Layout {
    size: (760.0, 452.0),
    upper_left: (64.0, 56.0),
    lower_right: (540.0, 384.0),
    text: 12.0,
    titled: true,
    name: Some(30),
};

/// A strip across a printed page of 190 mm: letters of 10 pt.
const STRIP: Layout = Layout {
    size: (718.0, 166.0),
    upper_left: (52.0, 8.0),
    lower_right: (446.0, 122.0),
    text: 13.8,
    titled: false,
    name: Some(32),
};

/// On a telephone of 360 px: the lines' names stand below, each in a row of its own.
const PHONE: Layout = Layout {
    size: (336.0, 312.0),
    upper_left: (40.0, 8.0),
    lower_right: (322.0, 206.0),
    text: 11.0,
    titled: false,
    name: None,
};

fn pressure_value(pascal: f64, words: UnitSystem) -> f64 {
    match words {
        UnitSystem::Us => psi_from_pa(pascal),
        UnitSystem::Si => pascal / 1e3,
        UnitSystem::Bar => pascal / 1e5,
    }
}

fn pressure_unit(words: UnitSystem) -> &'static str {
    match words {
        UnitSystem::Us => "psi",
        UnitSystem::Si => "kPa",
        UnitSystem::Bar => "bar",
    }
}

fn temperature_value(celsius: f64, words: UnitSystem) -> f64 {
    match words {
        UnitSystem::Us => f_from_c(celsius),
        UnitSystem::Si | UnitSystem::Bar => celsius,
    }
}

fn volume_value(litre: f64, words: UnitSystem) -> f64 {
    match words {
        UnitSystem::Us => gal_from_l(litre),
        UnitSystem::Si | UnitSystem::Bar => litre,
    }
}

fn plain(value: f64) -> String {
    if value.fract().abs() < 1e-9 {
        format!("{value:.0}")
    } else {
        format!("{value:.1}")
    }
}

fn failed(error: impl std::fmt::Display) -> ChartError {
    ChartError::new(error.to_string())
}

/// A line of the pressure chart with its name at the right.
struct Curve {
    name: String,
    points: Vec<(f64, f64)>,
    ink: Ink,
    width: f64,
    dashed: bool,
}

/// Pressure (gauge) against water temperature: with nothing, with the tank, with the relief; limit and heater's relief drawn.
///
/// # Errors
/// When a temperature or pressure lies outside liquid water, or the backend refuses.
pub fn pressure(system: &System, answer: &Assessment, form: Form) -> Result<String, ChartError> {
    pressure_on(form.pick(&ALONE, &PHONE), system, answer)
}

/// The same as a strip across a printed page, its letters of 10 pt when it is 190 mm wide.
///
/// # Errors
/// As [`pressure`].
pub fn pressure_strip(system: &System, answer: &Assessment) -> Result<String, ChartError> {
    pressure_on(&STRIP, system, answer)
}

fn pressure_on(layout: &Layout, system: &System, answer: &Assessment) -> Result<String, ChartError> {
    // What counts, not what was read: the street where nothing regulates it, the lowest rating.
    let counted = supply::counted(system);
    let system = &counted;
    let (words, tongue) = (system.words, system.tongue());
    let top_pa = (1.25 * system.heater_relief_gauge_pa)
        .max(1.2 * system.limit_gauge_pa)
        .max(1.2 * system.static_gauge_pa);
    let span_k = (system.hot_c - system.cold_c).max(1.0);
    let hot_c = system.cold_c + span_k;
    let frame = Frame {
        x: Scale {
            from: temperature_value(system.cold_c, words),
            to: temperature_value(hot_c, words),
            px_from: layout.upper_left.0,
            px_to: layout.lower_right.0,
        },
        y: Scale {
            from: 0.0,
            to: pressure_value(top_pa, words),
            px_from: layout.lower_right.1,
            px_to: layout.upper_left.1,
        },
    };
    let at = |celsius: f64, gauge_pa: f64| {
        (
            frame.x.px(temperature_value(celsius, words)),
            frame.y.px(pressure_value(gauge_pa, words)),
        )
    };
    let curves = curves(system, answer, hot_c, top_pa, &at)?;
    let title = tongue.pick(
        "Pressure against water temperature",
        "Presión según la temperatura del agua",
    );
    let (cold, hot) = (tongue.temperature(system.cold_c), tongue.temperature(hot_c));
    let names = curves
        .iter()
        .map(|curve| curve.name.as_str())
        .collect::<Vec<_>>()
        .join("; ");
    let description = tongue.pick(
        format!("Gauge pressure as the water warms from {cold} to {hot}: {names}."),
        format!("Presión de manómetro mientras el agua se calienta de {cold} a {hot}: {names}."),
    );
    sheet(layout.size, title, &description, |sheet| {
        let unit = pressure_unit(words);
        if layout.titled {
            sheet.bold(title, (layout.upper_left.0, 20.0), Side::Start, 15.0, INK)?;
            sheet.text(
                &tongue.pick(
                    format!("{unit} gauge, water heated from cold with every tap shut"),
                    format!("{unit} de manómetro, agua calentada desde fría con todas las llaves cerradas"),
                ),
                (layout.upper_left.0, 40.0),
                Side::Start,
                layout.text,
                SOFT,
            )?;
        }
        frame.y_axis(
            sheet,
            &frame.y.ticks(if layout.titled { 6 } else { 4 }),
            plain,
            layout.text,
        )?;
        let degree = degree(words);
        let axis = tongue.pick(
            format!("water temperature, {degree}"),
            format!("temperatura del agua, {degree}"),
        );
        let axis = if layout.titled { axis } else { format!("{unit}; {axis}") };
        x_axis(layout, sheet, &frame, &axis)?;
        limits(layout, sheet, system, &at)?;
        named_lines(layout, sheet, &curves)?;
        if !layout.titled {
            return Ok(());
        }
        sheet.text(
            tongue.pick(
                "Upper bounds; tanks alone take the water. The heater's relief valve is a safety device, never the control.",
                "Máximos; solo los tanques reciben el agua. El alivio del calentador es de seguridad, nunca el control.",
            ),
            (layout.upper_left.0, layout.size.1 - 12.0),
            Side::Start,
            11.0,
            SOFT,
        )
    })
}

/// The pressures that must not be passed, across the chart, with their names.
fn limits(
    layout: &Layout,
    sheet: &Sheet<'_>,
    system: &System,
    at: &dyn Fn(f64, f64) -> (f64, f64),
) -> Result<(), ChartError> {
    let (words, tongue) = (system.words, system.tongue());
    let lines = [
        (system.limit_gauge_pa, tongue.pick("limit", "límite")),
        (
            system.heater_relief_gauge_pa,
            tongue.pick("heater's relief valve", "alivio del calentador"),
        ),
    ];
    let [limit_y, relief_y] = lines.map(|(gauge_pa, _)| at(system.cold_c, gauge_pa).1);
    for (gauge_pa, name) in lines {
        let y = at(system.cold_c, gauge_pa).1;
        // The lower of two near lines has its name below it.
        let crowded = (limit_y - relief_y).abs() < 1.4 * layout.text && y >= limit_y.max(relief_y);
        let beside = if crowded { 0.66 } else { -0.66 } * layout.text;
        sheet.dashed(
            &[(layout.upper_left.0, y), (layout.lower_right.0, y)],
            SOFT,
            1.0,
            5.0,
            3.0,
        )?;
        sheet.text(
            &format!("{name} {}", show_gauge(gauge_pa, words)),
            // Left of the middle, where the lines of tank and relief still run low.
            (
                layout.upper_left.0 + 0.45 * (layout.lower_right.0 - layout.upper_left.0),
                y + beside,
            ),
            Side::Middle,
            layout.text - if layout.titled { 1.0 } else { 0.0 },
            SOFT,
        )?;
    }
    Ok(())
}

/// The lines of the chart, each with its name at the right.
fn named_lines(layout: &Layout, sheet: &Sheet<'_>, curves: &[Curve]) -> Result<(), ChartError> {
    let ends: Vec<f64> = curves
        .iter()
        .map(|curve| curve.points.last().map_or(layout.lower_right.1, |point| point.1))
        .collect();
    let labels = spread_labels(
        &ends,
        2.0 * layout.text + 8.0,
        layout.upper_left.1 + layout.text,
        layout.lower_right.1 - layout.text,
    );
    for (curve, label_y) in curves.iter().zip(&labels) {
        if curve.dashed {
            sheet.dashed(&curve.points, curve.ink, curve.width, 7.0, 4.0)?;
        } else {
            sheet.line(&curve.points, curve.ink, curve.width)?;
        }
        let Some(width) = layout.name else { continue };
        if let Some(end) = curve.points.last() {
            let from = layout.lower_right.0.min(end.0) + 3.0;
            sheet.line(&[(from, end.1), (layout.lower_right.0 + 12.0, *label_y)], GRID, 1.0)?;
        }
        for (row, text) in two_rows(&curve.name, width).iter().enumerate() {
            sheet.text(
                text,
                (
                    layout.lower_right.0 + 16.0,
                    label_y + (row as f64 - 0.5) * (layout.text + 2.0),
                ),
                Side::Start,
                layout.text,
                curve.ink,
            )?;
        }
    }
    if layout.name.is_none() {
        for (row, curve) in curves.iter().rev().enumerate() {
            let y = layout.size.1 - 8.0 - 16.0 * row as f64;
            sheet.line(&[(8.0, y - 4.0), (28.0, y - 4.0)], curve.ink, curve.width)?;
            sheet.text(&curve.name, (34.0, y), Side::Start, layout.text, curve.ink)?;
        }
    }
    Ok(())
}

fn curves(
    system: &System,
    answer: &Assessment,
    hot_c: f64,
    top_pa: f64,
    at: &dyn Fn(f64, f64) -> (f64, f64),
) -> Result<Vec<Curve>, ChartError> {
    const STEPS: u32 = 120;
    let (words, tongue) = (system.words, system.tongue());
    let air_pa = system.air_abs_pa();
    let sealed = Sealed::of(system);
    let (mut tank_end_pa, mut existing_end_pa) = (f64::INFINITY, f64::INFINITY);
    let (mut bare, mut relieved) = (Vec::new(), Vec::new());
    let (mut with_tank, mut with_existing) = (Vec::new(), Vec::new());
    let relief_pa = relief_setting_pa(answer);
    let advised = answer.advised.as_deref().unwrap_or(system);
    let fits = matches!(
        answer.recommendation.measure,
        Measure::Tank | Measure::ReplaceExistingTank | Measure::LowerSupplyPressureThenTank
    );
    let changed = fits || advised.existing != system.existing || advised.static_gauge_pa < system.static_gauge_pa;
    let new_tanks = if changed { existing::states(advised) } else { Vec::new() };
    let there = existing::states(system);
    let mut over = false;
    for step in 0..=STEPS {
        let celsius = system.cold_c + (hot_c - system.cold_c) * f64::from(step) / f64::from(STEPS);
        let bare_pa = sealed.pressure_abs_pa(celsius).map_err(failed)?;
        let bare_pa = bare_pa.map_or(f64::INFINITY, |abs_pa| abs_pa - air_pa);
        let bare_pa = bare_pa.max(system.static_gauge_pa);
        if !over {
            bare.push(at(celsius, bare_pa.min(top_pa)));
            over = bare_pa > top_pa;
        }
        if let Some(relief_pa) = relief_pa {
            let from_pa = bare_pa - system.static_gauge_pa + advised.static_gauge_pa;
            relieved.push(at(celsius, from_pa.min(relief_pa)));
        }
        for (state, base, points, end) in [
            (&new_tanks, advised, &mut with_tank, &mut tank_end_pa),
            (&there, system, &mut with_existing, &mut existing_end_pa),
        ] {
            if !state.is_empty() {
                let gauge_pa = end_with_tanks_pa(state, base, celsius)?;
                *end = gauge_pa;
                let held = points
                    .last()
                    .is_none_or(|last: &(f64, f64)| last.1 > at(celsius, top_pa).1 + 0.01);
                if held {
                    points.push(at(celsius, gauge_pa.min(top_pa)));
                }
            }
        }
    }
    let of_tanks = |id: &str, tanks: &[TankState], exact: bool, end_pa: f64| {
        let together_l = tanks.iter().map(|state| state.volume_l).sum::<f64>();
        let volume = if exact {
            show_volume(together_l, words)
        } else {
            show_volume_at_least(together_l, words)
        };
        crate::say!(
            tongue.language,
            id,
            tanks = tanks.len(),
            volume = volume,
            end = end_words(end_pa, tongue)
        )
    };
    let solid = |name: String, points: Vec<(f64, f64)>, ink: Ink| Curve {
        name,
        points,
        ink,
        width: 2.5,
        dashed: false,
    };
    let mut curves = vec![solid(bare_name(answer, tongue), bare, PRESSING)];
    if !with_existing.is_empty() {
        let name = of_tanks("expansion-chart-there", &there, true, existing_end_pa);
        curves.push(solid(name, with_existing, super::charts::NEXT));
    }
    if !with_tank.is_empty() {
        let name = of_tanks("expansion-chart-advised", &new_tanks, !fits, tank_end_pa);
        curves.push(solid(name, with_tank, WATER));
    }
    if let (Some(relief_pa), true) = (relief_pa, !relieved.is_empty()) {
        curves.push(Curve {
            name: crate::say!(
                tongue.language,
                "expansion-chart-relieved",
                setting = show_gauge(relief_pa, words)
            ),
            points: relieved,
            ink: super::charts::LINES[3],
            width: 2.0,
            dashed: true,
        });
    }
    Ok(curves)
}

/// Pressure, Pa gauge, after heating to `celsius` with these tanks; infinite where nothing bounds it. As the text has it: the tanks alone
/// take the water.
fn end_with_tanks_pa(tanks: &[TankState], base: &System, celsius: f64) -> Result<f64, ChartError> {
    let mut warmed = base.clone();
    let share = (celsius - base.cold_c) / (base.hot_c - base.cold_c).max(f64::MIN_POSITIVE);
    warmed.hot_c = celsius;
    for heater in &mut warmed.heaters {
        heater.hot_c = heater.hot_c.map(|own_c| base.cold_c + share * (own_c - base.cold_c));
    }
    let demand = volume::demand(&warmed).map_err(failed)?;
    let (static_abs_pa, _) = at_tank_abs_pa(base);
    let end = existing::final_abs_pa(tanks, demand.volume_l, static_abs_pa, 0.0);
    Ok(end.map_or(f64::INFINITY, |abs_pa| abs_pa - base.air_abs_pa() + base.column_pa()))
}

/// The name of the line with nothing to take the water.
fn bare_name(answer: &Assessment, tongue: Tongue) -> String {
    match answer.unprotected.final_gauge_kpa {
        Some(kpa) => crate::say!(tongue.language, "expansion-chart-bare", end = tongue.gauge(kpa * 1e3)),
        None => crate::say!(tongue.language, "expansion-chart-bare-unbounded"),
    }
}

/// The end of a line in words, from Pa gauge.
fn end_words(gauge_pa: f64, tongue: Tongue) -> String {
    if gauge_pa.is_finite() {
        tongue.gauge(gauge_pa)
    } else {
        tongue.pick("no bound", "sin límite").to_string()
    }
}

/// The relief setting to draw: that of the state advised, when it has one.
fn relief_setting_pa(answer: &Assessment) -> Option<f64> {
    match answer.recommendation.measure {
        Measure::Relief | Measure::LowerSupplyPressureThenRelief => {
            answer.as_advised.final_gauge_kpa.map(|kpa| kpa * 1e3)
        }
        _ => None,
    }
}

fn degree(words: UnitSystem) -> &'static str {
    match words {
        UnitSystem::Us => "°F",
        UnitSystem::Si | UnitSystem::Bar => "°C",
    }
}

fn x_axis(layout: &Layout, sheet: &Sheet<'_>, frame: &Frame, label: &str) -> Result<(), ChartError> {
    let base = frame.y.px_from;
    sheet.line(&[(frame.x.px_from, base), (frame.x.px_to, base)], SOFT, 1.0)?;
    for tick in frame.x.ticks(7) {
        let x = frame.x.px(tick);
        sheet.line(&[(x, base), (x, base + 4.0)], SOFT, 1.0)?;
        sheet.text(&plain(tick), (x, base + 14.0), Side::Middle, layout.text, SOFT)?;
    }
    sheet.text(label, (frame.x.px_to, base + 32.0), Side::End, layout.text, SOFT)
}

/// A text in at most two rows of about `width` characters.
fn two_rows(text: &str, width: usize) -> Vec<String> {
    if text.chars().count() <= width {
        return vec![text.to_string()];
    }
    let mut first = String::new();
    let mut rest = String::new();
    for word in text.split(' ') {
        let room = first.chars().count() + word.chars().count() < width;
        let target = if room && rest.is_empty() { &mut first } else { &mut rest };
        if !target.is_empty() {
            target.push(' ');
        }
        target.push_str(word);
    }
    vec![first, rest]
}

/// Smallest tank against supply pressure, with the present static pressure and the regulator's usual setting marked.
///
/// # Errors
/// When the backend refuses.
pub fn tank_size(system: &System, answer: &Assessment) -> Result<String, ChartError> {
    // What counts, as on the chart of pressure.
    let system = &supply::counted(system);
    let (words, tongue) = (system.words, system.tongue());
    let sizes = Sizes::of(system, answer);
    let frame = Frame {
        x: Scale {
            from: pressure_value(sizes.low_pa, words),
            to: pressure_value(sizes.high_pa, words),
            px_from: ALONE.upper_left.0,
            px_to: ALONE.lower_right.0 + 160.0,
        },
        y: Scale {
            from: 0.0,
            to: volume_value(sizes.top_l, words),
            px_from: ALONE.lower_right.1,
            px_to: ALONE.upper_left.1,
        },
    };
    let at = |gauge_pa: f64, litre: f64| {
        (
            frame.x.px(pressure_value(gauge_pa, words)),
            frame.y.px(volume_value(litre, words)),
        )
    };
    let language = tongue.language;
    let title = crate::say!(language, "expansion-chart-sizes");
    let description = crate::say!(
        language,
        "expansion-chart-sizes-description",
        volume = tongue.volume(answer.expansion.volume_l),
        limit = tongue.gauge(system.limit_gauge_pa)
    );
    let unit = match words {
        UnitSystem::Us => "gal",
        UnitSystem::Si | UnitSystem::Bar => "L",
    };
    sheet(ALONE.size, &title, &description, |sheet| {
        sheet.bold(&title, (ALONE.upper_left.0, 20.0), Side::Start, 15.0, INK)?;
        sheet.text(
            &crate::say!(language, "expansion-chart-sizes-axis", unit = unit),
            (ALONE.upper_left.0, 40.0),
            Side::Start,
            ALONE.text,
            SOFT,
        )?;
        frame.y_axis(sheet, &frame.y.ticks(6), plain, ALONE.text)?;
        let axis = crate::say!(language, "expansion-chart-supply-axis", unit = pressure_unit(words));
        x_axis(&ALONE, sheet, &frame, &axis)?;
        no_tank_beyond(sheet, at(system.limit_gauge_pa, 0.0).0, frame.x.px_to, system)?;
        sheet.line(&sizes.line(&at), WATER, 2.5)?;
        let mut marks = vec![(system.static_gauge_pa, "expansion-chart-now", Shape::Diamond)];
        if (sizes.setting_pa - system.static_gauge_pa).abs() > 0.5 * PA_PER_PSI {
            marks.push((sizes.setting_pa, "expansion-chart-regulated", Shape::Ring));
        }
        for (gauge_pa, id, shape) in marks {
            let name = crate::say!(language, id);
            mark_size(sheet, &sizes, (gauge_pa, &name, shape), tongue, &at)?;
        }
        Ok(())
    })
}

/// The smallest tanks of a house over its supply pressure, and what part of that a chart shows. Pa gauge, L.
struct Sizes {
    demand_l: f64,
    /// From a gauge reading to the pressure at the tank, Pa absolute.
    shift_pa: f64,
    limit_pa: f64,
    setting_pa: f64,
    low_pa: f64,
    high_pa: f64,
    top_l: f64,
}

impl Sizes {
    fn of(system: &System, answer: &Assessment) -> Self {
        let (static_pa, limit_pa) = (system.static_gauge_pa, system.limit_gauge_pa);
        let setting_pa = usual_setting_pa(system).min(static_pa);
        let mut sizes = Self {
            demand_l: answer.expansion.volume_l,
            shift_pa: system.air_abs_pa() - system.column_pa(),
            limit_pa,
            setting_pa,
            low_pa: (0.3 * limit_pa).min(0.9 * setting_pa),
            high_pa: (1.1 * limit_pa).max(1.1 * static_pa),
            top_l: L_PER_US_GAL,
        };
        let largest_l = [setting_pa, static_pa]
            .into_iter()
            .filter_map(|gauge_pa| sizes.at_l(gauge_pa))
            .fold(0.0_f64, f64::max)
            .min(8.0 * sizes.at_l(setting_pa).unwrap_or(L_PER_US_GAL));
        if largest_l > 0.0 {
            sizes.top_l = 1.6 * largest_l;
        }
        sizes
    }

    /// The smallest tank at a supply pressure; `None` at the limit and beyond.
    fn at_l(&self, gauge_pa: f64) -> Option<f64> {
        diaphragm_tank_l(self.demand_l, gauge_pa + self.shift_pa, self.limit_pa + self.shift_pa)
    }

    /// The line over the supply pressure, as far as it stays on the chart.
    fn line(&self, at: &dyn Fn(f64, f64) -> (f64, f64)) -> Vec<(f64, f64)> {
        let mut points = Vec::new();
        for step in 0..=200_u32 {
            let gauge_pa = self.low_pa + (self.limit_pa - self.low_pa) * f64::from(step) / 200.0;
            match self.at_l(gauge_pa) {
                Some(litre) if litre <= self.top_l => points.push(at(gauge_pa, litre)),
                Some(_) => {
                    points.push(at(gauge_pa, self.top_l));
                    break;
                }
                None => break,
            }
        }
        points
    }
}

/// Above the limit nothing works.
fn no_tank_beyond(sheet: &Sheet<'_>, x_limit: f64, x_end: f64, system: &System) -> Result<(), ChartError> {
    let (top, foot) = (ALONE.upper_left.1, ALONE.lower_right.1);
    sheet.rect((x_limit, top), (x_end, foot), PRESSING, 0.10)?;
    sheet.dashed(&[(x_limit, top), (x_limit, foot)], SOFT, 1.0, 5.0, 3.0)?;
    let tongue = system.tongue();
    let words = crate::say!(
        tongue.language,
        "expansion-chart-no-tank-beyond",
        limit = tongue.gauge(system.limit_gauge_pa)
    );
    // At the foot, which the curve has left long before.
    sheet.text(&words, (x_limit - 6.0, foot - 12.0), Side::End, 11.0, PRESSING)
}

/// The tank at one supply pressure (Pa gauge), or that there is none.
fn mark_size(
    sheet: &Sheet<'_>,
    sizes: &Sizes,
    (gauge_pa, name, shape): (f64, &str, Shape),
    tongue: Tongue,
    at: &dyn Fn(f64, f64) -> (f64, f64),
) -> Result<(), ChartError> {
    let pressure = tongue.gauge(gauge_pa);
    let Some(litre) = sizes.at_l(gauge_pa) else {
        let point = at(gauge_pa, 0.0);
        sheet.mark(Shape::Cross, (point.0, point.1 - 8.0), 6.0, PRESSING)?;
        // Clear of the words about the limit at the foot.
        let place = (point.0 - 10.0, point.1 - 40.0);
        return sheet.text(&format!("{name}: {pressure}"), place, Side::End, ALONE.text, PRESSING);
    };
    let point = at(gauge_pa, litre.min(sizes.top_l));
    sheet.mark(shape, point, 6.0, INK)?;
    let words = crate::say!(
        tongue.language,
        "expansion-chart-size-at",
        name = name,
        volume = show_volume_at_least(litre, tongue.units),
        pressure = pressure
    );
    let side = if point.0 > ALONE.upper_left.0 + 200.0 {
        Side::End
    } else {
        Side::Start
    };
    sheet.text(&words, (point.0 - 12.0, point.1 - 12.0), side, ALONE.text, INK)
}
