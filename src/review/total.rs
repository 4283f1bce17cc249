//! A range on a town's total: how many break, and what it costs, when the weather's error is one for the whole town, or for each of
//! several areas, alike by their distance.
//!
//! One factor stands for the shared part \[vasicek-2002\]: given the shared error e, an assembly of chance p breaks with
//! Φ((Φ⁻¹(p) + √ρ·e)/√(1−ρ)), and given e assemblies are independent, so that the count is Poisson-binomial. The share ρ is
//! forecast error against forecast error, site and nucleation. Members as they are share nucleation and strength too; a
//! spread counted straight from them would be too wide in its local part.

use super::math::{density, hermite, phi, probit};

/// Nodes over the shared error.
const NODES: usize = 61;
/// Nodes over the errors of several areas: a power of two, as the sequence wants it.
const AREA_NODES: u32 = 256;
/// Dimensions of the sequence.
const DIMENSIONS: u32 = 256;
/// Scramble of those nodes.
const AREA_SCRAMBLE: u32 = 0x6172_6561;
/// Above so many multiplications the count given e is taken as nearly normal, with its skewness.
const EXACT_WORK: f64 = 3e8;
/// A chance that is none: a hundred thousand of them are far below the rounding of a sum near 1.
const NEVER: f64 = 1e-40;
/// Steps of the lattice on which losses are summed.
const LOSS_STEPS: usize = 2_000;

/// One assembly, or several alike.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Exposed {
    /// Chance of damage, 0 to 1.
    pub p: f64,
    /// Share ρ of the variance that is one for the whole town, 0 to below 1.
    pub shared: f64,
    /// What damage costs, US dollars.
    pub loss_usd: f64,
    /// Area whose error is its own, an index into [`Shared`].
    pub area: usize,
}

/// Draws of the error of each area.
pub struct Shared {
    /// Errors at each node, `[nodes][areas]`.
    errors: Vec<Vec<f64>>,
    /// Weights of the nodes, their sum 1.
    weights: Vec<f64>,
}

impl Shared {
    /// One error for all: the exact nodes of a normal distribution.
    pub fn one() -> Self {
        let (nodes, weights) = hermite(NODES);
        Self {
            errors: nodes.into_iter().map(|node| vec![node]).collect(),
            weights,
        }
    }

    /// An error for each area, alike by the lower root of their correlation, `[area][area]`: quasi-random nodes, always the same ones.
    pub fn areas(root: &[&[f64]]) -> Self {
        if root.len() < 2 {
            return Self::one();
        }
        let errors = (0..AREA_NODES).map(|node| {
            let free: Vec<f64> = (0..root.len() as u32)
                .map(|area| {
                    // Beyond the dimensions of one sequence another, which is independent of it.
                    let (sequence, dimension) = (area / DIMENSIONS, area % DIMENSIONS);
                    probit(
                        f64::from(sobol_burley::sample(node, dimension, AREA_SCRAMBLE ^ sequence)) + 0.5 / 16_777_216.0,
                    )
                })
                .collect();
            root.iter()
                .map(|weights| weights.iter().zip(&free).map(|(w, z)| w * z).sum())
                .collect()
        });
        Self {
            errors: errors.collect(),
            weights: vec![1.0 / f64::from(AREA_NODES); AREA_NODES as usize],
        }
    }

    fn of(&self, node: usize, area: usize) -> f64 {
        let errors = self.errors.get(node).map_or(&[][..], Vec::as_slice);
        errors.get(area).or(errors.first()).copied().unwrap_or(0.0)
    }
}

/// A total with its range.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Range {
    /// Expected value.
    pub expected: f64,
    /// 5 in 100 are at or below.
    pub p05: f64,
    /// Half are at or below.
    pub p50: f64,
    /// 95 in 100 are at or below.
    pub p95: f64,
}

/// Breaks and loss of a town.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Total {
    /// Assemblies that break, with shared and local chance.
    pub breaks: Range,
    /// Breaks if only local chance were at work: what is left when the weather comes exactly as forecast.
    pub breaks_local: Range,
    /// Loss, US dollars.
    pub loss_usd: Range,
    /// Mean share ρ, weighted by p(1 − p).
    pub shared: f64,
    /// Expected breaks and loss at the ends of what the model's judged constants leave open; `None` where that was not looked at.
    #[serde(default)]
    pub judged: Option<JudgedEnds>,
}

/// Expected breaks and loss, US dollars, at both ends of what is judged.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct JudgedEnds {
    /// Breaks, low and high.
    pub breaks: (f64, f64),
    /// Loss, low and high.
    pub loss_usd: (f64, f64),
}

/// Share of the variance that the whole town has in common: forecast error against it, site and nucleation, K.
pub fn shared_share(forecast_k: f64, site_k: f64, nucleation_k: f64) -> f64 {
    let shared = forecast_k * forecast_k;
    let all = shared + site_k * site_k + nucleation_k * nucleation_k;
    if all > 0.0 {
        (shared / all).clamp(0.0, 0.99)
    } else {
        0.0
    }
}

/// Distribution of the number of successes in independent trials with these chances, by convolution: `[n + 1]`. Counts less likely than
/// `NEVER` are taken as impossible, which no sum of the others can tell from the truth; of many trials most counts are.
pub fn poisson_binomial(chances: &[f64]) -> Vec<f64> {
    let mut pmf = vec![0.0; chances.len() + 1];
    pmf[0] = 1.0;
    // The counts that are possible so far.
    let (mut low, mut high) = (0, 0);
    for &p in chances {
        let p = p.clamp(0.0, 1.0);
        high += 1;
        for k in (low + 1..=high).rev() {
            pmf[k] = pmf[k] * (1.0 - p) + pmf[k - 1] * p;
        }
        pmf[low] *= 1.0 - p;
        while low < high && pmf[low] < NEVER {
            pmf[low] = 0.0;
            low += 1;
        }
        while high > low && pmf[high] < NEVER {
            pmf[high] = 0.0;
            high -= 1;
        }
    }
    pmf
}

/// Smallest count at which the distribution reaches a share.
pub fn count_at(pmf: &[f64], share: f64) -> usize {
    let mut sum = 0.0;
    for (k, p) in pmf.iter().enumerate() {
        sum += p;
        if sum >= share - 1e-12 {
            return k;
        }
    }
    pmf.len().saturating_sub(1)
}

/// Chances given the shared error.
fn given(exposed: &[Exposed], probits: &[f64], error: &dyn Fn(usize) -> f64) -> Vec<f64> {
    exposed
        .iter()
        .zip(probits)
        .map(|(one, z)| {
            if one.p <= 0.0 || one.p >= 1.0 || one.shared <= 0.0 {
                one.p.clamp(0.0, 1.0)
            } else {
                phi((z + one.shared.sqrt() * error(one.area)) / (1.0 - one.shared).sqrt())
            }
        })
        .collect()
}

/// Distribution of the count, `[n + 1]`, integrated over the shared error. Quadratic in the number of assemblies.
pub fn count_distribution(exposed: &[Exposed]) -> Vec<f64> {
    let probits: Vec<f64> = exposed.iter().map(|one| probit(one.p)).collect();
    let (nodes, weights) = hermite(NODES);
    let mut all = vec![0.0; exposed.len() + 1];
    for (e, w) in nodes.iter().zip(&weights) {
        for (sum, p) in all.iter_mut().zip(poisson_binomial(&given(exposed, &probits, &|_| *e))) {
            *sum += w * p;
        }
    }
    all
}

/// What is known of a sum given the shared error.
enum Given {
    /// Probabilities on a lattice.
    Lattice(Vec<f64>),
    /// Mean, standard deviation, skewness.
    Moments(f64, f64, f64),
}

impl Given {
    /// Chance that the sum is at most `x` steps. `half` is added for a lattice of whole counts.
    fn at_most(&self, x: f64, half: f64) -> f64 {
        match self {
            Given::Lattice(cdf) => {
                let at = (x + 1e-9).floor();
                if at < 0.0 {
                    0.0
                } else {
                    cdf.get(at as usize).copied().unwrap_or(1.0)
                }
            }
            Given::Moments(mean, sd, skew) => {
                if *sd <= 0.0 {
                    return f64::from(x + half >= *mean);
                }
                let z = (x + half - mean) / sd;
                // First term of the Edgeworth series, kept inside 0 to 1.
                (phi(z) + skew * (1.0 - z * z) * density(z) / 6.0).clamp(0.0, 1.0)
            }
        }
    }
}

/// Value at which the mixture over the nodes reaches a share, by halving over whole steps.
fn mixture_quantile(parts: &[Given], weights: &[f64], most: usize, share: f64, half: f64) -> usize {
    let cdf = |k: usize| -> f64 {
        parts
            .iter()
            .zip(weights)
            .map(|(part, w)| w * part.at_most(k as f64, half))
            .sum()
    };
    let (mut low, mut high) = (0, most);
    while low < high {
        let middle = (low + high) / 2;
        if cdf(middle) >= share - 1e-12 {
            high = middle;
        } else {
            low = middle + 1;
        }
    }
    low
}

fn cumulative(mut pmf: Vec<f64>) -> Vec<f64> {
    let mut sum = 0.0;
    for p in &mut pmf {
        sum += *p;
        *p = sum;
    }
    pmf
}

fn moments(chances: &[f64], worth: &dyn Fn(usize) -> f64) -> Given {
    let (mut mean, mut variance, mut third) = (0.0, 0.0, 0.0);
    for (i, p) in chances.iter().enumerate() {
        let w = worth(i);
        mean += p * w;
        variance += p * (1.0 - p) * w * w;
        third += p * (1.0 - p) * (1.0 - 2.0 * p) * w * w * w;
    }
    let sd = variance.sqrt();
    Given::Moments(mean, sd, if sd > 0.0 { third / (sd * sd * sd) } else { 0.0 })
}

/// The count given each node of the shared errors.
fn count_parts(exposed: &[Exposed], probits: &[f64], shared: &Shared) -> Vec<Given> {
    let nodes = shared.weights.len();
    let work = exposed.len() as f64 * exposed.len() as f64 * nodes as f64 / 2.0;
    (0..nodes)
        .map(|node| {
            let chances = given(exposed, probits, &|area| shared.of(node, area));
            if work <= EXACT_WORK {
                Given::Lattice(cumulative(poisson_binomial(&chances)))
            } else {
                moments(&chances, &|_| 1.0)
            }
        })
        .collect()
}

fn count_range(exposed: &[Exposed], probits: &[f64], shared: &Shared, expected: f64) -> Range {
    let parts = count_parts(exposed, probits, shared);
    let at = |share| mixture_quantile(&parts, &shared.weights, exposed.len(), share, 0.5) as f64;
    Range {
        expected,
        p05: at(0.05),
        p50: at(0.5),
        p95: at(0.95),
    }
}

fn loss_range(exposed: &[Exposed], probits: &[f64], shared: &Shared) -> Range {
    let expected: f64 = exposed.iter().map(|one| one.p * one.loss_usd).sum();
    let most: f64 = exposed.iter().map(|one| one.loss_usd).sum();
    if most <= 0.0 {
        return Range {
            expected,
            p05: 0.0,
            p50: 0.0,
            p95: 0.0,
        };
    }
    let nodes = shared.weights.len();
    let step = lattice_step(exposed, most);
    let steps = (most / step).ceil() as usize + exposed.len() + 2;
    let exact = exposed.len() as f64 * LOSS_STEPS as f64 * nodes as f64 <= EXACT_WORK;
    let parts: Vec<Given> = (0..nodes)
        .map(|node| {
            let chances = given(exposed, probits, &|area| shared.of(node, area));
            if exact {
                Given::Lattice(cumulative(loss_lattice(exposed, &chances, step, steps)))
            } else {
                moments(&chances, &|i| exposed[i].loss_usd / step)
            }
        })
        .collect();
    let at = |share| mixture_quantile(&parts, &shared.weights, steps, share, 0.0) as f64 * step;
    Range {
        expected,
        p05: at(0.05),
        p50: at(0.5),
        p95: at(0.95),
    }
}

/// Step of the lattice, US dollars: the smallest loss is a whole number of steps where it is larger than one, so that equal losses are
/// summed exactly.
fn lattice_step(exposed: &[Exposed], most: f64) -> f64 {
    let step = most / LOSS_STEPS as f64;
    let least = exposed
        .iter()
        .map(|one| one.loss_usd)
        .filter(|usd| *usd > 0.0)
        .fold(f64::INFINITY, f64::min);
    if least > step {
        least / (least / step).ceil()
    } else {
        step
    }
}

/// Distribution of the loss in steps. A loss between two steps is shared between them, so that the mean stays.
fn loss_lattice(exposed: &[Exposed], chances: &[f64], step: f64, steps: usize) -> Vec<f64> {
    let mut pmf = vec![0.0; steps];
    pmf[0] = 1.0;
    let mut top = 0usize;
    for (one, &p) in exposed.iter().zip(chances) {
        let steps = one.loss_usd.max(0.0) / step;
        let low = steps.floor() as usize;
        let up = p * (steps - low as f64);
        let down = p - up;
        let reach = (top + low + 1).min(pmf.len() - 1);
        for k in (0..=reach).rev() {
            let mut value = pmf[k] * (1.0 - p);
            if low == 0 {
                value += pmf[k] * down;
            } else if k >= low {
                value += pmf[k - low] * down;
            }
            if k > low {
                value += pmf[k - low - 1] * up;
            }
            pmf[k] = value;
        }
        top = reach;
    }
    pmf
}

/// Breaks and loss with their ranges, when one error is everybody's.
pub fn total(exposed: &[Exposed]) -> Total {
    total_over(exposed, &Shared::one())
}

/// Breaks and loss with their ranges, when each area has an error of its own.
pub fn total_over(exposed: &[Exposed], errors: &Shared) -> Total {
    // What cannot break adds nothing to a total.
    let exposed: Vec<Exposed> = exposed.iter().copied().filter(|one| one.p > 0.0).collect();
    let probits: Vec<f64> = exposed.iter().map(|one| probit(one.p)).collect();
    let expected: f64 = exposed.iter().map(|one| one.p).sum();
    let local: Vec<Exposed> = exposed.iter().map(|one| Exposed { shared: 0.0, ..*one }).collect();
    let weight: f64 = exposed.iter().map(|one| one.p * (1.0 - one.p)).sum();
    let shared: f64 = exposed.iter().map(|one| one.p * (1.0 - one.p) * one.shared).sum();
    Total {
        breaks: count_range(&exposed, &probits, errors, expected),
        breaks_local: local_range(&local, expected),
        loss_usd: loss_range(&exposed, &probits, errors),
        shared: if weight > 0.0 { shared / weight } else { 0.0 },
        judged: None,
    }
}

/// Without a shared part one node is enough.
fn local_range(local: &[Exposed], expected: f64) -> Range {
    let chances: Vec<f64> = local.iter().map(|one| one.p).collect();
    let part = if chances.len() as f64 * chances.len() as f64 / 2.0 <= EXACT_WORK {
        Given::Lattice(cumulative(poisson_binomial(&chances)))
    } else {
        moments(&chances, &|_| 1.0)
    };
    let parts = [part];
    let at = |share| mixture_quantile(&parts, &[1.0], chances.len(), share, 0.5) as f64;
    Range {
        expected,
        p05: at(0.05),
        p50: at(0.5),
        p95: at(0.95),
    }
}

/// Where a finding falls in the distribution of the count.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize)]
pub struct Predictive {
    /// Expected count.
    pub expected: f64,
    /// 5 in 100 are at or below.
    pub p05: f64,
    /// 95 in 100 are at or below.
    pub p95: f64,
    /// Chance of fewer than were found.
    pub below: f64,
    /// Chance of so many or fewer.
    pub at_or_below: f64,
}

/// Where a count falls in its distribution, with the shared error integrated over.
pub fn predictive(exposed: &[Exposed], found: usize) -> Predictive {
    let probits: Vec<f64> = exposed.iter().map(|one| probit(one.p)).collect();
    let errors = Shared::one();
    let (parts, weights) = (count_parts(exposed, &probits, &errors), &errors.weights);
    let cdf = |k: f64| -> f64 {
        parts
            .iter()
            .zip(weights)
            .map(|(part, w)| w * part.at_most(k, 0.5))
            .sum()
    };
    let at = |share| mixture_quantile(&parts, weights, exposed.len(), share, 0.5) as f64;
    Predictive {
        expected: exposed.iter().map(|one| one.p).sum(),
        p05: at(0.05),
        p95: at(0.95),
        below: if found == 0 { 0.0 } else { cdf(found as f64 - 1.0) },
        at_or_below: cdf(found as f64),
    }
}
