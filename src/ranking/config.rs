//! The `[ranking]` section of the config, with its defaults.
//!
//! Repair costs stand in `[freeze.costs]`, because the model caps them member by member. Here is what a
//! break costs beyond the repair, who goes ahead of money, and where the tiers begin. Unless a line says
//! otherwise the numbers are judgement `[judgement]`.
//!
//! Numbers without a tag of their own: judgement.

use crate::inventory::{CustomerClass, Placement, Service, WinterUse};
use serde::{Deserialize, Serialize};

/// The `[ranking]` section.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct RankingConfig {
    /// What a break costs beyond the repair.
    pub consequence: Consequence,
    /// Water that runs away before somebody shuts it off.
    pub water: WaterLoss,
    /// Where the tiers begin, and who goes ahead.
    pub tiers: Tiers,
}

/// Costs of a break beyond the repair, US dollars.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Consequence {
    /// A day without the service, by what the line serves; domestic is by class instead.
    pub service_usd_per_day: ServiceUsd,
    /// A day without water, by customer class.
    pub class_usd_per_day: ClassUsd,
    /// Days out of service, 2 in and under (part in stock, one visit).
    pub days_out_small: f64,
    /// Days out of service above 2 in (parts ordered, lifting).
    pub days_out_large: f64,
    /// Damage that escaping water does around the assembly, by placement.
    pub surroundings_usd: SurroundingsUsd,
    /// Factor on water and surroundings where nobody is there to see it.
    pub vacant_factor: f64,
    /// Factor on the loss of service of a customer marked critical. Critical customers also go ahead of money.
    pub critical_factor: f64,
}

impl Default for Consequence {
    fn default() -> Self {
        Self {
            service_usd_per_day: ServiceUsd::default(),
            class_usd_per_day: ClassUsd::default(),
            days_out_small: 1.5,
            days_out_large: 5.0,
            surroundings_usd: SurroundingsUsd::default(),
            vacant_factor: 6.0,
            critical_factor: 5.0,
        }
    }
}

/// A day without the service, US dollars, where the service says more than the customer class does.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct ServiceUsd {
    /// Irrigation only: nobody waters in a freeze.
    pub irrigation: f64,
    /// Fire line: a fire watch by the hour.
    pub fire: f64,
    /// Process water.
    pub process: f64,
}

impl Default for ServiceUsd {
    fn default() -> Self {
        Self {
            irrigation: 10.0,
            fire: 1_500.0,
            process: 2_000.0,
        }
    }
}

/// A day without water, US dollars, by customer class.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct ClassUsd {
    /// A household.
    pub residential: f64,
    /// A business.
    pub commercial: f64,
    /// A public body.
    pub public: f64,
    /// Not told.
    pub unknown: f64,
}

impl Default for ClassUsd {
    fn default() -> Self {
        Self {
            residential: 150.0,
            commercial: 800.0,
            public: 800.0,
            unknown: 300.0,
        }
    }
}

/// Damage that escaping water does around the assembly, US dollars, by placement.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct SurroundingsUsd {
    /// Bare, above ground.
    pub open: f64,
    /// Under an uninsulated cover.
    pub cover: f64,
    /// In an insulated enclosure without heat.
    pub insulated_enclosure: f64,
    /// In a heated enclosure.
    pub heated_enclosure: f64,
    /// Below grade.
    pub vault: f64,
    /// In a building.
    pub indoors: f64,
}

impl Default for SurroundingsUsd {
    fn default() -> Self {
        Self {
            open: 100.0,
            cover: 100.0,
            insulated_enclosure: 150.0,
            heated_enclosure: 300.0,
            vault: 800.0,
            indoors: 6_000.0,
        }
    }
}

impl Consequence {
    /// A day without what this line serves, US dollars.
    pub fn usd_per_day(&self, service: Service, class: CustomerClass) -> f64 {
        match service {
            Service::Irrigation => self.service_usd_per_day.irrigation,
            Service::Fire => self.service_usd_per_day.fire,
            Service::Process => self.service_usd_per_day.process,
            Service::Domestic | Service::Unknown => match class {
                CustomerClass::Residential => self.class_usd_per_day.residential,
                CustomerClass::Commercial => self.class_usd_per_day.commercial,
                CustomerClass::Public => self.class_usd_per_day.public,
                CustomerClass::Unknown => self.class_usd_per_day.unknown,
            },
        }
    }

    /// Damage that escaping water does around an assembly, US dollars.
    pub fn around_usd(&self, placement: Placement) -> f64 {
        let around = &self.surroundings_usd;
        match placement {
            Placement::Open => around.open,
            Placement::Cover => around.cover,
            Placement::InsulatedEnclosure => around.insulated_enclosure,
            Placement::HeatedEnclosure => around.heated_enclosure,
            Placement::Vault => around.vault,
            Placement::Indoors => around.indoors,
        }
    }
}

/// Water lost through a break.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct WaterLoss {
    /// Flow from a split 1 in line at street pressure, US gal/min: middle of 20 to 50 `[repair-cost-bands]`.
    /// Grows with the square of the size up to `flow_cap_gal_min`.
    pub flow_1in_gal_min: f64,
    /// Most that a break passes, US gal/min: a larger body cracks, it does not open its bore.
    pub flow_cap_gal_min: f64,
    /// Hours until it is shut off where somebody is there.
    pub hours_seen: f64,
    /// Hours until it is shut off where the line is idle (found at the thaw).
    pub hours_idle: f64,
    /// Hours until it is shut off at a vacant property.
    pub hours_vacant: f64,
    /// Price of water, US dollars per 1,000 US gallons.
    pub usd_per_1000_gal: f64,
}

impl Default for WaterLoss {
    fn default() -> Self {
        Self {
            flow_1in_gal_min: 35.0,
            flow_cap_gal_min: 150.0,
            hours_seen: 2.0,
            hours_idle: 8.0,
            hours_vacant: 72.0,
            usd_per_1000_gal: 8.0,
        }
    }
}

/// Where the tiers begin. They do not depend on how many calls fit a shift: the schedule cuts the list, not the tiers.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Tiers {
    /// `call first` from this expected loss, US dollars.
    pub call_first_usd: f64,
    /// `call next` from this expected loss, US dollars: a call costs some ten dollars of staff time and
    /// about one in four calls leads to protection (half are reached, half of those act).
    pub call_next_usd: f64,
    /// Nobody is called below this chance of damage (0 to 1): calls for nothing teach people not to listen.
    pub call_chance: f64,
    /// `message` from this chance of damage (0 to 1).
    pub message_chance: f64,
    /// A critical customer is `call first` from this chance of damage (0 to 1) and goes ahead of money; above 1 never.
    pub critical_chance: f64,
    /// A fire line is `call first` from this chance of damage (0 to 1) and goes ahead of money, after critical customers; above 1 never.
    pub fire_chance: f64,
    /// Two assemblies whose expected losses differ by less than so many standard errors are tied.
    pub tie_standard_errors: f64,
}

impl Default for Tiers {
    fn default() -> Self {
        Self {
            call_first_usd: 1_000.0,
            call_next_usd: 150.0,
            call_chance: 0.10,
            message_chance: 0.02,
            critical_chance: 0.05,
            fire_chance: 0.20,
            tie_standard_errors: 1.0,
        }
    }
}

impl WaterLoss {
    /// Hours until a break is shut off.
    pub fn hours(&self, use_: WinterUse) -> f64 {
        match use_ {
            WinterUse::InUse => self.hours_seen,
            // A drained line whose drain failed is found as an idle one is.
            WinterUse::Idle | WinterUse::Drained => self.hours_idle,
            WinterUse::Vacant => self.hours_vacant,
        }
    }
}
