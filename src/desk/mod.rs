//! The local web pages.
