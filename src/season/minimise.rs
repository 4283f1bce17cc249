//! The lowest point of a smooth function of few variables, without derivatives.

/// Steps of one descent; four variables need a few hundred.
const MOST_STEPS: usize = 20_000;
/// Descents from the point found, each with a fresh simplex: a simplex can collapse on a slope.
const MOST_RESTARTS: usize = 40;

/// Descends from `start` by the downhill simplex of Nelder and Mead \[nelder-mead-1965\], starting anew from the point found until
/// that gains less than 1e-12. `step` is the size of the first simplex in each variable. Points where `f` is not finite count as
/// infinitely high. Returns the point and its height.
pub fn minimise(f: &dyn Fn(&[f64]) -> f64, start: &[f64], step: &[f64]) -> (Vec<f64>, f64) {
    let height = |x: &[f64]| {
        let y = f(x);
        if y.is_finite() { y } else { f64::INFINITY }
    };
    let mut best = (start.to_vec(), height(start));
    let mut size = 1.0;
    for _ in 0..MOST_RESTARTS {
        let steps: Vec<f64> = step.iter().map(|step| step * size).collect();
        let found = descend(&height, &best.0, &steps);
        let gain = best.1 - found.1;
        if found.1 <= best.1 {
            best = found;
        }
        if gain.is_finite() && gain < 1e-12 && size < 0.05 {
            break;
        }
        size = (size * 0.5_f64).max(0.01);
    }
    best
}

fn descend(f: &dyn Fn(&[f64]) -> f64, start: &[f64], step: &[f64]) -> (Vec<f64>, f64) {
    let n = start.len();
    let mut simplex: Vec<(Vec<f64>, f64)> = (0..=n)
        .map(|corner| {
            let mut x = start.to_vec();
            if let Some((x, step)) = corner
                .checked_sub(1)
                .and_then(|at| Some((x.get_mut(at)?, step.get(at)?)))
            {
                *x += step;
            }
            let y = f(&x);
            (x, y)
        })
        .collect();
    for _ in 0..MOST_STEPS {
        simplex.sort_by(|a, b| a.1.total_cmp(&b.1));
        let spread = simplex[n].1 - simplex[0].1;
        let width = (0..n)
            .map(|k| (simplex[n].0[k] - simplex[0].0[k]).abs())
            .fold(0.0, f64::max);
        if spread.abs() < 1e-14 && width < 1e-9 {
            break;
        }
        let centre: Vec<f64> = (0..n)
            .map(|k| simplex[..n].iter().map(|corner| corner.0[k]).sum::<f64>() / n as f64)
            .collect();
        let along = |t: f64| -> (Vec<f64>, f64) {
            let x: Vec<f64> = (0..n).map(|k| centre[k] + t * (simplex[n].0[k] - centre[k])).collect();
            let y = f(&x);
            (x, y)
        };
        let reflected = along(-1.0);
        let next = if reflected.1 < simplex[0].1 {
            let expanded = along(-2.0);
            if expanded.1 < reflected.1 { expanded } else { reflected }
        } else if reflected.1 < simplex[n - 1].1 {
            reflected
        } else {
            let contracted = along(if reflected.1 < simplex[n].1 { -0.5 } else { 0.5 });
            if contracted.1 >= simplex[n].1.min(reflected.1) {
                let low = simplex[0].0.clone();
                for corner in &mut simplex[1..] {
                    for (x, low) in corner.0.iter_mut().zip(&low) {
                        *x = low + 0.5 * (*x - low);
                    }
                    corner.1 = f(&corner.0);
                }
                continue;
            }
            contracted
        };
        simplex[n] = next;
    }
    simplex.sort_by(|a, b| a.1.total_cmp(&b.1));
    simplex.swap_remove(0)
}
