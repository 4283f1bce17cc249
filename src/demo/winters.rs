//! Invented winters that are over: what was forecast, what came, and what stood in the town afterwards.
//!
//! Everything is judgement or invented: the point is that a reader who learns from records can be seen to learn, for the truth
//! here is known and unlike what the model's constants say.

use super::draw::Draw;
use super::{Wish, spell};
use chrono::{Datelike, NaiveDate};

/// Most winters that are made.
pub const MOST: usize = 8;
/// The invented truth: the mean temperature at which ice starts, °C. The model's own judgement is a kelvin and a half higher.
pub const TRUTH_C: f64 = -7.0;
/// How far that of one spell lies from it, K: wind and sky that no station tells (as `review` assumes).
const SPELL_K: f64 = 0.7;
/// How much colder than the usual demonstration each winter's spell is, °F, over and over.
const COLDER_F: [f64; 4] = [0.0, 3.0, -2.0, 5.0];
/// Hours between the knots of the forecast's error, and its size there, °F a square root of a day.
const KNOT_H: f64 = 24.0;
const ERROR_F: f64 = 1.6;
/// Share of breaks whose owners report them though nobody looked.
pub const REPORTED: f64 = 0.6;

/// One winter.
#[derive(Debug, Clone, PartialEq)]
pub struct Winter {
    /// Its name, for files and records.
    pub name: String,
    /// First day of its week of weather, local.
    pub first_day: NaiveDate,
    /// `forecast.csv`, as it was issued at the begin of the week.
    pub forecast: String,
    /// `observed.csv`: the hours that came.
    pub observed: String,
    /// The mean temperature at which ice started in this spell, °C.
    pub nucleation_c: f64,
}

/// The winters before the day of a wish, oldest first.
pub fn winters(wish: &Wish, count: usize) -> Vec<Winter> {
    (0..count.min(MOST)).map(|at| one(wish, at, count.min(MOST))).collect()
}

fn one(wish: &Wish, at: usize, count: usize) -> Winter {
    let mut draw = Draw::new(wish.seed, 900 + at as u64);
    let year = wish.first_day.year() - (count - at) as i32;
    // A leap day has none in other years.
    let first_day = (wish.first_day.with_year(year))
        .or_else(|| wish.first_day.with_day(28)?.with_year(year))
        .unwrap_or(wish.first_day);
    let own = Wish {
        first_day,
        seed: wish.seed.wrapping_add(at as u64),
        ..*wish
    };
    let colder = -COLDER_F.get(at % COLDER_F.len()).copied().unwrap_or(0.0);
    let mut knots = vec![0.0];
    while knots.len() < spell::HOURS / 24 + 2 {
        let last = knots.last().copied().unwrap_or(0.0);
        knots.push(0.8 * last + ERROR_F * normal(&mut draw));
    }
    let error = |hour: f64| {
        let place = (hour / KNOT_H).clamp(0.0, knots.len() as f64 - 2.0);
        let (low, share) = (place as usize, place.fract());
        match (knots.get(low), knots.get(low + 1)) {
            (Some(a), Some(b)) => a + (b - a) * share,
            _ => 0.0,
        }
    };
    Winter {
        name: format!("winter-{}", year),
        first_day,
        forecast: spell::hours(&own, "forecast", &|_| colder),
        observed: spell::hours(&own, "observed", &|hour| colder + error(hour)),
        nucleation_c: TRUTH_C + SPELL_K * normal(&mut draw),
    }
}

/// Near enough a standard normal draw, of sums alone, so that it is the same on every machine.
fn normal(draw: &mut Draw) -> f64 {
    (0..12).map(|_| draw.unit()).sum::<f64>() - 6.0
}

/// Which of some assemblies broke, given the chances of the truth, and whose owner reports it unasked.
pub fn found(wish: &Wish, winter: &Winter, chances: &[f64]) -> Vec<(bool, bool)> {
    let mut draw = Draw::new(wish.seed, 950 + winter.first_day.year() as u64);
    (chances.iter())
        .map(|p| (draw.chance(*p), draw.chance(REPORTED)))
        .collect()
}
