//! How soon somebody must act: flow, hazard and evidence, each with a floor of its own, in one place.
//!
//! No finding makes a flow wait: whatever a gushing pipe turns out to be, somebody comes now.

use super::account::{Account, Sign, Water, When, Where};
use super::branch::Branch;
use super::config::DripConfig;
use super::finding::{Finding, Within};
use super::weigh::Weighed;

/// From here on water gushes, L/h: 2 gal/min, a garden hose half open; it floods a floor within the hour (judgement).
pub const GUSHING_L_PER_H: f64 = 454.0;
/// From here on it is a steady stream and no drip, L/h: 2.6 gal/h, a stream as thick as a pencil lead (judgement).
pub const STEADY_L_PER_H: f64 = 10.0;
/// How far over what the physics expects a flow may be and still be explained by it (judgement: the caller measures with a cup).
const EXPLAINED: f64 = 1.5;

/// How much runs, as far as urgency minds it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Flow {
    /// Nothing told, nothing, or drops.
    Little,
    /// A steady stream.
    Steady,
    /// Gushing.
    Gushing,
}

impl Flow {
    /// What the caller told.
    pub fn of(account: &Account) -> Flow {
        match account.told_rate().map_or(0.0, |rate| rate.best_l_per_h) {
            flow if flow >= GUSHING_L_PER_H => Flow::Gushing,
            flow if flow >= STEADY_L_PER_H => Flow::Steady,
            _ => Flow::Little,
        }
    }
}

/// Whether the relief of a water heater is plugged, capped or piped solid: the vessel then has no way out for steam.
pub fn relief_of_heater_is_shut(account: &Account) -> bool {
    account.place == Where::HeaterRelief && account.signs.contains(&Sign::Covered)
}

/// Whether the water is warmer than a relief on cold pipe passes when it works: lukewarm at an expansion relief while the heater
/// recovers is usual (common practice), anything warmer, and warmth at any other place of the cold side, is a fault.
pub fn too_warm_for_its_place(account: &Account) -> bool {
    let cold_side = matches!(
        account.place,
        Where::ExpansionRelief | Where::ReliefPort | Where::FreezeDrip | Where::Canopy | Where::TestCock
    );
    match account.water_seen() {
        Some(Water::Hot | Water::Scalding) => cold_side,
        Some(Water::Warm) => cold_side && !(account.place == Where::ExpansionRelief && account.when == When::Heating),
        _ => false,
    }
}

/// The most urgent of what the finding asks, what the flow asks, what other likely findings ask, and what the customer needs.
pub fn how_soon(
    account: &Account,
    finding: Finding,
    weighed: &Weighed,
    expected_l_per_h: Option<[f64; 2]>,
    config: &DripConfig,
) -> Within {
    let calm = !matches!(finding, Finding::Emergency | Finding::FireLine);
    let by_branch = Branch::of(account).and_then(Branch::within).filter(|_| calm);
    if let Some(within) = by_branch {
        return within
            .min(of_flow(account, finding, expected_l_per_h))
            .min(of_hazard(account));
    }
    let mut soonest = of_finding(finding, account.place)
        .min(of_flow(account, finding, expected_l_per_h))
        .min(of_hazard(account));
    // In frost, water from nobody knows where is looked at the same day (judgement): it may be a split part.
    let freezing = account.air().is_some_and(|air_c| air_c < 0.0) || account.frost() == Some(true);
    if finding == Finding::CannotTell && freezing {
        soonest = soonest.min(Within::Today);
    }
    for other in Finding::ALL {
        // An unlikely emergency is covered by the hand-over line; minding it would make every call urgent.
        let minded = *other != Finding::Emergency && weighed.finding_share(*other) >= config.minded_share;
        if minded && finding == Finding::CannotTell {
            soonest = soonest.min(of_finding(*other, account.place));
        }
    }
    soonest
}

/// The floor that what may be hurt sets, whatever the finding.
fn of_hazard(account: &Account) -> Within {
    // With the expansion relief shut, only the heater's own is left; hot water on the cold side has come back from the heater
    // (judgement: the same day).
    let covered_expansion = account.place == Where::ExpansionRelief && account.signs.contains(&Sign::Covered);
    let hot = account.water == Some(Water::Hot) && too_warm_for_its_place(account);
    if !account.hazards.is_empty() || account.critical {
        Within::Now
    } else if covered_expansion || hot {
        Within::Today
    } else {
        Within::Watch24
    }
}

/// Whether water gushes and nothing explains it: then the utility's crew goes first.
pub fn sends_the_crew(account: &Account, finding: Finding, within: Within) -> bool {
    let calm = !matches!(
        finding,
        Finding::Emergency | Finding::FireLine | Finding::WorkingAsMeant
    );
    calm && within == Within::Now && Flow::of(account) == Flow::Gushing
}

/// What the finding alone asks.
fn of_finding(finding: Finding, place: Where) -> Within {
    match finding {
        Finding::Emergency | Finding::FireLine => Within::Now,
        Finding::FreezeDamage | Finding::FreezingNow => Within::Today,
        // Daily discharge of a heater's relief wears it: within 48 hours (common practice).
        Finding::ExpansionSuspected | Finding::DeviceFault if place == Where::HeaterRelief => Within::Hours48,
        Finding::ExpansionSuspected => Within::Weeks2,
        Finding::DeviceFault | Finding::Leak | Finding::CannotTell => Within::Hours72,
        Finding::WorkingAsMeant => Within::Watch24,
    }
}

/// A vacuum breaker spurts while it fills; the caller looks again within a minute and is told so.
fn fills(account: &Account) -> bool {
    account.place == Where::Canopy && account.when == When::StartUp
}

/// Whether so much runs that no device at work explains it: water gushes, or a freeze-drip runs a stream that is more than its heat
/// balance asks for. `expected_l_per_h`: what the model expects, low and high, L/h.
pub fn is_past_any_work(account: &Account, expected_l_per_h: Option<[f64; 2]>) -> bool {
    match Flow::of(account) {
        Flow::Gushing => !fills(account),
        Flow::Steady => account.place == Where::FreezeDrip && !is_within_model(account, expected_l_per_h),
        Flow::Little => false,
    }
}

/// Whether the model's figure covers what runs; none makes gallons a minute usual.
fn is_within_model(account: &Account, expected_l_per_h: Option<[f64; 2]>) -> bool {
    let best = account.told_rate().map_or(0.0, |rate| rate.best_l_per_h);
    best < GUSHING_L_PER_H && expected_l_per_h.is_some_and(|[_, high]| best <= EXPLAINED * high)
}

/// The floor that the flow alone sets.
fn of_flow(account: &Account, finding: Finding, expected_l_per_h: Option<[f64; 2]>) -> Within {
    let explained = fills(account) || is_within_model(account, expected_l_per_h);
    if finding == Finding::WorkingAsMeant && explained {
        return Within::Watch24;
    }
    match Flow::of(account) {
        Flow::Gushing => Within::Now,
        Flow::Steady => Within::Today,
        Flow::Little => Within::Watch24,
    }
}
