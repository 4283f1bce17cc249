//! What is taken where the list is blank, which way each default leans, and whence it comes.
//!
//! Most lists say nothing of what decides freezing (60 to 90 % blank: common practice). So every
//! blank that the model or the ranking asks about gets a default here, and the assembly says so in
//! [`Assembly::assumed`](super::Assembly::assumed).

use super::assembly::{
    Assumption, DeviceType, NominalSize, Placement, RiserMaterial, Service, WindExposure, WinterUse,
};
use crate::units::M_PER_IN;
use std::borrow::Cow;

/// The default leans to calling somebody who need not have been called.
pub const CAUTIOUS: &str = "cautious";
/// The default is the middle of what is usual and may be wrong either way.
pub const NEUTRAL: &str = "neutral";

/// One default: the blank column, what is taken, which way it leans and whence it comes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Rule {
    /// Column by its interface name.
    pub field: &'static str,
    /// What is taken, in words.
    pub taken: &'static str,
    /// [`CAUTIOUS`] or [`NEUTRAL`].
    pub direction: &'static str,
    /// Identifier in [`crate::source::SOURCES`].
    pub source: &'static str,
}

/// Every default, for `check` and the documentation.
pub const RULES: &[Rule] = &[
    rule("elevation_ft", "the station's: no correction", NEUTRAL, "judgement"),
    rule("customer_class", "unknown", NEUTRAL, "judgement"),
    rule(
        "service",
        "unknown; fire for detector assemblies",
        CAUTIOUS,
        "trade-practice",
    ),
    rule("placement", "open: bare, above ground", CAUTIOUS, "judgement"),
    rule("wrap_r_us", "none", CAUTIOUS, "judgement"),
    rule(
        "riser_material",
        "copper to 2 in, ductile iron above",
        NEUTRAL,
        "trade-practice",
    ),
    rule(
        "riser_height_in",
        "middle of the usual height for type and size",
        NEUTRAL,
        "trade-practice",
    ),
    rule("wind_exposure", "partial", NEUTRAL, "judgement"),
    rule("freeze_drip", "no", CAUTIOUS, "judgement"),
    rule("heat_trace_w", "0", CAUTIOUS, "judgement"),
    rule(
        "winter_use",
        "in_use for domestic and process, idle for all others",
        CAUTIOUS,
        "judgement",
    ),
];

const fn rule(field: &'static str, taken: &'static str, direction: &'static str, source: &'static str) -> Rule {
    Rule {
        field,
        taken,
        direction,
        source,
    }
}

/// Fills blanks and keeps the list of what it took.
#[derive(Debug, Default)]
pub struct Filler {
    /// Blanks filled so far.
    pub assumed: Vec<Assumption>,
}

impl Filler {
    /// The value told, or the default, which is then listed.
    pub fn or<T>(
        &mut self,
        told: Option<T>,
        field: &'static str,
        direction: &'static str,
        default: (T, impl Into<Cow<'static, str>>),
    ) -> T {
        told.unwrap_or_else(|| {
            self.assumed.push(Assumption {
                field,
                used: default.1.into(),
                direction,
            });
            default.0
        })
    }

    /// Service: detector assemblies stand on fire lines (`[trade-practice]`), and a fire line must never be taken for one that may
    /// be shut; the others stay unknown.
    pub fn service(&mut self, told: Option<Service>, device: DeviceType) -> Service {
        let default = match device {
            DeviceType::Rpda | DeviceType::Dcda => Service::Fire,
            _ => Service::Unknown,
        };
        self.or(told, "service", CAUTIOUS, (default, default.word()))
    }

    /// Placement: bare, the worst that can be.
    pub fn placement(&mut self, told: Option<Placement>) -> Placement {
        self.or(told, "placement", CAUTIOUS, (Placement::Open, "open"))
    }

    /// Riser material by size (`[trade-practice]`, section of the RP table: copper, brass or PVC to 1 in, copper or galvanized to
    /// 2 in, ductile iron or steel above).
    pub fn riser_material(&mut self, told: Option<RiserMaterial>, size: NominalSize) -> RiserMaterial {
        let default = if size <= NominalSize::N2 {
            RiserMaterial::Copper
        } else {
            RiserMaterial::DuctileIron
        };
        self.or(told, "riser_material", NEUTRAL, (default, default.word()))
    }

    /// Height of the centerline above grade, m: the middle of the usual band.
    pub fn riser_height_m(&mut self, told: Option<f64>, device: DeviceType, size: NominalSize) -> f64 {
        let inches = usual_height_in(device, size);
        self.or(
            told,
            "riser_height_in",
            NEUTRAL,
            (inches * M_PER_IN, format!("{inches}")),
        )
    }

    /// Wind: some shelter, as beside most buildings.
    pub fn wind_exposure(&mut self, told: Option<WindExposure>) -> WindExposure {
        self.or(told, "wind_exposure", NEUTRAL, (WindExposure::Partial, "partial"))
    }

    /// Winter use by service: water that is not known to move brings no heat.
    pub fn winter_use(&mut self, told: Option<WinterUse>, service: Service) -> WinterUse {
        let (default, direction) = match service {
            Service::Domestic | Service::Process => (WinterUse::InUse, NEUTRAL),
            Service::Irrigation | Service::Fire | Service::Unknown => (WinterUse::Idle, CAUTIOUS),
        };
        self.or(told, "winter_use", direction, (default, default.word()))
    }
}

/// Usual height of the centerline above grade, inches: middle of the bands of `[trade-practice]`.
///
/// RP and DC by size; PVB and SVB 18 to 30 in; an AVB at least 6 in above the highest outlet, taken as 12 in (judgement).
pub fn usual_height_in(device: DeviceType, size: NominalSize) -> f64 {
    match device {
        DeviceType::Pvb | DeviceType::Svb => 24.0,
        DeviceType::Avb => 12.0,
        DeviceType::Rp | DeviceType::Rpda | DeviceType::Dc | DeviceType::Dcda => match size {
            NominalSize::N0_375 | NominalSize::N0_5 | NominalSize::N0_75 | NominalSize::N1 => 20.0,
            NominalSize::N1_25 => 22.0,
            NominalSize::N1_5 => 23.0,
            NominalSize::N2 => 25.0,
            NominalSize::N2_5 | NominalSize::N3 => 30.0,
            NominalSize::N4 => 32.0,
            NominalSize::N6 => 35.0,
            NominalSize::N8 => 38.0,
            NominalSize::N10 => 42.0,
        },
    }
}
