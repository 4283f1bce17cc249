//! The local web pages: phone desk, plumbers' form, planners' view.
//!
//! Pages are rendered on the server and work without script. Nothing that names a customer stands in a URL or a log: searches are
//! sent in the body of a request, and links carry a name that only the session knows.

pub mod audit;
pub mod limits;
pub mod passwords;
pub mod search;
pub mod sessions;
