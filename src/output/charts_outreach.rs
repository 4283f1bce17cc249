//! The chart of the contact plan: loss avoided against calls made.

use super::charts::{
    ChartError, Form, Frame, GRID, INK, PRESSING, SOFT, Scale, Shape, Side, WATER, lines, sheet, ticks,
};
use crate::outreach::schedule::CurvePoint;

/// What stands under the title.
const UNDER: &str = "Calls alone, beyond what texts and e-mails avoid; critical customers and fire lines first. Marks: numbers of callers";

/// Loss avoided against calls: the line of the shift's own calls in the order in which they gain most (`steps`), carried on by more callers;
/// a mark for each number of callers (`curve`), the shift's own told apart; and where one more call avoids less than it costs. Fewer
/// callers make the same calls later, so that their marks lie a little under the line.
///
/// # Errors
/// When no number of callers can make a call.
pub fn calls(
    curve: &[CurvePoint],
    steps: &[CurvePoint],
    callers: usize,
    cost_per_call_usd: f64,
) -> Result<String, ChartError> {
    calls_in(curve, steps, callers, cost_per_call_usd, Form::Wide)
}

/// [`calls`] in a form.
///
/// # Errors
/// As there.
pub fn calls_in(
    curve: &[CurvePoint],
    steps: &[CurvePoint],
    callers: usize,
    cost_per_call_usd: f64,
    form: Form,
) -> Result<String, ChartError> {
    let most = curve.last().copied().filter(|point| point.calls > 0);
    let Some(most) = most else {
        return Err(ChartError::new("no call can be made in time"));
    };
    let width = form.pick(760.0, 400.0);
    let under = lines(UNDER, width - 32.0, 12.0);
    let shift = form.pick(0.0, 15.0 * (under.len().max(1) - 1) as f64);
    let height = 380.0 + shift;
    let top = curve.iter().map(|point| point.avoided_usd).fold(1.0, f64::max);
    let frame = Frame {
        x: Scale {
            from: 0.0,
            to: most.calls as f64 * 1.04,
            px_from: form.pick(86.0, 70.0),
            px_to: width - form.pick(30.0, 14.0),
        },
        y: Scale {
            from: 0.0,
            to: top * 1.12,
            px_from: height - 56.0,
            px_to: 74.0 + shift,
        },
    };
    let point = |p: &CurvePoint| (frame.x.px(p.calls as f64), frame.y.px(p.avoided_usd));
    let stop = stops_paying(curve, cost_per_call_usd);
    let description = format!(
        "A rising line that flattens: {} callers make {} calls and avoid {} US dollars of expected loss.",
        most.callers,
        most.calls,
        most.avoided_usd.round()
    );
    sheet((width, height), "Loss avoided against calls made", &description, |s| {
        s.bold("Loss avoided against calls made", (16.0, 24.0), Side::Start, 17.0, INK)?;
        match form {
            Form::Wide => s.text(UNDER, (16.0, 46.0), Side::Start, 12.0, SOFT)?,
            Form::Narrow => {
                for (at, line) in under.iter().enumerate() {
                    s.text(line, (16.0, 46.0 + 15.0 * at as f64), Side::Start, 12.0, SOFT)?;
                }
            }
        }
        frame.y_axis(s, &frame.y.ticks(5), dollars, 12.0)?;
        for tick in ticks(0.0, frame.x.to, form.pick(6, 4)) {
            let x = frame.x.px(tick);
            s.line(&[(x, frame.y.px_from), (x, frame.y.px_from + 4.0)], SOFT, 1.0)?;
            s.text(&whole(tick), (x, frame.y.px_from + 16.0), Side::Middle, 12.0, SOFT)?;
        }
        s.text("calls", (frame.x.px_to, frame.y.px_from + 36.0), Side::End, 12.0, SOFT)?;
        s.line(
            &[(frame.x.px_from, frame.y.px_from), (frame.x.px_to, frame.y.px_from)],
            SOFT,
            1.0,
        )?;
        if let Some(stop) = stop {
            let x = frame.x.px(stop.calls as f64);
            s.dashed(&[(x, frame.y.px_to), (x, frame.y.px_from)], SOFT, 1.0, 4.0, 3.0)?;
            let side = if x > width * 0.6 { Side::End } else { Side::Start };
            let label = format!("from here one more call avoids under {}", cents(cost_per_call_usd));
            let shift = if x > width * 0.6 { -6.0 } else { 6.0 };
            let (place, side) = form.pick(
                ((x + shift, frame.y.px_from - 12.0), side),
                (
                    ((frame.x.px_from + frame.x.px_to) / 2.0, frame.y.px_from - 12.0),
                    Side::Middle,
                ),
            );
            s.text(&label, place, side, 12.0, SOFT)?;
        }
        let more = curve.iter().filter(|p| p.callers > callers || steps.is_empty());
        s.line(&steps.iter().chain(more).map(point).collect::<Vec<_>>(), WATER, 2.2)?;
        let mut last_label = f64::NEG_INFINITY;
        for p in curve {
            let at = point(p);
            let own = p.callers == callers;
            s.mark(
                Shape::Dot,
                at,
                if own { 5.0 } else { 3.0 },
                if own { PRESSING } else { WATER },
            )?;
            let near_own = !own
                && curve
                    .iter()
                    .any(|other| other.callers == callers && (point(other).0 - at.0).abs() < 70.0);
            if p.callers == 0 || (!own && (at.0 - last_label < 34.0 || near_own)) {
                continue;
            }
            last_label = at.0;
            if own {
                let text = format!("{} callers (this shift): {}", p.callers, dollars(p.avoided_usd));
                let side = if at.0 > width * 0.7 { Side::End } else { Side::Start };
                let place = if at.0 > width * 0.7 {
                    (at.0 - 8.0, at.1 - 14.0)
                } else {
                    (at.0 + 8.0, at.1 + 18.0)
                };
                let middle = ((frame.x.px_from + frame.x.px_to) / 2.0, at.1 - 14.0);
                let (place, side) = form.pick((place, side), (middle, Side::Middle));
                s.bold(&text, place, side, 13.0, PRESSING)?;
            } else {
                // Marks of fewer callers lie on or under the line, those of more callers on it.
                let y = if p.callers < callers { at.1 + 18.0 } else { at.1 - 12.0 };
                s.text(&p.callers.to_string(), (at.0, y), Side::Middle, 12.0, SOFT)?;
            }
        }
        s.line(
            &[(frame.x.px_from, frame.y.px_to), (frame.x.px_from, frame.y.px_from)],
            GRID,
            1.0,
        )
    })
}

/// The first point from which more callers avoid less a call than a call costs.
pub fn stops_paying(curve: &[CurvePoint], cost_per_call_usd: f64) -> Option<CurvePoint> {
    curve.windows(2).find_map(|pair| {
        let (before, after) = (pair[0], pair[1]);
        let calls = after.calls.saturating_sub(before.calls);
        let gain = after.avoided_usd - before.avoided_usd;
        // No more calls at all means that everybody worth a call is called.
        (calls == 0 || gain / (calls as f64) < cost_per_call_usd).then_some(before)
    })
}

/// A whole number with thousands parted.
pub fn whole(value: f64) -> String {
    let digits = format!("{value:.0}");
    let mut out = String::new();
    for (at, digit) in digits.chars().enumerate() {
        if at > 0 && (digits.len() - at).is_multiple_of(3) && digits.as_bytes()[at - 1] != b'-' {
            out.push(',');
        }
        out.push(digit);
    }
    out
}

fn cents(usd: f64) -> String {
    if (usd - usd.round()).abs() < 0.005 {
        format!("${usd:.0}")
    } else {
        format!("${usd:.2}")
    }
}

/// Whole US dollars with thousands parted.
pub fn dollars(usd: f64) -> String {
    format!("${}", whole(usd.round()))
}
