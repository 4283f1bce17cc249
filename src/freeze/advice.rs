//! What would protect an assembly: the same model, run again with the measure in place.

use super::config::FreezeConfig;
use super::members::Members;
use super::outlook::{Advice, Measure};
use super::run::WhatIf;
use super::setup::{Setup, flow_w_per_k, litres_per_h};
use super::simulate::{Simulated, simulate_while};
use super::spell::Spell;
use super::summary::weighted_share;
use super::weights::Weights;
use crate::inventory::{Assembly, Placement, Service, WinterUse};
use crate::units::{L_PER_US_GAL, M_PER_FT, M2K_PER_W_PER_R_US};

/// Wraps that are sold, R in ft²·h·°F/Btu (common practice).
const WRAPS_R_US: &[f64] = &[1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 13.0, 16.0, 20.0];
/// Trickles, litres an hour.
const TRICKLES_L_PER_H: &[f64] = &[
    1.0, 2.0, 4.0, 7.0, 10.0, 15.0, 20.0, 30.0, 45.0, 60.0, 90.0, 120.0, 180.0, 240.0,
];
/// Heat trace, W per foot.
const TRACE_W_PER_FT: &[f64] = &[2.0, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 12.0, 16.0, 20.0, 25.0, 30.0];
/// Safety factor on heat trace \[ieee-515\].
pub const TRACE_SAFETY: f64 = 1.2;
/// Members of the search; the measure found is confirmed with all of them.
const SEARCH_MEMBERS: usize = 32;

/// What the search works on.
pub struct Subject<'a> {
    /// An assembly of the case.
    pub assembly: &'a Assembly,
    /// The case: without power or supply there are measures that cannot help.
    pub what_if: WhatIf,
    /// The case as listed.
    pub setup: &'a Setup,
    /// The spell.
    pub spell: &'a Spell,
    /// All members.
    pub members: &'a Members,
    /// Kelvin added to the station's air.
    pub offset_k: f64,
    /// The case as simulated, with its hours kept when a drip device is fitted.
    pub run: &'a Simulated,
    /// How much each member counts.
    pub weights: &'a Weights,
}

/// The measures that may be told for this assembly, cheapest that works first.
///
/// Never draining or shutting for a fire line or a critical service; wraps leave relief ports open.
pub fn advice(subject: &Subject<'_>, config: &FreezeConfig) -> Vec<Advice> {
    let a = subject.assembly;
    let mut told = Vec::new();
    if let Some(fitted) = fitted_drip(subject, config) {
        told.push(fitted);
    }
    // A line that nobody needs in winter is safest empty, and that costs nothing.
    if a.may_be_drained() {
        told.push(drain());
    }
    let covered = matches!(a.placement, Placement::Open | Placement::Cover);
    // A trickle needs somebody to leave a tap running behind the assembly: not on idle and fire lines.
    let supplied = subject.what_if != WhatIf::SupplyOff;
    let drawn = !matches!(a.service, Service::Irrigation | Service::Fire) && a.winter_use == WinterUse::InUse;
    let powered = subject.what_if != WhatIf::PowerOut;
    let traced = powered && a.placement != Placement::Indoors;
    // Side by side: somebody at a desk waits for them.
    let (wrap, (trickle, trace)) = rayon::join(
        || covered.then(|| wrap(subject, config)),
        || {
            rayon::join(
                || (supplied && drawn).then(|| trickle(subject, config)),
                || traced.then(|| trace(subject, config)),
            )
        },
    );
    told.extend([wrap, trickle, trace].into_iter().flatten());
    if powered && a.placement != Placement::HeatedEnclosure {
        told.push(enclosure());
    }
    // Cheapest that works first; what does not work after.
    told.sort_by_key(|advice| !advice.enough);
    told
}

fn plain(measure: Measure, enough: bool, detail: String) -> Advice {
    Advice {
        measure,
        enough,
        wrap_m2k_per_w: None,
        flow_l_per_h: None,
        power_w_per_m: None,
        litres: None,
        hours: None,
        p_damage: None,
        detail,
    }
}

/// Chance of damage of an ensemble; a deterministic run has none.
fn chance(run: &Simulated, subject: &Subject<'_>) -> Option<f64> {
    (run.coldest_c.len() > 1).then(|| weighted_share(run, subject.weights))
}

fn drain() -> Advice {
    plain(
        Measure::Drain,
        true,
        "Where the line feeds no fire protection and nobody needs its water: shut the valve on the supply side and drain the assembly and its risers; leave the valves half open so that none holds water. \
         Follow the maker's instructions; have it tested before use where your rules ask for it."
            .into(),
    )
}

fn enclosure() -> Advice {
    plain(
        Measure::HeatedEnclosure,
        true,
        "A heated enclosure that holds 40 °F at the worst cold expected (ASSE 1060 class I), with power that stays on."
            .into(),
    )
}

fn wrap(subject: &Subject<'_>, config: &FreezeConfig) -> Advice {
    let with = |r_us: f64| {
        let mut setup = subject.setup.clone();
        for part in &mut setup.net.parts {
            let wrapped = part.kind.wrapped(r_us * M2K_PER_W_PER_R_US, config);
            part.insulation_m2k_per_w = part.insulation_m2k_per_w.max(wrapped);
        }
        setup
    };
    match least(subject, config, WRAPS_R_US, &with) {
        Some((r_us, run)) => Advice {
            p_damage: chance(&run, subject),
            wrap_m2k_per_w: Some(r_us * M2K_PER_W_PER_R_US),
            ..plain(
                Measure::Wrap,
                true,
                format!(
                    "A dry, windproof wrap of R-{r_us} over body, valves and both risers down to the ground would do; leave relief ports and drains open."
                ),
            )
        },
        None => plain(
            Measure::Wrap,
            false,
            format!(
                "A wrap alone will not do, not even R-{:.0}: it slows the cold and gives no heat.",
                WRAPS_R_US[WRAPS_R_US.len() - 1]
            ),
        ),
    }
}

fn trickle(subject: &Subject<'_>, config: &FreezeConfig) -> Advice {
    let with = |l_per_h: f64| {
        let mut setup = subject.setup.clone();
        setup.trickle_w_per_k = flow_w_per_k(l_per_h);
        setup
    };
    match least(subject, config, TRICKLES_L_PER_H, &with) {
        Some((l_per_h, run)) => {
            let cold_hours = subject.spell.hours() as f64;
            Advice {
                flow_l_per_h: Some(l_per_h),
                p_damage: chance(&run, subject),
                litres: Some(l_per_h * cold_hours),
                hours: Some(cold_hours),
                ..plain(
                    Measure::Trickle,
                    true,
                    format!(
                        "A tap behind it left running at {:.1} gal an hour would do, {:.0} gal a day; it keeps the flow path open, trim can still freeze. Only if your utility allows it.",
                        l_per_h / L_PER_US_GAL,
                        l_per_h * 24.0 / L_PER_US_GAL
                    ),
                )
            }
        }
        None => plain(
            Measure::Trickle,
            false,
            "A trickle alone will not do: trim outside the flow path still freezes.".into(),
        ),
    }
}

fn trace(subject: &Subject<'_>, config: &FreezeConfig) -> Advice {
    let length_m = subject.setup.net.length_m;
    let area: f64 = subject.setup.net.parts.iter().map(|part| part.outside_area_m2).sum();
    let with = |w_per_ft: f64| {
        let mut setup = subject.setup.clone();
        let power_w = w_per_ft / M_PER_FT * length_m;
        for (watts, part) in setup.trace_w.iter_mut().zip(&setup.net.parts) {
            *watts += power_w * part.outside_area_m2 / area;
        }
        setup
    };
    match least(subject, config, TRACE_W_PER_FT, &with) {
        Some((w_per_ft, run)) => {
            let rated = w_per_ft * TRACE_SAFETY;
            Advice {
                power_w_per_m: Some(rated / M_PER_FT),
                p_damage: chance(&run, subject),
                ..plain(
                    Measure::HeatTrace,
                    true,
                    format!(
                        "Listed heat trace of {rated:.1} W per foot over {:.1} ft of pipe and assembly (with 20 % in hand) would do, on a GFCI circuit that stays on; an electrician fits it.",
                        length_m / M_PER_FT
                    ),
                )
            }
        }
        None => plain(
            Measure::HeatTrace,
            false,
            format!(
                "Heat trace without a wrap will not do, not even {:.0} W per foot.",
                TRACE_W_PER_FT[TRACE_W_PER_FT.len() - 1]
            ),
        ),
    }
}

fn fitted_drip(subject: &Subject<'_>, config: &FreezeConfig) -> Option<Advice> {
    subject.setup.drip?;
    let members = subject.run.coldest_c.len();
    let per_member = |value: &dyn Fn(&[f64], usize) -> f64| -> Vec<f64> {
        (0..members)
            .map(|m| subject.run.hour_drip_j_per_k.iter().map(|hour| value(hour, m)).sum())
            .collect()
    };
    let litres = subject
        .weights
        .percentile(&per_member(&|hour, m| litres_per_h(hour[m] / 3600.0)), 0.5);
    let hours = subject
        .weights
        .percentile(&per_member(&|hour, m| if hour[m] > 0.0 { 1.0 } else { 0.0 }), 0.5);
    let enough = weighted_share(subject.run, subject.weights) <= config.advice_target;
    let rest = if enough {
        "leave it open and its outlet free of ice"
    } else {
        "it will run but will not hold all parts"
    };
    Some(Advice {
        litres: Some(litres),
        hours: Some(hours),
        p_damage: chance(subject.run, subject),
        ..plain(
            Measure::FreezeDrip,
            enough,
            format!(
                "The drip device fitted will run in about {hours:.0} hours of the spell and pass about {:.0} gal; {rest}.",
                litres / L_PER_US_GAL
            ),
        )
    })
}

/// The least value of a rising ladder that brings the chance of damage under the target, found with a part of the
/// members and confirmed with all of them; with the simulation that confirmed it.
fn least(
    subject: &Subject<'_>,
    config: &FreezeConfig,
    ladder: &[f64],
    with: &dyn Fn(f64) -> Setup,
) -> Option<(f64, Simulated)> {
    let target = if subject.members.count() > 1 {
        config.advice_target
    } else {
        0.0
    };
    let few = subject.members.first(SEARCH_MEMBERS);
    // Enough, or not as soon as the coldest members alone are too many.
    let enough = |value: f64, members: &Members| {
        let weights = subject.weights.first(members.count());
        let within = |run: &Simulated| weighted_share(run, &weights) <= target;
        simulate_while(&with(value), subject.spell, members, subject.offset_k, false, &within)
    };
    // Protection only grows along the ladder, so halving finds the edge.
    let (mut low, mut high) = (0, ladder.len());
    while low < high {
        let middle = (low + high) / 2;
        if enough(ladder[middle], &few).is_some() {
            high = middle;
        } else {
            low = middle + 1;
        }
    }
    // The few may be luckier than all: go up until all agree.
    for value in ladder.iter().skip(low.min(ladder.len())) {
        if let Some(run) = enough(*value, subject.members) {
            return Some((*value, run));
        }
    }
    None
}
