//! Parts of an assembly, their heat balance, ice, members of the ensemble, damage, and what would
//! protect it.

pub mod advice;
pub mod config;
pub mod cooldown;
pub mod costs;
pub mod detail;
pub mod dimensions;
pub mod film_fit;
pub mod judged;
pub mod kernel;
pub mod lane;
pub mod members;
pub mod network;
pub mod nights;
pub mod nucleated;
pub mod outlook;
pub mod real;
pub mod regions;
pub mod reports;
pub mod run;
pub mod setup;
pub mod simulate;
pub mod spell;
pub mod summary;
pub mod verification;
pub mod weights;

pub use outlook::{Advice, IcedBefore, Measure, Night, Outlook, PartOutlook, Spread, Trace};
pub use reports::{Report, Reported, Reports, Seen};
pub use run::{Place, RunOptions, RunStats, WhatIf, outlooks, outlooks_told};
pub use weights::Weights;
