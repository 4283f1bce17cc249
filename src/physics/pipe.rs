//! Dimensions of tube and pipe, and how much a wall gives under pressure.
//!
//! Numbers without a tag of their own: the tables of outside diameters and walls of the standard that the kind names (`[astm-b88]` for copper tube
//! and the others beside each kind); ends of the ranges that arguments are held to (judgement).

use super::materials::{self, Material};
use super::{OutOfRange, check};
use std::f64::consts::PI;

/// Families of tube and pipe.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum PipeKind {
    /// Copper water tube, type K `[astm-b88]`.
    CopperK,
    /// Copper water tube, type L `[astm-b88]`.
    CopperL,
    /// Copper water tube, type M `[astm-b88]`.
    CopperM,
    /// Steel pipe, schedule 40 `[asme-b36-10]`.
    Steel40,
    /// PVC pipe, schedule 40, least wall `[astm-d1785]`.
    Pvc40,
    /// Flanged or threaded ductile iron, special thickness class 53 `[awwa-c115]`.
    DuctileIron,
    /// Red brass pipe, regular weight `[astm-b43]`.
    Brass,
    /// CPVC tube of copper tube size, SDR 11, least wall `[astm-d2846]`.
    CpvcSdr11,
    /// PEX tube of copper tube size, SDR 9, least wall `[astm-f876]`.
    PexSdr9,
}

impl PipeKind {
    /// All families.
    pub const ALL: [PipeKind; 9] = [
        PipeKind::CopperK,
        PipeKind::CopperL,
        PipeKind::CopperM,
        PipeKind::Steel40,
        PipeKind::Pvc40,
        PipeKind::DuctileIron,
        PipeKind::Brass,
        PipeKind::CpvcSdr11,
        PipeKind::PexSdr9,
    ];

    /// What it is made of.
    pub fn material(self) -> Material {
        match self {
            PipeKind::CopperK | PipeKind::CopperL | PipeKind::CopperM => materials::COPPER,
            PipeKind::Steel40 => materials::STEEL,
            PipeKind::Pvc40 => materials::PVC,
            PipeKind::DuctileIron => materials::DUCTILE_IRON,
            PipeKind::Brass => materials::BRASS,
            PipeKind::CpvcSdr11 => materials::CPVC,
            PipeKind::PexSdr9 => materials::PEX,
        }
    }

    /// Nominal size, outside diameter and wall, all in inches, as the standards print them.
    fn table(self) -> &'static [(f64, f64, f64)] {
        match self {
            PipeKind::CopperK => &COPPER_K,
            PipeKind::CopperL => &COPPER_L,
            PipeKind::CopperM => &COPPER_M,
            PipeKind::Steel40 | PipeKind::Pvc40 => &SCHEDULE_40,
            PipeKind::DuctileIron => &DUCTILE_53,
            PipeKind::Brass => &BRASS_REGULAR,
            PipeKind::CpvcSdr11 => &CPVC_CTS,
            PipeKind::PexSdr9 => &PEX_CTS,
        }
    }

    /// Nominal sizes of the family, inches, rising.
    pub fn sizes_in(self) -> Vec<f64> {
        self.table().iter().map(|row| row.0).collect()
    }
}

#[rustfmt::skip]
const COPPER_K: [(f64, f64, f64); 16] = [
    (0.375, 0.500, 0.049), (0.5, 0.625, 0.049), (0.625, 0.750, 0.049), (0.75, 0.875, 0.065), (1.0, 1.125, 0.065),
    (1.25, 1.375, 0.065), (1.5, 1.625, 0.072), (2.0, 2.125, 0.083), (2.5, 2.625, 0.095), (3.0, 3.125, 0.109),
    (3.5, 3.625, 0.120), (4.0, 4.125, 0.134), (5.0, 5.125, 0.160), (6.0, 6.125, 0.192), (8.0, 8.125, 0.271),
    (10.0, 10.125, 0.338),
];
#[rustfmt::skip]
const COPPER_L: [(f64, f64, f64); 16] = [
    (0.375, 0.500, 0.035), (0.5, 0.625, 0.040), (0.625, 0.750, 0.042), (0.75, 0.875, 0.045), (1.0, 1.125, 0.050),
    (1.25, 1.375, 0.055), (1.5, 1.625, 0.060), (2.0, 2.125, 0.070), (2.5, 2.625, 0.080), (3.0, 3.125, 0.090),
    (3.5, 3.625, 0.100), (4.0, 4.125, 0.110), (5.0, 5.125, 0.125), (6.0, 6.125, 0.140), (8.0, 8.125, 0.200),
    (10.0, 10.125, 0.250),
];
#[rustfmt::skip]
const COPPER_M: [(f64, f64, f64); 15] = [
    (0.375, 0.500, 0.025), (0.5, 0.625, 0.028), (0.75, 0.875, 0.032), (1.0, 1.125, 0.035), (1.25, 1.375, 0.042),
    (1.5, 1.625, 0.049), (2.0, 2.125, 0.058), (2.5, 2.625, 0.065), (3.0, 3.125, 0.072), (3.5, 3.625, 0.083),
    (4.0, 4.125, 0.095), (5.0, 5.125, 0.109), (6.0, 6.125, 0.122), (8.0, 8.125, 0.170), (10.0, 10.125, 0.212),
];
#[rustfmt::skip]
const SCHEDULE_40: [(f64, f64, f64); 14] = [
    (0.375, 0.675, 0.091), (0.5, 0.840, 0.109), (0.75, 1.050, 0.113), (1.0, 1.315, 0.133), (1.25, 1.660, 0.140),
    (1.5, 1.900, 0.145), (2.0, 2.375, 0.154), (2.5, 2.875, 0.203), (3.0, 3.500, 0.216), (3.5, 4.000, 0.226),
    (4.0, 4.500, 0.237), (6.0, 6.625, 0.280), (8.0, 8.625, 0.322), (10.0, 10.750, 0.365),
];
const DUCTILE_53: [(f64, f64, f64); 5] = [
    (3.0, 3.96, 0.31),
    (4.0, 4.80, 0.32),
    (6.0, 6.90, 0.34),
    (8.0, 9.05, 0.36),
    (10.0, 11.10, 0.38),
];
#[rustfmt::skip]
const BRASS_REGULAR: [(f64, f64, f64); 13] = [
    (0.375, 0.675, 0.090), (0.5, 0.840, 0.107), (0.75, 1.050, 0.114), (1.0, 1.315, 0.126), (1.25, 1.660, 0.146),
    (1.5, 1.900, 0.150), (2.0, 2.375, 0.156), (2.5, 2.875, 0.187), (3.0, 3.500, 0.219), (4.0, 4.500, 0.250),
    (6.0, 6.625, 0.250), (8.0, 8.625, 0.312), (10.0, 10.750, 0.365),
];
const CPVC_CTS: [(f64, f64, f64); 6] = [
    (0.5, 0.625, 0.068),
    (0.75, 0.875, 0.080),
    (1.0, 1.125, 0.102),
    (1.25, 1.375, 0.125),
    (1.5, 1.625, 0.148),
    (2.0, 2.125, 0.193),
];
#[rustfmt::skip]
const PEX_CTS: [(f64, f64, f64); 8] = [
    (0.375, 0.500, 0.070), (0.5, 0.625, 0.070), (0.625, 0.750, 0.083), (0.75, 0.875, 0.097), (1.0, 1.125, 0.125),
    (1.25, 1.375, 0.153), (1.5, 1.625, 0.181), (2.0, 2.125, 0.236),
];

/// A tube or pipe of known dimensions.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pipe {
    /// Outside diameter, m.
    pub od_m: f64,
    /// Inside diameter, m.
    pub id_m: f64,
    /// What it is made of.
    pub material: Material,
}

impl Pipe {
    /// Wall thickness, m.
    pub fn wall_m(&self) -> f64 {
        0.5 * (self.od_m - self.id_m)
    }

    /// Area of the bore, m², which is also the water per length, m³/m.
    pub fn bore_m2(&self) -> f64 {
        0.25 * PI * self.id_m * self.id_m
    }

    /// Area of the wall's cross-section, m², which conducts along the pipe.
    pub fn wall_m2(&self) -> f64 {
        0.25 * PI * (self.od_m * self.od_m - self.id_m * self.id_m)
    }

    /// Heat capacity of the wall per length, J/(m·K).
    pub fn wall_j_per_mk(&self) -> f64 {
        self.wall_m2() * self.material.density_kg_m3 * self.material.specific_heat_j_kgk
    }
}

/// The tube or pipe of a family at a nominal size in inches, if the family has the size.
pub fn pipe(kind: PipeKind, nominal_in: f64) -> Option<Pipe> {
    const M_PER_IN: f64 = crate::units::M_PER_IN;
    let &(_, od_in, wall_in) = kind.table().iter().find(|row| (row.0 - nominal_in).abs() < 1.0e-6)?;
    Some(Pipe {
        od_m: od_in * M_PER_IN,
        id_m: (od_in - 2.0 * wall_in) * M_PER_IN,
        material: kind.material(),
    })
}

/// How a wall is held while pressure stretches it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum WallForm {
    /// Thin pipe with closed ends that pull on it: (D/(E·t))·(5/4 − ν) `[water-hammer-texts]`.
    ThinClosed,
    /// Thin pipe that cannot stretch lengthwise: (D/(E·t))·(1 − ν²) `[water-hammer-texts]`.
    ThinAnchored,
    /// Thin pipe free lengthwise, with expansion joints: D/(E·t) `[water-hammer-texts]`.
    ThinFree,
    /// Thin sphere: (3·D/(4·E·t))·(1 − ν) `[roark]`.
    ThinSphere,
    /// Closed ends, any wall, by Lamé: [2(1+ν)K² + 3(1−2ν)]/[E(K²−1)] with K the ratio of diameters `[roark]`.
    ThickClosed,
}

/// Relative growth of the inside volume per pressure, 1/Pa.
///
/// Diameters `id_m` and `od_m` (m), Young's modulus `youngs_pa` (Pa), `poisson` (0 to 0.5). The thin forms take the inside
/// diameter; use [`WallForm::ThickClosed`] where the wall is over a twentieth of the diameter.
///
/// # Errors
/// [`OutOfRange`] for a wall of no thickness or a property outside the physical.
pub fn compliance_per_pa(
    form: WallForm,
    id_m: f64,
    od_m: f64,
    youngs_pa: f64,
    poisson: f64,
) -> Result<f64, OutOfRange> {
    let id = check("inside diameter", "m", id_m, 1.0e-4, 100.0)?;
    let od = check("outside diameter", "m", od_m, id * (1.0 + 1.0e-6), id * 100.0)?;
    let e = check("Young's modulus", "Pa", youngs_pa, 1.0e6, 1.0e13)?;
    let nu = check("Poisson's ratio", "", poisson, 0.0, 0.5)?;
    let hoop = id / (e * 0.5 * (od - id));
    Ok(match form {
        WallForm::ThinClosed => hoop * (1.25 - nu),
        WallForm::ThinAnchored => hoop * (1.0 - nu * nu),
        WallForm::ThinFree => hoop,
        WallForm::ThinSphere => 0.75 * hoop * (1.0 - nu),
        WallForm::ThickClosed => {
            let k2 = (od / id) * (od / id);
            (2.0 * (1.0 + nu) * k2 + 3.0 * (1.0 - 2.0 * nu)) / (e * (k2 - 1.0))
        }
    })
}
