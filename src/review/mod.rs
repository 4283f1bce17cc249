//! Was the list any good, and what do we learn: records of what was found after a spell, against what the plan said.
//!
//! Pure: rows in, figures and refusals out. Reading plans and records is the command line's; sentences are made at the edge.

pub mod assess;
pub mod capture;
pub mod case;
pub mod math;
pub mod posterior;
pub mod proposal;
pub mod record;
pub mod reliability;
pub mod row;
pub mod scores;
pub mod shift;
pub mod survey;
pub mod table;
pub mod total;
pub mod words;
pub mod worth;

pub use assess::{Review, assess};
pub use row::{Contact, Row, State};
