//! Whether the readings of a system can be true: what cannot be is refused, what is hard to believe draws a warning.

use super::system::{System, USUAL_HEATER_RELIEF_C};
use crate::faults::{Fault, Faults, Severity};
use crate::physics::water;
use crate::units::{
    L_PER_US_GAL, PA_PER_PSI, UnitSystem, c_from_f, k_from_c, show_gauge, show_length, show_power, show_temperature,
    show_volume,
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
        self.check_volumes(&mut faults);
        self.check_temperatures(&mut faults);
        self.check_pressures(&mut faults);
        self.check_rest(&mut faults);
        faults
    }

    fn check_finite(&self, faults: &mut Faults) {
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
                faults.push(fatal(
                    "BW-X01",
                    field,
                    "is not a number",
                    "a finite number",
                    "Read it again.",
                ));
            }
        }
    }

    fn check_volumes(&self, faults: &mut Faults) {
        let words = self.words;
        if self.heated_l() <= 0.0 {
            faults.push(fatal(
                "BW-X02",
                "heater",
                "no water is heated: the heater's volume is zero or missing",
                "a heater volume above zero, such as \"40 gal\"",
                "Read the volume on the heater's rating plate.",
            ));
        }
        for heater in &self.heaters {
            let shown = show_volume(heater.volume_l, words);
            if heater.volume_l < 0.0 {
                faults.push(
                    fatal(
                        "BW-X02",
                        "heater",
                        "a volume cannot be negative",
                        "a volume above zero",
                        "Read it again.",
                    )
                    .value(&shown),
                );
            } else if heater.volume_l > 120.0 * L_PER_US_GAL {
                // A litre figure typed as gallons is the usual reason: 190 L is a 50 gal heater.
                let as_litres = heater.volume_l / L_PER_US_GAL;
                faults.push(
                    warning(
                        "BW-X03",
                        "heater",
                        format!(
                            "is large for a domestic heater ({shown}, that is {}); if the plate says {as_litres:.0} litres, write \"{as_litres:.0} L\"",
                            show_volume(heater.volume_l, other(words)),
                        ),
                        "20 to 120 gal (75 to 450 L) for one domestic heater",
                        "Check litres against US gallons and imperial gallons on the plate; above 120 gal a vessel is usually built to a boiler and pressure vessel code.",
                    )
                    .value(&shown),
                );
            } else if heater.volume_l > 0.0 && heater.volume_l < 2.0 * L_PER_US_GAL {
                faults.push(
                    warning(
                        "BW-X03",
                        "heater",
                        "is small for a storage heater",
                        "20 to 120 gal (75 to 450 L) for one domestic heater",
                        "For a heater without storage give its piping with --pipe.",
                    )
                    .value(&shown),
                );
            }
        }
        for pipe in &self.piping {
            if pipe.volume_l < 0.0 {
                faults.push(fatal(
                    "BW-X02",
                    "pipe",
                    "a pipe cannot have a negative length",
                    "a length above zero",
                    "Measure it again.",
                ));
            }
        }
        if self.trapped_air_l < 0.0 {
            faults.push(fatal(
                "BW-X02",
                "trapped-air",
                "a volume cannot be negative",
                "zero or more",
                "Leave it out when there is none.",
            ));
        }
    }

    fn check_temperatures(&self, faults: &mut Faults) {
        let words = self.words;
        let (cold, hot) = (
            show_temperature(self.cold_c, words),
            show_temperature(self.hot_c, words),
        );
        if !(0.0..=100.0).contains(&self.cold_c) {
            faults.push(
                fatal(
                    "BW-X04",
                    "cold",
                    "cold supply water lies between freezing and boiling",
                    "32 to 212 °F (0 to 100 °C)",
                    "Give the coldest supply of the year.",
                )
                .value(&cold),
            );
        } else if self.cold_c > c_from_f(90.0) {
            faults.push(
                warning(
                    "BW-X05",
                    "cold",
                    "is warm for the coldest supply of the year",
                    "32 to 80 °F (0 to 27 °C)",
                    "The cold end sets the volume: use the winter supply, not today's.",
                )
                .value(&cold),
            );
        }
        if self.hot_c < self.cold_c {
            faults.push(
                fatal(
                    "BW-X06",
                    "hot",
                    format!("the hot temperature {hot} is below the cold one {cold}"),
                    "hot above cold",
                    "Look whether the two were swapped.",
                )
                .value(&hot),
            );
        }
        if self.heater_relief_c > USUAL_HEATER_RELIEF_C + 0.01 {
            faults.push(
                fatal(
                    "BW-X07",
                    "heater-relief-temperature",
                    "no listed temperature and pressure relief valve opens above 210 °F (98.9 °C)",
                    "210 °F (98.9 °C) or less",
                    "Read the valve's tag; a valve without one is replaced by a licensed person.",
                )
                .value(&show_temperature(self.heater_relief_c, words)),
            );
        }
        if self.hot_c >= self.heater_relief_c - 1e-9 {
            // Above the boiling point at the static pressure there is no liquid to compute.
            let static_abs_kpa = (self.static_gauge_pa + self.air_abs_pa()) / 1e3;
            let boils = water::saturation_pressure_pa(k_from_c(self.hot_c))
                .map_or(true, |vapour_pa| vapour_pa >= static_abs_kpa * 1e3);
            if boils || self.hot_c > 150.0 {
                faults.push(
                    fatal(
                        "BW-X08",
                        "hot",
                        "the water would boil at the static pressure, or is hotter than 302 °F (150 °C)",
                        "storage below the boiling point",
                        "Read the hottest storage temperature again.",
                    )
                    .value(&hot),
                );
            } else {
                faults.push(
                    warning(
                        "BW-X09",
                        "hot",
                        format!(
                            "is at or above the {} at which the heater's temperature and pressure relief valve opens",
                            show_temperature(self.heater_relief_c, words)
                        ),
                        "storage well below the relief valve's temperature",
                        "A storage heater that hot is a hazard: shut the energy off and call a licensed plumber. A sealed heating system has other valves.",
                    )
                    .value(&hot),
                );
            }
        } else if self.hot_c > c_from_f(180.0) {
            faults.push(
                warning(
                    "BW-X09",
                    "hot",
                    "is hot for domestic storage",
                    "120 to 180 °F (49 to 82 °C)",
                    "Check °F against °C.",
                )
                .value(&hot),
            );
        }
    }

    fn check_pressures(&self, faults: &mut Faults) {
        let words = self.words;
        let show = |pascal: f64| show_gauge(pascal, words);
        let (low, high) = (10.0 * PA_PER_PSI, 300.0 * PA_PER_PSI);
        // Half a thousandth of slack: "10 psi" is not below 10 psi.
        if self.static_gauge_pa <= 0.0 {
            faults.push(
                fatal(
                    "BW-X10",
                    "static",
                    "a static gauge pressure is above zero",
                    "10 to 300 psi (69 to 2068 kPa) as the gauge shows it",
                    "Read the gauge with every tap shut.",
                )
                .value(&show(self.static_gauge_pa)),
            );
        } else if self.static_gauge_pa < low * 0.9995 || self.static_gauge_pa > high * 1.0005 {
            let hint = if self.static_gauge_pa < low {
                "Was it typed in bar as psi? Write the unit: \"4 bar\"."
            } else {
                "Was it typed in kPa as psi, or as absolute pressure? Write the unit: \"414 kPa\"."
            };
            let what = format!("a static pressure of {} is not believed", show(self.static_gauge_pa));
            let expected = "10 to 300 psi (69 to 2068 kPa) as the gauge shows it, not absolute";
            faults.push(if self.accept_unusual {
                warning("BW-X11", "static", what, expected, hint)
            } else {
                fatal(
                    "BW-X11",
                    "static",
                    what,
                    expected,
                    &format!("{hint} If it is truly so, add --accept-unusual."),
                )
            });
        }
        if self.limit_gauge_pa <= 0.0 {
            faults.push(
                fatal(
                    "BW-X10",
                    "limit",
                    "a pressure limit is above zero",
                    "80 psi (552 kPa) where the plumbing code says nothing else",
                    "Give the highest pressure that the house may see.",
                )
                .value(&show(self.limit_gauge_pa)),
            );
        } else if self.limit_gauge_pa > high * 1.0005 && !self.accept_unusual {
            faults.push(
                fatal(
                    "BW-X11",
                    "limit",
                    format!("a limit of {} is not believed", show(self.limit_gauge_pa)),
                    "at most 300 psi (2068 kPa), and 80 psi (552 kPa) in most houses",
                    "Write the unit. If it is truly so, add --accept-unusual.",
                )
                .value(&show(self.limit_gauge_pa)),
            );
        } else if self.limit_gauge_pa > self.heater_relief_gauge_pa {
            faults.push(
                warning(
                    "BW-X12",
                    "limit",
                    format!(
                        "the limit of {} is above the {} at which the heater's relief valve opens, so that valve would be the control",
                        show(self.limit_gauge_pa),
                        show(self.heater_relief_gauge_pa)
                    ),
                    "a limit below the heater's relief valve; 80 psi (552 kPa) in most houses",
                    "The heater's relief valve is a safety device and never the control.",
                )
                .value(&show(self.limit_gauge_pa)),
            );
        }
        if let Some(street) = self.street_gauge_pa {
            if street <= 0.0 || (street > high * 1.0005 && !self.accept_unusual) {
                faults.push(
                    fatal(
                        "BW-X11",
                        "street",
                        format!("a pressure of {} in the main is not believed", show(street)),
                        "10 to 300 psi (69 to 2068 kPa) as a gauge shows it",
                        "Ask the utility for the highest pressure at this address.",
                    )
                    .value(&show(street)),
                );
            } else if street < self.static_gauge_pa * 0.98 {
                faults.push(
                    warning(
                        "BW-X13",
                        "street",
                        format!(
                            "the main ({}) is told lower than the house ({}): with the taps shut the house cannot stand above the main unless it is closed and was heated, or pumped",
                            show(street),
                            show(self.static_gauge_pa)
                        ),
                        "a highest street pressure at or above the static pressure",
                        "Read static cold, with the heater off, right after drawing water.",
                    )
                    .value(&show(street)),
                );
            }
        }
        if let Some(relief) = self.relief_at_gauge_pa
            && relief <= 0.0
        {
            faults.push(
                fatal(
                    "BW-X10",
                    "relief-at",
                    "a relief setting is above zero",
                    "a gauge pressure",
                    "Read the valve's tag.",
                )
                .value(&show(relief)),
            );
        }
        if self.heater_relief_gauge_pa <= 0.0 || self.relief_cap_gauge_pa <= 0.0 {
            faults.push(fatal(
                "BW-X10",
                "heater-relief",
                "a relief setting is above zero",
                "150 psi (1034 kPa) in most houses",
                "Read the valve's tag.",
            ));
        }
        if let Some(tank) = &self.existing {
            if tank.volume_l <= 0.0 {
                faults.push(
                    fatal(
                        "BW-X02",
                        "existing-tank",
                        "the tank's volume is not above zero",
                        "such as \"2 gal\"",
                        "Read the tank's label.",
                    )
                    .value(&show_volume(tank.volume_l, words)),
                );
            }
            if tank.precharge_gauge_pa < 0.0 {
                faults.push(
                    fatal(
                        "BW-X10",
                        "precharge",
                        "a precharge cannot be negative",
                        "zero or more, as the gauge at the air valve shows it with the tank isolated and drained",
                        "Read it again.",
                    )
                    .value(&show(tank.precharge_gauge_pa)),
                );
            } else if tank.precharge_gauge_pa > 150.0 * PA_PER_PSI {
                faults.push(
                    warning(
                        "BW-X11",
                        "precharge",
                        "is high for a domestic tank",
                        "40 to 80 psi (276 to 552 kPa)",
                        "Read it with the tank isolated and drained, in the unit you type.",
                    )
                    .value(&show(tank.precharge_gauge_pa)),
                );
            }
            if tank
                .max_acceptance_l
                .is_some_and(|most| most <= 0.0 || most > tank.volume_l * 1.0005)
            {
                faults.push(fatal(
                    "BW-X02",
                    "max-acceptance",
                    "the water that a tank may accept lies between zero and its volume",
                    "the figure on the tank's label",
                    "Read the label again.",
                ));
            }
        }
    }

    fn check_rest(&self, faults: &mut Faults) {
        if !(-500.0..=6_000.0).contains(&self.elevation_m) {
            faults.push(
                fatal(
                    "BW-X14",
                    "elevation",
                    "no supplied building stands there",
                    "-1,600 to 20,000 ft (-500 to 6000 m)",
                    "Check feet against metres.",
                )
                .value(&show_length(self.elevation_m, self.words)),
            );
        }
        if !(-300.0..=300.0).contains(&self.tank_above_gauge_m) {
            faults.push(
                fatal(
                    "BW-X14",
                    "tank-height",
                    "is not within one building",
                    "within 1,000 ft (300 m) of the gauge",
                    "Check feet against metres.",
                )
                .value(&show_length(self.tank_above_gauge_m, self.words)),
            );
        }
        for (field, value) in [
            ("tank-temperature", self.tank_ambient_c),
            ("precharge-temperature", Some(self.precharge_set_c)),
        ] {
            if value.is_some_and(|celsius| !(-40.0..=100.0).contains(&celsius)) {
                faults.push(fatal(
                    "BW-X04",
                    field,
                    "no tank stands in such a place",
                    "-40 to 212 °F (-40 to 100 °C)",
                    "Check °F against °C.",
                ));
            }
        }
        if !(self.efficiency > 0.0 && self.efficiency <= 1.0) {
            let remedy = if self.efficiency > 1.0 && self.efficiency <= 100.0 {
                format!("For a percentage write \"{} %\".", self.efficiency)
            } else {
                "Leave it out to take 1, which is the cautious side.".to_string()
            };
            faults.push(
                fatal(
                    "BW-X15",
                    "efficiency",
                    "an efficiency lies above 0 and at most at 1",
                    "0.76 to 0.98, or 76 % to 98 %",
                    &remedy,
                )
                .value(&format!("{}", self.efficiency)),
            );
        }
        if let Some(input) = self.heat_input_w
            && input <= 0.0
        {
            faults.push(
                fatal(
                    "BW-X15",
                    "heat-input",
                    "a heat input is above zero",
                    "such as \"40000 Btu/h\"",
                    "Read the rating plate.",
                )
                .value(&show_power(input, self.words)),
            );
        }
        if self.daily_draw_l.is_some_and(|draw| draw < 0.0) {
            faults.push(fatal(
                "BW-X02",
                "daily-draw",
                "a volume cannot be negative",
                "such as \"64 gal\"",
                "Read it again.",
            ));
        }
        if self.room_for_tank_l.is_some_and(|room| room < 0.0) {
            faults.push(fatal(
                "BW-X02",
                "room-for-tank",
                "a volume cannot be negative",
                "zero or more",
                "Read it again.",
            ));
        }
    }
}

fn other(words: UnitSystem) -> UnitSystem {
    match words {
        UnitSystem::Us => UnitSystem::Si,
        UnitSystem::Si => UnitSystem::Us,
    }
}

fn fatal(code: &'static str, field: &str, what: impl Into<String>, expected: &str, remedy: &str) -> Fault {
    Fault::new(code, Severity::Fatal, what)
        .column(field)
        .expected(expected)
        .remedy(remedy)
}

fn warning(code: &'static str, field: &str, what: impl Into<String>, expected: &str, remedy: &str) -> Fault {
    Fault::new(code, Severity::Warning, what)
        .column(field)
        .expected(expected)
        .remedy(remedy)
}
