//! An assembly as a chain of parts between two ground anchors, with trim hanging on it.
//!
//! ```text
//! ground ─ inlet riser ×3 ─ first shutoff ─ body between checks ─ body after checks ─ second shutoff ─ outlet riser ×3 ─ ground
//!                                │                  │
//!                             bypass         test cocks, relief valve or bonnet
//! ```
//!
//! Parts of the chain come first in flow order; trim follows, each piece hanging on one part.
//!
//! Numbers without a tag of their own: shares of a body and masses of its trim, taken apart by hand from ordinary designs (judgement).

use super::config::FreezeConfig;
use super::dimensions::{Dimensions, dimensions};
use crate::inventory::{Assembly, DeviceType, NominalSize, RiserMaterial};
use crate::physics::materials::{self, Material};
use crate::physics::pipe::{Pipe, PipeKind, pipe};
use crate::physics::water;
use std::f64::consts::PI;

/// Segments of each riser.
pub const RISER_SEGMENTS: usize = 3;
/// Depth of the main's water below grade that a riser can mix with, m (judgement).
pub const RISER_FOOT_M: f64 = 0.6;
/// Heat passed from a buried pipe to the soil around it, W per metre and kelvin (2πk/ln(2z/r) with
/// k 1.2 W/mK, z 0.3 m, r 15 mm; conduction shape factor \[incropera\]).
const SOIL_W_PER_MK: f64 = 2.0;
/// Relative density deficit per squared kelvin from the density maximum, 1/K² (fits 0 to 10 °C to 4 %; test beside it).
pub const DENSITY_CURVE_PER_K2: f64 = 8.0e-6;

/// What a part is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum PartKind {
    /// Segment of the riser on the supply side.
    InletRiser,
    /// Shutoff valve on the supply side.
    FirstShutoff,
    /// Body between the checks; of a vacuum breaker the body under the air inlet.
    BodyBetweenChecks,
    /// Body after the second check.
    BodyAfterChecks,
    /// Shutoff valve on the building side.
    SecondShutoff,
    /// Segment of the riser on the building side.
    OutletRiser,
    /// Test cocks.
    TestCocks,
    /// Relief valve of a reduced pressure assembly.
    ReliefValve,
    /// Bonnet with poppet of a vacuum breaker.
    Bonnet,
    /// Metered bypass of a detector assembly.
    Bypass,
    /// A plain pipe (`cooldown`).
    Pipe,
}

/// One part.
#[derive(Debug, Clone, PartialEq)]
pub struct Part {
    /// Name, such as `inlet riser 1` (counted from the ground).
    pub name: &'static str,
    /// What it is.
    pub kind: PartKind,
    /// Water held, kg.
    pub water_kg: f64,
    /// Heat capacity of the metal, J/K.
    pub metal_j_per_k: f64,
    /// Outside area, m².
    pub outside_area_m2: f64,
    /// Diameter that the film sees, m.
    pub outside_diameter_m: f64,
    /// Resistance of the insulation, m²K/W of outside area.
    pub insulation_m2k_per_w: f64,
    /// Diameter of the water, m: ice grows inward from it.
    pub bore_m: f64,
    /// Height of its centre above grade, m.
    pub height_m: f64,
}

impl PartKind {
    /// Resistance that a wrap of `wrap_m2k_per_w` puts before this part, m²K/W. A wrap as it hangs leaves the port of a relief valve and the
    /// air inlet of a vacuum breaker free, as it must: the one place for the wrap that is listed and the one that is advised.
    pub fn wrapped(self, wrap_m2k_per_w: f64, config: &FreezeConfig) -> f64 {
        match self {
            PartKind::ReliefValve | PartKind::Bonnet => config.wrap_over_ports * wrap_m2k_per_w,
            _ => wrap_m2k_per_w,
        }
    }
}

/// A link along which heat passes between two parts.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Link {
    /// Part nearer the supply, or the part of the chain that trim hangs on.
    pub a: usize,
    /// The other part.
    pub b: usize,
    /// Conduction through metal and still water, W/K.
    pub conductance_w_per_k: f64,
    /// Mixing in a riser: W/K per kelvin of `√(δ)`, where δ is the difference of squared distances from the
    /// density maximum, lower part minus upper part, K²; 0 where nothing mixes.
    pub mixing_w_per_k2: f64,
    /// Whether `a` is the lower of the two.
    pub a_is_lower: bool,
}

/// A link to the ground.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ground {
    /// The part.
    pub part: usize,
    /// Conduction, W/K.
    pub conductance_w_per_k: f64,
    /// Mixing coefficient as in [`Link`].
    pub mixing_w_per_k2: f64,
    /// Depth whose temperature it works against, m.
    pub depth_m: f64,
}

/// The whole network.
#[derive(Debug, Clone, PartialEq)]
pub struct Network {
    /// Parts: the chain in flow order, then trim.
    pub parts: Vec<Part>,
    /// How many parts the chain has.
    pub chain: usize,
    /// Links: between neighbours of the chain in order (`chain − 1` of them), then one for each piece of trim in order.
    pub links: Vec<Link>,
    /// Links to the ground.
    pub ground: Vec<Ground>,
    /// First part of the chain that the first check separates from the main.
    pub first_checked: usize,
    /// Part of the chain at which a drip device draws.
    pub drip_at: usize,
    /// Index of the relief valve or bonnet that can vent the body, if any.
    pub vent: Option<usize>,
    /// Length of pipe and assembly above grade, m, for heat-trace figures.
    pub length_m: f64,
    /// Footprint of a cover over it, m².
    pub footprint_m2: f64,
    /// Surface of a cover over it (roof and walls), m².
    pub cover_m2: f64,
}

/// Builds the network of an assembly.
pub fn network(assembly: &Assembly, config: &FreezeConfig) -> Network {
    let dims = dimensions(assembly.device_type, assembly.nominal_size, config);
    let riser = Riser::new(assembly, &dims);
    let mut build = Builder {
        parts: Vec::new(),
        wrap: assembly.wrap_m2k_per_w,
        height_m: assembly.riser_height_m,
    };

    build.riser(&riser, true);
    let shares: &[(&'static str, PartKind, f64)] = match assembly.device_type {
        DeviceType::Rp | DeviceType::Rpda | DeviceType::Dc | DeviceType::Dcda => &[
            ("first shutoff", PartKind::FirstShutoff, 0.22),
            ("body between checks", PartKind::BodyBetweenChecks, 0.33),
            ("body after checks", PartKind::BodyAfterChecks, 0.25),
            ("second shutoff", PartKind::SecondShutoff, 0.20),
        ],
        DeviceType::Pvb | DeviceType::Svb => &[
            ("first shutoff", PartKind::FirstShutoff, 0.25),
            ("body", PartKind::BodyBetweenChecks, 0.50),
            ("second shutoff", PartKind::SecondShutoff, 0.25),
        ],
        DeviceType::Avb => &[("body", PartKind::BodyBetweenChecks, 1.0)],
    };
    let trim = trim_of(assembly, &dims);
    let trim_area: f64 = trim.iter().filter(|t| t.of_body).map(|t| t.area_m2).sum();
    let trim_metal: f64 = trim.iter().filter(|t| t.of_body).map(|t| t.metal_kg).sum();
    let trim_water: f64 = trim.iter().filter(|t| t.of_body).map(|t| t.water_kg).sum();
    let body_start = build.parts.len();
    for (name, kind, share) in shares {
        build.parts.push(Part {
            name,
            kind: *kind,
            water_kg: share * (dims.water_kg - trim_water).max(0.2 * dims.water_kg),
            metal_j_per_k: share
                * (dims.metal_kg - trim_metal).max(0.2 * dims.metal_kg)
                * body_material(&dims).specific_heat_j_kgk,
            outside_area_m2: share * (dims.outside_area_m2 - trim_area).max(0.3 * dims.outside_area_m2),
            outside_diameter_m: 1.8 * dims.bore_m,
            insulation_m2k_per_w: build.wrap,
            bore_m: 1.3 * dims.bore_m,
            height_m: build.height_m,
        });
    }
    build.riser(&riser, false);
    let chain = build.parts.len();

    let first_body = build
        .parts
        .iter()
        .position(|p| p.kind == PartKind::BodyBetweenChecks)
        .unwrap_or(body_start);
    let drip_at = build
        .parts
        .iter()
        .position(|p| p.kind == PartKind::BodyAfterChecks)
        .unwrap_or(first_body);
    let mut links = Vec::with_capacity(chain + trim.len());
    let body_k = body_material(&dims).conductivity_w_mk;
    let body_section_m2 = dims.metal_kg / (body_material(&dims).density_kg_m3 * dims.face_to_face_m)
        + PI / 4.0 * dims.bore_m.powi(2) * water::K_0C_W_MK / body_k;
    for a in 0..chain - 1 {
        let (lo, hi) = (&build.parts[a], &build.parts[a + 1]);
        let is_riser = |kind| matches!(kind, PartKind::InletRiser | PartKind::OutletRiser);
        let length = |part: &Part| {
            if is_riser(part.kind) {
                riser.segment_m
            } else {
                dims.face_to_face_m * share_of(shares, part.kind)
            }
        };
        let path = |part: &Part| {
            if is_riser(part.kind) {
                riser.conduction_w_m
            } else {
                body_k * body_section_m2
            }
        };
        // Two halves in series.
        let resistance = 0.5 * length(lo) / path(lo) + 0.5 * length(hi) / path(hi);
        let mixes = is_riser(lo.kind) || is_riser(hi.kind);
        links.push(Link {
            a,
            b: a + 1,
            conductance_w_per_k: 1.0 / resistance,
            mixing_w_per_k2: if mixes {
                riser.mixing(config.mixing, 0.5 * (length(lo) + length(hi)).max(riser.segment_m))
            } else {
                0.0
            },
            a_is_lower: a < body_start,
        });
    }
    for piece in &trim {
        let parent = build
            .parts
            .iter()
            .position(|p| p.kind == piece.on)
            .unwrap_or(first_body);
        links.push(Link {
            a: parent,
            b: build.parts.len(),
            conductance_w_per_k: piece.neck_w_per_k,
            mixing_w_per_k2: 0.0,
            a_is_lower: false,
        });
        build.parts.push(Part {
            name: piece.name,
            kind: piece.kind,
            water_kg: piece.water_kg,
            metal_j_per_k: piece.metal_kg * materials::BRONZE.specific_heat_j_kgk,
            outside_area_m2: piece.area_m2,
            outside_diameter_m: piece.diameter_m,
            insulation_m2k_per_w: piece.kind.wrapped(build.wrap, config),
            bore_m: piece.bore_m,
            height_m: build.height_m,
        });
    }
    let ground = [0, chain - 1]
        .into_iter()
        .flat_map(|part| riser.ground(part, config))
        .collect();
    let vent = build
        .parts
        .iter()
        .position(|p| matches!(p.kind, PartKind::ReliefValve | PartKind::Bonnet));
    let (length, breadth, height) = (
        dims.face_to_face_m + 0.3,
        6.0 * dims.bore_m + 0.3,
        build.height_m + 3.0 * dims.bore_m + 0.15,
    );
    Network {
        parts: build.parts,
        chain,
        links,
        ground,
        first_checked: first_body,
        drip_at,
        vent,
        length_m: dims.face_to_face_m + 2.0 * assembly.riser_height_m,
        footprint_m2: length * breadth,
        cover_m2: length * breadth + 2.0 * height * (length + breadth),
    }
}

fn share_of(shares: &[(&'static str, PartKind, f64)], kind: PartKind) -> f64 {
    shares.iter().find(|s| s.1 == kind).map_or(0.25, |s| s.2)
}

/// The metal of an assembly's body.
pub fn body_metal(device: DeviceType, size: NominalSize, config: &FreezeConfig) -> &'static Material {
    body_material(&dimensions(device, size, config))
}

fn body_material(dims: &Dimensions) -> &'static Material {
    if dims.large {
        &materials::DUCTILE_IRON
    } else {
        &materials::BRONZE
    }
}

struct Builder {
    parts: Vec<Part>,
    wrap: f64,
    height_m: f64,
}

impl Builder {
    fn riser(&mut self, riser: &Riser, inlet: bool) {
        const INLET: [&str; RISER_SEGMENTS] = ["inlet riser 1", "inlet riser 2", "inlet riser 3"];
        const OUTLET: [&str; RISER_SEGMENTS] = ["outlet riser 1", "outlet riser 2", "outlet riser 3"];
        for at in 0..RISER_SEGMENTS {
            // Both are counted from the ground; the outlet comes down, so its top segment comes first.
            let from_ground = if inlet { at } else { RISER_SEGMENTS - 1 - at };
            let l = riser.segment_m;
            self.parts.push(Part {
                name: if inlet { INLET[from_ground] } else { OUTLET[from_ground] },
                kind: if inlet {
                    PartKind::InletRiser
                } else {
                    PartKind::OutletRiser
                },
                water_kg: PI / 4.0 * riser.pipe.id_m.powi(2) * l * water::DENSITY_0C_KG_M3,
                metal_j_per_k: riser.wall_m2() * l * riser.material.density_kg_m3 * riser.material.specific_heat_j_kgk,
                outside_area_m2: PI * riser.pipe.od_m * l,
                outside_diameter_m: riser.pipe.od_m,
                insulation_m2k_per_w: self.wrap,
                bore_m: riser.pipe.id_m,
                height_m: (from_ground as f64 + 0.5) * l,
            });
        }
    }
}

/// One leg of the riser.
struct Riser {
    pipe: Pipe,
    material: &'static Material,
    segment_m: f64,
    /// Conduction along metal and still water, W·m/K.
    conduction_w_m: f64,
}

impl Riser {
    fn new(assembly: &Assembly, dims: &Dimensions) -> Self {
        let (kind, material) = match assembly.riser_material {
            RiserMaterial::Copper => (PipeKind::CopperL, &materials::COPPER),
            RiserMaterial::Steel => (PipeKind::Steel40, &materials::STEEL),
            RiserMaterial::DuctileIron => (PipeKind::DuctileIron, &materials::DUCTILE_IRON),
            RiserMaterial::Pvc => (PipeKind::Pvc40, &materials::PVC),
            RiserMaterial::Brass => (PipeKind::Brass, &materials::BRASS),
        };
        // A size that the material is not made in takes steel pipe dimensions of that size.
        let inches = assembly.nominal_size.inches();
        let pipe = pipe(kind, inches)
            .or_else(|| pipe(PipeKind::Steel40, inches))
            .unwrap_or(Pipe {
                od_m: 1.2 * dims.bore_m,
                id_m: dims.bore_m,
                material: materials::STEEL,
            });
        let segment_m = assembly.riser_height_m.max(0.05) / RISER_SEGMENTS as f64;
        let wall_m2 = PI / 4.0 * (pipe.od_m.powi(2) - pipe.id_m.powi(2));
        let bore_m2 = PI / 4.0 * pipe.id_m.powi(2);
        let conduction_w_m = wall_m2 * material.conductivity_w_mk + bore_m2 * water::K_0C_W_MK;
        Self {
            pipe,
            material,
            segment_m,
            conduction_w_m,
        }
    }

    fn wall_m2(&self) -> f64 {
        PI / 4.0 * (self.pipe.od_m.powi(2) - self.pipe.id_m.powi(2))
    }

    /// Exchange of lighter water below with heavier water above: a dispersion of `strength × D × w`
    /// with the exchange velocity w = √(g Δρ/ρ D) of the density step over one diameter (mixing-length
    /// form; the strength is judgement).
    fn mixing(&self, strength: f64, length_m: f64) -> f64 {
        let d = self.pipe.id_m;
        let w_per_k = (9.806_65 * DENSITY_CURVE_PER_K2 * d * d / length_m).sqrt();
        let bore_m2 = PI / 4.0 * d * d;
        strength * d * w_per_k * water::DENSITY_0C_KG_M3 * water::CP_0C_J_KGK * bore_m2 / length_m
    }

    fn ground(&self, part: usize, config: &FreezeConfig) -> [Ground; 2] {
        // Below grade the pipe is a fin in the soil: it reaches 1/m = √(kA/U) deep.
        let fin_m = (self.conduction_w_m / SOIL_W_PER_MK).sqrt();
        let foot_m = 0.5 * self.segment_m + RISER_FOOT_M;
        [
            Ground {
                part,
                conductance_w_per_k: self.conduction_w_m / (0.5 * self.segment_m + fin_m),
                mixing_w_per_k2: 0.0,
                depth_m: fin_m,
            },
            Ground {
                part,
                conductance_w_per_k: 0.0,
                mixing_w_per_k2: self.mixing(config.mixing, foot_m),
                depth_m: RISER_FOOT_M,
            },
        ]
    }
}

/// A piece of trim; estimates of the authors within the bands of the trade (judgement).
struct Trim {
    name: &'static str,
    kind: PartKind,
    on: PartKind,
    /// Whether its mass and area are counted in the assembly's own.
    of_body: bool,
    water_kg: f64,
    metal_kg: f64,
    area_m2: f64,
    diameter_m: f64,
    bore_m: f64,
    neck_w_per_k: f64,
}

fn trim_of(assembly: &Assembly, dims: &Dimensions) -> Vec<Trim> {
    let mut trim = Vec::new();
    let neck_k = materials::BRONZE.conductivity_w_mk;
    let cocks = match assembly.device_type {
        DeviceType::Rp | DeviceType::Rpda | DeviceType::Dc | DeviceType::Dcda => 4.0,
        DeviceType::Pvb | DeviceType::Svb => 2.0,
        DeviceType::Avb => 0.0,
    };
    if cocks > 0.0 {
        // A 1/4 in cock on small bodies, a 3/4 in cock on large ones.
        let (metal, water, area, d, bore) = if dims.large {
            (0.35, 0.008, 0.008, 0.027, 0.015)
        } else {
            (0.09, 0.0015, 0.003, 0.014, 0.006)
        };
        let neck = neck_k * PI / 4.0 * (d * d - bore * bore) / (1.5 * d);
        trim.push(Trim {
            name: "test cocks",
            kind: PartKind::TestCocks,
            on: PartKind::BodyBetweenChecks,
            of_body: true,
            water_kg: cocks * water,
            metal_kg: (cocks * metal).min(0.3 * dims.metal_kg),
            area_m2: (cocks * area).min(0.3 * dims.outside_area_m2),
            diameter_m: d,
            bore_m: bore,
            neck_w_per_k: cocks * neck,
        });
    }
    let hang = |name, kind, water_share: f64, metal_share: f64, area_share: f64, neck_d: f64| Trim {
        name,
        kind,
        on: PartKind::BodyBetweenChecks,
        of_body: true,
        water_kg: water_share * dims.water_kg,
        metal_kg: metal_share * dims.metal_kg,
        area_m2: area_share * dims.outside_area_m2,
        diameter_m: 1.2 * dims.bore_m,
        bore_m: 0.8 * dims.bore_m,
        // A wall a tenth of the neck's diameter thick, one diameter long.
        neck_w_per_k: neck_k * PI * neck_d * 0.1 * neck_d / neck_d,
    };
    match assembly.device_type {
        DeviceType::Rp | DeviceType::Rpda => {
            trim.push(hang(
                "relief valve",
                PartKind::ReliefValve,
                0.06,
                0.12,
                0.15,
                0.7 * dims.bore_m,
            ));
        }
        DeviceType::Pvb | DeviceType::Svb | DeviceType::Avb => {
            trim.push(hang("bonnet", PartKind::Bonnet, 0.18, 0.12, 0.25, 1.2 * dims.bore_m));
        }
        DeviceType::Dc | DeviceType::Dcda => {}
    }
    if matches!(assembly.device_type, DeviceType::Rpda | DeviceType::Dcda) {
        // A 3/4 in bypass with meter: 0.1 to 0.3 gal and 20 to 60 lb beside the body [assembly-dimensions].
        trim.push(Trim {
            name: "bypass",
            kind: PartKind::Bypass,
            on: PartKind::FirstShutoff,
            of_body: false,
            water_kg: 0.75,
            metal_kg: 15.0,
            area_m2: 0.25,
            diameter_m: 0.03,
            bore_m: 0.02,
            neck_w_per_k: neck_k * PI * 0.024 * 0.003 / 0.1,
        });
    }
    trim
}
