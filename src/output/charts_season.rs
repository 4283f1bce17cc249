//! The curve of loss avoided against budget.

use super::charts::{ChartError, Form, GRID, INK, PRESSING, SOFT, Shape, Side, WATER, lines, sheet};
use super::season::usd;
use crate::season::answer::Answer;

const RIGHT: f64 = 24.0;
const BOTTOM: f64 = 52.0;

/// A round step that divides a span into at most five.
fn round_step(span: f64) -> f64 {
    let rough = (span / 5.0).max(1.0);
    let ten = 10.0_f64.powf(rough.log10().floor());
    [1.0, 2.0, 5.0, 10.0]
        .into_iter()
        .map(|k| k * ten)
        .find(|step| *step >= rough)
        .unwrap_or(10.0 * ten)
}

/// Draws the curve with the budget marked, for this width.
///
/// # Errors
/// When the backend refuses.
pub fn curve(answer: &Answer, form: Form) -> Result<String, ChartError> {
    let size = form.pick((640.0, 360.0), (344.0, 300.0));
    let left = form.pick(92.0, 74.0);
    let most_x = answer.curve.iter().map(|point| point.0 as f64).fold(1.0, f64::max);
    let most_y = answer.curve.iter().map(|point| point.1).fold(1.0, f64::max) * 1.05;
    let told = format!(
        "With {} an expected loss of {} is avoided.",
        usd(answer.budget_usd as f64),
        usd(answer.choice.benefit_usd)
    );
    // The title, and below it what the budget buys in as many rows as it takes.
    let under = lines(&told, size.0 - left - RIGHT, form.pick(10.0, 11.0));
    let top = 34.0 + 14.0 * under.len() as f64;
    let x = |value: f64| left + (size.0 - left - RIGHT) * value / most_x;
    let y = |value: f64| size.1 - BOTTOM - (size.1 - top - BOTTOM) * value / most_y;
    sheet(size, "Loss avoided against budget", &told, |s| {
        s.bold(
            "Loss avoided over the horizon, by budget",
            (form.pick(left, 8.0), 20.0),
            Side::Start,
            14.0,
            INK,
        )?;
        for (most, is_x) in [(most_x, true), (most_y, false)] {
            let step = round_step(if is_x { most * form.pick(1.0, 1.6) } else { most });
            let mut at = 0.0;
            while at <= most {
                if is_x {
                    s.line(&[(x(at), top), (x(at), y(0.0))], GRID, 1.0)?;
                    s.text(&usd(at), (x(at), y(0.0) + 14.0), Side::Middle, 11.0, SOFT)?;
                } else {
                    s.line(&[(left, y(at)), (size.0 - RIGHT, y(at))], GRID, 1.0)?;
                    s.text(&usd(at), (left - 6.0, y(at)), Side::End, 11.0, SOFT)?;
                }
                at += step;
            }
        }
        let points: Vec<(f64, f64)> = answer
            .curve
            .iter()
            .map(|point| (x(point.0 as f64), y(point.1)))
            .collect();
        s.line(&points, WATER, 2.0)?;
        if answer.budget_usd as f64 <= most_x {
            let at = (x(answer.budget_usd as f64), y(answer.choice.benefit_usd.min(most_y)));
            s.dashed(&[(at.0, y(0.0)), at], PRESSING, 1.0, 4.0, 3.0)?;
            s.mark(Shape::Diamond, at, 5.0, PRESSING)?;
            for (row, line) in under.iter().enumerate() {
                s.text(line, (left, 36.0 + 14.0 * row as f64), Side::Start, 11.0, PRESSING)?;
            }
        }
        s.text("budget", (size.0 - RIGHT, size.1 - 16.0), Side::End, 11.0, SOFT)
    })
}
