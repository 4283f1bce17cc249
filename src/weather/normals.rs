//! Are these observations at all? Climate normals written as hours look like a year and hold no weather.

use super::series::Series;

/// Fewest whole days that the question is asked of (judgement: shorter fair-weather series may be smooth).
const LEAST_DAYS: usize = 120;
/// Standard deviation of the change of daily means from day to day below which there is no weather, K (judgement: normals show
/// about 0.2 K, the calmest ocean stations about 1 K, mid-latitude stations 3 K).
const LEAST_CHANGE_K: f64 = 0.5;

/// Whether an hourly series is as smooth as climate normals.
pub fn are_normals(series: &Series) -> bool {
    let means: Vec<f64> = series
        .air_c
        .chunks_exact(24)
        .map(|day| day.iter().sum::<f64>() / 24.0)
        .collect();
    if means.len() < LEAST_DAYS {
        return false;
    }
    let squares: f64 = means
        .windows(2)
        .map(|pair| match pair {
            [a, b] => (b - a).powi(2),
            _ => 0.0,
        })
        .sum();
    let swing =
        means.iter().copied().fold(f64::NEG_INFINITY, f64::max) - means.iter().copied().fold(f64::INFINITY, f64::min);
    // A test series that stands still is no climate either, but it does not pretend to be one.
    swing > 1.0 && (squares / (means.len() - 1) as f64).sqrt() < LEAST_CHANGE_K
}
