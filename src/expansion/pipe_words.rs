//! A run of pipe as a plumber types it.

use super::system::Piping;
use super::volume::{DN_MM, piping};
use super::words::{OfPipe, Slip};
use crate::physics::pipe::PipeKind;
use crate::units::{M_PER_IN, UnitSystem, parse_length_m, parse_small_length_m};

/// The families that the command line takes, with their spellings.
const KINDS: [(&str, PipeKind); 13] = [
    ("copper-k", PipeKind::CopperK),
    ("copper-l", PipeKind::CopperL),
    ("copper-m", PipeKind::CopperM),
    ("copper", PipeKind::CopperL),
    ("steel-40", PipeKind::Steel40),
    ("steel", PipeKind::Steel40),
    ("pvc-40", PipeKind::Pvc40),
    ("pvc", PipeKind::Pvc40),
    ("cpvc", PipeKind::CpvcSdr11),
    ("pex", PipeKind::PexSdr9),
    ("brass", PipeKind::Brass),
    ("ductile-iron", PipeKind::DuctileIron),
    ("ductile_iron", PipeKind::DuctileIron),
];

/// A pipe family from its name, such as "copper-L" or "PEX".
fn parse_kind(text: &str) -> Option<PipeKind> {
    let name = text.trim().to_lowercase();
    KINDS.iter().find(|(known, _)| *known == name).map(|(_, kind)| *kind)
}

/// A run of pipe from "family size length", such as "copper-L 3/4 in 60 ft" or "PEX 1/2 40".
///
/// # Errors
/// Which of the three cannot be read, or that the family has no such size.
pub(super) fn parse_piping(text: &str, heated: bool, units: UnitSystem) -> Result<Piping, Slip> {
    let words: Vec<&str> = text.split([' ', '\t', ',']).filter(|word| !word.is_empty()).collect();
    let Some((first, rest)) = words.split_first() else {
        return Err(Slip::OfPipe(OfPipe::NoPipe));
    };
    let family = (*first).to_string();
    let Some(kind) = parse_kind(first) else {
        return Err(Slip::OfPipe(OfPipe::UnknownPipe { family }));
    };
    for at in 1..rest.len() {
        let (size, length) = rest.split_at(at);
        let (size, length) = (size.join(" "), length.join(" "));
        if let (Some(size_m), Ok(length_m)) = (size_m(&size, units), parse_length_m(&length, units)) {
            if !(length_m > 0.0 && length_m < 1e5) {
                return Err(Slip::OfPipe(OfPipe::PipeWithoutLength { length }));
            }
            let nominal_in = nominal_inches(kind, size_m);
            return nominal_in
                .and_then(|size_in| piping(kind, size_in, length_m, heated, units))
                .ok_or_else(|| {
                    let sizes: Vec<String> = kind.sizes_in().iter().map(|size| format!("{size}")).collect();
                    Slip::OfPipe(OfPipe::NoSuchPipeSize {
                        family,
                        size,
                        sizes: sizes.join(", "),
                    })
                });
        }
    }
    Err(Slip::OfPipe(OfPipe::UnreadPipe))
}

/// A size, m, from "3/4 in", "20 mm" or "DN 20".
fn size_m(text: &str, units: UnitSystem) -> Option<f64> {
    let lower = text.to_lowercase();
    match lower.strip_prefix("dn") {
        Some(number) => number.trim().parse::<f64>().ok().map(|mm| mm / 1e3),
        None => parse_small_length_m(text, units).ok(),
    }
}

/// The nominal size in inches nearest to a size typed in any unit; 20 mm stands for 3/4 in, 50 mm for 2 in.
fn nominal_inches(kind: PipeKind, size_m: f64) -> Option<f64> {
    let typed_in = size_m / M_PER_IN;
    let sizes = kind.sizes_in();
    if let Some(exact) = sizes.iter().find(|size| (**size - typed_in).abs() < 1e-3) {
        return Some(*exact);
    }
    // 20 mm, or DN 20, stands for 3/4 in.
    let dn = DN_MM.iter().find(|(mm, _)| (*mm - size_m * 1e3).abs() < 0.05)?.1;
    sizes.into_iter().find(|size| (*size - dn).abs() < 1e-3)
}
