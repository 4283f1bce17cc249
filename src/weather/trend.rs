//! Is the record moving? The median of pairwise slopes and a rank test.

/// A trend and how sure it is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Trend {
    /// Median of pairwise slopes, per unit of the abscissa.
    pub slope: f64,
    /// Two-sided p-value of the rank test, with the correction for ties.
    pub p_value: f64,
}

/// Theil-Sen slope and Mann-Kendall test (normal approximation with continuity and tie corrections) \[sen-1968\] \[mann-1945\].
///
/// `points` are `(abscissa, value)` pairs in any order; `None` below four points or when all abscissas are equal.
pub fn trend(points: &[(f64, f64)]) -> Option<Trend> {
    let n = points.len();
    if n < 4 || points.iter().any(|(x, y)| !(x.is_finite() && y.is_finite())) {
        return None;
    }
    let mut points = points.to_vec();
    points.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut slopes = Vec::with_capacity(n * (n - 1) / 2);
    let mut score = 0.0_f64;
    for (i, (x1, y1)) in points.iter().enumerate() {
        for (x2, y2) in points.iter().skip(i + 1) {
            if x2 > x1 {
                slopes.push((y2 - y1) / (x2 - x1));
                score += if y2 > y1 {
                    1.0
                } else if y2 < y1 {
                    -1.0
                } else {
                    0.0
                };
            }
        }
    }
    if slopes.is_empty() {
        return None;
    }
    slopes.sort_by(f64::total_cmp);
    let slope = super::gev::sorted_quantile(&slopes, 0.5);
    let count = n as f64;
    let mut values: Vec<f64> = points.iter().map(|point| point.1).collect();
    values.sort_by(f64::total_cmp);
    let ties: f64 = values
        .chunk_by(|a, b| a == b)
        .map(|group| {
            let t = group.len() as f64;
            t * (t - 1.0) * (2.0 * t + 5.0)
        })
        .sum();
    let variance = (count * (count - 1.0) * (2.0 * count + 5.0) - ties) / 18.0;
    let p_value = if variance <= 0.0 || score == 0.0 {
        1.0
    } else {
        let z = (score - score.signum()) / variance.sqrt();
        statrs::function::erf::erfc(z.abs() / std::f64::consts::SQRT_2)
    };
    Some(Trend { slope, p_value })
}
