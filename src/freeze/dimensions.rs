//! Generic dimensions by type and size.
//!
//! Rounded bands of the trade that span light modern and heavy older designs \[assembly-dimensions\];
//! the middle of each band is the default, a config file overrides it.
//!
//! Numbers without a tag of their own: middles of the bands of the trade \[assembly-dimensions\]; the shares of breadth and area are judgement.

use super::config::FreezeConfig;
use crate::inventory::{DeviceType, NominalSize};
use crate::units::{KG_PER_LB, L_PER_US_GAL, M_PER_IN};

/// Water density used to turn tabulated volumes into mass, kg/L.
const KG_PER_L: f64 = 0.999_84;

/// Dimensions of one assembly, shutoffs included, risers not.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Dimensions {
    /// Face to face with both shutoffs, m.
    pub face_to_face_m: f64,
    /// Water in body and shutoffs, kg.
    pub water_kg: f64,
    /// Dry mass with shutoffs, kg.
    pub metal_kg: f64,
    /// Outside area of body, shutoffs, handles, cocks and bonnets, m².
    pub outside_area_m2: f64,
    /// Inside diameter of the pipe, m.
    pub bore_m: f64,
    /// Whether the body is iron with gate valves (above 2 in) and not bronze with ball valves.
    pub large: bool,
}

/// Row of a table: nominal inches, length in, water gal, metal lb, each the middle of its band.
type Row = (f64, f64, f64, f64);

const RP: &[Row] = &[
    (0.5, 10.5, 0.02, 5.5),
    (0.75, 13.0, 0.05, 9.5),
    (1.0, 15.0, 0.095, 11.5),
    (1.25, 18.0, 0.17, 20.0),
    (1.5, 19.0, 0.25, 23.0),
    (2.0, 21.5, 0.5, 33.5),
    (2.5, 37.0, 1.35, 170.0),
    (3.0, 39.0, 2.2, 185.0),
    (4.0, 47.0, 4.5, 320.0),
    (6.0, 58.0, 12.5, 550.0),
    (8.0, 67.0, 25.0, 975.0),
    (10.0, 79.0, 47.0, 1550.0),
];

const DC: &[Row] = &[
    (0.5, 9.0, 0.016, 4.0),
    (0.75, 11.0, 0.04, 6.5),
    (1.0, 13.0, 0.08, 8.5),
    (1.25, 15.0, 0.145, 14.0),
    (1.5, 16.5, 0.215, 16.5),
    (2.0, 18.5, 0.425, 24.0),
    (2.5, 35.0, 1.25, 155.0),
    (3.0, 36.0, 2.0, 170.0),
    (4.0, 42.5, 4.15, 290.0),
    (6.0, 53.5, 11.5, 500.0),
    (8.0, 62.0, 23.5, 870.0),
    (10.0, 74.0, 44.0, 1410.0),
];

const PVB: &[Row] = &[
    (0.5, 6.0, 0.01, 3.0),
    (0.75, 7.0, 0.022, 3.75),
    (1.0, 8.0, 0.045, 4.5),
    (1.25, 10.0, 0.085, 9.0),
    (1.5, 10.5, 0.13, 10.0),
    (2.0, 11.5, 0.245, 14.5),
];

const SVB: &[Row] = &[
    (0.375, 5.0, 0.005, 1.5),
    (0.5, 6.0, 0.01, 2.25),
    (0.75, 7.0, 0.025, 3.75),
    (1.0, 8.5, 0.05, 6.0),
];

const AVB: &[Row] = &[
    (0.5, 2.5, 0.004, 0.5),
    (0.75, 3.5, 0.008, 1.0),
    (1.0, 4.5, 0.015, 1.8),
    (2.0, 8.0, 0.05, 8.0),
];

/// The generic dimensions, overridden where the config says so.
///
/// A size that the table of the type lacks is interpolated in the logarithm of its nominal size, and
/// beyond the ends scaled with the square of the diameter.
pub fn dimensions(device: DeviceType, size: NominalSize, config: &FreezeConfig) -> Dimensions {
    let inches = size.inches();
    let table = match device {
        DeviceType::Rp | DeviceType::Rpda => RP,
        DeviceType::Dc | DeviceType::Dcda => DC,
        DeviceType::Pvb => PVB,
        DeviceType::Svb => SVB,
        DeviceType::Avb => AVB,
    };
    let (length_in, water_gal, metal_lb) = row_at(table, inches);
    let bore_in = bore_in(inches);
    let face_to_face_m = length_in * M_PER_IN;
    let bore_m = bore_in * M_PER_IN;
    // Estimate of the trade: π × (1.6 to 2.4 × bore) × length × 1.4; the wide end for small castings.
    let breadth = (2.4 - 0.35 * bore_in.ln()).clamp(1.6, 2.4);
    let mut dims = Dimensions {
        face_to_face_m,
        water_kg: water_gal * L_PER_US_GAL * KG_PER_L,
        metal_kg: metal_lb * KG_PER_LB,
        outside_area_m2: std::f64::consts::PI * breadth * bore_m * face_to_face_m * 1.4,
        bore_m,
        large: inches > 2.0,
    };
    if let Some(own) = config.dimensions.get(&format!("{} {}", device.word(), size.word())) {
        dims.face_to_face_m = own.face_to_face_m.unwrap_or(dims.face_to_face_m);
        dims.water_kg = own.water_kg.unwrap_or(dims.water_kg);
        dims.metal_kg = own.metal_kg.unwrap_or(dims.metal_kg);
        dims.outside_area_m2 = own.outside_area_m2.unwrap_or(dims.outside_area_m2);
    }
    dims
}

/// Inside diameter of the trade's pipe of this nominal size, inches \[assembly-dimensions\].
fn bore_in(inches: f64) -> f64 {
    const BORE: &[(f64, f64)] = &[
        (0.375, 0.430),
        (0.5, 0.545),
        (0.75, 0.785),
        (1.0, 1.025),
        (1.25, 1.265),
        (1.5, 1.505),
        (2.0, 1.985),
        (2.5, 2.47),
        (3.0, 3.07),
        (4.0, 4.03),
        (6.0, 6.07),
        (8.0, 7.98),
        (10.0, 10.0),
    ];
    BORE.iter().find(|row| row.0 >= inches).map_or(inches, |row| row.1)
}

fn row_at(table: &[Row], inches: f64) -> (f64, f64, f64) {
    let scaled = |row: &Row| {
        let ratio = inches / row.0;
        (row.1 * ratio, row.2 * ratio * ratio, row.3 * ratio * ratio)
    };
    match table.iter().position(|row| row.0 >= inches) {
        Some(0) => scaled(&table[0]),
        None => table.last().map_or((12.0, 0.1, 10.0), scaled),
        Some(at) => {
            let (lo, hi) = (&table[at - 1], &table[at]);
            let t = (inches / lo.0).ln() / (hi.0 / lo.0).ln();
            let between = |a: f64, b: f64| a * (b / a).powf(t);
            (between(lo.1, hi.1), between(lo.2, hi.2), between(lo.3, hi.3))
        }
    }
}
