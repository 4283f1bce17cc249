//! The kind of an assembly, in the spellings of the trade.

use super::{Unread, is_blank};
use crate::inventory::assembly::DeviceType;

/// A kind of assembly as read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct DeviceRead {
    /// The kind.
    pub device_type: DeviceType,
    /// Whether the cell says that it is the bypass of a detector assembly.
    pub bypass: bool,
}

const DEVICE_EXPECTED: &str = "RP, RPDA, DC, DCDA, PVB, SVB or AVB (RPZ, RPBA, DCVA and the full names are read too)";

/// Kind of assembly. Spellings of the trade (practice: RP, RPZ and RPBA are one thing).
///
/// # Errors
/// For other devices too, with their name: a dual check, an air gap and a hose vacuum breaker are not assemblies that this program models.
pub fn device_type(text: &str) -> Result<Option<DeviceRead>, Unread> {
    if is_blank(text) {
        return Ok(None);
    }
    let mut letters: String = text
        .chars()
        .take(200)
        .filter(|c| c.is_alphanumeric())
        .flat_map(char::to_uppercase)
        .collect();
    let mut bypass = false;
    for tail in ["BYPASS", "BYP"] {
        if let Some(stem) = letters.strip_suffix(tail).or_else(|| letters.strip_prefix(tail)) {
            letters = stem.to_owned();
            bypass = true;
        }
    }
    for filler in ["VALVEASSEMBLY", "ASSEMBLY", "ASSY", "DEVICE", "PREVENTER", "BACKFLOW"] {
        if letters.len() > filler.len()
            && let Some(stem) = letters.strip_suffix(filler)
        {
            letters = stem.to_owned();
        }
    }
    let read = match letters.as_str() {
        "RP"
        | "RPZ"
        | "RPA"
        | "RPZA"
        | "RPBA"
        | "RPPA"
        | "RPP"
        | "RPBP"
        | "RPBFP"
        | "RPZD"
        | "REDUCEDPRESSURE"
        | "REDUCEDPRESSUREPRINCIPLE"
        | "REDUCEDPRESSUREZONE" => DeviceType::Rp,
        "RPDA"
        | "RPDA2"
        | "RPDAII"
        | "RPPDA"
        | "RPZDA"
        | "RPDC"
        | "RPD"
        | "REDUCEDPRESSUREDETECTOR"
        | "REDUCEDPRESSUREPRINCIPLEDETECTOR"
        | "REDUCEDPRESSUREZONEDETECTOR" => DeviceType::Rpda,
        "DC" | "DCV" | "DCVA" | "DCA" | "DCBA" | "DOUBLECHECK" | "DOUBLECHECKVALVE" | "DBLCHECK" | "DBLCHK" => {
            DeviceType::Dc
        }
        "DCDA"
        | "DCDA2"
        | "DCDAII"
        | "DCDC"
        | "DCVDA"
        | "DDC"
        | "DDCA"
        | "DDCV"
        | "DCD"
        | "DOUBLECHECKDETECTOR"
        | "DOUBLEDETECTORCHECK"
        | "DOUBLEDETECTORCHECKVALVE"
        | "DOUBLECHECKDETECTORCHECK"
        | "DOUBLECHECKVALVEDETECTOR" => DeviceType::Dcda,
        "PVB" | "PVBA" | "PRESSUREVACUUMBREAKER" | "PRESSURETYPEVACUUMBREAKER" => DeviceType::Pvb,
        "SVB"
        | "SVBA"
        | "SRVB"
        | "SRVBA"
        | "SPVB"
        | "SRPVB"
        | "SRPVBA"
        | "SPILLRESISTANTVACUUMBREAKER"
        | "SPILLRESISTANTPRESSUREVACUUMBREAKER"
        | "SPILLRESISTANT"
        | "SPILLPROOFVACUUMBREAKER" => DeviceType::Svb,
        "AVB" | "ATMOSPHERICVACUUMBREAKER" => DeviceType::Avb,
        "DUC" | "DUALCHECK" | "DUALCHECKVALVE" | "RDC" | "RESIDENTIALDUALCHECK" => {
            return Err(Unread {
                what: Some("a dual check is not an assembly that this program models; it mostly sits in the meter box"),
                expected: DEVICE_EXPECTED,
            });
        }
        "AG" | "AIRGAP" => {
            return Err(Unread {
                what: Some("an air gap is no assembly and has nothing to freeze but its fill line"),
                expected: DEVICE_EXPECTED,
            });
        }
        "HBVB" | "HVB" | "HOSEBIBBVACUUMBREAKER" | "HOSECONNECTIONVACUUMBREAKER" => {
            return Err(Unread {
                what: Some("a hose vacuum breaker is not an assembly that this program models; take the hose off"),
                expected: DEVICE_EXPECTED,
            });
        }
        _ => return Err(Unread::expected(DEVICE_EXPECTED)),
    };
    Ok(Some(DeviceRead {
        device_type: read,
        bypass,
    }))
}
