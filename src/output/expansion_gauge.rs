//! What the gauge says, as people read it and as a line of CSV.

use super::expansion_text::{capital, line};
use crate::expansion::gauge::{Figure, GaugeAnswer, Next, ReadClosed, ReadTank};
use crate::language::Tongue;

/// The answer as a page of text; `tanks` is how many were told of.
pub fn text(answer: &GaugeAnswer, tanks: usize, tongue: Tongue) -> String {
    let language = tongue.language;
    let gauge = |kpa: f64| tongue.gauge(kpa * 1e3);
    let label = |id: &str| crate::say!(language, id);
    let mut out = String::new();
    let closed = match answer.closed {
        ReadClosed::Closed => "expansion-gauge-closed",
        ReadClosed::Open => "expansion-gauge-open",
        ReadClosed::Unsettled => "expansion-gauge-unsettled",
    };
    line(&mut out, &label("expansion-label-closed"), &label(closed));
    let rise = crate::say!(
        language,
        "expansion-gauge-rise",
        before = gauge(answer.before_gauge_kpa),
        after = gauge(answer.after_gauge_kpa),
        rise = gauge(answer.rise_kpa.value),
        error = gauge(2.0 * answer.rise_kpa.error)
    );
    line(&mut out, &label("expansion-label-read"), &rise);
    let unbounded = || label("expansion-gauge-no-bound");
    let bare = answer.rise_bare_kpa.map_or_else(unbounded, gauge);
    let expected = match answer.tank {
        None => crate::say!(language, "expansion-gauge-expected", bare = bare),
        Some(_) => crate::say!(
            language,
            "expansion-gauge-expected-tank",
            tanks = tanks,
            bare = bare,
            tank = answer.rise_with_tank_kpa.map_or_else(unbounded, gauge)
        ),
    };
    line(&mut out, "", &expected);
    let taken = crate::say!(
        language,
        "expansion-gauge-taken",
        gain = tongue.volume(answer.gain_l),
        taken = tongue.volume(answer.taken_l.value.max(0.0)),
        error = tongue.volume(2.0 * answer.taken_l.error)
    );
    line(&mut out, &label("expansion-label-water"), &taken);
    if let Some(give) = answer.give_l_per_kpa {
        let per_ten_psi = |figure: f64| tongue.volume(figure * 68.947_572_9);
        let said = crate::say!(
            language,
            "expansion-gauge-give",
            give = per_ten_psi(give.value),
            error = per_ten_psi(2.0 * give.error),
            walls = per_ten_psi(answer.walls_l_per_kpa),
            span = gauge(68.947_572_9)
        );
        line(&mut out, "", &said);
    }
    if answer.untold_give {
        line(&mut out, "", &label("expansion-gauge-untold"));
    }
    tanks_lines(&mut out, answer, tanks, tongue);
    decay_line(&mut out, answer, tongue);
    fit_line(&mut out, answer, tongue);
    for (at, next) in answer.next.iter().enumerate() {
        let label = if at == 0 {
            label("expansion-label-measure")
        } else {
            String::new()
        };
        line(&mut out, &label, &capital(&next_words(*next, tanks, tongue)));
    }
    line(&mut out, &label("expansion-label-mind"), &label("expansion-gauge-mind"));
    out
}

/// What the tanks that are there do, and the charge that explains it.
fn tanks_lines(out: &mut String, answer: &GaugeAnswer, tanks: usize, tongue: Tongue) {
    let language = tongue.language;
    let gauge = |kpa: f64| tongue.gauge(kpa * 1e3);
    if let Some(tank) = answer.tank {
        let of_tanks = |id: &str| crate::say!(language, id, tanks = tanks);
        line(out, &of_tanks("expansion-label-tank-there"), &of_tanks(tank_word(tank)));
        let charge = |figure: Figure| {
            let [low, high] = figure.range();
            (gauge(low.max(0.0)), gauge(high.max(0.0)))
        };
        let ids = [
            (answer.precharge_gauge_kpa, "expansion-gauge-charge"),
            (answer.precharge_or_gauge_kpa, "expansion-gauge-charge-high"),
        ];
        for (figure, id) in ids {
            if let Some(figure) = figure {
                let (low, high) = charge(figure);
                line(out, "", &crate::say!(language, id, low = low, high = high));
            }
        }
    }
}

/// What the pressure did while all stood.
fn decay_line(out: &mut String, answer: &GaugeAnswer, tongue: Tongue) {
    let language = tongue.language;
    let gauge = |kpa: f64| tongue.gauge(kpa * 1e3);
    let label = |id: &str| crate::say!(language, id);
    if let Some(decay) = answer.decay {
        let id = match (decay.falls, decay.cooling_known) {
            (false, _) => "expansion-gauge-stands",
            (true, true) => "expansion-gauge-falls",
            (true, false) => "expansion-gauge-falls-or-cools",
        };
        let hour = |kpa_per_min: f64| gauge(kpa_per_min * 60.0);
        let said = crate::say!(
            language,
            id,
            fall = hour(decay.fall_kpa_per_min.value),
            error = hour(2.0 * decay.fall_kpa_per_min.error),
            loss = match (decay.loss_l_per_h, decay.loss_error_l_per_h) {
                (Some(loss), Some(error)) => {
                    let low = tongue.volume((loss - 2.0 * error).max(0.0));
                    crate::say!(
                        language,
                        "expansion-gauge-between",
                        low = low,
                        high = tongue.volume(loss + 2.0 * error)
                    )
                }
                (loss, _) => tongue.volume(loss.unwrap_or(0.0)),
            }
        );
        line(out, &label("expansion-label-after"), &said);
    }
}

/// Whether all readings fit one house.
fn fit_line(out: &mut String, answer: &GaugeAnswer, tongue: Tongue) {
    let language = tongue.language;
    let label = |id: &str| crate::say!(language, id);
    if let Some(fit) = answer.fit {
        let id = if fit.agrees() {
            "expansion-gauge-agree"
        } else {
            "expansion-gauge-disagree"
        };
        let said = crate::say!(
            language,
            id,
            count = fit.readings.to_string(),
            misfit = format!("{:.1}", (fit.chi_square / fit.freedom).sqrt())
        );
        line(out, &label("expansion-label-together"), &said);
    }
}

fn tank_word(tank: ReadTank) -> &'static str {
    match tank {
        ReadTank::AsCharged => "expansion-gauge-tank-as-charged",
        ReadTank::LostCharge => "expansion-gauge-tank-lost",
        ReadTank::ChargedHigh => "expansion-gauge-tank-high",
        ReadTank::TakesNothing => "expansion-gauge-tank-nothing",
        ReadTank::TakesMore => "expansion-gauge-tank-more",
        ReadTank::Unsettled => "expansion-gauge-tank-unsettled",
    }
}

/// What to measure next, for people.
fn next_words(next: Next, tanks: usize, tongue: Tongue) -> String {
    let language = tongue.language;
    match next {
        Next::HeatMore { rise_k } => crate::say!(language, "expansion-gauge-next-heat", rise = tongue.warming(rise_k)),
        Next::ReadPrecharge => crate::say!(language, "expansion-gauge-next-precharge", tanks = tanks),
        Next::LookAtTank => crate::say!(language, "expansion-gauge-next-tank", tanks = tanks),
        Next::TraceLine => crate::say!(language, "expansion-gauge-next-trace"),
        Next::StandLonger => crate::say!(language, "expansion-gauge-next-stand"),
        Next::LookForLoss => crate::say!(language, "expansion-gauge-next-loss"),
        Next::ReadAgain => crate::say!(language, "expansion-gauge-next-again"),
    }
}

/// Header of the CSV.
pub const CSV_HEADER: [&str; 15] = [
    "closed",
    "tank",
    "rise_kpa",
    "rise_error_kpa",
    "taken_l",
    "taken_error_l",
    "give_l_per_kpa",
    "precharge_gauge_kpa",
    "precharge_error_kpa",
    "fall_kpa_per_min",
    "loss_l_per_h",
    "loss_error_l_per_h",
    "readings_fitted",
    "chi_square",
    "freedom",
];

/// The answer as the cells of [`CSV_HEADER`].
pub fn csv_cells(answer: &GaugeAnswer) -> Vec<String> {
    let number = |value: Option<f64>, decimals: usize| value.map_or(String::new(), |v| format!("{v:.decimals$}"));
    let word = |value: serde_json::Result<serde_json::Value>| match value {
        Ok(serde_json::Value::String(word)) => word,
        _ => String::new(),
    };
    vec![
        word(serde_json::to_value(answer.closed)),
        word(serde_json::to_value(answer.tank)),
        number(Some(answer.rise_kpa.value), 2),
        number(Some(answer.rise_kpa.error), 2),
        number(Some(answer.taken_l.value), 4),
        number(Some(answer.taken_l.error), 4),
        number(answer.give_l_per_kpa.map(|figure| figure.value), 6),
        number(answer.precharge_gauge_kpa.map(|figure| figure.value), 1),
        number(answer.precharge_gauge_kpa.map(|figure| figure.error), 1),
        number(answer.decay.map(|decay| decay.fall_kpa_per_min.value), 4),
        number(answer.decay.and_then(|decay| decay.loss_l_per_h), 3),
        number(answer.decay.and_then(|decay| decay.loss_error_l_per_h), 3),
        answer.fit.map_or(String::new(), |fit| fit.readings.to_string()),
        number(answer.fit.map(|fit| fit.chi_square), 2),
        number(answer.fit.map(|fit| fit.freedom), 0),
    ]
}
