//! Which wrong reading would overturn the recommendation, and by how much.

use super::assessment::{Measure, measure_of};
use super::system::System;
use super::words::turn_sentence;
use crate::units::{PA_PER_PSI, UnitSystem, show_gauge, show_temperature, show_volume};
use serde::Serialize;

/// A reading, and the nearest other value of it that changes the recommendation.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Turn {
    /// Name of the reading, as the command line has it.
    pub reading: &'static str,
    /// The value told, SI: °C, kPa gauge or L.
    pub told: f64,
    /// The nearest value at which the recommendation changes, same unit.
    pub turns_at: f64,
    /// Unit of both.
    pub unit: &'static str,
    /// What it becomes.
    pub becomes: Measure,
    /// The same in words.
    pub sentence: String,
}

/// One reading that may be wrong: how to read and write it, and how far it may plausibly be off.
struct Reading {
    name: &'static str,
    unit: &'static str,
    told: f64,
    lo: f64,
    hi: f64,
    set: fn(&mut System, f64),
    show: fn(f64, UnitSystem) -> String,
    /// From the inner unit to that of the answer.
    scale: f64,
}

fn readings(system: &System) -> Vec<Reading> {
    let psi = PA_PER_PSI;
    let mut list = vec![
        Reading {
            name: "static",
            unit: "kPa",
            told: system.static_gauge_pa,
            lo: (system.static_gauge_pa - 30.0 * psi).max(10.0 * psi),
            hi: system.static_gauge_pa + 30.0 * psi,
            set: |s, v| s.static_gauge_pa = v,
            show: show_gauge,
            scale: 1e-3,
        },
        Reading {
            name: "cold",
            unit: "C",
            told: system.cold_c,
            lo: (system.cold_c - 15.0).max(0.0),
            hi: (system.cold_c + 15.0).min(system.hot_c),
            set: |s, v| s.cold_c = v,
            show: show_temperature,
            scale: 1.0,
        },
        Reading {
            name: "hot",
            unit: "C",
            told: system.hot_c,
            lo: (system.hot_c - 20.0).max(system.cold_c),
            hi: (system.hot_c + 25.0).min(system.heater_relief_c).max(system.hot_c),
            set: |s, v| s.hot_c = v,
            show: show_temperature,
            scale: 1.0,
        },
    ];
    if let [heater] = system.heaters.as_slice() {
        list.push(Reading {
            name: "heater",
            unit: "L",
            told: heater.volume_l,
            lo: 0.5 * heater.volume_l,
            hi: 2.0 * heater.volume_l,
            set: |s, v| {
                for heater in &mut s.heaters {
                    heater.volume_l = v;
                }
            },
            show: show_volume,
            scale: 1.0,
        });
    }
    if let Some(street) = system.street_gauge_pa {
        list.push(Reading {
            name: "street",
            unit: "kPa",
            told: street,
            lo: (street - 30.0 * psi).max(10.0 * psi),
            hi: street + 30.0 * psi,
            set: |s, v| s.street_gauge_pa = Some(v),
            show: show_gauge,
            scale: 1e-3,
        });
    }
    if let [tank] = system.existing.as_slice() {
        list.push(Reading {
            name: "precharge",
            unit: "kPa",
            told: tank.precharge_gauge_pa,
            lo: 0.0,
            hi: tank.precharge_gauge_pa + 40.0 * psi,
            set: |s, v| {
                for tank in &mut s.existing {
                    tank.precharge_gauge_pa = v;
                }
            },
            show: show_gauge,
            scale: 1e-3,
        });
        list.push(Reading {
            name: "existing-tank",
            unit: "L",
            told: tank.volume_l,
            lo: 0.4 * tank.volume_l,
            hi: 2.5 * tank.volume_l,
            set: |s, v| {
                for tank in &mut s.existing {
                    // A label misread scales the whole tank.
                    let share = v / tank.volume_l;
                    tank.max_acceptance_l = tank.max_acceptance_l.map(|most| most * share);
                    tank.volume_l = v;
                }
            },
            show: show_volume,
            scale: 1.0,
        });
    }
    list
}

/// The turning points of every reading, nearest first in share of the reading's plausible error.
///
/// Each reading is moved alone, in 24 steps to both ends of its plausible range, and the first change is then bisected.
pub fn turns(system: &System, measure: Measure) -> Vec<Turn> {
    const STEPS: u32 = 24;
    let mut found: Vec<(f64, Turn)> = Vec::new();
    for reading in readings(system) {
        let at = |value: f64| -> Option<Measure> {
            let mut moved = system.clone();
            (reading.set)(&mut moved, value);
            measure_of(&moved)
        };
        for end in [reading.lo, reading.hi] {
            let span = end - reading.told;
            if span.abs() < 1e-9 {
                continue;
            }
            let mut same = reading.told;
            for step in 1..=STEPS {
                let value = reading.told + span * f64::from(step) / f64::from(STEPS);
                match at(value) {
                    Some(now) if now == measure => same = value,
                    Some(_) => {
                        let (mut keep, mut turn) = (same, value);
                        for _ in 0..30 {
                            let mid = 0.5 * (keep + turn);
                            if at(mid) == Some(measure) {
                                keep = mid;
                            } else {
                                turn = mid;
                            }
                        }
                        if let Some(becomes) = at(turn) {
                            let words = system.words;
                            let sentence = turn_sentence(
                                reading.name,
                                &(reading.show)(turn, words),
                                &(reading.show)(reading.told, words),
                                becomes,
                                system.tongue(),
                            );
                            found.push((
                                ((turn - reading.told) / span).abs(),
                                Turn {
                                    reading: reading.name,
                                    told: reading.told * reading.scale,
                                    turns_at: turn * reading.scale,
                                    unit: reading.unit,
                                    becomes,
                                    sentence,
                                },
                            ));
                        }
                        break;
                    }
                    // Beyond what can be computed: look no further on this side.
                    None => break,
                }
            }
        }
    }
    found.sort_by(|a, b| a.0.total_cmp(&b.0));
    found.into_iter().map(|(_, turn)| turn).collect()
}
