//! What it costs to put a broken assembly right, by kind, size and part.
//!
//! The middles of the bands that the trade quotes (installed, US, 2024 to 2026 dollars)
//! `[repair-cost-bands]`; shares that no band gives are judgement `[judgement]`. Every number can be
//! changed in the config, section `[freeze.costs]`; a key that is left out keeps its default.

use crate::inventory::{DeviceType, NominalSize};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::sync::LazyLock;

/// What a part is, for its repair.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum PartKind {
    /// Test cocks, relief valve, check covers: mended with a kit.
    Trim,
    /// Bonnet, canopy and poppet of a vacuum breaker: mended with a kit.
    Bonnet,
    /// A shutoff valve.
    Shutoff,
    /// The body: the assembly is replaced.
    Body,
    /// A riser and its adapter.
    Riser,
    /// The metered bypass of a detector assembly.
    Bypass,
}

impl PartKind {
    /// The kind of a part from its name, such as `inlet riser 2` or `body before checks`.
    ///
    /// The bypass is looked for first, since it has a body of its own; a name that says nothing is trim.
    pub fn of(name: &str) -> PartKind {
        let has = |word: &str| name.contains(word);
        if has("bypass") {
            PartKind::Bypass
        } else if has("riser") || has("adapter") {
            PartKind::Riser
        } else if has("shutoff") || has("ball valve") || has("gate") {
            PartKind::Shutoff
        } else if has("bonnet") || has("canopy") || has("poppet") {
            PartKind::Bonnet
        } else if has("body") || has("zone") {
            PartKind::Body
        } else {
            PartKind::Trim
        }
    }
}

/// The `[freeze.costs]` section, US dollars.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Costs {
    /// Installed replacement by device type and nominal size. Between two sizes the cost is interpolated
    /// (logarithm of cost against logarithm of size); beyond the ends it is that of the end.
    pub replacement_usd: BTreeMap<DeviceType, BTreeMap<NominalSize, f64>>,
    /// Added to the replacement of a detector assembly, and the cost of mending its bypass: middle of 600 to 1,800.
    pub detector_trim_usd: f64,
    /// Bonnet and poppet kit of a vacuum breaker, with the visit: middle of 120 to 300.
    pub bonnet_kit_usd: f64,
    /// Rubber, relief or cock kit with the visit, 2 in and under: middle of 200 to 600.
    pub trim_kit_usd: f64,
    /// The same above 2 in, as a share of the replacement: judgement.
    pub trim_share_large: f64,
    /// Shutoff valve as a share of the replacement: judgement.
    pub shutoff_share: f64,
    /// Riser and adapter as a share of the replacement: judgement.
    pub riser_share: f64,
    /// Field test that every repair ends with, 2 in and under: middle of 50 to 150.
    pub test_small_usd: f64,
    /// Field test above 2 in: middle of 100 to 350.
    pub test_large_usd: f64,
}

impl Default for Costs {
    fn default() -> Self {
        Self {
            replacement_usd: DEFAULT_REPLACEMENT.clone(),
            detector_trim_usd: 1_200.0,
            bonnet_kit_usd: 210.0,
            trim_kit_usd: 400.0,
            trim_share_large: 0.10,
            shutoff_share: 0.25,
            riser_share: 0.20,
            test_small_usd: 100.0,
            test_large_usd: 225.0,
        }
    }
}

impl Costs {
    /// Cost of replacing the whole assembly, with the field test that puts it back in service, US dollars.
    ///
    /// Always finite and not below 0, whatever the config holds.
    pub fn replacement_usd(&self, device: DeviceType, size: NominalSize) -> f64 {
        sane(self.bare_replacement(device, size) + self.test_usd(size))
    }

    /// Cost of mending one part, with the field test, US dollars; never above the replacement.
    pub fn repair_usd(&self, device: DeviceType, size: NominalSize, part: PartKind) -> f64 {
        let whole = self.bare_replacement(device, size);
        let small = size.inches() <= 2.0;
        let mend = match part {
            PartKind::Bonnet => self.bonnet_kit_usd,
            PartKind::Trim if small => self.trim_kit_usd,
            PartKind::Trim => self.trim_share_large * whole,
            PartKind::Shutoff => self.shutoff_share * whole,
            PartKind::Riser => self.riser_share * whole,
            PartKind::Body => whole,
            PartKind::Bypass => self.detector_trim_usd,
        };
        sane(mend.min(whole) + self.test_usd(size))
    }

    fn test_usd(&self, size: NominalSize) -> f64 {
        if size.inches() <= 2.0 {
            self.test_small_usd
        } else {
            self.test_large_usd
        }
    }

    fn bare_replacement(&self, device: DeviceType, size: NominalSize) -> f64 {
        let own = |kind: DeviceType| {
            self.replacement_usd
                .get(&kind)
                .and_then(|table| table.get(&size))
                .copied()
        };
        if let Some(cost) = own(device) {
            return cost;
        }
        let (plain, trim) = match device {
            DeviceType::Rpda => (DeviceType::Rp, self.detector_trim_usd),
            DeviceType::Dcda => (DeviceType::Dc, self.detector_trim_usd),
            other => (other, 0.0),
        };
        let cost = own(plain).unwrap_or_else(|| {
            DEFAULT_REPLACEMENT
                .get(&plain)
                .and_then(|table| interpolate(table, size))
                .unwrap_or(1_000.0)
        });
        cost + trim
    }
}

/// Not negative, not infinite, no NaN: what the config holds cannot spoil a sum.
fn sane(usd: f64) -> f64 {
    if usd.is_finite() { usd.max(0.0) } else { 0.0 }
}

fn interpolate(table: &BTreeMap<NominalSize, f64>, size: NominalSize) -> Option<f64> {
    let mut known: Vec<(f64, f64)> = table.iter().map(|(size, usd)| (size.inches(), *usd)).collect();
    known.sort_by(|a, b| a.0.total_cmp(&b.0));
    let x = size.inches();
    let above = known.iter().find(|point| point.0 >= x);
    let below = known.iter().rev().find(|point| point.0 <= x);
    match (below, above) {
        (Some(a), Some(b)) if b.0 > a.0 => {
            let share = (x / a.0).ln() / (b.0 / a.0).ln();
            Some((a.1.ln() + share * (b.1 / a.1).ln()).exp())
        }
        (Some(point), _) | (None, Some(point)) => Some(point.1),
        (None, None) => None,
    }
}

static DEFAULT_REPLACEMENT: LazyLock<BTreeMap<DeviceType, BTreeMap<NominalSize, f64>>> =
    LazyLock::new(default_replacement);

/// Middles of the bands `[repair-cost-bands]`; the atmospheric vacuum breaker has no band and is judgement.
fn default_replacement() -> BTreeMap<DeviceType, BTreeMap<NominalSize, f64>> {
    use NominalSize as N;
    let large = [
        (N::N3, 7_000.0),
        (N::N4, 10_500.0),
        (N::N6, 16_000.0),
        (N::N8, 26_000.0),
        (N::N10, 38_000.0),
    ];
    let breaker = [(N::N0_75, 500.0), (N::N1, 500.0), (N::N1_5, 1_050.0), (N::N2, 1_050.0)];
    let table = |small: &[(N, f64)], large: &[(N, f64)]| small.iter().chain(large).copied().collect();
    BTreeMap::from([
        (
            DeviceType::Rp,
            table(&[(N::N0_75, 1_150.0), (N::N1, 1_150.0), (N::N2, 3_000.0)], &large),
        ),
        (
            DeviceType::Dc,
            table(&[(N::N0_75, 750.0), (N::N1, 750.0), (N::N2, 1_700.0)], &large),
        ),
        (DeviceType::Pvb, table(&breaker, &[])),
        (DeviceType::Svb, table(&breaker, &[])),
        (DeviceType::Avb, table(&[(N::N0_75, 200.0), (N::N2, 400.0)], &[])),
    ])
}
