//! What a drip can mean.
#![allow(clippy::unwrap_used, clippy::panic)]

mod cases;
mod never;
mod rates;
mod urgency;
