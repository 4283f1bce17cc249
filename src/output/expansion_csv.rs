//! The answer for one system as a line of CSV, SI.

use super::defuse::defuse;
use super::expansion_text::{closed_word, steps};
use crate::expansion::words::Note;
use crate::expansion::{Assessment, Step, Verdict};
use crate::faults::Severity;
use crate::language::Tongue;

/// Header of the CSV of results.
pub const CSV_HEADER: [&str; 25] = [
    "system_id",
    "measure",
    "is_closed",
    "expansion_fraction",
    "expansion_l",
    "unprotected_gauge_kpa",
    "heating_to_limit_k",
    "tank_feasible",
    "tank_min_l",
    "tank_acceptance_factor",
    "tank_precharge_gauge_kpa",
    "catalogue_tank",
    "existing_tank_adequate",
    "existing_tank_final_gauge_kpa",
    "regulator_gauge_kpa",
    "relief_feasible",
    "relief_low_gauge_kpa",
    "relief_high_gauge_kpa",
    "why",
    "warnings",
    "static_gauge_kpa",
    "limit_gauge_kpa",
    "existing_tank_verdict",
    "advised_final_gauge_kpa",
    "to_do",
];

/// Columns after [`CSV_HEADER`] where the readings that would overturn an answer were looked for: the nearest of them, as it was told, where
/// it turns (°C, kPa gauge or L), and what the answer becomes there.
pub const TURN_HEADER: [&str; 5] = ["turns_reading", "turns_told", "turns_at", "turns_unit", "turns_becomes"];

/// The cells of [`TURN_HEADER`]; empty where no reading overturns the answer.
pub fn turn_cells<W>(answer: &Assessment<W>) -> Vec<String> {
    match answer.sensitivity.iter().flatten().next() {
        Some(turn) => vec![
            turn.reading.to_string(),
            format!("{:.2}", turn.told),
            format!("{:.2}", turn.turns_at),
            turn.unit.to_string(),
            turn.becomes.name().to_string(),
        ],
        None => vec![String::new(); TURN_HEADER.len()],
    }
}

/// One result as the cells of [`CSV_HEADER`], SI, harmless to spreadsheets.
pub fn csv_cells(id: &str, answer: &Assessment, tongue: Tongue) -> Vec<String> {
    cells(id, answer, answer.recommendation.why.join("; "), tongue)
}

/// As [`csv_cells`], of an answer that is not in words yet: only the reasons are said.
pub fn csv_cells_unsaid(id: &str, answer: &Assessment<Note>, tongue: Tongue) -> Vec<String> {
    let why = answer.recommendation.why.iter().map(|note| note.say(tongue));
    cells(id, answer, why.collect::<Vec<_>>().join("; "), tongue)
}

fn cells<W>(id: &str, answer: &Assessment<W>, why: String, tongue: Tongue) -> Vec<String> {
    let number = |value: Option<f64>, decimals: usize| value.map_or(String::new(), |v| format!("{v:.decimals$}"));
    let existing = answer.existing_tank.as_ref();
    let tank = &answer.tank;
    vec![
        defuse(id).into_owned(),
        answer.recommendation.measure.name().to_string(),
        closed_word(answer).to_string(),
        format!("{:.7}", answer.expansion.fraction),
        format!("{:.4}", answer.expansion.volume_l),
        number(answer.unprotected.final_gauge_kpa, 1),
        number(answer.unprotected.heating_to_limit_k, 2),
        yes_no(tank.feasible).to_string(),
        // Rounded up: whoever fits what is written has enough.
        number(tank.min_volume_l.map(|litre| (litre * 1e3 - 1e-6).ceil() / 1e3), 3),
        number(tank.acceptance_factor, 5),
        number(tank.precharge_gauge_kpa, 1),
        tank.from_catalogue
            .as_ref()
            .map_or(String::new(), |choice| defuse(&choice.name).into_owned()),
        existing.map_or(String::new(), |there| yes_no(there.adequate).to_string()),
        number(existing.and_then(|there| there.final_gauge_kpa), 1),
        number(lowered_kpa(answer), 1),
        yes_no(answer.relief.feasible).to_string(),
        number(Some(answer.relief.window_gauge_kpa[0]), 1),
        number(Some(answer.relief.window_gauge_kpa[1]), 1),
        why,
        answer
            .warnings
            .iter()
            .filter(|fault| fault.severity >= Severity::Warning)
            .map(|fault| format!("{}: {}", fault.column.as_deref().unwrap_or(""), fault.what))
            .collect::<Vec<_>>()
            .join("; "),
        number(Some(answer.as_advised.static_gauge_kpa), 1),
        number(Some(answer.as_advised.limit_gauge_kpa), 1),
        existing.map_or(String::new(), |there| {
            match there.verdict {
                Verdict::Enough => "enough",
                Verdict::Marginal => "marginal",
                Verdict::NotEnough => "not_enough",
            }
            .to_string()
        }),
        number(answer.as_advised.final_gauge_kpa, 1),
        steps(answer, tongue).join(" "),
    ]
}

/// The setting to which the supply is lowered, kPa gauge.
fn lowered_kpa<W>(answer: &Assessment<W>) -> Option<f64> {
    answer.recommendation.steps.iter().find_map(|step| match step {
        Step::LowerSupply { gauge_kpa, .. } => Some(*gauge_kpa),
        _ => None,
    })
}

fn yes_no(value: bool) -> &'static str {
    if value { "yes" } else { "no" }
}
