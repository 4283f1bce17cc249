//! The weights of causes: how often each is behind water at a place, and how it answers each question.
//!
//! Numbers are relative weights, normalised when used. Nobody has published such a table; what the trade says in words
//! ("continuous with no demand: a fouled check") is put into numbers here, and every entry says what it rests on. A utility
//! that counts what its calls turned out to be replaces entries by `[[drip.weights]]`.

use super::account::{Water, When, Where};
use super::cause::Cause;
use super::config::DripConfig;
use serde::{Deserialize, Serialize};

/// What an entry rests on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Basis {
    /// An entry of the bibliography.
    Source(&'static str),
    /// The trade says so in words; the number is ours.
    CommonPractice,
    /// Ours.
    Judgement,
}

/// Weights with their basis.
#[derive(Debug, Clone, Copy)]
pub struct Entry<const N: usize> {
    /// Relative weights of the answers, in the order of the question.
    pub weights: [f64; N],
    /// What they rest on.
    pub basis: Basis,
}

const fn source<const N: usize>(id: &'static str, weights: [f64; N]) -> Entry<N> {
    Entry {
        weights,
        basis: Basis::Source(id),
    }
}
const fn trade<const N: usize>(weights: [f64; N]) -> Entry<N> {
    Entry {
        weights,
        basis: Basis::CommonPractice,
    }
}
const fn ours<const N: usize>(weights: [f64; N]) -> Entry<N> {
    Entry {
        weights,
        basis: Basis::Judgement,
    }
}

/// How much a cause lets out.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Flow {
    /// Mostly between these, L/h (5th and 95th percentile), and the chance that nothing comes out.
    Between(f64, f64, f64),
    /// As the heat balance of the freeze-drip says for this assembly and air.
    FreezeDrip,
    /// As the expansion of heated water says; a heater works part of the time, so the low edge is a quarter.
    Expansion,
}

/// The questions that weigh causes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Question {
    /// Where does it come out?
    Where,
    /// How much?
    Rate,
    /// When?
    When,
    /// How does the water feel?
    Water,
    /// How cold is the air?
    Air,
    /// Is a freeze behind it?
    Frost,
    /// Is there ice on it?
    Ice,
    /// Was it tested within a day?
    AfterTest,
}

impl Question {
    /// Every question, in the order in which they are asked.
    pub const ALL: &'static [Question] = &[
        Question::Where,
        Question::Rate,
        Question::When,
        Question::Water,
        Question::Air,
        Question::Frost,
        Question::Ice,
        Question::AfterTest,
    ];

    /// The word of config and interface.
    pub fn word(self) -> &'static str {
        match self {
            Question::Where => "where",
            Question::Rate => "rate",
            Question::When => "when",
            Question::Water => "water",
            Question::Air => "air",
            Question::Frost => "frost",
            Question::Ice => "ice",
            Question::AfterTest => "after-test",
        }
    }
}

/// Bands of air temperature: below −4 °C, to 3.3 °C (where a freeze-drip opens), to 10 °C (50 °F), above.
pub const AIR_EDGES_C: [f64; 3] = [-4.0, 3.3, 10.0];
/// Words of the air bands, in the order of the weights.
pub const AIR_WORDS: [&str; 4] = ["hard-freeze", "near-freezing", "cool", "warm"];
/// Words of the yes-or-no questions, in the order of the weights.
pub const YES_NO: [&str; 2] = ["yes", "no"];

/// Bands of the told rate for choosing the next question, L/h: nothing, drops, a cup in some minutes, a trickle, a stream.
pub const RATE_EDGES_L_PER_H: [f64; 3] = [0.5, 5.0, 30.0];

/// One cause and its weights.
#[derive(Debug, Clone, Copy)]
pub struct Row {
    /// The cause.
    pub cause: Cause,
    /// Weight at each place, in the order of [`Where::ALL`] without `unsure`.
    pub place: Entry<8>,
    /// Weight of each answer to when, in the order of [`When::ALL`] without `unsure`.
    pub when: Entry<6>,
    /// Weight of cold, warm, hot, scalding.
    pub water: Entry<4>,
    /// Weight of the air bands.
    pub air: Entry<4>,
    /// Weight of a freeze behind it: yes, no.
    pub frost: Entry<2>,
    /// Weight of ice on it: yes, no.
    pub ice: Entry<2>,
    /// Weight of a test within a day: yes, no.
    pub after_test: Entry<2>,
    /// Flow.
    pub flow: Flow,
    /// What the flow rests on.
    pub flow_basis: Basis,
}

/// Share of calls by place, in the order of [`Where::ALL`] without `unsure` (judgement): used when the caller cannot say where.
/// Every heater has a relief, few homes have one for expansion.
pub const PLACE_SHARES: [f64; 8] = [14.0, 16.0, 5.0, 16.0, 8.0, 6.0, 16.0, 16.0];

/// Positions of the places among the weights of [`Row::place`].
const FREEZE_DRIP: usize = 0;
const RELIEF_PORT: usize = 1;
const EXPANSION_RELIEF: usize = 2;
const HEATER_RELIEF: usize = 3;
const CANOPY: usize = 4;
const TEST_COCK: usize = 5;
const SEAM: usize = 6;
const GROUND: usize = 7;

/// Weights at the places named; none at the others.
const fn at<const M: usize>(places: [(usize, f64); M], basis: Basis) -> Entry<8> {
    let mut weights = [0.0; 8];
    let mut each = 0;
    while each < M {
        weights[places[each].0] = places[each].1;
        each += 1;
    }
    Entry { weights, basis }
}
const fn ours_at<const M: usize>(places: [(usize, f64); M]) -> Entry<8> {
    at(places, Basis::Judgement)
}
const fn trade_at<const M: usize>(places: [(usize, f64); M]) -> Entry<8> {
    at(places, Basis::CommonPractice)
}

/// A cause in which neither heat nor weather nor a test has a part; rows say where they differ from it.
const ORDINARY: Row = Row {
    cause: Cause::NotFromPipe,
    place: ours([0.0; 8]),
    when: ours([1.0; 6]),
    // At its supply temperature.
    water: trade([96.0, 3.4, 0.5, 0.1]),
    // The air of the year's calls.
    air: ours([8.0, 20.0, 30.0, 42.0]),
    frost: ours([30.0, 70.0]),
    ice: ours([6.0, 94.0]),
    // Tests come once a year; few calls fall within a day of one.
    after_test: ours([3.0, 97.0]),
    flow: Flow::Between(0.01, 1000.0, 0.1),
    flow_basis: Basis::Judgement,
};

//      when: cold-nights heating always after-main-work after-thaw start-up
/// The table, one row a cause, in the order of [`Cause::ALL`].
pub const ROWS: &[Row] = &[
    Row {
        cause: Cause::FreezeDripRuns,
        place: ours_at([(FREEZE_DRIP, 62.0)]),
        when: trade([90.0, 1.0, 4.0, 1.0, 2.0, 2.0]),
        water: source("practice-drip-balance", [98.0, 1.8, 0.1, 0.1]),
        air: source("practice-drip-balance", [55.0, 40.0, 4.6, 0.4]),
        frost: trade([90.0, 10.0]),
        ice: trade([8.0, 92.0]),
        flow: Flow::FreezeDrip,
        flow_basis: Basis::Source("practice-drip-balance"),
        ..ORDINARY
    },
    Row {
        cause: Cause::FreezeDripStuck,
        place: ours_at([(FREEZE_DRIP, 22.0)]),
        when: trade([15.0, 3.0, 60.0, 12.0, 8.0, 2.0]),
        air: trade([10.0, 20.0, 30.0, 40.0]),
        frost: ours([70.0, 30.0]),
        flow: Flow::Between(0.8, 60.0, 0.01),
        flow_basis: Basis::CommonPractice,
        ..ORDINARY
    },
    Row {
        cause: Cause::IceForming,
        place: ours_at([
            (FREEZE_DRIP, 6.0),
            (RELIEF_PORT, 1.0),
            (EXPANSION_RELIEF, 0.5),
            (HEATER_RELIEF, 0.2),
            (CANOPY, 1.0),
            (TEST_COCK, 1.5),
            (SEAM, 3.0),
            (GROUND, 1.0),
        ]),
        when: trade([85.0, 1.0, 5.0, 1.0, 7.0, 1.0]),
        air: trade([80.0, 19.0, 0.9, 0.1]),
        frost: trade([98.0, 2.0]),
        ice: trade([85.0, 15.0]),
        flow: Flow::Between(0.005, 0.5, 0.85),
        flow_basis: Basis::CommonPractice,
        ..ORDINARY
    },
    Row {
        cause: Cause::ReliefDip,
        place: trade_at([(RELIEF_PORT, 38.0)]),
        when: source("rp-discharge-notes", [6.0, 8.0, 3.0, 60.0, 4.0, 19.0]),
        after_test: ours([12.0, 88.0]),
        flow: Flow::Between(0.01, 1.5, 0.2),
        flow_basis: Basis::Source("rp-discharge-notes"),
        ..ORDINARY
    },
    Row {
        cause: Cause::CheckFouled,
        place: trade_at([(RELIEF_PORT, 40.0)]),
        when: source("rp-discharge-notes", [8.0, 4.0, 62.0, 18.0, 4.0, 4.0]),
        after_test: ours([5.0, 95.0]),
        flow: Flow::Between(0.5, 2000.0, 0.01),
        flow_basis: Basis::CommonPractice,
        ..ORDINARY
    },
    Row {
        cause: Cause::ExpansionThroughCheck,
        place: ours_at([(RELIEF_PORT, 10.0)]),
        when: source("rp-discharge-notes", [2.0, 88.0, 6.0, 1.0, 1.0, 2.0]),
        water: trade([70.0, 27.0, 2.7, 0.3]),
        flow: Flow::Expansion,
        flow_basis: Basis::Source("expansion-rate-table"),
        ..ORDINARY
    },
    Row {
        cause: Cause::ExpansionReliefRuns,
        place: ours_at([(EXPANSION_RELIEF, 60.0)]),
        when: trade([2.0, 90.0, 3.0, 1.0, 1.0, 3.0]),
        water: trade([60.0, 37.0, 2.8, 0.2]),
        flow: Flow::Expansion,
        flow_basis: Basis::Source("expansion-rate-table"),
        ..ORDINARY
    },
    Row {
        cause: Cause::ExpansionReliefStays,
        place: ours_at([(EXPANSION_RELIEF, 35.0)]),
        when: trade([5.0, 8.0, 63.0, 18.0, 3.0, 3.0]),
        water: trade([85.0, 14.0, 0.8, 0.2]),
        flow: Flow::Between(0.3, 200.0, 0.01),
        ..ORDINARY
    },
    Row {
        cause: Cause::HeaterExpansion,
        place: ours_at([(HEATER_RELIEF, 50.0)]),
        when: source("expansion-diagnosis", [2.0, 90.0, 3.0, 1.0, 1.0, 3.0]),
        water: trade([28.0, 40.0, 30.0, 2.0]),
        flow: Flow::Expansion,
        flow_basis: Basis::Source("expansion-rate-table"),
        ..ORDINARY
    },
    Row {
        cause: Cause::HeaterReliefWorn,
        place: ours_at([(HEATER_RELIEF, 42.0)]),
        when: source("expansion-diagnosis", [4.0, 9.0, 67.0, 14.0, 3.0, 3.0]),
        water: trade([30.0, 45.0, 23.0, 2.0]),
        flow: Flow::Between(0.05, 50.0, 0.01),
        ..ORDINARY
    },
    Row {
        cause: Cause::HeaterOverheats,
        place: ours_at([(HEATER_RELIEF, 8.0)]),
        when: source("expansion-diagnosis", [3.0, 32.0, 50.0, 2.0, 2.0, 11.0]),
        water: source("expansion-diagnosis", [0.5, 1.5, 30.0, 68.0]),
        flow: Flow::Between(5.0, 1000.0, 0.01),
        ..ORDINARY
    },
    Row {
        cause: Cause::BreakerFills,
        place: trade_at([(CANOPY, 20.0)]),
        when: trade([2.0, 2.0, 1.0, 8.0, 4.0, 83.0]),
        after_test: ours([12.0, 88.0]),
        flow: Flow::Between(1.0, 1000.0, 0.3),
        ..ORDINARY
    },
    Row {
        cause: Cause::BreakerFouled,
        place: trade_at([(CANOPY, 42.0)]),
        when: trade([8.0, 4.0, 65.0, 12.0, 5.0, 6.0]),
        after_test: ours([5.0, 95.0]),
        flow: Flow::Between(0.2, 300.0, 0.01),
        ..ORDINARY
    },
    Row {
        cause: Cause::FrostBroke,
        place: trade_at([
            (FREEZE_DRIP, 3.0),
            (RELIEF_PORT, 10.0),
            (EXPANSION_RELIEF, 2.0),
            (HEATER_RELIEF, 0.5),
            (CANOPY, 38.0),
            (TEST_COCK, 28.0),
            (SEAM, 45.0),
            (GROUND, 16.0),
        ]),
        when: trade([25.0, 1.0, 6.0, 2.0, 48.0, 18.0]),
        air: trade([25.0, 30.0, 33.0, 12.0]),
        frost: trade([97.0, 3.0]),
        ice: trade([30.0, 70.0]),
        flow: Flow::Between(0.5, 3000.0, 0.03),
        flow_basis: Basis::CommonPractice,
        ..ORDINARY
    },
    Row {
        cause: Cause::CockAfterTest,
        place: trade_at([(TEST_COCK, 18.0)]),
        when: ours([5.0, 5.0, 20.0, 10.0, 5.0, 55.0]),
        after_test: trade([92.0, 8.0]),
        flow: Flow::Between(0.005, 0.5, 0.1),
        ..ORDINARY
    },
    Row {
        cause: Cause::CockWorn,
        place: trade_at([(TEST_COCK, 54.0)]),
        when: trade([8.0, 4.0, 70.0, 8.0, 5.0, 5.0]),
        // A cock left part open by the tester belongs here, and it lets out a stream.
        after_test: ours([20.0, 80.0]),
        flow: Flow::Between(0.01, 100.0, 0.01),
        ..ORDINARY
    },
    Row {
        cause: Cause::PipeLeaks,
        place: trade_at([
            (RELIEF_PORT, 1.0),
            (EXPANSION_RELIEF, 3.0),
            (HEATER_RELIEF, 0.5),
            (CANOPY, 1.0),
            (TEST_COCK, 1.0),
            (SEAM, 55.0),
            (GROUND, 72.0),
        ]),
        when: trade([8.0, 4.0, 60.0, 12.0, 8.0, 8.0]),
        water: trade([90.0, 7.0, 2.8, 0.2]),
        flow: Flow::Between(0.05, 2000.0, 0.01),
        ..ORDINARY
    },
    Row {
        cause: Cause::NotFromPipe,
        place: ours_at([(SEAM, 1.0), (GROUND, 12.0)]),
        when: ours([15.0, 10.0, 35.0, 10.0, 15.0, 15.0]),
        flow: Flow::Between(0.005, 1.0, 0.5),
        ..ORDINARY
    },
];

/// Position of an answer among its question's weights; `None` for a word that is no answer (and for `rate`).
pub fn answer_index(question: Question, word: &str) -> Option<usize> {
    fn at(words: impl Iterator<Item = &'static str>, word: &str) -> Option<usize> {
        words.take_while(|each| *each != "unsure").position(|each| each == word)
    }
    match question {
        Question::Where => at(Where::ALL.iter().map(|place| place.word()), word),
        Question::When => at(When::ALL.iter().map(|when| when.word()), word),
        Question::Water => at(Water::ALL.iter().map(|water| water.word()), word),
        Question::Air => at(AIR_WORDS.into_iter(), word),
        Question::Frost | Question::Ice | Question::AfterTest => at(YES_NO.into_iter(), word),
        Question::Rate => None,
    }
}

/// Weights of one cause for one question, with the config's replacements, not yet normalised.
pub fn weights(row: &Row, question: Question, config: &DripConfig) -> Vec<f64> {
    let mut weights = match question {
        Question::Where => row.place.weights.to_vec(),
        Question::When => row.when.weights.to_vec(),
        Question::Water => row.water.weights.to_vec(),
        Question::Air => row.air.weights.to_vec(),
        Question::Frost => row.frost.weights.to_vec(),
        Question::Ice => row.ice.weights.to_vec(),
        Question::AfterTest => row.after_test.weights.to_vec(),
        Question::Rate => Vec::new(),
    };
    for own in &config.weights {
        let usable = own.cause == row.cause && own.question == question && own.weight > 0.0 && own.weight.is_finite();
        if usable && let Some(slot) = answer_index(question, &own.answer).and_then(|at| weights.get_mut(at)) {
            *slot = own.weight;
        }
    }
    weights
}

/// Band of an air temperature, in the order of [`AIR_WORDS`].
pub fn air_band(air_c: f64) -> usize {
    AIR_EDGES_C.iter().take_while(|edge| air_c >= **edge).count()
}
