//! The embedded database for what must outlive a run.
//!
//! One SQLite file holds the log of contacts; where several offices keep one log together, a PostgreSQL server does ([`server`]), and each
//! desk keeps what it cannot deliver at once in a file of its own ([`spool`]). [`kind`] is what every log does.
//! Events are only ever added: triggers refuse to change or delete one, and a correction is
//! one more event. Every event is on the disk before the command answers (write-ahead log, `synchronous = FULL`), so that killing
//! the program loses nothing that was acknowledged. Several people may write to one file at once on one machine or a disk that
//! locks properly; a network share often does not, and then each machine keeps its own log and imports the others'.

pub mod calls;
mod carry;
pub mod copy;
pub mod events;
pub mod forget;
pub mod import;
pub mod kind;
mod leaves;
pub mod link;
pub mod open;
pub mod queue;
pub mod reports;
pub mod rows;
mod salvage;
pub mod server;
pub mod spool;
mod tables;

pub use calls::{About, Call, CallFilter, NewCall, Step};
pub use events::{Added, Event, Filter, NewEvent};
pub use kind::Store;
pub use open::{BadRow, Log, SetAside};
pub use queue::{Ask, QueueItem};
pub use reports::NewReport;
