//! The embedded database for what must outlive a run.
