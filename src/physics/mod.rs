//! Water, ice, air, materials, film coefficients, sky, ground and inlet water.
//!
//! Pure: no files, no clock, no network.
