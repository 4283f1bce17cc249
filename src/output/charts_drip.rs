//! The strip beside a drip answer: the flow told above the flow expected, on a scale of tenfold steps.

use super::charts::{ChartError, GRID, INK, SOFT, Side, WATER, sheet};
use crate::units::{L_PER_US_GAL, UnitSystem};

/// Least and most flow on the strip, L/h; what lies outside is held at the edge.
const SPAN_L_PER_H: [f64; 2] = [0.01, 1000.0];

/// Draws the strip. Flows are L/h; `words` are the labels of the told and the expected flow.
///
/// # Errors
/// When the backend refuses.
pub fn strip(
    told_l_per_h: [f64; 2],
    expected_l_per_h: [f64; 2],
    words: [&str; 2],
    system: UnitSystem,
) -> Result<String, ChartError> {
    // Narrow, so that its letters can still be read at the width of a phone.
    let (width, height) = (340.0, 118.0);
    let (left, right) = (12.0, width - 12.0);
    let (unit, factor) = match system {
        UnitSystem::Us => ("gal/h", L_PER_US_GAL),
        UnitSystem::Si | UnitSystem::Bar => ("L/h", 1.0),
    };
    let [least, most] = SPAN_L_PER_H;
    let px = |flow: f64| {
        let flow = flow.clamp(least, most);
        left + (right - left) * (flow / least).ln() / (most / least).ln()
    };
    let title = format!("{} / {}", words[0], words[1]);
    sheet((width, height), &title, &title, |sheet| {
        for power in -3..=3 {
            let shown = 10f64.powi(power);
            let flow = shown * factor;
            if (least..=most).contains(&flow) {
                sheet.line(&[(px(flow), 16.0), (px(flow), 84.0)], GRID, 1.0)?;
                sheet.text(&format!("{shown}"), (px(flow), 96.0), Side::Middle, 12.0, SOFT)?;
            }
        }
        sheet.text(unit, (right, 111.0), Side::End, 12.0, SOFT)?;
        for (band, y, ink, label) in [
            (told_l_per_h, 22.0, INK, words[0]),
            (expected_l_per_h, 56.0, WATER, words[1]),
        ] {
            let (from, to) = (px(band[0]), px(band[1]));
            // A single figure is drawn as wide as can be seen.
            let (from, to) = if to - from < 6.0 {
                (from - 3.0, from + 3.0)
            } else {
                (from, to)
            };
            if band[1] > 0.0 {
                sheet.rect((from.max(left), y + 12.0), (to.min(right), y + 24.0), ink, 0.85)?;
            }
            sheet.text(label, (left, y + 3.0), Side::Start, 12.5, ink)?;
        }
        Ok(())
    })
    .map(|svg| svg.replacen("<svg ", "<svg class=\"strip\" ", 1))
}
