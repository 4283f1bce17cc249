//! Units, physics, inputs and the shape of the source.
#![allow(clippy::unwrap_used, clippy::panic)]

#[path = "../support/tables/mod.rs"]
mod tables;

mod architecture;
mod asvs;
mod config_ranges;
mod config_read;
mod inventory_check;
mod inventory_parse;
mod inventory_read;
mod licences;
mod output_ledger;
mod output_safe;
mod physics_film;
mod physics_ground;
mod physics_ice;
mod physics_materials;
mod physics_near_ground;
mod physics_sky;
mod physics_water;
mod records;
mod stations;
mod tagged;
mod units;
