//! The assembly as a utility lists it.

pub mod assembly;
pub mod check;
pub mod columns;
pub mod dates;
pub mod defaults;
pub mod parse;
pub mod place;
pub mod propose;
pub mod read;
pub mod synonyms;

pub use assembly::{
    Assembly, Assumed, Assumption, Channel, Contact, CustomerClass, DeviceType, Language, NominalSize, Placement,
    RiserMaterial, Service, WindExposure, WinterUse,
};
pub use columns::is_serial;
pub use place::{Choice, place_assemblies};
pub use read::{Inventory, Reject, Unranked, read_assemblies, read_inventory, read_mapped};
