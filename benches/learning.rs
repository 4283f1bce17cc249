//! Learning from records on the real kernel: how long the hindcast takes, and how often the 90 % interval holds a truth unlike the judgement.
//!
//! `cargo bench --bench learning`. One table, with the machine to be named beside it.
#![allow(clippy::unwrap_used, missing_docs)]

#[path = "../tests/support/taught/mod.rs"]
mod taught;

use brimwater::review::posterior::Prior;
use std::time::Instant;
use taught::{cases, covered, hanging, places, plain, programme, strengthened};

fn main() {
    // `cargo test` builds and runs benches too: nothing to measure there.
    if !std::env::args().any(|a| a == "--bench") {
        return;
    }
    let mut programme = programme();
    let all = places(&programme, 1, 0.0);
    println!("{} assemblies, all hours come", all.len());
    for members in [128, 256, 1024] {
        let start = Instant::now();
        plain(&programme, &all, members);
        let once = start.elapsed().as_secs_f64();
        let start = Instant::now();
        let found = hanging(&programme, &all, members);
        println!(
            "{members} members: one run {once:.1} s, {} cases at twenty temperatures {:.1} s",
            found.chance.len(),
            start.elapsed().as_secs_f64()
        );
    }
    let start = Instant::now();
    strengthened(&mut programme, 1, 0.0, 128);
    println!(
        "the same with 128 members at five strength factors: {:.1} s",
        start.elapsed().as_secs_f64()
    );
    let (mean_c, spread_k, warmest_c) = programme.loaded.config.ensemble.nucleation();
    let prior = Prior::about(mean_c, spread_k, warmest_c);
    let spells: Vec<_> = [0.0, 1.5, 3.0]
        .into_iter()
        .map(|shift_k| {
            let places = places(&programme, 4, shift_k);
            cases(&hanging(&programme, &places, 128), 128)
        })
        .collect();
    let start = Instant::now();
    // That of the back-test, that of `demo --winters`, two deviations off the prior, and the prior's own.
    for truth_c in [-6.3, -7.0, prior.mean_c] {
        let (share, mean) = covered(&spells, truth_c, &prior, 200);
        println!(
            "truth {truth_c} C, three spells of {}: held in {:.1} % of 200, mean of means {mean:.2} C",
            spells[0].len(),
            100.0 * share
        );
    }
    println!("{:.2} s a posterior", start.elapsed().as_secs_f64() / 600.0);
}
