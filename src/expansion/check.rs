//! Whether the readings of a system can be true: what cannot be is refused, what is hard to believe draws a warning.

use super::readings::{Quantity, READINGS};
use super::supply::SHARE_OF_HEATER_RELIEF;
use super::system::{HeaterKind, System, USUAL_HEATER_RELIEF_C, usual_limit_gauge_pa};
use super::words::{Slip, TankSlip};
use crate::faults::{Fault, Faults, Severity};
use crate::language::Tongue;
use crate::physics::water;
use crate::units::{
    L_PER_US_GAL, PA_PER_PSI, c_from_f, k_from_c, show_gauge, show_length, show_power, show_temperature, show_volume,
};

/// What a check finds: the faults with their words, or only whether one of them is fatal.
struct Found {
    faults: Option<Faults>,
    any_fatal: bool,
}

impl Found {
    /// The fault is put into words only where they are kept.
    fn put(&mut self, severity: Severity, fault: impl FnOnce() -> Fault) {
        self.any_fatal |= severity >= Severity::Fatal;
        if let Some(faults) = &mut self.faults {
            faults.push(fault());
        }
    }

    fn fatal(&mut self, fault: impl FnOnce() -> Fault) {
        self.put(Severity::Fatal, fault);
    }

    fn warning(&mut self, fault: impl FnOnce() -> Fault) {
        self.put(Severity::Warning, fault);
    }
}

impl System {
    /// Everything about the readings that cannot be, or is hard to believe.
    ///
    /// A [`Severity::Fatal`] fault means that nothing can be computed; a [`Severity::Warning`] is a reading to look
    /// at again, and the answer stands on it all the same.
    pub fn check(&self) -> Faults {
        let mut found = Found {
            faults: Some(Faults::new()),
            any_fatal: false,
        };
        self.check_all(&mut found);
        found.faults.unwrap_or_default()
    }

    /// Whether nothing in [`System::check`] is fatal, without its words: for looking at many values of a reading.
    pub(super) fn can_be_answered(&self) -> bool {
        let mut found = Found {
            faults: None,
            any_fatal: false,
        };
        self.check_all(&mut found);
        !found.any_fatal
    }

    fn check_all(&self, found: &mut Found) {
        self.check_finite(found);
        if self.kind == HeaterKind::Hydronic {
            found.fatal(|| fatal("BW-X48", "kind", &Slip::HydronicLoop, self.tongue()));
        }
        if found.any_fatal {
            return;
        }
        self.check_bands(found);
        self.check_volumes(found);
        self.check_temperatures(found);
        self.check_pressures(found);
        self.check_rest(found);
    }

    /// How a reading outside of what is usual is told.
    fn of_unusual(&self) -> Severity {
        if self.accept_unusual {
            Severity::Warning
        } else {
            Severity::Fatal
        }
    }

    fn check_finite(&self, found: &mut Found) {
        let tongue = self.tongue();
        for reading in READINGS {
            (reading.values)(self, &mut |value| {
                if !value.is_finite() {
                    found.fatal(|| fatal("BW-X01", reading.key, &Slip::NotFinite, tongue));
                }
            });
        }
        let others = [("series", self.coldest_air_c)];
        let own = self.heaters.iter().map(|heater| ("heater", heater.hot_c));
        for (field, value) in others.into_iter().chain(own) {
            if value.is_some_and(|value| !value.is_finite()) {
                found.fatal(|| fatal("BW-X01", field, &Slip::NotFinite, tongue));
            }
        }
    }

    /// Each reading against the band in which it can be, and the one in which it usually is. `[judgement]`
    fn check_bands(&self, found: &mut Found) {
        let tongue = self.tongue();
        for reading in READINGS {
            let Some(band) = reading.band else { continue };
            (reading.values)(self, &mut |value| {
                // Half a thousandth of slack: "10 psi" is not below 10 psi. Zero and below have words of their own.
                let outside = |[low, high]: [f64; 2]| value > 0.0 && (value < low * 0.9995 || value > high * 1.0005);
                let shown = |value: f64| match reading.quantity {
                    Quantity::Gauge => show_gauge(value, self.words),
                    Quantity::Power => show_power(value, self.words),
                    _ => show_volume(value, self.words),
                };
                if outside(band.possible) {
                    found.fatal(|| {
                        let [low, high] = band.possible.map(shown);
                        fatal("BW-X18", reading.key, &Slip::Beyond { low, high }, tongue).value(&shown(value))
                    });
                } else if outside(band.usual) {
                    let severity = self.of_unusual();
                    found.put(severity, || {
                        let [low, high] = band.usual.map(shown);
                        let slip = Slip::Unusual { low, high };
                        slip.fault("BW-X19", severity, reading.key, tongue).value(&shown(value))
                    });
                }
            });
        }
    }

    fn check_volumes(&self, found: &mut Found) {
        let tongue = self.tongue();
        let words = self.words;
        if self.heated_l() <= 0.0 {
            found.fatal(|| fatal("BW-X02", "heater", &Slip::NothingHeated, tongue));
        }
        for heater in &self.heaters {
            let shown = || show_volume(heater.volume_l, words);
            if heater.volume_l < 0.0 {
                found.fatal(|| fatal("BW-X02", "heater", &Slip::NegativeVolume, tongue).value(&shown()));
            } else if heater.volume_l > 20_000.0 * L_PER_US_GAL {
                // Told with the bands.
            } else if heater.volume_l > 120.0 * L_PER_US_GAL {
                found.warning(|| {
                    warning(
                        "BW-X03",
                        "heater",
                        &Slip::LargeHeater {
                            volume_l: heater.volume_l,
                        },
                        tongue,
                    )
                    .value(&shown())
                });
            } else if heater.volume_l > 0.0 && heater.volume_l < 2.0 * L_PER_US_GAL {
                found.warning(|| warning("BW-X03", "heater", &Slip::SmallHeater, tongue).value(&shown()));
            }
        }
        for pipe in &self.piping {
            if pipe.volume_l < 0.0 {
                found.fatal(|| fatal("BW-X02", "pipe", &Slip::NegativePipe, tongue));
            }
        }
        if self.trapped_air_l < 0.0 {
            found.fatal(|| fatal("BW-X02", "trapped-air", &Slip::NegativeAir, tongue));
        }
    }

    fn check_temperatures(&self, found: &mut Found) {
        let tongue = self.tongue();
        let words = self.words;
        let cold = || show_temperature(self.cold_c, words);
        let hot = || show_temperature(self.hot_c, words);
        if !(0.0..=100.0).contains(&self.cold_c) {
            found.fatal(|| fatal("BW-X04", "cold", &Slip::ColdImpossible, tongue).value(&cold()));
        } else if self.cold_c > c_from_f(90.0) {
            found.warning(|| warning("BW-X05", "cold", &Slip::ColdIsWarm, tongue).value(&cold()));
        }
        if self.hot_c < self.cold_c {
            found.fatal(|| {
                fatal(
                    "BW-X06",
                    "hot",
                    &Slip::HotBelowCold {
                        hot_c: self.hot_c,
                        cold_c: self.cold_c,
                    },
                    tongue,
                )
                .value(&hot())
            });
        }
        for celsius in std::iter::once(self.hot_c).chain(self.heaters.iter().filter_map(|heater| heater.hot_c)) {
            if celsius >= self.cold_c {
                self.check_storage(celsius, found);
            } else if celsius < self.hot_c {
                let slip = Slip::HotBelowCold {
                    hot_c: celsius,
                    cold_c: self.cold_c,
                };
                found.fatal(|| fatal("BW-X06", "heater", &slip, tongue).value(&show_temperature(celsius, words)));
            }
        }
        if let Some(hygiene_c) = self.hygiene_c
            && hygiene_c < self.hot_c - 0.01
            && self
                .stagnation_c
                .is_none_or(|stagnation_c| stagnation_c < self.hot_c - 0.01)
        {
            let slip = Slip::HygieneBelowStorage {
                hygiene_c,
                hot_c: self.hot_c,
            };
            found.warning(|| warning("BW-X37", "hygiene", &slip, tongue).value(&show_temperature(hygiene_c, words)));
        }
        if self.heater_relief_c > USUAL_HEATER_RELIEF_C + 0.01 {
            found.fatal(|| {
                fatal("BW-X07", "heater-relief-temperature", &Slip::HotReliefTag, tongue)
                    .value(&show_temperature(self.heater_relief_c, words))
            });
        }
        if self.hot_c >= self.heater_relief_c - 1e-9 {
            // Above the boiling point at the static pressure there is no liquid to compute.
            let static_abs_kpa = (self.static_gauge_pa + self.air_abs_pa()) / 1e3;
            let boils = water::saturation_pressure_pa(k_from_c(self.hot_c))
                .map_or(true, |vapour_pa| vapour_pa >= static_abs_kpa * 1e3);
            if boils || self.hot_c > 150.0 {
                found.fatal(|| fatal("BW-X08", "hot", &Slip::Boils, tongue).value(&hot()));
            } else {
                found.warning(|| {
                    warning(
                        "BW-X09",
                        "hot",
                        &Slip::HotAtRelief {
                            relief_c: self.heater_relief_c,
                        },
                        tongue,
                    )
                    .value(&hot())
                });
            }
        } else if self.hot_c > c_from_f(180.0) {
            found.warning(|| warning("BW-X09", "hot", &Slip::HotIsHot, tongue).value(&hot()));
        }
    }

    /// Storage colder than any heater is set to, or hardly warmer than the supply: most often the other scale.
    fn check_storage(&self, hot_c: f64, found: &mut Found) {
        let tongue = self.tongue();
        let rise_k = hot_c - self.cold_c;
        let slip = if hot_c < c_from_f(100.0) - 0.01 {
            Slip::HotUnbelieved { hot_c }
        } else if rise_k < 20.0 / 1.8 - 0.01 {
            Slip::RiseUnbelieved { rise_k }
        } else {
            return;
        };
        let severity = self.of_unusual();
        found.put(severity, || {
            slip.fault("BW-X17", severity, "hot", tongue)
                .value(&show_temperature(hot_c, self.words))
        });
    }

    fn check_pressures(&self, found: &mut Found) {
        let tongue = self.tongue();
        let words = self.words;
        let show = |pascal: f64| show_gauge(pascal, words);
        let (low, high) = (10.0 * PA_PER_PSI, 300.0 * PA_PER_PSI);
        // Half a thousandth of slack: "10 psi" is not below 10 psi.
        if self.static_gauge_pa <= 0.0 {
            found.fatal(|| {
                fatal("BW-X10", "static", &Slip::StaticNotAboveZero, tongue).value(&show(self.static_gauge_pa))
            });
        } else if self.static_gauge_pa < low * 0.9995 || self.static_gauge_pa > high * 1.0005 {
            let slip = Slip::StaticUnbelieved {
                pa: self.static_gauge_pa,
                low: self.static_gauge_pa < low,
                accepted: self.accept_unusual,
            };
            let severity = self.of_unusual();
            found.put(severity, || slip.fault("BW-X11", severity, "static", tongue));
        }
        if self.limit_gauge_pa <= 0.0 {
            found
                .fatal(|| fatal("BW-X10", "limit", &Slip::LimitNotAboveZero, tongue).value(&show(self.limit_gauge_pa)));
        } else if self.limit_gauge_pa > high * 1.0005 && !self.accept_unusual {
            found.fatal(|| {
                fatal(
                    "BW-X11",
                    "limit",
                    &Slip::LimitUnbelieved {
                        pa: self.limit_gauge_pa,
                    },
                    tongue,
                )
                .value(&show(self.limit_gauge_pa))
            });
        } else if self.limit_gauge_pa < self.static_gauge_pa
            && self.limit_gauge_pa < usual_limit_gauge_pa(self.words) * 0.9995
            && self.static_gauge_pa > 0.0
        {
            found.warning(|| {
                warning(
                    "BW-X36",
                    "limit",
                    &Slip::StaticLimitSwapped {
                        static_pa: self.static_gauge_pa,
                        limit_pa: self.limit_gauge_pa,
                    },
                    tongue,
                )
                .value(&show(self.limit_gauge_pa))
            });
        } else if self.limit_gauge_pa > SHARE_OF_HEATER_RELIEF * self.heater_relief_gauge_pa * 1.0005 {
            found.warning(|| {
                warning(
                    "BW-X12",
                    "limit",
                    &Slip::LimitAboveHeaterRelief {
                        limit_pa: self.limit_gauge_pa,
                        relief_pa: self.heater_relief_gauge_pa,
                    },
                    tongue,
                )
                .value(&show(self.limit_gauge_pa))
            });
        }
        self.check_street_and_reliefs(found, high);
        self.check_tanks(found);
    }

    /// `high` is the highest pressure that is believed, Pa gauge.
    fn check_street_and_reliefs(&self, found: &mut Found, high: f64) {
        let tongue = self.tongue();
        let show = |pascal: f64| show_gauge(pascal, self.words);
        if let Some(street) = self.street_gauge_pa {
            if street <= 0.0 || (street > high * 1.0005 && !self.accept_unusual) {
                found.fatal(|| {
                    fatal("BW-X11", "street", &Slip::StreetUnbelieved { pa: street }, tongue).value(&show(street))
                });
            } else if street < self.static_gauge_pa * 0.98 {
                found.warning(|| {
                    warning(
                        "BW-X13",
                        "street",
                        &Slip::StreetBelowStatic {
                            street_pa: street,
                            static_pa: self.static_gauge_pa,
                        },
                        tongue,
                    )
                    .value(&show(street))
                });
            }
        }
        if let Some(relief) = self.relief_at_gauge_pa
            && relief <= 0.0
        {
            found.fatal(|| fatal("BW-X10", "relief-at", &Slip::ReliefNotAboveZero, tongue).value(&show(relief)));
        }
        if self.heater_relief_gauge_pa <= 0.0 || self.relief_cap_gauge_pa <= 0.0 {
            found.fatal(|| fatal("BW-X10", "heater-relief", &Slip::HeaterReliefNotAboveZero, tongue));
        }
    }

    fn check_tanks(&self, found: &mut Found) {
        let tongue = self.tongue();
        let words = self.words;
        let show = |pascal: f64| show_gauge(pascal, words);
        for tank in &self.existing {
            if tank.volume_l <= 0.0 {
                found.fatal(|| {
                    fatal("BW-X02", "existing-tank", &Slip::Tank(TankSlip::NotAboveZero), tongue)
                        .value(&show_volume(tank.volume_l, words))
                });
            }
            if tank.precharge_gauge_pa < 0.0 {
                found.fatal(|| {
                    fatal("BW-X10", "precharge", &Slip::Tank(TankSlip::NegativePrecharge), tongue)
                        .value(&show(tank.precharge_gauge_pa))
                });
            } else if tank.precharge_gauge_pa > 150.0 * PA_PER_PSI {
                found.warning(|| {
                    warning("BW-X11", "precharge", &Slip::Tank(TankSlip::HighPrecharge), tongue)
                        .value(&show(tank.precharge_gauge_pa))
                });
            }
            if tank
                .max_acceptance_l
                .is_some_and(|most| most <= 0.0 || most > tank.volume_l * 1.0005)
            {
                found.fatal(|| {
                    fatal(
                        "BW-X02",
                        "max-acceptance",
                        &Slip::Tank(TankSlip::ImpossibleAcceptance),
                        tongue,
                    )
                });
            }
        }
    }

    fn check_rest(&self, found: &mut Found) {
        let tongue = self.tongue();
        if !(-500.0..=6_000.0).contains(&self.elevation_m) {
            found.fatal(|| {
                fatal("BW-X14", "elevation", &Slip::NobodyThere, tongue)
                    .value(&show_length(self.elevation_m, self.words))
            });
        }
        if !(-300.0..=300.0).contains(&self.tank_above_gauge_m) {
            found.fatal(|| {
                fatal("BW-X14", "tank-height", &Slip::Tank(TankSlip::NotOneBuilding), tongue)
                    .value(&show_length(self.tank_above_gauge_m, self.words))
            });
        }
        for (field, value) in [
            ("tank-temperature", self.tank_ambient_c),
            ("precharge-temperature", Some(self.precharge_set_c)),
        ] {
            if value.is_some_and(|celsius| !(-40.0..=100.0).contains(&celsius)) {
                found.fatal(|| fatal("BW-X04", field, &Slip::Tank(TankSlip::NoSuchPlace), tongue));
            }
        }
        if !(self.efficiency > 0.0 && self.efficiency <= 1.0) {
            found.fatal(|| {
                fatal(
                    "BW-X15",
                    "efficiency",
                    &Slip::ImpossibleEfficiency {
                        efficiency: self.efficiency,
                    },
                    tongue,
                )
                .value(&format!("{}", self.efficiency))
            });
        }
        if let Some(input) = self.heat_input_w
            && input <= 0.0
        {
            found.fatal(|| {
                fatal("BW-X15", "heat-input", &Slip::HeatInputNotAboveZero, tongue)
                    .value(&show_power(input, self.words))
            });
        }
        if self.daily_draw_l.is_some_and(|draw| draw < 0.0) {
            found.fatal(|| fatal("BW-X02", "daily-draw", &Slip::NegativeDraw, tongue));
        }
        if self.room_for_tank_l.is_some_and(|room| room < 0.0) {
            found.fatal(|| fatal("BW-X02", "room-for-tank", &Slip::NegativeRoom, tongue));
        }
    }
}

fn fatal(code: &'static str, field: &str, slip: &Slip, tongue: Tongue) -> Fault {
    slip.fault(code, Severity::Fatal, field, tongue)
}

fn warning(code: &'static str, field: &str, slip: &Slip, tongue: Tongue) -> Fault {
    slip.fault(code, Severity::Warning, field, tongue)
}
