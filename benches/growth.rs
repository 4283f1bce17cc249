//! How the time of a whole `plan` grows with assemblies, hours, members and cores. Writes `charts/growth.svg` and a table.
//!
//! `cargo bench --bench growth`. Takes some minutes, most of it for the last points.
#![allow(clippy::unwrap_used, missing_docs)]

use chrono::{DateTime, TimeDelta, Utc};
use plotters::prelude::*;
use std::fmt::Write;
use std::fs;
use std::path::Path;
use std::process::Command;
use std::time::Instant;

const PROGRAM: &str = env!("CARGO_BIN_EXE_brimwater");
const START: &str = "2027-01-18T06:00:00Z";

fn main() {
    // `cargo test` builds and runs benches too: nothing to measure there.
    if !std::env::args().any(|a| a == "--bench") {
        return;
    }
    let dir = tempfile::TempDir::new().unwrap();
    let dir = dir.path();
    for assemblies in [25_000, 50_000, 75_000, 100_000] {
        demo(dir, assemblies);
    }
    demo(dir, 1_500);
    for days in [7, 14, 21, 28] {
        cold_days(dir, days);
    }
    let panels = [
        (
            "assemblies, one cautious run",
            [25_000, 50_000, 75_000, 100_000].map(|n| (n as f64, plan(dir, n, 7, 1, 2))),
        ),
        (
            "hours of frost every night, 1,500 assemblies, 64 members",
            [7, 14, 21, 28].map(|days| (f64::from(days) * 24.0, plan(dir, 1_500, days, 64, 2))),
        ),
        (
            "members, 1,500 assemblies, a week",
            [64, 128, 192, 256].map(|m| (m as f64, plan(dir, 1_500, 7, m, 2))),
        ),
    ];
    let mut table = String::new();
    for (name, points) in &panels {
        writeln!(table, "{name}").unwrap();
        let (x0, y0) = points[0];
        for (x, y) in points {
            writeln!(
                table,
                "  {x:>9.0}  {y:>7.2} s  {:.2} of the first for {:.2}",
                y / y0,
                x / x0
            )
            .unwrap();
        }
    }
    let cores = [1, 2].map(|threads| plan(dir, 1_500, 7, 256, threads));
    writeln!(
        table,
        "cores\n  1  {:.2} s\n  2  {:.2} s, {:.2} times faster",
        cores[0],
        cores[1],
        cores[0] / cores[1]
    )
    .unwrap();
    print!("{table}");
    draw(&panels);
}

fn demo(dir: &Path, assemblies: usize) {
    let out = dir.join(assemblies.to_string());
    let done = Command::new(PROGRAM)
        .args(["demo", "--assemblies", &assemblies.to_string(), "--out"])
        .arg(&out)
        .output()
        .unwrap();
    assert!(done.status.success());
}

/// Nights at −5 °C and days at 3 °C at the stations of the demonstration.
fn cold_days(dir: &Path, days: u32) {
    let start: DateTime<Utc> = START.parse().unwrap();
    let mut text = String::from("station_id,time,air_temp_c,wind_m_s,dew_point_c,sky_cover_percent,kind\n");
    for station in ["PR-AIRFIELD", "PR-RIDGE", "PR-BAY"] {
        for hour in 0..days * 24 {
            let air = -1.0 + 4.0 * (f64::from(hour) * std::f64::consts::TAU / 24.0).sin();
            let time = (start + TimeDelta::hours(i64::from(hour))).to_rfc3339();
            writeln!(text, "{station},{time},{air:.2},2,{:.2},20,forecast", air - 4.0).unwrap();
        }
    }
    fs::write(dir.join(format!("days-{days}.csv")), text).unwrap();
}

/// Seconds of the whole process, the best of two.
fn plan(dir: &Path, assemblies: usize, days: u32, members: usize, threads: usize) -> f64 {
    let folder = dir.join(assemblies.to_string());
    let out = dir.join("plan");
    (0..2)
        .map(|_| {
            let begin = Instant::now();
            let done = Command::new(PROGRAM)
                .arg("plan")
                .arg("--assemblies")
                .arg(folder.join("assemblies.csv"))
                .arg("--stations")
                .arg(folder.join("stations.csv"))
                .arg("--config")
                .arg(folder.join("config.toml"))
                .arg("--series")
                .arg(dir.join(format!("days-{days}.csv")))
                .args(["--now", START, "--quiet", "--advice-cases", "0", "--out"])
                .arg(&out)
                .args(["--members", &members.to_string(), "--threads", &threads.to_string()])
                .output()
                .unwrap();
            assert!(
                done.status.code().is_some_and(|code| code < 2),
                "{}",
                String::from_utf8_lossy(&done.stderr)
            );
            begin.elapsed().as_secs_f64()
        })
        .fold(f64::INFINITY, f64::min)
}

fn draw(panels: &[(&str, [(f64, f64); 4])]) {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("charts/growth.svg");
    let root = SVGBackend::new(&path, (960, 300)).into_drawing_area();
    root.fill(&WHITE).unwrap();
    for (area, (name, points)) in root.split_evenly((1, panels.len())).iter().zip(panels) {
        let (top_x, top_y) = points
            .iter()
            .fold((0.0_f64, 0.0_f64), |top, p| (top.0.max(p.0), top.1.max(p.1)));
        let (what, rest) = name.split_once(", ").unwrap_or((name, ""));
        let mut chart = ChartBuilder::on(area)
            .caption(format!("{what}; {rest}"), ("sans-serif", 12))
            .margin(10)
            .x_label_area_size(32)
            .y_label_area_size(44)
            .build_cartesian_2d(0.0..top_x * 1.05, 0.0..top_y * 1.1)
            .unwrap();
        chart
            .configure_mesh()
            .light_line_style(TRANSPARENT)
            .x_labels(5)
            .y_labels(6)
            .x_label_formatter(&|x| format!("{x:.0}"))
            .y_label_formatter(&|y| format!("{y:.0}"))
            .x_desc(what.split(' ').next().unwrap_or_default())
            .y_desc("seconds")
            .draw()
            .unwrap();
        // The straight line through the first and the last point, and all points.
        let ends = [points[0], points[3]];
        chart
            .draw_series(LineSeries::new(ends, RGBColor(120, 120, 120).stroke_width(1)))
            .unwrap();
        chart
            .draw_series(points.iter().map(|p| Circle::new(*p, 4, RGBColor(0, 90, 160).filled())))
            .unwrap();
    }
    root.present().unwrap();
    println!("wrote {}", path.display());
}
