//! The `[drip]` section of the config, with its defaults.

use super::cause::Cause;
use super::line::Line;
use super::table::{self, Question};
use crate::faults::{Fault, Faults, Severity};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// The `[drip]` section.
///
/// The table of priors and likelihoods with the basis of every entry is [`table::ROWS`]; `weights` replaces single entries.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct DripConfig {
    /// Supply water that the freeze-drip draws, °C. 50 °F \[practice-drip-balance\].
    pub supply_c: f64,
    /// Body temperature that the freeze-drip holds, °C. 38 °F \[practice-drip-balance\].
    pub held_body_c: f64,
    /// Water temperature above which the freeze-drip is shut, °C. 42 °F (common practice, no source).
    pub valve_shut_c: f64,
    /// Outside film in calm, W/(m²·K). 1.8 Btu/(h·ft²·°F) \[practice-drip-balance\].
    pub film_calm_w_m2k: f64,
    /// Outside film in wind, W/(m²·K). 5 Btu/(h·ft²·°F) \[practice-drip-balance\].
    pub film_windy_w_m2k: f64,
    /// Wrap taken for the low edge when none is on file, m²·K/W. R 1.5 \[practice-drip-balance\].
    pub wrap_m2k_per_w: f64,
    /// Least share of a finding before it is told as the answer (judgement).
    pub least_share: f64,
    /// Least share of "working as meant", which costs more when it is wrong (judgement).
    pub least_share_working: f64,
    /// The same when the caller cannot say where the water comes out (judgement).
    pub least_share_working_unsure: f64,
    /// A finding with this share is minded in how soon somebody must act, even when another leads (judgement).
    pub minded_share: f64,
    /// Single entries of the weight table that the utility replaces by its own records.
    pub weights: Vec<Weight>,
    /// Number of the emergency services, as it is told to callers.
    pub emergency_services: String,
    /// Whether customers may close the valve at the meter; published advice conflicts, so the default is not to say so.
    pub customer_may_close_at_meter: bool,
    /// Further lines of the utility's own for a finding (by its word). Lines that break a rule of safety are refused.
    pub more_to_do: BTreeMap<String, Vec<Line>>,
}

/// One replaced entry of the weight table.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Weight {
    /// The cause.
    pub cause: Cause,
    /// The question: `where` for the prior, or `when`, `water`, `air`, `frost`, `ice`, `after-test`.
    pub question: Question,
    /// The answer's word, such as `cold-nights`.
    pub answer: String,
    /// Weight among the answers of this cause (for `where`: among the causes at this place); above 0, at most 1000.
    pub weight: f64,
    /// Where the number comes from, in the utility's words.
    pub basis: String,
}

impl Default for DripConfig {
    fn default() -> Self {
        Self {
            supply_c: 10.0,
            held_body_c: 10.0 / 3.0,
            valve_shut_c: 50.0 / 9.0,
            film_calm_w_m2k: 1.8 * 5.678_263,
            film_windy_w_m2k: 5.0 * 5.678_263,
            wrap_m2k_per_w: 1.5 * crate::units::M2K_PER_W_PER_R_US,
            least_share: 0.55,
            least_share_working: 0.75,
            least_share_working_unsure: 0.95,
            minded_share: 0.05,
            weights: Vec::new(),
            emergency_services: "911".into(),
            customer_may_close_at_meter: false,
            more_to_do: BTreeMap::new(),
        }
    }
}

impl DripConfig {
    /// What is wrong with the section, all at once.
    pub fn check(&self) -> Faults {
        let mut faults = Faults::new();
        let mut range = |key: &str, value: f64, low: f64, high: f64, unit: &str| {
            if !(low..=high).contains(&value) {
                faults.push(
                    Fault::new("BW-C70", Severity::Fatal, format!("`drip.{key}` is out of range"))
                        .column(format!("drip.{key}"))
                        .value(&value.to_string())
                        .expected(format!("{low} to {high} {unit}"))
                        .remedy("Change it in the config, or leave it out for the default."),
                );
            }
        };
        range("supply_c", self.supply_c, 0.5, 40.0, "°C");
        range("held_body_c", self.held_body_c, 0.1, 15.0, "°C");
        range("valve_shut_c", self.valve_shut_c, 0.5, 25.0, "°C");
        range("film_calm_w_m2k", self.film_calm_w_m2k, 1.0, 500.0, "W/(m²·K)");
        range("film_windy_w_m2k", self.film_windy_w_m2k, 1.0, 500.0, "W/(m²·K)");
        range("wrap_m2k_per_w", self.wrap_m2k_per_w, 0.0, 10.0, "m²·K/W");
        range("least_share", self.least_share, 0.3, 1.0, "");
        range("least_share_working", self.least_share_working, 0.5, 1.0, "");
        range(
            "least_share_working_unsure",
            self.least_share_working_unsure,
            0.5,
            1.0,
            "",
        );
        range("minded_share", self.minded_share, 0.0, 0.5, "");
        if self.supply_c <= self.held_body_c {
            faults.push(
                Fault::new(
                    "BW-C71",
                    Severity::Fatal,
                    "a freeze-drip cannot warm a body with colder water",
                )
                .column("drip.supply_c")
                .value(&self.supply_c.to_string())
                .expected("more than drip.held_body_c"),
            );
        }
        for weight in &self.weights {
            let known = table::answer_index(weight.question, &weight.answer).is_some();
            // Written so that a weight that is no number fails as well.
            let in_range = weight.weight > 0.0 && weight.weight <= 1000.0;
            if !(known && in_range) {
                faults.push(
                    Fault::new(
                        "BW-C72",
                        Severity::Fatal,
                        "an entry of `drip.weights` does not fit the table",
                    )
                    .column("drip.weights")
                    .value(&format!(
                        "{} {} {}",
                        weight.question.word(),
                        weight.answer,
                        weight.weight
                    ))
                    .expected("an answer of that question and a weight above 0, at most 1000"),
                );
            }
        }
        for (finding, lines) in &self.more_to_do {
            if super::finding::Finding::parse(finding).is_none() {
                faults.push(
                    Fault::new("BW-C73", Severity::Fatal, "`drip.more_to_do` names no finding")
                        .column("drip.more_to_do")
                        .value(finding)
                        .expected("one of the findings of the interface"),
                );
            }
            let fire = finding == "fire-line" || finding == "emergency";
            for line in lines {
                for text in [&line.en, &line.es] {
                    if let Some(why) = super::never::broken_rule(text, fire) {
                        faults.push(
                            Fault::new("BW-C74", Severity::Fatal, format!("a line must never be said: {why}"))
                                .column(format!("drip.more_to_do.{finding}"))
                                .value(text)
                                .remedy("Take the line out."),
                        );
                    }
                }
            }
        }
        faults
    }
}
