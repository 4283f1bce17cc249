//! The `[ranking]` section of the config, with its defaults.

use serde::{Deserialize, Serialize};

/// The `[ranking]` section.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct RankingConfig {}
