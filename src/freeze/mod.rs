//! Parts of an assembly, their heat balance, ice, members of the ensemble, damage, and what would
//! protect it.

pub mod config;
pub mod costs;
pub mod outlook;
pub mod run;

pub use outlook::{Advice, Measure, Outlook, PartOutlook, Spread, Trace};
pub use run::{Place, RunOptions, RunStats, WhatIf, outlooks};
