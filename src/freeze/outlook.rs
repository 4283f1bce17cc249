//! What the freeze model says of one assembly in one spell.

use super::reports::Reported;
use chrono::{DateTime, Utc};
use serde::Serialize;

/// A quantity at 10, 50 and 90 % of the members; in a deterministic run all three are the same.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Spread<T> {
    /// 10th percentile (the early, the cold edge).
    pub p10: T,
    /// Median.
    pub p50: T,
    /// 90th percentile.
    pub p90: T,
}

/// What happens to one part.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PartOutlook {
    /// Name of the part, such as `bonnet`, `test cocks`, `body before checks`.
    pub name: &'static str,
    /// Largest ice fraction reached, 0 to 1 (median of the members).
    pub ice_fraction: f64,
    /// Chance of damage, 0 to 1; `None` in a deterministic run.
    pub p_damage: Option<f64>,
    /// In a deterministic run: whether ice grew past what the part can take with its liquid trapped.
    pub strained: bool,
    /// Cost of repairing this part, US dollars.
    pub repair_usd: f64,
}

/// A protecting measure.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Measure {
    /// Insulating wrap of a stated R.
    Wrap,
    /// A trickle of stated flow, left running.
    Trickle,
    /// Heat trace of a stated power.
    HeatTrace,
    /// Shut off and drain.
    Drain,
    /// Heated enclosure.
    HeatedEnclosure,
    /// The thermostatic drip device that is fitted: let it run.
    FreezeDrip,
}

impl Measure {
    /// The word that files use.
    pub fn word(self) -> &'static str {
        match self {
            Measure::Wrap => "wrap",
            Measure::Trickle => "trickle",
            Measure::HeatTrace => "heat_trace",
            Measure::Drain => "drain",
            Measure::HeatedEnclosure => "heated_enclosure",
            Measure::FreezeDrip => "freeze_drip",
        }
    }
}

/// What one measure would do for one assembly, by running the model again.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Advice {
    /// The measure.
    pub measure: Measure,
    /// Whether it brings the chance of damage (deterministic: the strain) under the target.
    pub enough: bool,
    /// Least wrap resistance that is enough, m²K/W.
    pub wrap_m2k_per_w: Option<f64>,
    /// Least flow that is enough, litres an hour.
    pub flow_l_per_h: Option<f64>,
    /// Least power that is enough, with the safety factor, W per metre of pipe.
    pub power_w_per_m: Option<f64>,
    /// Litres the measure passes through the spell.
    pub litres: Option<f64>,
    /// Hours the measure runs through the spell.
    pub hours: Option<f64>,
    /// Chance of damage with the measure in place, where it was simulated; `None` in a deterministic run.
    pub p_damage: Option<f64>,
    /// One plain sentence, US units.
    pub detail: String,
}

/// Hour by hour, for charts and the desk; all vectors `[hours]` of the window.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct Trace {
    /// Air at the site, °C (median of the members).
    pub air_c: Vec<f64>,
    /// Coldest water of any part, °C: 10th percentile, median, 90th percentile.
    pub coldest_water_c: Vec<[f64; 3]>,
    /// Chance that damage has happened by this hour, 0 to 1; empty in a deterministic run.
    pub p_damage_by: Vec<f64>,
    /// Chance that ice has formed by this hour; in a deterministic run 0 or 1.
    pub p_ice_by: Vec<f64>,
    /// Litres that the drip device passes in the hour: 10th percentile, median, 90th percentile.
    pub drip_l: Vec<[f64; 3]>,
}

/// What one night of a spell adds.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Night {
    /// Share of members that break for the first time in this night.
    pub p_damage: f64,
    /// Expected cost of what breaks in this night, US dollars; over all nights the expected repair.
    pub repair_usd: f64,
    /// The early edge (10th percentile) of ice in this night, of the members that break in it.
    pub ice_early: DateTime<Utc>,
    /// Its median.
    pub ice_median: DateTime<Utc>,
    /// Lowest air at the site in this night, °C (median of all members).
    pub min_air_c: f64,
    /// What of `repair_usd` is lost in parts that froze in a night before and have stood frozen since, by the night in which they froze.
    pub iced_before: Vec<IcedBefore>,
}

/// Loss of a night in parts that were ice before it: what would have kept them from freezing had to come before that ice.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct IcedBefore {
    /// The early edge (10th percentile) of that ice.
    pub since: DateTime<Utc>,
    /// Expected cost of what breaks of it, US dollars.
    pub repair_usd: f64,
}

/// The outlook of one assembly. Probabilities are `None` in a deterministic run.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Outlook {
    /// Members simulated; 1 in a deterministic run.
    pub members: usize,
    /// Start of the window.
    pub window_start: DateTime<Utc>,
    /// End of the window.
    pub window_end: DateTime<Utc>,
    /// Chance that ice forms anywhere.
    pub p_ice: Option<f64>,
    /// Chance that a part of the flow path is blocked by ice.
    pub p_blocked: Option<f64>,
    /// Chance that any part is damaged.
    pub p_damage: Option<f64>,
    /// Between what ends that chance lies by what the model's judged constants leave open, 0 to 1; `None` where it was not asked.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub p_damage_judged: Option<(f64, f64)>,
    /// Part by part, in flow order.
    pub parts: Vec<PartOutlook>,
    /// Time of first ice; `None` where that share of members never sees ice.
    pub first_ice: Spread<Option<DateTime<Utc>>>,
    /// Coldest water of any part in the window, °C.
    pub coldest_water_c: Spread<f64>,
    /// Part that freezes first (most often first), if any does.
    pub first_part: Option<&'static str>,
    /// Hours with air below 0 °C at the site (median).
    pub hours_air_below_0c: f64,
    /// Lowest air at the site, °C (median).
    pub min_air_c: f64,
    /// Expected repair cost of damaged parts, US dollars: Σ chance × cost, capped at replacement.
    /// Deterministic: the cost of the strained parts.
    pub expected_repair_usd: f64,
    /// Standard error of `expected_repair_usd` from the finite number of members; 0 when deterministic.
    pub expected_repair_se_usd: f64,
    /// What was reported from the site, where anything was.
    pub reported: Option<Reported>,
    /// The nights in which members break, in order; empty where none does.
    pub nights: Vec<Night>,
    /// What would protect it, cheapest that works first; empty when not asked for or not at risk.
    pub advice: Vec<Advice>,
    /// Hour by hour, when asked for.
    pub trace: Option<Trace>,
}

impl Outlook {
    /// Whether ice or a break was seen in it last: what would have protected it comes too late.
    pub fn is_past_advice(&self) -> bool {
        self.reported.as_ref().is_some_and(Reported::iced_or_broken)
    }

    /// Chance of damage with the first measure that is enough in place; `None` where none was worked out.
    pub fn p_damage_protected(&self) -> Option<f64> {
        self.advice
            .iter()
            .filter(|advice| advice.enough)
            .find_map(|advice| advice.p_damage)
    }
}
