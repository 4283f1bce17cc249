//! Causes weighed by the evidence, and the question that would tell most.

use super::account::{Account, Sign, Water, When, Where};
use super::cause::Cause;
use super::config::DripConfig;
use super::expect;
use super::finding::Finding;
use super::heating::heating;
use super::rate::ToldRate;
use super::table::{self, Flow, Question, ROWS, Row};
use crate::inventory::DeviceType;
use statrs::distribution::{ContinuousCDF, Normal};

/// Range of rates over which the small uniform part of every cause's flow is spread, L/h.
const FLOOR_RANGE_L_PER_H: [f64; 2] = [1e-3, 1e5];
/// Share of that uniform part (judgement: no cause is excluded by a rate alone).
const FLOOR_SHARE: f64 = 0.01;
/// Standard deviations from the median to the 5th and 95th percentile of a normal distribution.
const Z_95: f64 = 1.644_853_626_951_472_2;

/// One piece of evidence for the weighing: the question and how likely each cause makes the answer.
#[derive(Debug, Clone, PartialEq)]
pub struct Evidence {
    /// The question answered.
    pub question: Question,
    /// Likelihood under each cause, in the order of [`Cause::ALL`].
    pub likelihood: Vec<f64>,
}

/// The causes weighed.
#[derive(Debug, Clone, PartialEq)]
pub struct Weighed {
    /// Share of each cause, in the order of [`Cause::ALL`]; sums to 1.
    pub shares: Vec<f64>,
    /// The evidence used.
    pub evidence: Vec<Evidence>,
}

impl Weighed {
    /// Share of a finding: the sum over its causes.
    pub fn finding_share(&self, finding: Finding) -> f64 {
        finding_shares(&self.shares)
            .into_iter()
            .find(|(each, _)| *each == finding)
            .map_or(0.0, |(_, share)| share)
    }

    /// The finding with the largest share, and that share. Of equal shares the earlier in [`Finding::ALL`] leads.
    pub fn leader(&self) -> (Finding, f64) {
        let mut best = (Finding::CannotTell, 0.0);
        for (finding, share) in finding_shares(&self.shares) {
            if share > best.1 {
                best = (finding, share);
            }
        }
        best
    }

    /// As [`Weighed::leader`], when one finding is ruled out: its share goes to the others as they stand.
    pub fn leader_but(&self, ruled_out: Finding) -> (Finding, f64) {
        let left: Vec<(Finding, f64)> = finding_shares(&self.shares)
            .into_iter()
            .filter(|(finding, _)| *finding != ruled_out)
            .collect();
        let sum: f64 = left.iter().map(|(_, share)| share).sum();
        let mut best = (Finding::CannotTell, 0.0);
        for (finding, share) in left {
            if sum > 0.0 && share / sum > best.1 {
                best = (finding, share / sum);
            }
        }
        best
    }
}

fn finding_shares(shares: &[f64]) -> Vec<(Finding, f64)> {
    Finding::ALL
        .iter()
        .map(|finding| {
            let of_finding = Cause::ALL
                .iter()
                .zip(shares)
                .filter(|(cause, _)| cause.finding() == *finding);
            (*finding, of_finding.map(|(_, share)| share).sum())
        })
        .collect()
}

/// Weighs the causes by what was told.
pub fn weigh(account: &Account, config: &DripConfig) -> Weighed {
    let place = if account.place_contradicts_device() {
        Where::Unsure
    } else {
        account.place
    };
    let mut shares: Vec<f64> = ROWS.iter().map(|row| prior(row, place, account, config)).collect();
    normalise(&mut shares);
    let evidence = evidence(account, config);
    for each in &evidence {
        for (share, likelihood) in shares.iter_mut().zip(&each.likelihood) {
            *share *= likelihood;
        }
        normalise(&mut shares);
    }
    Weighed { shares, evidence }
}

/// Divides by the sum; where nothing is left, all are equal.
fn normalise(shares: &mut [f64]) {
    let sum: f64 = shares.iter().sum();
    let count = shares.len() as f64;
    for share in shares.iter_mut() {
        *share = if sum > 0.0 && sum.is_finite() {
            *share / sum
        } else {
            1.0 / count
        };
    }
}

fn prior(row: &Row, place: Where, account: &Account, config: &DripConfig) -> f64 {
    let at_place = |at: usize| place_conditional(row, at, config);
    let mut prior = match Where::ALL.iter().position(|each| *each == place) {
        Some(at) if place != Where::Unsure => at_place(at),
        _ => (0..table::PLACE_SHARES.len())
            .map(|at| table::PLACE_SHARES.get(at).copied().unwrap_or(0.0) * at_place(at))
            .sum(),
    };
    // An assembly on file rules out what only another kind can do.
    if place == Where::Unsure
        && let Some(kind) = account.device.device_type
    {
        let breaker = matches!(kind, DeviceType::Pvb | DeviceType::Svb | DeviceType::Avb);
        let reduced = matches!(kind, DeviceType::Rp | DeviceType::Rpda);
        let impossible = match row.cause {
            Cause::BreakerFills | Cause::BreakerFouled => !breaker,
            Cause::ReliefDip | Cause::CheckFouled | Cause::ExpansionThroughCheck => !reduced,
            _ => false,
        };
        if impossible {
            prior = 0.0;
        }
        // Files are often wrong about small add-ons, so "none on file" makes it rare, not impossible (judgement).
        let drip_valve = matches!(row.cause, Cause::FreezeDripRuns | Cause::FreezeDripStuck);
        if drip_valve && account.device.freeze_drip == Some(false) {
            prior *= 0.1;
        }
    }
    prior
}

/// P(cause | place): the weight among all causes at the place.
fn place_conditional(row: &Row, at: usize, config: &DripConfig) -> f64 {
    let weight = |row: &Row| {
        table::weights(row, Question::Where, config)
            .get(at)
            .copied()
            .unwrap_or(0.0)
    };
    let all: f64 = ROWS.iter().map(weight).sum();
    if all > 0.0 { weight(row) / all } else { 0.0 }
}

fn evidence(account: &Account, config: &DripConfig) -> Vec<Evidence> {
    let mut all = Vec::new();
    let mut add = |question: Question, at: usize| {
        all.push(Evidence {
            question,
            likelihood: ROWS
                .iter()
                .map(|row| answer_chance(row, question, at, config))
                .collect(),
        });
    };
    if account.when != When::Unsure
        && let Some(at) = When::ALL.iter().position(|each| *each == account.when)
    {
        add(Question::When, at);
    }
    if let Some(water) = account.water_seen()
        && let Some(at) = Water::ALL.iter().position(|each| *each == water)
    {
        add(Question::Water, at);
    }
    if let Some(air_c) = account.air() {
        add(Question::Air, table::air_band(air_c));
    }
    if let Some(frost) = account.frost() {
        add(Question::Frost, usize::from(!frost));
    }
    if account.signs.contains(&Sign::Ice) {
        add(Question::Ice, 0);
    }
    if account.signs.contains(&Sign::AfterTest) {
        add(Question::AfterTest, 0);
    }
    if let Some(rate) = account.told_rate() {
        all.push(Evidence {
            question: Question::Rate,
            likelihood: ROWS
                .iter()
                .map(|row| rate_density(row, rate, account, config))
                .collect(),
        });
    }
    all
}

/// P(answer | cause) for a question with words.
fn answer_chance(row: &Row, question: Question, at: usize, config: &DripConfig) -> f64 {
    let weights = table::weights(row, question, config);
    let sum: f64 = weights.iter().sum();
    if sum > 0.0 {
        weights.get(at).copied().unwrap_or(0.0) / sum
    } else {
        1.0
    }
}

/// Flow of a cause: log-normal between the 5th and 95th percentile (L/h), and the chance of nothing.
fn flow_of(row: &Row, account: &Account, config: &DripConfig) -> (f64, f64, f64) {
    match row.flow {
        Flow::Between(low, high, nothing) => (low, high, nothing),
        Flow::FreezeDrip => {
            let [low, high] = expect::freeze_drip_l_per_h(account, config);
            // The valve pulses and wind and wrap are guessed, so the band is widened by half each way (judgement).
            let low = (low * 0.5).max(0.02);
            (low, (high * 1.5).max(low * 2.0), if high <= 0.0 { 0.97 } else { 0.05 })
        }
        Flow::Expansion => {
            let [low, high] = heating(account).rate_l_per_h;
            // A heater works part of the time, so less than its low rate is seen as often as more.
            ((low / 4.0).max(1e-3), high.max(0.01), 0.05)
        }
    }
}

/// Chance that the flow of a cause lies between two rates above 0, L/h.
fn flow_between(row: &Row, low: f64, high: f64, account: &Account, config: &DripConfig) -> f64 {
    let (p5, p95, nothing) = flow_of(row, account, config);
    let (mean, deviation) = ((p5.ln() + p95.ln()) / 2.0, (p95.ln() - p5.ln()) / (2.0 * Z_95));
    let Ok(normal) = Normal::new(mean, deviation.max(0.05)) else {
        return 0.0;
    };
    let inside = normal.cdf(high.ln()) - normal.cdf(low.ln());
    let [floor_low, floor_high] = FLOOR_RANGE_L_PER_H;
    let overlap = (high.min(floor_high).ln() - low.max(floor_low).ln()).max(0.0);
    let uniform = overlap / (floor_high.ln() - floor_low.ln());
    (1.0 - nothing) * ((1.0 - FLOOR_SHARE) * inside + FLOOR_SHARE * uniform)
}

/// How likely a cause makes the told rate: its chance to fall into the told range, which is at least a fifth wide.
fn rate_density(row: &Row, rate: &ToldRate, account: &Account, config: &DripConfig) -> f64 {
    if rate.is_none() {
        return flow_of(row, account, config).2;
    }
    let [floor_low, floor_high] = FLOOR_RANGE_L_PER_H;
    let low = rate.low_l_per_h.clamp(floor_low, floor_high / 1.21);
    let high = rate.high_l_per_h.clamp(low, floor_high);
    let (low, high) = if high / low < 1.21 {
        (low / 1.1, low * 1.1)
    } else {
        (low, high)
    };
    // A wide answer such as "stream" says the same as its middle would, not less: divide by the width.
    let width = (high / low).ln();
    flow_between(row, low, high, account, config) / width.max(f64::MIN_POSITIVE)
}

/// The unanswered question whose answer is expected to tell most about the finding: largest drop of entropy.
///
/// Entropy is over findings, not over causes: it does not matter which seat is dirty, but whether somebody must come.
pub fn best_question(account: &Account, weighed: &Weighed, config: &DripConfig) -> Option<(Question, f64)> {
    let before = entropy(&weighed.shares);
    let mut best: Option<(Question, f64)> = None;
    for question in open_questions(account) {
        let answers = answer_table(question, account, config);
        let mut expected = 0.0;
        for likelihood in &answers {
            let mut shares: Vec<f64> = weighed.shares.iter().zip(likelihood).map(|(a, b)| a * b).collect();
            let chance: f64 = shares.iter().sum();
            if chance > 0.0 {
                normalise(&mut shares);
                expected += chance * entropy(&shares);
            }
        }
        let gain = before - expected;
        if best.is_none_or(|(_, most)| gain > most) {
            best = Some((question, gain));
        }
    }
    best
}

/// Questions not yet answered.
pub fn open_questions(account: &Account) -> Vec<Question> {
    Question::ALL
        .iter()
        .copied()
        .filter(|question| match question {
            Question::Where => account.place == Where::Unsure || account.place_contradicts_device(),
            Question::Rate => account.told_rate().is_none(),
            Question::When => account.when == When::Unsure,
            Question::Water => account.water.is_none(),
            Question::Air => account.air().is_none(),
            Question::Frost => account.frost().is_none(),
            Question::Ice => !account.signs.contains(&Sign::Ice),
            Question::AfterTest => !account.signs.contains(&Sign::AfterTest),
        })
        .collect()
}

/// Likelihood of each cause for each possible answer, `[answers][causes]`; over the answers each cause sums to 1.
fn answer_table(question: Question, account: &Account, config: &DripConfig) -> Vec<Vec<f64>> {
    let by_rows = |chance: &dyn Fn(&Row) -> f64| -> Vec<f64> { ROWS.iter().map(chance).collect() };
    match question {
        Question::Where => (0..table::PLACE_SHARES.len())
            .map(|at| {
                by_rows(&|row| {
                    let joint = |at: usize| {
                        table::PLACE_SHARES.get(at).copied().unwrap_or(0.0) * place_conditional(row, at, config)
                    };
                    let all: f64 = (0..table::PLACE_SHARES.len()).map(joint).sum();
                    if all > 0.0 { joint(at) / all } else { 0.0 }
                })
            })
            .collect(),
        Question::Rate => {
            let [a, b, c] = table::RATE_EDGES_L_PER_H;
            let [low, high] = FLOOR_RANGE_L_PER_H;
            let mut answers = vec![by_rows(&|row| flow_of(row, account, config).2)];
            for (from, to) in [(low, a), (a, b), (b, c), (c, high)] {
                answers.push(by_rows(&|row| flow_between(row, from, to, account, config)));
            }
            answers
        }
        _ => {
            let count = ROWS
                .first()
                .map_or(0, |row| table::weights(row, question, config).len());
            (0..count)
                .map(|at| by_rows(&|row| answer_chance(row, question, at, config)))
                .collect()
        }
    }
}

/// Shannon entropy over findings, bits.
fn entropy(shares: &[f64]) -> f64 {
    finding_shares(shares)
        .into_iter()
        .filter(|(_, share)| *share > 0.0)
        .map(|(_, share)| -share * share.log2())
        .sum()
}
