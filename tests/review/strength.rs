//! One strength factor beside nucleation, on the real kernel: what records can tell of it, and when it stays as it is.

use crate::backtest::settings;
use crate::taught::{programme, strengthened};
use brimwater::review::assess::Settings;
use brimwater::review::case::{Case, Curve, chance};
use brimwater::review::posterior::{Evidence, Prior, posterior};
use brimwater::review::proposal::{Kept, Proposal, evidence, may_carry_strength, propose};
use brimwater::review::row::Traits;
use brimwater::review::{Contact, Row, State};
use rand_pcg::Pcg64;
use rand_pcg::rand_core::Rng;
use std::f64::consts::TAU;
use std::sync::{Arc, OnceLock};

const MEMBERS: usize = 64;

/// Four spells of every fourth assembly, each half a kelvin milder than the one before.
fn spells() -> &'static [Vec<Case>] {
    static SPELLS: OnceLock<Vec<Vec<Case>>> = OnceLock::new();
    SPELLS.get_or_init(|| {
        let mut programme = programme();
        [0.0, 0.5, 1.0, 1.5]
            .map(|shift_k| strengthened(&mut programme, 4, shift_k, MEMBERS))
            .to_vec()
    })
}

/// What nature is in one repetition.
#[derive(Clone, Copy)]
struct Truth {
    mean_c: f64,
    ln_strength: f64,
}

/// Draws of one repetition.
struct Draws(Pcg64);

impl Draws {
    fn new(repetition: u64) -> Self {
        Self(Pcg64::new(u128::from(repetition), 0x7374_7265))
    }

    fn uniform(&mut self) -> f64 {
        (self.0.next_u64() >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// Box–Muller.
    fn normal(&mut self) -> f64 {
        let (u, v) = (self.uniform().max(1e-12), self.uniform());
        (-2.0 * u.ln()).sqrt() * (TAU * v).cos()
    }
}

/// A case's chance, put together here beside the program's own way: its chance at each strength alone, and the straight line between two.
fn broken(case: &Case, ln_strength: f64, mean_c: f64, prior: &Prior) -> f64 {
    let Case::Curve(curve) = case else { panic!("simulated") };
    let at = |row: usize| {
        let alone = Curve::plain(curve.nucleation_c.clone(), curve.chance[row].clone(), MEMBERS);
        chance(&Case::Curve(Arc::new(alone)), mean_c, prior.spread_k, prior.warmest_c)
    };
    let last = curve.ln_strength.len() - 1;
    let row = (0..last)
        .rev()
        .find(|row| curve.ln_strength[*row] <= ln_strength)
        .unwrap_or(0);
    let (from, to) = (curve.ln_strength[row], curve.ln_strength[row + 1]);
    let share = ((ln_strength - from) / (to - from)).clamp(0.0, 1.0);
    at(row) * (1.0 - share) + at(row + 1) * share
}

/// Each assembly of each spell looked at `times` (as many assemblies that are alike): rows as a review gets them.
fn found(spells: &[Vec<Case>], truth: Truth, prior: &Prior, times: usize, draws: &mut Draws) -> Vec<Row> {
    let mut rows = Vec::new();
    for (spell, cases) in spells.iter().enumerate() {
        let effect_k = prior.spell_k * draws.normal();
        for (at, case) in cases.iter().enumerate() {
            let p = broken(case, truth.ln_strength, truth.mean_c + effect_k, prior);
            for twin in 0..times {
                rows.push(Row {
                    spell: format!("spell-{spell}"),
                    assembly_id: format!("{at}-{twin}"),
                    p_issued: 0.5,
                    p_hindcast: Some(chance(case, prior.mean_c, prior.spread_k, prior.warmest_c)),
                    p_protected: None,
                    loss_usd: None,
                    rank: None,
                    contact: Contact::None,
                    protected: Some(false),
                    inclusion: 1.0,
                    by_design: true,
                    told_how: true,
                    state: if draws.uniform() < p {
                        State::Damaged
                    } else {
                        State::Whole
                    },
                    traits: Traits::default(),
                    case: Some(case.clone()),
                });
            }
        }
    }
    rows
}

fn gathered(rows: &[Row], settings: &Settings) -> Vec<Evidence> {
    evidence(&rows.iter().collect::<Vec<_>>(), settings)
}

/// X-Val: what an interval of 90 % is, under truths drawn from the prior itself (Cook, Gelman, Rubin 2006: then any correct posterior's intervals hold
/// them in 90 of 100): of 20 repetitions 18 are expected, with a standard deviation of 1.3; below 14 is three of them. For the mean of nucleation and
/// the factor alike.
///
/// Wrong program, tried: strengths taken in the wrong order (the factor is held in 10, the mean in 19).
#[test]
fn intervals_of_both_constants_hold_truths_drawn_from_the_prior() {
    let settings = settings();
    let prior = settings.prior.with_strength();
    let (mut held_mean, mut held_strength, mut open, mut broke) = (0, 0, 0.0, 0);
    const REPETITIONS: u64 = 20;
    for repetition in 0..REPETITIONS {
        let mut draws = Draws::new(repetition);
        let truth = Truth {
            mean_c: prior.mean_c + prior.sd_k * draws.normal(),
            // Within the ends that are tried.
            ln_strength: std::iter::repeat_with(|| prior.strength_log_sd * draws.normal())
                .find(|ln| ln.abs() < 2.0 * prior.strength_log_sd)
                .unwrap(),
        };
        let rows = found(spells(), truth, &prior, 1, &mut draws);
        let told = posterior(&gathered(&rows, &settings), &prior, false);
        let holds = |(low, high): (f64, f64), truth: f64| u32::from((low..=high).contains(&truth));
        held_mean += holds(told.interval90_c(), truth.mean_c);
        held_strength += holds(told.ln_strength_interval90(), truth.ln_strength);
        open += told.strength_open() / REPETITIONS as f64;
        broke += rows.iter().filter(|row| row.state == State::Damaged).count();
    }
    eprintln!(
        "mean held in {held_mean}, strength in {held_strength} of {REPETITIONS}, left open {open:.2}, {} broke",
        broke / REPETITIONS as usize
    );
    assert!(held_mean >= 14 && held_strength >= 14, "{held_mean}, {held_strength}");
    // Four hundred looks narrow it, and do not settle it.
    assert!((0.2..0.95).contains(&open), "{open}");
}

fn proposed(mean_c: f64, ln_strength: f64, times: usize, repetition: u64) -> Option<Proposal> {
    let settings = settings();
    let truth = Truth { mean_c, ln_strength };
    let rows = found(
        spells(),
        truth,
        &settings.prior,
        times,
        &mut Draws::new(1000 + repetition),
    );
    propose(&rows, &settings).ok()
}

/// X-Val: castings that break far more easily than the config says (a factor of 0.55) show in 1,600 looks: where
/// a factor is proposed, it is below 1 and its interval with it, and the spells left out are told better. With castings as the config says, the
/// factor stays (an interval of 90 % leaves the truth out one time in ten, so that three of three are expected three times in four: these draws).
///
/// Both truths of nucleation are unlike the judgement, so that something is proposed at all: a mean and a factor that offset each other are not told.
///
/// Wrong programs: one that never lets the factor free; one that always does; a sign the wrong way round.
#[test]
fn the_factor_is_proposed_where_records_carry_it_and_kept_where_they_do_not() {
    let weak: Vec<Proposal> = (0..3).filter_map(|at| proposed(-5.0, 0.55_f64.ln(), 4, at)).collect();
    let told: Vec<_> = weak.iter().filter_map(|one| one.strength).collect();
    eprintln!("{told:?}");
    assert!(
        told.len() >= 2,
        "{:?}",
        weak.iter().map(|one| one.strength_kept).collect::<Vec<_>>()
    );
    for one in &told {
        assert!(one.factor < 0.85 && one.interval.1 < 1.0, "{one:?}");
        assert!(one.left_out_log_score.1 < one.left_out_log_score.0);
    }
    let usual: Vec<Proposal> = (0..3).filter_map(|at| proposed(-6.3, 0.0, 4, at)).collect();
    eprintln!(
        "{:?}",
        usual
            .iter()
            .map(|one| (one.strength, one.strength_kept))
            .collect::<Vec<_>>()
    );
    assert!(!usual.is_empty() && usual.iter().all(|one| one.strength.is_none()));
}

// Rule: three spells, sixty damaged and sixty whole (judgement, told in `review`), and cases that were run at several strengths. Wrong program:
// one that takes a stand-in curve, which knows nothing of strength, for a case.
#[test]
fn few_records_and_stand_ins_leave_strength_as_it_is() {
    let settings = settings();
    let truth = Truth {
        mean_c: -6.3,
        ln_strength: 0.4_f64.ln(),
    };
    let rows = found(&spells()[..2], truth, &settings.prior, 2, &mut Draws::new(1));
    assert!(!may_carry_strength(&rows));
    let told = propose(&rows, &settings).unwrap();
    assert!(
        matches!(told.strength_kept, Some(Kept::TooFew { spells: 3, each: 60 })),
        "{told:?}"
    );
    let mut rows = found(spells(), truth, &settings.prior, 2, &mut Draws::new(2));
    assert!(may_carry_strength(&rows));
    for row in &mut rows {
        row.case = None;
    }
    if let Ok(told) = propose(&rows, &settings) {
        assert_eq!(told.strength_kept, Some(Kept::NotSimulated));
    }
}
