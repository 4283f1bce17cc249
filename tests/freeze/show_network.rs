//! What `show --network` publishes is enough to integrate the network again with another method.
#![allow(clippy::unwrap_used, clippy::panic)]

use assert_cmd::Command;
use ode_solvers::{DVector, Rk4, System};
use serde_json::Value;
use std::collections::BTreeMap;
use std::fmt::Write;

/// Enthalpy of fusion and specific heats as handbooks have them, J/kg and J/(kg·K); typed here and not taken from the program.
const LATENT_J_KG: f64 = 333_550.0;
const WATER_J_KGK: f64 = 4217.6;
const ICE_J_KGK: f64 = 2100.0;

/// One step of the published document as a set of ordinary differential equations.
struct Published<'a> {
    parts: &'a [Value],
    at: &'a BTreeMap<&'a str, usize>,
    step: &'a Value,
}

fn number(value: &Value, key: &str) -> f64 {
    value[key].as_f64().unwrap_or_else(|| panic!("{key} in {value}"))
}

fn name<'v>(value: &'v Value, key: &str) -> &'v str {
    value[key].as_str().unwrap()
}

/// Temperature, °C, and ice fraction of a part from its enthalpy, J over water at 0 °C.
fn state(part: &Value, enthalpy_j: f64) -> (f64, f64) {
    let (water, metal) = (number(part, "water_kg"), number(part, "metal_j_per_k"));
    let frozen_j = -LATENT_J_KG * water;
    if enthalpy_j >= 0.0 {
        (enthalpy_j / (metal + WATER_J_KGK * water), 0.0)
    } else if enthalpy_j > frozen_j {
        (0.0, enthalpy_j / frozen_j)
    } else {
        ((enthalpy_j - frozen_j) / (metal + ICE_J_KGK * water), 1.0)
    }
}

impl System<f64, DVector<f64>> for Published<'_> {
    fn system(&self, _t: f64, h: &DVector<f64>, dh: &mut DVector<f64>) {
        let t: Vec<f64> = self
            .parts
            .iter()
            .enumerate()
            .map(|(i, part)| state(part, h[i]).0)
            .collect();
        for (i, (part, now)) in self
            .parts
            .iter()
            .zip(self.step["parts"].as_array().unwrap())
            .enumerate()
        {
            let through = 1.0 / number(now, "film_w_m2k") + number(part, "insulation_m2k_per_w");
            dh[i] =
                number(part, "outside_area_m2") * (number(now, "outside_c") - t[i]) / through + number(now, "source_w");
        }
        for link in self.step["links"].as_array().unwrap() {
            let (a, b) = (self.at[name(link, "a")], self.at[name(link, "b")]);
            let flow = number(link, "conductance_w_per_k") * (t[a] - t[b]);
            dh[a] -= flow;
            dh[b] += flow;
        }
        for link in self.step["ground"].as_array().unwrap() {
            let part = self.at[name(link, "part")];
            dh[part] += number(link, "conductance_w_per_k") * (number(link, "temperature_c") - t[part]);
        }
    }
}

/// Two cold nights, 5 mph, little cloud.
fn week() -> String {
    let start: chrono::DateTime<chrono::Utc> = "2031-01-14T12:00:00Z".parse().unwrap();
    let mut text = String::from("time,air_temp_f,wind_mph,dew_point_f,sky_cover_percent,kind\n");
    for h in 0..96_i64 {
        let x = h as f64;
        let air = 44.0 - 20.0 * (-((x - 52.0) / 22.0).powi(2)).exp() + 7.0 * ((x - 26.0) * 0.2618).sin();
        let time = (start + chrono::TimeDelta::hours(h)).to_rfc3339();
        writeln!(text, "{time},{air:.1},5,{:.1},20,forecast", air - 8.0).unwrap();
    }
    text
}

#[test]
fn another_method_gets_the_same_from_the_published_network() {
    // X-Val: the classical Runge-Kutta method (crate ode_solvers) in steps of 5 s, a tenth of the quickest part's time, with handbook
    // heats, on nothing but the document: water of each part within 0.1 K up to its first ice, first ice within 10 minutes, ice to 2 % throughout (the
    // document rounds the share of what draws bring to the step).
    let dir = tempfile::TempDir::new().unwrap();
    std::fs::write(dir.path().join("week.csv"), week()).unwrap();
    let list = "assembly_id,device_type,nominal_size_in,latitude,longitude,elevation_ft,service,placement,winter_use,wrap_r_us,heat_trace_w\n\
                A-1,PVB,1,31.5,-41.3,60,irrigation,open,idle,,\n\
                A-2,DC,2,31.5,-41.3,60,domestic,cover,idle,2,\n\
                A-3,RP,3/4,31.5,-41.3,60,domestic,open,idle,,15\n";
    std::fs::write(dir.path().join("list.csv"), list).unwrap();
    for id in ["A-1", "A-2", "A-3"] {
        let out = Command::cargo_bin("brimwater")
            .unwrap()
            .current_dir(dir.path())
            .args([
                "show",
                id,
                "--assemblies",
                "list.csv",
                "--series",
                "week.csv",
                "--network",
                "--format",
                "json",
            ])
            .args(["--now", "2031-01-14T12:00:00Z", "--members", "1"])
            .assert()
            .success();
        let document: Value = serde_json::from_slice(&out.get_output().stdout).unwrap();
        let network = &document["network"];
        let parts = network["parts"].as_array().unwrap();
        let steps = network["steps"].as_array().unwrap();
        let at: BTreeMap<&str, usize> = parts
            .iter()
            .enumerate()
            .map(|(i, part)| (name(part, "name"), i))
            .collect();
        assert_eq!(at.len(), parts.len(), "names of parts are their own");
        let time = |step: &Value| -> chrono::DateTime<chrono::Utc> { name(step, "time").parse().unwrap() };
        let mut h = DVector::from_iterator(
            parts.len(),
            parts
                .iter()
                .zip(steps[0]["parts"].as_array().unwrap())
                .map(|(part, now)| {
                    let c = number(now, "water_c");
                    assert_eq!(number(now, "ice_fraction"), 0.0, "{id}: starts as water");
                    c * (number(part, "metal_j_per_k") + WATER_J_KGK * number(part, "water_kg"))
                }),
        );
        let never = i64::MAX;
        let (mut theirs, mut ours) = (vec![never; parts.len()], vec![never; parts.len()]);
        let (mut worst_k, mut worst_ice) = (0.0_f64, 0.0_f64);
        for pair in steps.windows(2) {
            let (step, next) = (&pair[0], &pair[1]);
            let now_s = time(step).timestamp();
            for (i, (part, now)) in parts.iter().zip(step["parts"].as_array().unwrap()).enumerate() {
                let (c, ice) = state(part, h[i]);
                if ice > 0.0 && theirs[i] == never {
                    theirs[i] = now_s;
                }
                if number(now, "ice_fraction") > 0.0 && ours[i] == never {
                    ours[i] = now_s;
                }
                if theirs[i] == never && ours[i] == never {
                    worst_k = worst_k.max((c - number(now, "water_c")).abs());
                }
                worst_ice = worst_ice.max((ice - number(now, "ice_fraction")).abs());
            }
            let dt = (time(next) - time(step)).num_milliseconds() as f64 / 1000.0;
            let balance = Published { parts, at: &at, step };
            let mut solver = Rk4::new(balance, 0.0, h.clone(), dt, 5.0);
            solver.integrate().unwrap();
            h = solver.y_out().last().unwrap().clone();
        }
        let mut iced = 0;
        for (part, (a, b)) in parts.iter().zip(theirs.iter().zip(&ours)) {
            assert_eq!(*a == never, *b == never, "{id}: {}", name(part, "name"));
            if *a != never {
                iced += 1;
                assert!((a - b).abs() <= 600, "{id}: {} {a} {b}", name(part, "name"));
            }
        }
        println!(
            "{id}: {iced} of {} parts iced, {worst_k:.4} K, ice {worst_ice:.4}",
            parts.len()
        );
        assert!(iced > 0, "{id} freezes");
        assert!(worst_k < 0.1, "{id}: {worst_k} K");
        assert!(worst_ice < 0.02, "{id}: {worst_ice}");
    }
}
