//! What a list was worth: the share of breaks and of loss within so much of it, beside simple rules.

use serde::Serialize;

/// One assembly on a list.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Listed {
    /// Place on the list: the highest comes first.
    pub order: f64,
    /// Whether it was found damaged.
    pub broke: bool,
    /// What its damage costs, US dollars.
    pub loss_usd: Option<f64>,
    /// How many it stands for.
    pub weight: f64,
}

/// What is caught within a share of the list.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Captured {
    /// Share of the weighted list.
    pub share_of_list: f64,
    /// Share of the breaks.
    pub breaks: Option<f64>,
    /// Share of the loss.
    pub loss: Option<f64>,
}

/// Shares of the list at which it is judged.
pub const SHARES: [f64; 3] = [0.1, 0.2, 0.4];

/// What is caught within a share of the weighted list. Rows that tie share what falls to them, so that the order of a file is no luck.
pub fn captured(rows: &[Listed], share_of_list: f64) -> Captured {
    let mut order: Vec<&Listed> = rows.iter().collect();
    order.sort_by(|a, b| b.order.total_cmp(&a.order));
    let all: f64 = rows.iter().map(|row| row.weight).sum();
    let mut left = share_of_list * all;
    let (mut breaks, mut loss, mut all_breaks, mut all_loss) = (0.0, 0.0, 0.0, 0.0);
    for alike in order.chunk_by(|a, b| a.order == b.order) {
        let weight: f64 = alike.iter().map(|row| row.weight).sum();
        let take = if weight > 0.0 {
            (left / weight).clamp(0.0, 1.0)
        } else {
            0.0
        };
        left -= take * weight;
        for row in alike.iter().filter(|row| row.broke) {
            let usd = row.loss_usd.unwrap_or(0.0);
            breaks += take * row.weight;
            loss += take * row.weight * usd;
            all_breaks += row.weight;
            all_loss += row.weight * usd;
        }
    }
    // A broken one whose loss is not known would silently count as free.
    let priced = rows.iter().filter(|row| row.broke).all(|row| row.loss_usd.is_some());
    Captured {
        share_of_list,
        breaks: (all_breaks > 0.0).then(|| breaks / all_breaks),
        loss: (priced && all_loss > 0.0).then(|| loss / all_loss),
    }
}

/// Two lists cut at the same length: broken ones that only one of them holds, and the exact two-sided p of so uneven a split
/// \[mcnemar-1947\].
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Paired {
    /// Length of both lists.
    pub length: usize,
    /// Broken ones only on the first.
    pub only_first: usize,
    /// Broken ones only on the second.
    pub only_second: usize,
    /// Exact p.
    pub p: f64,
}

/// Compares two orders of the same rows. Rows that tie stay in the order given.
pub fn paired(broke: &[bool], first: &[f64], second: &[f64], length: usize) -> Paired {
    let top = |score: &[f64]| -> Vec<bool> {
        let mut order: Vec<usize> = (0..score.len()).collect();
        order.sort_by(|a, b| score[*b].total_cmp(&score[*a]));
        let mut held = vec![false; score.len()];
        order.into_iter().take(length).for_each(|i| held[i] = true);
        held
    };
    let (a, b) = (top(first), top(second));
    let only = |x: &[bool], y: &[bool]| {
        (0..broke.len())
            .filter(|&i| broke[i] && x.get(i) == Some(&true) && y.get(i) == Some(&false))
            .count()
    };
    let (only_first, only_second) = (only(&a, &b), only(&b, &a));
    Paired {
        length,
        only_first,
        only_second,
        p: even_split_p(only_first, only_second),
    }
}

/// Exact two-sided p of a split under an even coin.
fn even_split_p(a: usize, b: usize) -> f64 {
    let pmf = super::total::poisson_binomial(&vec![0.5; a + b]);
    let tail: f64 = pmf[..=a.min(b)].iter().sum();
    (2.0 * tail).min(1.0)
}
