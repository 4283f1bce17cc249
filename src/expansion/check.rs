//! Whether the readings of a system can be true: what cannot be is refused, what is hard to believe draws a warning.

use super::supply::SHARE_OF_HEATER_RELIEF;
use super::system::{System, USUAL_HEATER_RELIEF_C, USUAL_LIMIT_GAUGE_PA};
use super::words::Slip;
use crate::faults::{Fault, Faults, Severity};
use crate::language::Tongue;
use crate::physics::water;
use crate::units::{
    L_PER_US_GAL, PA_PER_PSI, c_from_f, k_from_c, show_gauge, show_length, show_power, show_temperature, show_volume,
};

impl System {
    /// Everything about the readings that cannot be, or is hard to believe.
    ///
    /// A [`Severity::Fatal`] fault means that nothing can be computed; a [`Severity::Warning`] is a reading to look
    /// at again, and the answer stands on it all the same.
    pub fn check(&self) -> Faults {
        let mut faults = Faults::new();
        self.check_finite(&mut faults);
        if faults.is_fatal() {
            return faults;
        }
        self.check_bands(&mut faults);
        self.check_volumes(&mut faults);
        self.check_temperatures(&mut faults);
        self.check_pressures(&mut faults);
        self.check_rest(&mut faults);
        faults
    }

    fn check_finite(&self, faults: &mut Faults) {
        let tongue = self.tongue();
        let named = [
            ("cold", self.cold_c),
            ("hot", self.hot_c),
            ("static", self.static_gauge_pa),
            ("limit", self.limit_gauge_pa),
            ("elevation", self.elevation_m),
            ("tank-height", self.tank_above_gauge_m),
            ("tank-temperature", self.tank_ambient_c.unwrap_or(0.0)),
            ("precharge-temperature", self.precharge_set_c),
            ("street", self.street_gauge_pa.unwrap_or(0.0)),
            ("relief-at", self.relief_at_gauge_pa.unwrap_or(0.0)),
            ("relief-cap", self.relief_cap_gauge_pa),
            ("heater-relief", self.heater_relief_gauge_pa),
            ("heater-relief-temperature", self.heater_relief_c),
            ("rating", self.lowest_rating_gauge_pa.unwrap_or(0.0)),
            ("heat-input", self.heat_input_w.unwrap_or(0.0)),
            ("efficiency", self.efficiency),
            ("daily-draw", self.daily_draw_l.unwrap_or(0.0)),
            ("trapped-air", self.trapped_air_l),
            ("series", self.coldest_air_c.unwrap_or(0.0)),
            ("room-for-tank", self.room_for_tank_l.unwrap_or(0.0)),
        ];
        let parts = self.heaters.iter().map(|h| ("heater", h.volume_l));
        let pipes = self.piping.iter().map(|p| ("pipe", p.volume_l));
        let tank = self.existing.iter().flat_map(|t| {
            [
                ("existing-tank", t.volume_l),
                ("precharge", t.precharge_gauge_pa),
                ("max-acceptance", t.max_acceptance_l.unwrap_or(0.0)),
            ]
        });
        for (field, value) in named.into_iter().chain(parts).chain(pipes).chain(tank) {
            if !value.is_finite() {
                faults.push(fatal("BW-X01", field, &Slip::NotFinite, tongue));
            }
        }
    }

    /// Each reading against the band in which it can be, and the one in which it usually is. `[judgement]`
    fn check_bands(&self, faults: &mut Faults) {
        let (tongue, words) = (self.tongue(), self.words);
        let volume = |litre: f64| show_volume(litre, words);
        let gauge = |pascal: f64| show_gauge(pascal, words);
        for (field, value, band, show) in self.banded() {
            let Some(value) = value else { continue };
            // Half a thousandth of slack: "10 psi" is not below 10 psi. Zero and below have words of their own.
            let outside = |[low, high]: [f64; 2]| value > 0.0 && (value < low * 0.9995 || value > high * 1.0005);
            let shown = |pair: [f64; 2]| {
                pair.map(|value| match show {
                    Shown::Volume => volume(value),
                    Shown::Gauge => gauge(value),
                    Shown::Power => show_power(value, words),
                })
            };
            let [value_shown, _] = shown([value, value]);
            if outside(band.possible) {
                let [low, high] = shown(band.possible);
                faults.push(fatal("BW-X18", field, &Slip::Beyond { low, high }, tongue).value(&value_shown));
            } else if outside(band.usual) {
                let [low, high] = shown(band.usual);
                let slip = Slip::Unusual { low, high };
                let fault = if self.accept_unusual {
                    warning("BW-X19", field, &slip, tongue)
                } else {
                    fatal("BW-X19", field, &slip, tongue)
                };
                faults.push(fault.value(&value_shown));
            }
        }
    }

    /// The readings that have a band, with it. Static, limit, street and the temperatures have checks of their own.
    fn banded(&self) -> Vec<(&'static str, Option<f64>, Band, Shown)> {
        let volumes = |usual_gal: [f64; 2], possible_gal: [f64; 2]| Band {
            usual: usual_gal.map(|gal| gal * L_PER_US_GAL),
            possible: possible_gal.map(|gal| gal * L_PER_US_GAL),
        };
        let pressures = |usual_psi: [f64; 2], possible_psi: [f64; 2]| Band {
            usual: usual_psi.map(|psi| psi * PA_PER_PSI),
            possible: possible_psi.map(|psi| psi * PA_PER_PSI),
        };
        let well = self.well.as_ref();
        let tank = self.existing.as_ref();
        let mut list = vec![
            (
                "static",
                Some(self.static_gauge_pa),
                pressures([0.0, 1e9], [0.0, 1000.0]),
                Shown::Gauge,
            ),
            (
                "street",
                self.street_gauge_pa,
                pressures([0.0, 1e9], [0.0, 1000.0]),
                Shown::Gauge,
            ),
            (
                "limit",
                Some(self.limit_gauge_pa),
                pressures([0.0, 1e9], [0.0, 1000.0]),
                Shown::Gauge,
            ),
            (
                "rating",
                self.lowest_rating_gauge_pa,
                pressures([30.0, 1000.0], [10.0, 3000.0]),
                Shown::Gauge,
            ),
            (
                "relief-at",
                self.relief_at_gauge_pa,
                pressures([20.0, 250.0], [1.0, 1000.0]),
                Shown::Gauge,
            ),
            (
                "relief-cap",
                Some(self.relief_cap_gauge_pa),
                pressures([20.0, 250.0], [1.0, 1000.0]),
                Shown::Gauge,
            ),
            (
                "heater-relief",
                Some(self.heater_relief_gauge_pa),
                pressures([30.0, 250.0], [10.0, 1000.0]),
                Shown::Gauge,
            ),
            (
                "regulator-setting",
                self.regulator.setting_gauge_pa,
                pressures([20.0, 150.0], [5.0, 400.0]),
                Shown::Gauge,
            ),
            (
                "well-cut-out",
                well.map(|well| well.cut_out_gauge_pa),
                pressures([30.0, 100.0], [10.0, 300.0]),
                Shown::Gauge,
            ),
            (
                "well-tank",
                well.and_then(|well| well.tank_l),
                volumes([1.0, 500.0], [0.1, 20_000.0]),
                Shown::Volume,
            ),
            (
                "existing-tank",
                tank.map(|tank| tank.volume_l),
                volumes([0.1, 1000.0], [0.001, 20_000.0]),
                Shown::Volume,
            ),
            (
                "precharge",
                tank.map(|tank| tank.precharge_gauge_pa),
                pressures([0.0, 1e9], [0.0, 1000.0]),
                Shown::Gauge,
            ),
            (
                "daily-draw",
                self.daily_draw_l,
                volumes([0.0, 20_000.0], [0.0, 1e6]),
                Shown::Volume,
            ),
            (
                "trapped-air",
                Some(self.trapped_air_l),
                volumes([0.0, 50.0], [0.0, 10_000.0]),
                Shown::Volume,
            ),
            (
                "heat-input",
                self.heat_input_w,
                Band {
                    usual: [100.0, 1e6],
                    possible: [1.0, 1e8],
                },
                Shown::Power,
            ),
        ];
        list.extend(self.heaters.iter().map(|heater| {
            let band = volumes([0.0, 5_000.0], [0.0, 20_000.0]);
            ("heater", Some(heater.volume_l), band, Shown::Volume)
        }));
        list
    }

    fn check_volumes(&self, faults: &mut Faults) {
        let tongue = self.tongue();
        let words = self.words;
        if self.heated_l() <= 0.0 {
            faults.push(fatal("BW-X02", "heater", &Slip::NothingHeated, tongue));
        }
        for heater in &self.heaters {
            let shown = show_volume(heater.volume_l, words);
            if heater.volume_l < 0.0 {
                faults.push(fatal("BW-X02", "heater", &Slip::NegativeVolume, tongue).value(&shown));
            } else if heater.volume_l > 20_000.0 * L_PER_US_GAL {
                // Told with the bands.
            } else if heater.volume_l > 120.0 * L_PER_US_GAL {
                faults.push(
                    warning(
                        "BW-X03",
                        "heater",
                        &Slip::LargeHeater {
                            volume_l: heater.volume_l,
                        },
                        tongue,
                    )
                    .value(&shown),
                );
            } else if heater.volume_l > 0.0 && heater.volume_l < 2.0 * L_PER_US_GAL {
                faults.push(warning("BW-X03", "heater", &Slip::SmallHeater, tongue).value(&shown));
            }
        }
        for pipe in &self.piping {
            if pipe.volume_l < 0.0 {
                faults.push(fatal("BW-X02", "pipe", &Slip::NegativePipe, tongue));
            }
        }
        if self.trapped_air_l < 0.0 {
            faults.push(fatal("BW-X02", "trapped-air", &Slip::NegativeAir, tongue));
        }
    }

    fn check_temperatures(&self, faults: &mut Faults) {
        let tongue = self.tongue();
        let words = self.words;
        let (cold, hot) = (
            show_temperature(self.cold_c, words),
            show_temperature(self.hot_c, words),
        );
        if !(0.0..=100.0).contains(&self.cold_c) {
            faults.push(fatal("BW-X04", "cold", &Slip::ColdImpossible, tongue).value(&cold));
        } else if self.cold_c > c_from_f(90.0) {
            faults.push(warning("BW-X05", "cold", &Slip::ColdIsWarm, tongue).value(&cold));
        }
        if self.hot_c < self.cold_c {
            faults.push(
                fatal(
                    "BW-X06",
                    "hot",
                    &Slip::HotBelowCold {
                        hot_c: self.hot_c,
                        cold_c: self.cold_c,
                    },
                    tongue,
                )
                .value(&hot),
            );
        }
        if self.hot_c >= self.cold_c {
            self.check_storage(faults);
        }
        if self.heater_relief_c > USUAL_HEATER_RELIEF_C + 0.01 {
            faults.push(
                fatal("BW-X07", "heater-relief-temperature", &Slip::HotReliefTag, tongue)
                    .value(&show_temperature(self.heater_relief_c, words)),
            );
        }
        if self.hot_c >= self.heater_relief_c - 1e-9 {
            // Above the boiling point at the static pressure there is no liquid to compute.
            let static_abs_kpa = (self.static_gauge_pa + self.air_abs_pa()) / 1e3;
            let boils = water::saturation_pressure_pa(k_from_c(self.hot_c))
                .map_or(true, |vapour_pa| vapour_pa >= static_abs_kpa * 1e3);
            if boils || self.hot_c > 150.0 {
                faults.push(fatal("BW-X08", "hot", &Slip::Boils, tongue).value(&hot));
            } else {
                faults.push(
                    warning(
                        "BW-X09",
                        "hot",
                        &Slip::HotAtRelief {
                            relief_c: self.heater_relief_c,
                        },
                        tongue,
                    )
                    .value(&hot),
                );
            }
        } else if self.hot_c > c_from_f(180.0) {
            faults.push(warning("BW-X09", "hot", &Slip::HotIsHot, tongue).value(&hot));
        }
    }

    /// Storage colder than any heater is set to, or hardly warmer than the supply: most often the other scale.
    fn check_storage(&self, faults: &mut Faults) {
        let tongue = self.tongue();
        let shown = show_temperature(self.hot_c, self.words);
        let rise_k = self.hot_c - self.cold_c;
        let slip = if self.hot_c < c_from_f(100.0) - 0.01 {
            Slip::HotUnbelieved { hot_c: self.hot_c }
        } else if rise_k < 20.0 / 1.8 - 0.01 {
            Slip::RiseUnbelieved { rise_k }
        } else {
            return;
        };
        let fault = if self.accept_unusual {
            warning("BW-X17", "hot", &slip, tongue)
        } else {
            fatal("BW-X17", "hot", &slip, tongue)
        };
        faults.push(fault.value(&shown));
    }

    fn check_pressures(&self, faults: &mut Faults) {
        let tongue = self.tongue();
        let words = self.words;
        let show = |pascal: f64| show_gauge(pascal, words);
        let (low, high) = (10.0 * PA_PER_PSI, 300.0 * PA_PER_PSI);
        // Half a thousandth of slack: "10 psi" is not below 10 psi.
        if self.static_gauge_pa <= 0.0 {
            faults
                .push(fatal("BW-X10", "static", &Slip::StaticNotAboveZero, tongue).value(&show(self.static_gauge_pa)));
        } else if self.static_gauge_pa < low * 0.9995 || self.static_gauge_pa > high * 1.0005 {
            let slip = Slip::StaticUnbelieved {
                pa: self.static_gauge_pa,
                low: self.static_gauge_pa < low,
                accepted: self.accept_unusual,
            };
            faults.push(if self.accept_unusual {
                warning("BW-X11", "static", &slip, tongue)
            } else {
                fatal("BW-X11", "static", &slip, tongue)
            });
        }
        if self.limit_gauge_pa <= 0.0 {
            faults.push(fatal("BW-X10", "limit", &Slip::LimitNotAboveZero, tongue).value(&show(self.limit_gauge_pa)));
        } else if self.limit_gauge_pa > high * 1.0005 && !self.accept_unusual {
            faults.push(
                fatal(
                    "BW-X11",
                    "limit",
                    &Slip::LimitUnbelieved {
                        pa: self.limit_gauge_pa,
                    },
                    tongue,
                )
                .value(&show(self.limit_gauge_pa)),
            );
        } else if self.limit_gauge_pa < self.static_gauge_pa
            && self.limit_gauge_pa < USUAL_LIMIT_GAUGE_PA * 0.9995
            && self.static_gauge_pa > 0.0
        {
            faults.push(
                warning(
                    "BW-X36",
                    "limit",
                    &Slip::StaticLimitSwapped {
                        static_pa: self.static_gauge_pa,
                        limit_pa: self.limit_gauge_pa,
                    },
                    tongue,
                )
                .value(&show(self.limit_gauge_pa)),
            );
        } else if self.limit_gauge_pa > SHARE_OF_HEATER_RELIEF * self.heater_relief_gauge_pa * 1.0005 {
            faults.push(
                warning(
                    "BW-X12",
                    "limit",
                    &Slip::LimitAboveHeaterRelief {
                        limit_pa: self.limit_gauge_pa,
                        relief_pa: self.heater_relief_gauge_pa,
                    },
                    tongue,
                )
                .value(&show(self.limit_gauge_pa)),
            );
        }
        if let Some(street) = self.street_gauge_pa {
            if street <= 0.0 || (street > high * 1.0005 && !self.accept_unusual) {
                faults.push(
                    fatal("BW-X11", "street", &Slip::StreetUnbelieved { pa: street }, tongue).value(&show(street)),
                );
            } else if street < self.static_gauge_pa * 0.98 {
                faults.push(
                    warning(
                        "BW-X13",
                        "street",
                        &Slip::StreetBelowStatic {
                            street_pa: street,
                            static_pa: self.static_gauge_pa,
                        },
                        tongue,
                    )
                    .value(&show(street)),
                );
            }
        }
        if let Some(relief) = self.relief_at_gauge_pa
            && relief <= 0.0
        {
            faults.push(fatal("BW-X10", "relief-at", &Slip::ReliefNotAboveZero, tongue).value(&show(relief)));
        }
        if self.heater_relief_gauge_pa <= 0.0 || self.relief_cap_gauge_pa <= 0.0 {
            faults.push(fatal(
                "BW-X10",
                "heater-relief",
                &Slip::HeaterReliefNotAboveZero,
                tongue,
            ));
        }
        if let Some(tank) = &self.existing {
            if tank.volume_l <= 0.0 {
                faults.push(
                    fatal("BW-X02", "existing-tank", &Slip::TankNotAboveZero, tongue)
                        .value(&show_volume(tank.volume_l, words)),
                );
            }
            if tank.precharge_gauge_pa < 0.0 {
                faults.push(
                    fatal("BW-X10", "precharge", &Slip::NegativePrecharge, tongue)
                        .value(&show(tank.precharge_gauge_pa)),
                );
            } else if tank.precharge_gauge_pa > 150.0 * PA_PER_PSI {
                faults.push(
                    warning("BW-X11", "precharge", &Slip::HighPrecharge, tongue).value(&show(tank.precharge_gauge_pa)),
                );
            }
            if tank
                .max_acceptance_l
                .is_some_and(|most| most <= 0.0 || most > tank.volume_l * 1.0005)
            {
                faults.push(fatal("BW-X02", "max-acceptance", &Slip::ImpossibleAcceptance, tongue));
            }
        }
    }

    fn check_rest(&self, faults: &mut Faults) {
        let tongue = self.tongue();
        if !(-500.0..=6_000.0).contains(&self.elevation_m) {
            faults.push(
                fatal("BW-X14", "elevation", &Slip::NobodyThere, tongue)
                    .value(&show_length(self.elevation_m, self.words)),
            );
        }
        if !(-300.0..=300.0).contains(&self.tank_above_gauge_m) {
            faults.push(
                fatal("BW-X14", "tank-height", &Slip::NotOneBuilding, tongue)
                    .value(&show_length(self.tank_above_gauge_m, self.words)),
            );
        }
        for (field, value) in [
            ("tank-temperature", self.tank_ambient_c),
            ("precharge-temperature", Some(self.precharge_set_c)),
        ] {
            if value.is_some_and(|celsius| !(-40.0..=100.0).contains(&celsius)) {
                faults.push(fatal("BW-X04", field, &Slip::NoSuchTankPlace, tongue));
            }
        }
        if !(self.efficiency > 0.0 && self.efficiency <= 1.0) {
            faults.push(
                fatal(
                    "BW-X15",
                    "efficiency",
                    &Slip::ImpossibleEfficiency {
                        efficiency: self.efficiency,
                    },
                    tongue,
                )
                .value(&format!("{}", self.efficiency)),
            );
        }
        if let Some(input) = self.heat_input_w
            && input <= 0.0
        {
            faults.push(
                fatal("BW-X15", "heat-input", &Slip::HeatInputNotAboveZero, tongue)
                    .value(&show_power(input, self.words)),
            );
        }
        if self.daily_draw_l.is_some_and(|draw| draw < 0.0) {
            faults.push(fatal("BW-X02", "daily-draw", &Slip::NegativeDraw, tongue));
        }
        if self.room_for_tank_l.is_some_and(|room| room < 0.0) {
            faults.push(fatal("BW-X02", "room-for-tank", &Slip::NegativeRoom, tongue));
        }
    }
}

/// Where a reading usually is, and where it can be at all.
struct Band {
    usual: [f64; 2],
    possible: [f64; 2],
}

/// How a reading is shown.
#[derive(Clone, Copy)]
enum Shown {
    Volume,
    Gauge,
    Power,
}

fn fatal(code: &'static str, field: &str, slip: &Slip, tongue: Tongue) -> Fault {
    slip.fault(code, Severity::Fatal, field, tongue)
}

fn warning(code: &'static str, field: &str, slip: &Slip, tongue: Tongue) -> Fault {
    slip.fault(code, Severity::Warning, field, tongue)
}
