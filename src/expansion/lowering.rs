//! A supply that is lowered: to what setting, and the system as it then stands.

use super::closed::ClosingDevice;
use super::supply::{self, RegulatorState, Well};
use super::system::System;
use super::tank::{most_regulator_setting_pa, regulator_setting_pa};
use crate::units::{PA_PER_PSI, UnitSystem};

/// Steps in which a regulator is set: 5 psi, or 25 kPa where gauges read kPa, or half a bar. `[judgement]`
pub(super) fn setting_step_pa(found: &System) -> f64 {
    match found.words {
        UnitSystem::Us => 5.0 * PA_PER_PSI,
        UnitSystem::Si => 25e3,
        UnitSystem::Bar => 50e3,
    }
}

/// The usual regulator setting, Pa gauge, as a round figure of the gauge in use: 60 psi, 400 kPa or 4 bar.
pub fn usual_setting_pa(found: &System) -> f64 {
    let step_pa = setting_step_pa(found);
    let most_pa = most_regulator_setting_pa(found.limit_gauge_pa);
    match found.words {
        UnitSystem::Us => regulator_setting_pa(found.limit_gauge_pa),
        UnitSystem::Si | UnitSystem::Bar if most_pa >= step_pa => (most_pa / step_pa).floor() * step_pa,
        UnitSystem::Si | UnitSystem::Bar => most_pa,
    }
}

/// The setting to lower the supply to, Pa gauge; `None` when it is that low already.
///
/// A regulator that does not hold is mended at its own setting where that leaves a tank room.
pub(super) fn lowered_pa(found: &System, bad_regulator: bool) -> Option<f64> {
    let usual_pa = usual_setting_pa(found);
    if bad_regulator {
        return Some(
            found
                .regulator
                .setting_gauge_pa
                .map_or(usual_pa, |own| own.min(usual_pa)),
        );
    }
    (usual_pa < found.static_gauge_pa).then_some(usual_pa)
}

/// The system with its supply lowered to a setting, Pa gauge: by the regulator, which closes it, or by the well's switch.
pub(super) fn lowered(found: &System, setting_pa: f64) -> System {
    let mut low = found.clone();
    low.static_gauge_pa = setting_pa;
    if !supply::has_regulator(found) {
        if let Some(well) = found.well {
            let span_pa = well.cut_out_gauge_pa - well.cut_in_pa();
            low.well = Some(Well {
                cut_out_gauge_pa: setting_pa,
                cut_in_gauge_pa: Some((setting_pa - span_pa).max(0.0)),
                ..well
            });
            return low;
        }
        low.closed_by.retain(|device| *device != ClosingDevice::Nothing);
        low.closed_by.push(ClosingDevice::Prv);
    }
    low.regulator.setting_gauge_pa = Some(setting_pa);
    low.regulator.state = RegulatorState::Holds;
    low
}
