//! The `[season]` section of the config, with its defaults.
//!
//! Costs and lives are judgement (installed, US, 2026 dollars; the trade quotes wide bands); each can be replaced by the utility's own.

use serde::{Deserialize, Serialize};

/// The `[season]` section.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct SeasonConfig {
    /// Members behind each winter's chance.
    pub members: usize,
    /// Coldest spells of a winter that are looked at by each of three orders: lowest air, most cold, most wind with cold.
    pub spells: usize,
    /// Years over which savings count.
    pub horizon_years: f64,
    /// Rate by which later savings count less, a year.
    pub discount_rate: f64,
    /// Share of offers that are taken up: more are made, in order, until the money is gone.
    pub accept_share: f64,
    /// Column of the list that names the district.
    pub district_column: String,
    /// Calls that would be made anyway.
    pub calls: CallsConfig,
    /// What can be offered.
    pub measures: Measures,
}

impl Default for SeasonConfig {
    fn default() -> Self {
        Self {
            members: 256,
            spells: 3,
            horizon_years: 10.0,
            discount_rate: 0.03,
            accept_share: 0.6,
            district_column: "district".into(),
            calls: CallsConfig::default(),
            measures: Measures::default(),
        }
    }
}

/// Share of the contacts of each tier that are called in a spell: capacity, not wish. Judgement.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct CallsConfig {
    /// Of `call first`.
    pub first: f64,
    /// Of `call next`.
    pub next: f64,
    /// Of `message`, and of those not called above: written to.
    pub written: f64,
}

impl Default for CallsConfig {
    fn default() -> Self {
        Self {
            first: 0.9,
            next: 0.5,
            written: 0.9,
        }
    }
}

/// One measure: what it costs, how long it lasts, what it is.
///
/// A section that is given stands for itself: cost and life must both be there.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct MeasureConfig {
    /// Whether it is offered at all.
    pub offered: Option<bool>,
    /// Cost of one, US dollars, before the size counts.
    pub cost_usd: Option<f64>,
    /// Added for each inch of nominal size, US dollars.
    pub cost_usd_per_in: f64,
    /// Years it lasts.
    pub life_years: Option<f64>,
    /// Upkeep, US dollars a year.
    pub upkeep_usd: f64,
    /// Share of those fitted that are in place and working when the cold comes, 0 to 1; all when left out.
    pub in_place_share: Option<f64>,
    /// Wrap, R in ft²·h·°F/Btu: of `wrap` itself, or over the cable of `heat_trace`.
    pub wrap_r_us: Option<f64>,
    /// Heat trace, W per foot of pipe and assembly.
    pub watts_per_ft: Option<f64>,
}

/// What can be offered.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Measures {
    /// Insulating wrap.
    pub wrap: MeasureConfig,
    /// A thicker wrap.
    pub thick_wrap: MeasureConfig,
    /// Heat trace under a wrap.
    pub heat_trace: MeasureConfig,
    /// Cover over the assembly.
    pub cover: MeasureConfig,
    /// Heated enclosure.
    pub heated_enclosure: MeasureConfig,
    /// Moved into a building.
    pub relocation: MeasureConfig,
    /// Fittings and words to drain it each autumn.
    pub drain_kit: MeasureConfig,
    /// Thermostatic drip device.
    pub freeze_drip_valve: MeasureConfig,
}

fn costing(usd: f64, per_in: f64, life: f64, upkeep: f64, in_place: f64) -> MeasureConfig {
    MeasureConfig {
        offered: Some(true),
        cost_usd: Some(usd),
        cost_usd_per_in: per_in,
        life_years: Some(life),
        upkeep_usd: upkeep,
        in_place_share: Some(in_place),
        wrap_r_us: None,
        watts_per_ft: None,
    }
}

impl Default for Measures {
    fn default() -> Self {
        Self {
            wrap: MeasureConfig {
                wrap_r_us: Some(1.5),
                ..costing(25.0, 20.0, 5.0, 0.0, 0.9)
            },
            thick_wrap: MeasureConfig {
                wrap_r_us: Some(4.0),
                ..costing(45.0, 35.0, 7.0, 0.0, 0.9)
            },
            heat_trace: MeasureConfig {
                wrap_r_us: Some(2.0),
                watts_per_ft: Some(8.0),
                ..costing(180.0, 60.0, 10.0, 12.0, 0.9)
            },
            cover: costing(260.0, 180.0, 15.0, 0.0, 0.95),
            heated_enclosure: costing(700.0, 450.0, 15.0, 40.0, 0.9),
            relocation: costing(1_500.0, 900.0, 30.0, 0.0, 1.0),
            drain_kit: costing(35.0, 5.0, 10.0, 0.0, 0.6),
            freeze_drip_valve: costing(120.0, 15.0, 8.0, 5.0, 0.85),
        }
    }
}

impl Measures {
    /// Every measure with its word, in the order of the files.
    pub fn all(&self) -> [(&'static str, &MeasureConfig); 8] {
        [
            ("wrap", &self.wrap),
            ("thick_wrap", &self.thick_wrap),
            ("heat_trace", &self.heat_trace),
            ("cover", &self.cover),
            ("heated_enclosure", &self.heated_enclosure),
            ("relocation", &self.relocation),
            ("drain_kit", &self.drain_kit),
            ("freeze_drip_valve", &self.freeze_drip_valve),
        ]
    }
}

impl MeasureConfig {
    /// Whether it is offered: unless the config says no.
    pub fn is_offered(&self) -> bool {
        self.offered != Some(false)
    }

    /// What it lacks to be offered: path of the key, below the measure's own.
    pub fn lacks(&self) -> Vec<&'static str> {
        if !self.is_offered() {
            return Vec::new();
        }
        let mut lacks = Vec::new();
        if self.cost_usd.is_none() {
            lacks.push("cost_usd");
        }
        if self.life_years.is_none() {
            lacks.push("life_years");
        }
        lacks
    }
}
