//! Speed of expansion: one answer, and a list of 100,000 systems on every core.
#![allow(missing_docs, clippy::unwrap_used, clippy::panic)]

use brimwater::expansion::{System, Told, assess, assess_without_sensitivity};
use brimwater::units::{L_PER_US_GAL, PA_PER_PSI, UnitSystem, c_from_f};
use rayon::prelude::*;
use std::fmt::Write;
use std::process::Command;

fn main() {
    divan::main();
}

fn system() -> System {
    System::new(40.0 * L_PER_US_GAL, c_from_f(50.0), c_from_f(120.0), 60.0 * PA_PER_PSI)
}

#[divan::bench]
fn one_system() {
    divan::black_box(assess_without_sensitivity(divan::black_box(&system())).unwrap());
}

#[divan::bench]
fn one_system_with_sensitivity() {
    divan::black_box(assess(divan::black_box(&system())).unwrap());
}

/// From text to answer in memory, without the reading and writing of files.
#[divan::bench(sample_count = 3)]
fn hundred_thousand_systems_in_memory() {
    let told = Told {
        heaters: vec!["40 gal".into()],
        cold: Some("50 F".into()),
        hot: Some("120 F".into()),
        static_pressure: Some("60 psi".into()),
        closed_by: vec!["backflow-assembly".into()],
        ..Told::default()
    };
    let feasible: usize = (0..100_000_usize)
        .into_par_iter()
        .map(|at| {
            let mut told = told.clone();
            told.heaters = vec![format!("{} gal", 30 + at % 90)];
            let system = told.read(UnitSystem::Us).unwrap();
            usize::from(assess_without_sensitivity(&system).unwrap().tank.feasible)
        })
        .sum();
    assert_eq!(divan::black_box(feasible), 100_000);
}

/// The whole command: 100,000 rows of CSV in, CSV out. The goal is 5 s on two cores.
#[divan::bench(sample_count = 3, sample_size = 1)]
fn hundred_thousand_systems_from_csv(bencher: divan::Bencher<'_, '_>) {
    let folder = tempfile::tempdir().unwrap();
    let list = folder.path().join("systems.csv");
    let mut text =
        String::from("system_id,heater_gal,cold_f,hot_f,static_psi,closed_by,existing_tank_gal,precharge_psi,pipes\n");
    for at in 0..100_000 {
        let _ = writeln!(
            text,
            "S{at},{},{},{},{},backflow-assembly,{},{},copper-L 3/4 in {} ft",
            30 + at % 90,
            40 + at % 21,
            120 + at % 31,
            45 + at % 40,
            if at % 3 == 0 { "2.1" } else { "" },
            if at % 3 == 0 { "40" } else { "" },
            20 + at % 80,
        );
    }
    std::fs::write(&list, text).unwrap();
    bencher.bench_local(|| {
        let out = Command::new(env!("CARGO_BIN_EXE_brimwater"))
            .args(["expansion", "--quiet", "--format", "csv", "--systems"])
            .arg(&list)
            .output()
            .unwrap();
        assert!(out.status.success());
        assert_eq!(out.stdout.iter().filter(|byte| **byte == b'\n').count(), 100_001);
    });
}
