//! A range on the town's total.

use crate::backtest::{close, expected};
use brimwater::review::math::hermite;
use brimwater::review::total::{
    Exposed, Shared, count_at, count_distribution, predictive, shared_share, total, total_over,
};

fn town(n: usize, p: f64, shared: f64) -> Vec<Exposed> {
    vec![
        Exposed {
            p,
            shared,
            loss_usd: 1_000.0,
            area: 0
        };
        n
    ]
}

// X-Val: tests/data/learning/expected_recalibration.json (numpy.polynomial.hermite_e, numpy.convolve). Wrong program: assemblies taken as
// independent (36 to 54 where 0 to 139 is right), or the shared error counted once an assembly.
#[test]
fn a_shared_error_widens_the_total_as_the_reference_says() {
    let reference = expected("expected_recalibration.json");
    for (shared, name) in [
        (0.0, "150 at 30 %, correlation 0.0"),
        (0.3, "150 at 30 %, correlation 0.3"),
        (0.67, "150 at 30 %, correlation 0.67"),
    ] {
        let wanted = &reference["damaged in a town, one-factor copula"][name];
        let pmf = count_distribution(&town(150, 0.3, shared));
        let mean: f64 = pmf.iter().enumerate().map(|(k, p)| k as f64 * p).sum();
        let variance: f64 = pmf.iter().enumerate().map(|(k, p)| (k as f64 - mean).powi(2) * p).sum();
        close(mean, &wanted["mean"], 1e-4, name);
        close(variance.sqrt(), &wanted["sd"], 1e-4, name);
        close(pmf[0], &wanted["chance_none"], 1e-8, name);
        let told = total(&town(150, 0.3, shared));
        for (is, share, key) in [
            (told.breaks.p05, 0.05, "q05"),
            (told.breaks.p50, 0.5, "q50"),
            (told.breaks.p95, 0.95, "q95"),
        ] {
            close(count_at(&pmf, share) as f64, &wanted[key], 0.0, key);
            close(is, &wanted[key], 0.0, key);
        }
        // Equal losses: the loss is the count in thousands.
        assert!((told.loss_usd.p95 - 1_000.0 * told.breaks.p95).abs() < 151.0);
        assert!((told.loss_usd.expected - 45_000.0).abs() < 1e-6);
        assert_eq!((told.breaks_local.p05, told.breaks_local.p95), (36.0, 54.0));
    }
}

// X-Val: learning.md's own sum: 2.22 K at 48 h against 1.0 and 1.2 K gives 0.67. Quadrature: the moments of a normal are 0, 1, 0, 3.
#[test]
fn shares_and_nodes() {
    assert!((shared_share(2.22, 1.0, 1.2) - 0.669).abs() < 1e-3);
    assert_eq!(shared_share(0.0, 1.0, 1.2), 0.0);
    for n in [21, 61] {
        let (nodes, weights) = hermite(n);
        for (power, wanted) in [(0, 1.0), (1, 0.0), (2, 1.0), (4, 3.0), (6, 15.0)] {
            let moment: f64 = nodes.iter().zip(&weights).map(|(z, w)| w * z.powi(power)).sum();
            assert!((moment - wanted).abs() < 1e-10, "{n} nodes, power {power}: {moment}");
        }
    }
}

// A large town takes the nearly normal way: it must agree with the exact one where both can be had, and with the limit of very many
// alike, where the share broken given e is Φ((Φ⁻¹(p) + √ρ·e)/√(1−ρ)) and its 5 % point has a closed form [vasicek-2002].
#[test]
fn a_large_town_has_the_range_of_the_limit() {
    let told = total(&town(20_000, 0.3, 0.67));
    let z = brimwater::review::math::probit;
    let limit = |e: f64| brimwater::review::math::phi((z(0.3) + 0.67_f64.sqrt() * e) / 0.33_f64.sqrt()) * 20_000.0;
    // The mixture over 61 nodes has steps between nodes; their width bounds the difference.
    assert!((told.breaks.p95 - limit(1.644_854)).abs() < 0.04 * 20_000.0, "{told:?}");
    assert!(
        (told.breaks.p05 - limit(-1.644_854)).abs() < 0.01 * 20_000.0,
        "{told:?}"
    );
    assert!((told.breaks.expected - 6_000.0).abs() < 1e-6);
}

#[test]
fn where_a_finding_falls() {
    let place = predictive(&town(150, 0.3, 0.0), 45);
    assert!(place.below < 0.5 && place.at_or_below > 0.5);
    let none = predictive(&town(150, 0.3, 0.67), 0);
    assert_eq!(none.below, 0.0);
    assert!((none.at_or_below - 0.120_495).abs() < 1e-5);
    let empty = total(&[]);
    assert_eq!((empty.breaks.expected, empty.loss_usd.p95), (0.0, 0.0));
}

// X-Val: with independent errors the count of two areas is the sum of two independent counts, worked here by convolving the one-area
// distributions (definition); with errors wholly alike it is the count of one area. Wrong programs: one error for all areas, whose range is half as wide again;
// assemblies taken as independent, whose range is a third of this; nodes that leave a tail out.
#[test]
fn areas_far_apart_do_not_miss_together() {
    let both = |root: &[&[f64]]| {
        let mut all = town(75, 0.3, 0.67);
        all.extend(town(75, 0.3, 0.67).into_iter().map(|one| Exposed { area: 1, ..one }));
        total_over(&all, &Shared::areas(root))
    };
    let half = count_distribution(&town(75, 0.3, 0.67));
    let mut sum = vec![0.0; 151];
    for (a, p) in half.iter().enumerate() {
        for (b, q) in half.iter().enumerate() {
            sum[a + b] += p * q;
        }
    }
    let apart = both(&[&[1.0, 0.0], &[0.0, 1.0]]);
    for (is, share) in [
        (apart.breaks.p05, 0.05),
        (apart.breaks.p50, 0.5),
        (apart.breaks.p95, 0.95),
    ] {
        // 256 quasi-random nodes in place of an integral: within 4 of 150.
        let right = count_at(&sum, share) as f64;
        assert!((is - right).abs() <= 4.0, "{share}: {is} for {right}");
    }
    let (alike, one) = (both(&[&[1.0, 0.0], &[1.0, 0.0]]), total(&town(150, 0.3, 0.67)));
    assert!((alike.breaks.p95 - one.breaks.p95).abs() <= 4.0, "{alike:?} {one:?}");
    assert!((alike.breaks.p50 - one.breaks.p50).abs() <= 4.0, "{alike:?} {one:?}");
    assert!(apart.breaks.p95 < one.breaks.p95 - 15.0, "{apart:?} {one:?}");
    assert_eq!(apart.breaks.expected, one.breaks.expected);
}

/// X-Val: the binomial distribution of statrs, for trials as many as a bin of a large review holds; the library works by logarithms
/// of factorials, which are rounded near 1e-11 there, so 1e-9 of the largest chance is asked. With chances that differ: their sum and the sum of p(1 − p) are mean and variance (any textbook of probability).
/// Catches: counts that are possible taken as impossible, an end of the possible counts that is not moved on, certain and impossible trials.
#[test]
fn many_trials_are_as_exact_as_few() {
    use brimwater::review::total::poisson_binomial;
    use statrs::distribution::{Binomial, Discrete};
    for (n, p) in [(7, 0.4), (3_000, 0.002), (20_000, 0.3), (20_000, 0.999)] {
        let pmf = poisson_binomial(&vec![p; n]);
        let known = Binomial::new(p, n as u64).unwrap();
        assert_eq!(pmf.len(), n + 1);
        let largest = pmf.iter().copied().fold(0.0, f64::max);
        for (k, chance) in pmf.iter().enumerate() {
            let known = known.pmf(k as u64);
            assert!(
                (chance - known).abs() < 1e-9 * largest,
                "{n} {p} {k}: {chance} for {known}"
            );
        }
    }
    let chances: Vec<f64> = (0..5_000).map(|at| f64::from(at % 101) / 100.0).collect();
    let pmf = poisson_binomial(&chances);
    let mean: f64 = pmf.iter().enumerate().map(|(k, p)| k as f64 * p).sum();
    let variance: f64 = pmf.iter().enumerate().map(|(k, p)| (k as f64 - mean).powi(2) * p).sum();
    let (known_mean, known_variance) = (
        chances.iter().sum::<f64>(),
        chances.iter().map(|p| p * (1.0 - p)).sum::<f64>(),
    );
    assert!(
        (mean - known_mean).abs() < 1e-8 && (variance - known_variance).abs() < 1e-6,
        "{mean} {variance}"
    );
}
