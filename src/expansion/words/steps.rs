//! Steps as sentences.

use crate::expansion::advice::{Means, Step};
use crate::expansion::supply::{LimitFrom, StaticFrom};
use crate::language::Tongue;
use crate::units::show_volume_at_least;

impl Step {
    /// What to do, for people.
    pub fn say(self, tongue: Tongue) -> String {
        let language = tongue.language;
        let gauge = |kpa: f64| tongue.gauge(kpa * 1e3);
        let at_least = |litre: f64| show_volume_at_least(litre, tongue.units);
        let precharge = |kpa: f64, at_c: Option<f64>, tanks: usize| match at_c {
            None => crate::say!(language, "expansion-precharge", tanks = tanks, precharge = gauge(kpa)),
            Some(celsius) => crate::say!(
                language,
                "expansion-precharge-at",
                tanks = tanks,
                precharge = gauge(kpa),
                at = tongue.temperature(celsius)
            ),
        };
        match self {
            Step::ShutEnergyOff => crate::say!(language, "expansion-step-shut-energy-off"),
            Step::LowerSupply { means, gauge_kpa } => {
                let id = match means {
                    Means::FitRegulator => "expansion-step-fit-regulator",
                    Means::SetRegulator => "expansion-step-set-regulator",
                    Means::MendRegulator => "expansion-step-mend-regulator",
                    Means::SetWellSwitch => "expansion-step-set-well-switch",
                };
                crate::say!(language, id, setting = gauge(gauge_kpa))
            }
            Step::FitTank {
                min_volume_l,
                precharge_gauge_kpa,
                precharge_at_c,
                replaces,
                tanks_there,
            } => {
                let id = if replaces && tanks_there > 1 {
                    "expansion-step-replace-tanks"
                } else if replaces {
                    "expansion-step-replace-tank"
                } else {
                    "expansion-step-fit-tank"
                };
                crate::say!(
                    language,
                    id,
                    volume = at_least(min_volume_l),
                    precharge = precharge(precharge_gauge_kpa, precharge_at_c, 1)
                )
            }
            Step::TakeOutTank { count } => crate::say!(language, "expansion-step-take-out-tank", count = count),
            Step::SetPrecharge {
                precharge_gauge_kpa,
                precharge_at_c,
                tanks,
            } => crate::say!(
                language,
                if tanks > 1 {
                    "expansion-step-set-precharges"
                } else {
                    "expansion-step-set-precharge"
                },
                precharge = precharge(precharge_gauge_kpa, precharge_at_c, tanks)
            ),
            Step::FitRelief {
                low_gauge_kpa,
                high_gauge_kpa,
            } => crate::say!(
                language,
                "expansion-step-fit-relief",
                low = gauge(low_gauge_kpa),
                high = gauge(high_gauge_kpa)
            ),
            Step::MakeRoom { min_volume_l } => {
                crate::say!(language, "expansion-step-make-room", volume = at_least(min_volume_l))
            }
            Step::LookAtLimit => crate::say!(language, "expansion-step-look-at-limit"),
        }
    }
}

impl StaticFrom {
    /// The reading that decided, for people.
    pub fn say(self, tongue: Tongue) -> String {
        let id = match self {
            StaticFrom::Static => "expansion-from-static",
            StaticFrom::Street => "expansion-from-street",
            StaticFrom::RegulatorSetting => "expansion-from-regulator-setting",
            StaticFrom::StreetThroughRegulator => "expansion-from-street-through-regulator",
            StaticFrom::WellCutOut => "expansion-from-well-cut-out",
        };
        crate::say!(tongue.language, id)
    }
}

impl LimitFrom {
    /// The reading that decided, for people.
    pub fn say(self, tongue: Tongue) -> String {
        let id = match self {
            LimitFrom::Limit => "expansion-from-limit",
            LimitFrom::Rating => "expansion-from-rating",
            LimitFrom::TankRating => "expansion-from-tank-rating",
            LimitFrom::HeaterRelief => "expansion-from-heater-relief",
        };
        crate::say!(tongue.language, id)
    }
}
