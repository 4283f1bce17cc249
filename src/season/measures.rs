//! What can be offered for an assembly, what must not be, what it costs, and the assembly with it in place.

use super::config::{MeasureConfig, Measures};
use crate::freeze::config::FreezeConfig;
use crate::freeze::network::network;
use crate::inventory::{Assembly, DeviceType, Placement, Service, WindExposure, WinterUse};
use crate::units::{M_PER_FT, M2K_PER_W_PER_R_US};
use serde::Serialize;

/// A measure.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Kind {
    /// Insulating wrap.
    Wrap,
    /// A thicker wrap.
    ThickWrap,
    /// Heat trace under a wrap.
    HeatTrace,
    /// Cover.
    Cover,
    /// Heated enclosure.
    HeatedEnclosure,
    /// Moved into a building.
    Relocation,
    /// Fittings and words to drain it each autumn.
    DrainKit,
    /// Thermostatic drip device.
    FreezeDripValve,
}

impl Kind {
    /// All, in the order of the files.
    pub const ALL: [Kind; 8] = [
        Kind::Wrap,
        Kind::ThickWrap,
        Kind::HeatTrace,
        Kind::Cover,
        Kind::HeatedEnclosure,
        Kind::Relocation,
        Kind::DrainKit,
        Kind::FreezeDripValve,
    ];

    /// The word that files use.
    pub fn word(self) -> &'static str {
        match self {
            Kind::Wrap => "wrap",
            Kind::ThickWrap => "thick_wrap",
            Kind::HeatTrace => "heat_trace",
            Kind::Cover => "cover",
            Kind::HeatedEnclosure => "heated_enclosure",
            Kind::Relocation => "relocation",
            Kind::DrainKit => "drain_kit",
            Kind::FreezeDripValve => "freeze_drip_valve",
        }
    }

    /// The measure of a word, however it is spaced and in whichever case.
    pub fn read(word: &str) -> Option<Kind> {
        let word = word.trim().to_lowercase().replace([' ', '-'], "_");
        Kind::ALL.into_iter().find(|kind| kind.word() == word)
    }

    /// Its part of the config.
    pub fn config(self, measures: &Measures) -> &MeasureConfig {
        match self {
            Kind::Wrap => &measures.wrap,
            Kind::ThickWrap => &measures.thick_wrap,
            Kind::HeatTrace => &measures.heat_trace,
            Kind::Cover => &measures.cover,
            Kind::HeatedEnclosure => &measures.heated_enclosure,
            Kind::Relocation => &measures.relocation,
            Kind::DrainKit => &measures.drain_kit,
            Kind::FreezeDripValve => &measures.freeze_drip_valve,
        }
    }

    /// R of its wrap, ft²·h·°F/Btu; that of the defaults where the config leaves it out.
    pub fn wrap_r_us(self, measures: &Measures) -> f64 {
        let own = self.config(measures).wrap_r_us;
        own.or_else(|| self.config(&Measures::default()).wrap_r_us)
            .unwrap_or(0.0)
    }

    /// Power of its cable, W per foot; that of the defaults where the config leaves it out.
    pub fn watts_per_ft(self, measures: &Measures) -> f64 {
        let own = self.config(measures).watts_per_ft;
        own.or_else(|| self.config(&Measures::default()).watts_per_ft)
            .unwrap_or(0.0)
    }
}

/// Why a measure is not offered for an assembly.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum WhyNot {
    /// The config does not offer it.
    NotOffered,
    /// It holds no water in winter.
    Drained,
    /// It stands where this adds nothing: indoors, heated, covered, below grade.
    Place,
    /// It has as much already.
    HasIt,
    /// A fire line, or one that may be: never shut, drained, bled or moved on our word.
    Fire,
    /// Somebody cannot be without its water.
    Critical,
    /// It is in use in winter, or nobody says that it may be emptied.
    NotDrainable,
    /// This kind of assembly cannot take it.
    Device,
}

impl WhyNot {
    /// The word that files use.
    pub fn word(self) -> &'static str {
        match self {
            WhyNot::NotOffered => "not_offered",
            WhyNot::Drained => "drained",
            WhyNot::Place => "place",
            WhyNot::HasIt => "has_it",
            WhyNot::Fire => "fire",
            WhyNot::Critical => "critical",
            WhyNot::NotDrainable => "not_drainable",
            WhyNot::Device => "device",
        }
    }
}

fn is_breaker(device: DeviceType) -> bool {
    matches!(device, DeviceType::Pvb | DeviceType::Svb | DeviceType::Avb)
}

/// Why a measure must not stand on a line, whoever put it there and whatever is on offer.
///
/// A fire line is never drained, bled or moved on our word: that is its authority's. A line of unknown service may be one.
pub fn forbidden(kind: Kind, assembly: &Assembly) -> Option<WhyNot> {
    let may_be_fire = matches!(assembly.service, Service::Fire | Service::Unknown);
    match kind {
        Kind::Relocation | Kind::DrainKit | Kind::FreezeDripValve if may_be_fire => Some(WhyNot::Fire),
        Kind::DrainKit if assembly.critical.is_some() => Some(WhyNot::Critical),
        Kind::DrainKit if !assembly.may_be_drained() => Some(WhyNot::NotDrainable),
        _ => None,
    }
}

/// Whether a measure may be offered for an assembly.
///
/// # Errors
/// Why not.
pub fn may_be_offered(kind: Kind, assembly: &Assembly, measures: &Measures) -> Result<(), WhyNot> {
    let a = assembly;
    let refuse = |wrong: bool, why: WhyNot| if wrong { Err(why) } else { Ok(()) };
    refuse(!kind.config(measures).is_offered(), WhyNot::NotOffered)?;
    refuse(a.winter_use == WinterUse::Drained, WhyNot::Drained)?;
    refuse(
        matches!(a.placement, Placement::Indoors | Placement::HeatedEnclosure),
        WhyNot::Place,
    )?;
    forbidden(kind, a).map_or(Ok(()), Err)?;
    let bare = matches!(a.placement, Placement::Open | Placement::Cover);
    match kind {
        Kind::Wrap | Kind::ThickWrap => {
            refuse(!bare, WhyNot::Place)?;
            let offered = kind.wrap_r_us(measures) * M2K_PER_W_PER_R_US;
            refuse(offered <= a.wrap_m2k_per_w * 1.001, WhyNot::HasIt)
        }
        Kind::HeatTrace => {
            refuse(!bare, WhyNot::Place)?;
            refuse(a.heat_trace_w > 0.0, WhyNot::HasIt)
        }
        Kind::Cover => refuse(a.placement != Placement::Open, WhyNot::Place),
        Kind::HeatedEnclosure => refuse(a.placement == Placement::Vault, WhyNot::Place),
        // A vacuum breaker must stand above what it serves and spits when it opens.
        Kind::Relocation => refuse(is_breaker(a.device_type), WhyNot::Device),
        Kind::DrainKit => Ok(()),
        Kind::FreezeDripValve => {
            refuse(a.freeze_drip, WhyNot::HasIt)?;
            // It lives on a supply that stays on and on somebody who sees where its water goes.
            refuse(
                a.winter_use == WinterUse::Vacant || a.device_type == DeviceType::Avb,
                WhyNot::Device,
            )
        }
    }
}

/// The assembly with a measure in place. None makes it worse: where the list has it stand somewhere better, there it stays.
pub fn fitted(kind: Kind, assembly: &Assembly, measures: &Measures, freeze: &FreezeConfig) -> Assembly {
    let mut with = assembly.clone();
    let wrap = kind.wrap_r_us(measures) * M2K_PER_W_PER_R_US;
    match kind {
        Kind::Wrap | Kind::ThickWrap => with.wrap_m2k_per_w = with.wrap_m2k_per_w.max(wrap),
        Kind::HeatTrace => {
            with.wrap_m2k_per_w = with.wrap_m2k_per_w.max(wrap);
            let length_m = network(assembly, freeze).length_m;
            with.heat_trace_w = with.heat_trace_w.max(kind.watts_per_ft(measures) / M_PER_FT * length_m);
        }
        Kind::Cover if with.placement == Placement::Open => with.placement = Placement::Cover,
        Kind::HeatedEnclosure if !matches!(with.placement, Placement::Vault | Placement::Indoors) => {
            with.placement = Placement::HeatedEnclosure;
        }
        Kind::Cover | Kind::HeatedEnclosure => return with,
        Kind::Relocation => {
            with.placement = Placement::Indoors;
            with.wind_exposure = WindExposure::Sheltered;
        }
        Kind::DrainKit => with.winter_use = WinterUse::Drained,
        Kind::FreezeDripValve => with.freeze_drip = true,
    }
    with.assumed.retain(|blank| match kind {
        Kind::Wrap | Kind::ThickWrap => blank.field != "wrap_r_us",
        Kind::HeatTrace => !matches!(blank.field, "wrap_r_us" | "heat_trace_w"),
        Kind::Cover | Kind::HeatedEnclosure | Kind::Relocation => blank.field != "placement",
        Kind::DrainKit => blank.field != "winter_use",
        Kind::FreezeDripValve => blank.field != "freeze_drip",
    });
    with
}

/// Cost of a measure for an assembly, whole US dollars, rounded up. 0 only where the config says so.
pub fn cost_usd(kind: Kind, assembly: &Assembly, measures: &Measures) -> u64 {
    let config = kind.config(measures);
    let usd = config.cost_usd.unwrap_or(0.0) + config.cost_usd_per_in * assembly.nominal_size.inches();
    usd.clamp(0.0, super::choices_table::MOST_USD).ceil() as u64
}
