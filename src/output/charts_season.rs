//! The curve of loss avoided against budget.

use super::charts::{ChartError, GRID, INK, PRESSING, SOFT, Shape, Side, WATER, sheet};
use super::season::usd;
use crate::season::answer::Answer;

const SIZE: (f64, f64) = (640.0, 360.0);
const LEFT: f64 = 92.0;
const RIGHT: f64 = 24.0;
const TOP: f64 = 44.0;
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

/// Draws the curve with the budget marked.
///
/// # Errors
/// When the backend refuses.
pub fn curve(answer: &Answer) -> Result<String, ChartError> {
    let most_x = answer.curve.iter().map(|point| point.0 as f64).fold(1.0, f64::max);
    let most_y = answer.curve.iter().map(|point| point.1).fold(1.0, f64::max) * 1.05;
    let x = |value: f64| LEFT + (SIZE.0 - LEFT - RIGHT) * value / most_x;
    let y = |value: f64| SIZE.1 - BOTTOM - (SIZE.1 - TOP - BOTTOM) * value / most_y;
    let told = format!(
        "With {} an expected loss of {} is avoided.",
        usd(answer.budget_usd as f64),
        usd(answer.choice.benefit_usd)
    );
    sheet(SIZE, "Loss avoided against budget", &told, |s| {
        s.bold(
            "Loss avoided over the horizon, by budget",
            (LEFT, 20.0),
            Side::Start,
            14.0,
            INK,
        )?;
        for (most, is_x) in [(most_x, true), (most_y, false)] {
            let step = round_step(most);
            let mut at = 0.0;
            while at <= most {
                if is_x {
                    s.line(&[(x(at), TOP), (x(at), y(0.0))], GRID, 1.0)?;
                    s.text(&usd(at), (x(at), y(0.0) + 14.0), Side::Middle, 11.0, SOFT)?;
                } else {
                    s.line(&[(LEFT, y(at)), (SIZE.0 - RIGHT, y(at))], GRID, 1.0)?;
                    s.text(&usd(at), (LEFT - 6.0, y(at)), Side::End, 11.0, SOFT)?;
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
            s.text(&told, (LEFT, 34.0), Side::Start, 11.0, PRESSING)?;
        }
        s.text("budget", (SIZE.0 - RIGHT, SIZE.1 - 16.0), Side::End, 11.0, SOFT)
    })
}
