//! One file a format; all return the one [`Series`](super::Series).
