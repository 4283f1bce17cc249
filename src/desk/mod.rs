//! The local web pages: phone desk, plumbers' form, planners' view.
//!
//! Pages are rendered on the server and work without script. Nothing that names a customer stands in a URL or a log: searches are
//! sent in the body of a request, and links carry a name that only the session knows.

pub mod accounts;
pub mod address;
pub mod audit;
pub mod cards;
pub mod data;
mod draft;
pub mod follow;
pub mod form;
pub mod guard;
pub mod limits;
pub mod links;
pub mod log;
pub mod looks;
pub mod notices;
mod pages_account;
mod pages_calls;
pub mod pages_expansion;
pub mod pages_list;
pub mod pages_people;
pub mod pages_phone;
pub mod pages_plan;
pub mod pages_record;
pub mod pages_review;
pub mod pages_season;
mod pages_shift;
pub mod passwords;
pub mod questions;
pub mod record_file;
pub mod render;
pub mod rights;
pub mod search;
pub mod second_factor;
pub mod server;
pub mod sessions;
mod settings;
pub mod shift;
mod sign_in;
pub mod state;
pub mod words;
