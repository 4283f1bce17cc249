//! Who joins the list, or moves up in it, when the power or the supply fails.

use super::config::RankingConfig;
use super::{Ranked, Tier, loss, tier};
use crate::freeze::Outlook;
use crate::inventory::Assembly;
use std::sync::Arc;

/// An assembly that a case other than the listed one puts into a more pressing tier.
#[derive(Debug, Clone, PartialEq)]
pub struct Join {
    /// Index of the assembly.
    pub index: usize,
    /// Its rank in the case.
    pub rank: usize,
    /// Its tier in the case.
    pub tier: Tier,
    /// Its tier as listed.
    pub listed_tier: Tier,
    /// Its chance of damage as listed; `None` in a deterministic run.
    pub listed_p_damage: Option<f64>,
}

impl Join {
    /// Whether it was not on the list at all.
    pub fn is_new(&self) -> bool {
        self.listed_tier == Tier::NoContact
    }
}

/// Compares a ranking of the case with the outlooks as listed, `listed[i]` of assembly `i`, given only where the case
/// makes a difference to the model. In order of rank.
pub fn joins(
    ranked: &[Ranked],
    assemblies: &[Assembly],
    listed: &[Option<Arc<Outlook>>],
    config: &RankingConfig,
) -> Vec<Join> {
    ranked
        .iter()
        .filter_map(|line| {
            let assembly = assemblies.get(line.index)?;
            let outlook = listed.get(line.index)?.as_ref()?;
            let listed_tier = tier(assembly, outlook, &loss::loss(assembly, outlook, config), &config.tiers);
            (line.tier < listed_tier).then_some(Join {
                index: line.index,
                rank: line.rank,
                tier: line.tier,
                listed_tier,
                listed_p_damage: outlook.p_damage,
            })
        })
        .collect()
}
