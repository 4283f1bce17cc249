//! The ladder of experience: single clear nights of falling minima and what breaks on them.
//!
//! Common practice, no source: the trade sees many bare assemblies ride out nights of 28 °F and break on nights of 22 °F.
#![allow(clippy::unwrap_used, clippy::panic)]

mod spells;

use brimwater::inventory::{DeviceType, NominalSize};
use brimwater::units::M2K_PER_W_PER_R_US;
use spells::{bare, clear_night, options, outlook, two_nights};

const MINIMA_F: [f64; 7] = [30.0, 28.0, 26.0, 24.0, 22.0, 20.0, 15.0];

#[test]
fn ladder_print() {
    for (device, size, wrap) in [
        (DeviceType::Pvb, NominalSize::N1, 0.0),
        (DeviceType::Pvb, NominalSize::N1, 3.0),
        (DeviceType::Rp, NominalSize::N1, 0.0),
        (DeviceType::Rp, NominalSize::N1, 3.0),
        (DeviceType::Rp, NominalSize::N2, 0.0),
        (DeviceType::Dc, NominalSize::N2, 0.0),
        (DeviceType::Rp, NominalSize::N4, 0.0),
        (DeviceType::Rp, NominalSize::N8, 0.0),
        (DeviceType::Svb, NominalSize::N0_75, 0.0),
        (DeviceType::Avb, NominalSize::N1, 0.0),
        (DeviceType::Dcda, NominalSize::N6, 0.0),
    ] {
        let mut a = bare(device, size);
        a.wrap_m2k_per_w = wrap * M2K_PER_W_PER_R_US;
        let mut line = format!("{device} {} R{wrap}: ", size.word());
        for f in MINIMA_F {
            let o = outlook(&a, &clear_night(f), &options(256));
            line += &format!("{:3.0}/{:3.0}({:.1}) ", 100.0 * o.p_ice.unwrap(), 100.0 * o.p_damage.unwrap(), o.coldest_water_c.p50);
        }
        let o = outlook(&a, &two_nights(22.0, 2.0), &options(256));
        line += &format!("two nights 22: {:3.0}", 100.0 * o.p_damage.unwrap());
        println!("{line}");
        let o = outlook(&a, &clear_night(22.0), &options(256));
        let parts: Vec<String> = o.parts.iter().map(|p| format!("{} {:.2}/{:.0}", p.name, p.ice_fraction, 100.0 * p.p_damage.unwrap())).collect();
        println!("     {}", parts.join(", "));
    }
}
