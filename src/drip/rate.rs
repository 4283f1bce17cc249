//! How much drips, from the caller's words to a range in litres an hour.
//!
//! A cup and a clock give a number. A count of drops gives only a range, because drops differ fivefold in volume
//! `[drop-size]`; a word such as "stream" gives a wide one. Reading is [`crate::units::parse_flow_l_per_h`]'s, with a few more words
//! of callers here.

use crate::units::refusal::{Problem, Wanted};
use crate::units::{UnitError, UnitSystem, parse_flow_l_per_h};
use serde::Serialize;

/// Largest rate that is believed, L/h: a split large main line (judgement).
pub const RATE_MAX_L_PER_H: f64 = 1.0e6;

/// The rate as told.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ToldRate {
    /// Low edge, L/h; 0 when nothing comes out.
    pub low_l_per_h: f64,
    /// The single best figure, L/h.
    pub best_l_per_h: f64,
    /// High edge, L/h.
    pub high_l_per_h: f64,
    /// The words as told.
    pub words: String,
}

impl ToldRate {
    /// Whether nothing comes out.
    pub fn is_none(&self) -> bool {
        self.high_l_per_h <= 0.0
    }

    /// Whether drops were counted or spoken of.
    pub fn counts_drops(&self) -> bool {
        let words = self.words.to_lowercase();
        ["drop", "drip", "gota", "gote", "weep", "damp"]
            .iter()
            .any(|stem| words.contains(stem))
    }

    /// Whether the edges are numbers in order, from 0 to [`RATE_MAX_L_PER_H`].
    pub fn is_believable(&self) -> bool {
        let edges = [self.low_l_per_h, self.best_l_per_h, self.high_l_per_h];
        edges.iter().all(|edge| (0.0..=RATE_MAX_L_PER_H).contains(edge)) && edges.is_sorted()
    }

    /// Reads the caller's words: "1 cup in 6 min", "20 drops/min", "0.5 gal/h", "steady stream", "none"; a bare number
    /// takes the unit that `system` implies.
    ///
    /// # Errors
    /// When the words give no rate or one outside 0 to [`RATE_MAX_L_PER_H`].
    pub fn parse(words: &str, system: UnitSystem) -> Result<Self, UnitError> {
        let clean = words.split_whitespace().collect::<Vec<_>>().join(" ").to_lowercase();
        let (low, best, high) = match by_word(&clean) {
            Some(range) => range,
            None => {
                let flow = parse_flow_l_per_h(words, system)?;
                (flow.lo_l_per_h, flow.best_l_per_h, flow.hi_l_per_h)
            }
        };
        if !(0.0..=RATE_MAX_L_PER_H).contains(&high) {
            return Err(UnitError::new(Wanted::BelievableFlow, words, Problem::TooMuchFlow));
        }
        Ok(Self {
            low_l_per_h: low,
            best_l_per_h: best,
            high_l_per_h: high,
            words: words.trim().chars().take(80).collect(),
        })
    }
}

/// Words that stand for a rate, L/h (judgement: a stream as thick as a pencil lead at 1 m/s passes about 6 L/h; a split
/// 1-in line at street pressure 20 to 50 gpm).
fn by_word(clean: &str) -> Option<(f64, f64, f64)> {
    match clean {
        "no" | "no water" | "nada" => Some((0.0, 0.0, 0.0)),
        "weep" | "weeping" | "damp" => Some((0.001, 0.02, 0.1)),
        "drip" | "drips" | "dripping" | "drops" | "gotea" => Some((0.01, 0.3, 3.0)),
        "thin stream" | "trickle" | "chorrito" => Some((3.0, 8.0, 30.0)),
        "chorro" => Some((12.0, 40.0, 200.0)),
        "gushing" | "gush" | "geyser" | "pouring" | "spraying" | "spray" | "a chorros" => {
            Some((100.0, 1000.0, 12_000.0))
        }
        _ => None,
    }
}
