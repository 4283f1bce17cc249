//! The assembly as a utility lists it.

pub mod assembly;

pub use assembly::{
    Assembly, Assumption, Channel, Contact, CustomerClass, DeviceType, Language, NominalSize, Placement, RiserMaterial,
    Service, WindExposure, WinterUse,
};
