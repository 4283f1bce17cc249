//! The `[freeze]` section of the config, with its defaults.

use serde::{Deserialize, Serialize};

/// The `[freeze]` section.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct FreezeConfig {
    /// What a repair costs, by kind, size and part.
    pub costs: super::costs::Costs,
}

/// The `[ensemble]` section.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct EnsembleConfig {}
