//! The `[drip]` section of the config, with its defaults.

use serde::{Deserialize, Serialize};

/// The `[drip]` section.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct DripConfig {}
