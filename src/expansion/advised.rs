//! The advice with the system that it leads to.

use super::advice::Step;
use super::assessment::Measure;
use super::existing::{ExistingTank, Standing};
use super::system::System;
use super::words::Note;
use std::ops::Deref;

/// The advice with the system that it leads to.
#[derive(Debug, Clone, PartialEq)]
pub struct Advice<'a> {
    /// The measure.
    pub measure: Measure,
    /// The steps in their order; empty when nothing more is needed.
    pub steps: Vec<Step>,
    /// Why, the weightiest first.
    pub why: Vec<Note>,
    /// The system once the supply and the tanks that are there are as the steps say.
    pub base: Base<'a>,
    /// What is new on it.
    pub new: New,
    /// Smallest tank, L, beside those that are there in place of replacing them.
    pub beside_l: Option<f64>,
    /// What was weighed with the supply lowered; `None` where that did not come into question.
    pub lowered: Option<Lowered>,
}

/// How a house stands with its supply lowered to the usual setting: what decides between keeping its tanks and others.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lowered {
    /// The sound tanks that are there.
    pub standing: Option<Standing>,
    /// The new tank that it would take, L.
    pub needed_l: Option<f64>,
}

/// A system as it was found, or a changed one. Changed ones are kept apart: an answer is handed on many times.
#[derive(Debug, Clone, PartialEq)]
pub enum Base<'a> {
    /// As it was found.
    Found(&'a System),
    /// Changed.
    Changed(Box<System>),
}

impl Deref for Base<'_> {
    type Target = System;

    fn deref(&self) -> &System {
        match self {
            Self::Found(system) => system,
            Self::Changed(system) => system,
        }
    }
}

impl Base<'_> {
    /// The system to be changed.
    pub(super) fn changed(self) -> Box<System> {
        match self {
            Self::Found(system) => Box::new(system.clone()),
            Self::Changed(system) => system,
        }
    }
}

/// What the advice puts on the system.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum New {
    /// Nothing.
    Nothing,
    /// A tank in place of those that are there: its volume, L, and its precharge, Pa gauge.
    Tank {
        /// Volume.
        volume_l: f64,
        /// Precharge.
        precharge_gauge_pa: f64,
    },
    /// A relief that opens at this, Pa gauge.
    Relief {
        /// Setting.
        at_gauge_pa: f64,
    },
}

impl Advice<'_> {
    /// The system once the steps are done.
    pub fn advised(&self) -> System {
        let mut advised = (*self.base).clone();
        match self.new {
            New::Nothing => {}
            New::Tank {
                volume_l,
                precharge_gauge_pa,
            } => advised.existing = vec![ExistingTank::new(volume_l, precharge_gauge_pa)],
            New::Relief { at_gauge_pa } => {
                advised.relief_at_gauge_pa = Some(at_gauge_pa);
                // A tank that is there and does not do is no part of this answer.
                advised.existing.clear();
            }
        }
        advised
    }
}
