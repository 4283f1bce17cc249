//! What truly stands in the town, before the office wrote it down.

use super::Wish;
use super::dirt::{Care, Writer};
use super::draw::Draw;
use super::people::{Party, Register};
use super::town::{DISTRICTS, place};
use crate::inventory::{
    CustomerClass, DeviceType, NominalSize, Placement, RiserMaterial, Service, WindExposure, WinterUse,
};
use chrono::{NaiveDate, TimeDelta};

/// One assembly as it truly is.
#[derive(Debug, Clone)]
pub struct Truth {
    /// Identifier.
    pub id: String,
    /// Kind.
    pub device: DeviceType,
    /// Size.
    pub size: NominalSize,
    /// Index of the district.
    pub district: usize,
    /// Degrees north and east.
    pub place: (f64, f64),
    /// Elevation, ft.
    pub elevation_ft: u32,
    /// Customer class.
    pub class: CustomerClass,
    /// Service.
    pub service: Service,
    /// Placement.
    pub placement: Placement,
    /// Wrap, US R-value.
    pub wrap_r_us: u32,
    /// Riser material.
    pub material: RiserMaterial,
    /// Height, in.
    pub height_in: u32,
    /// Wind exposure.
    pub wind: WindExposure,
    /// Drip device.
    pub drip: bool,
    /// Heat trace, W.
    pub heat_trace_w: u32,
    /// Expansion relief.
    pub relief: bool,
    /// Winter use.
    pub winter: WinterUse,
    /// Critical customer.
    pub critical: &'static str,
    /// Last test.
    pub last_test: NaiveDate,
    /// Address.
    pub address: String,
    /// Who is called.
    pub party: Party,
}

/// What kind of site an assembly serves.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Site {
    HomeLawn,
    HomeWater,
    HomeFire,
    ShopLawn,
    ShopWater,
    ShopFire,
    Plant,
    PublicGround,
    Critical(usize),
}

/// Critical customers: the word of the list, the name, whether it is a public body.
const CRITICAL: [(&str, &str, bool); 9] = [
    ("hospital", "Reach General Hospital", true),
    ("dialysis", "Weir Street Dialysis Rooms", false),
    ("school", "Heron Park School", true),
    ("school", "Mill Terrace School", true),
    ("nursing home", "Lantern House Nursing Home", false),
    ("school", "Ridge Road High School", true),
    ("clinic", "Quayside Clinic", false),
    ("day care", "Teal Hollow Day Care", false),
    ("shelter", "Chandler Avenue Shelter", true),
];

/// Shares of sites, per thousand (judgement: irrigation and small sizes lead in towns of mild winters).
const SITES: [(u32, Site); 8] = [
    (410, Site::HomeLawn),
    (110, Site::HomeWater),
    (25, Site::HomeFire),
    (120, Site::ShopLawn),
    (130, Site::ShopWater),
    (75, Site::ShopFire),
    (50, Site::Plant),
    (60, Site::PublicGround),
];

/// The list, kept with or without care.
pub fn csv(wish: &Wish, care: Care) -> String {
    let mut draw = Draw::new(wish.seed, 1);
    let mut register = Register::new(wish.assemblies);
    // Every critical customer is there twice, and once more for each thousand rows.
    let critical = (2 * CRITICAL.len() + wish.assemblies / 1000).min(wish.assemblies / 8);
    let mut sites: Vec<Site> = (0..critical)
        .map(|index| Site::Critical(index % CRITICAL.len()))
        .collect();
    while sites.len() < wish.assemblies {
        sites.push(draw.weighted(&SITES));
    }
    draw.shuffle(&mut sites);
    let mut critical_parties: Vec<Option<(Party, usize, String)>> = vec![None; CRITICAL.len()];
    let mut writer = Writer::new(wish.seed, care);
    let mut number = 10_300;
    for site in sites {
        if writer.rows() >= wish.assemblies {
            break;
        }
        number += 1 + draw.below(4);
        let truth = truth(
            site,
            format!("A-{number}"),
            wish.first_day,
            &mut draw,
            &mut register,
            &mut critical_parties,
        );
        writer.row(&truth);
        let detector = matches!(truth.device, DeviceType::Rpda | DeviceType::Dcda);
        // Some testers hand in the bypass of a detector assembly as one of its own.
        if detector && draw.chance(0.35) && writer.rows() < wish.assemblies {
            let bypass = Truth {
                id: format!("{}-BP", truth.id),
                device: if truth.device == DeviceType::Rpda {
                    DeviceType::Rp
                } else {
                    DeviceType::Dc
                },
                size: NominalSize::N0_75,
                material: RiserMaterial::Copper,
                ..truth
            };
            writer.row(&bypass);
        }
    }
    writer.finish()
}

fn truth(
    site: Site,
    id: String,
    first_day: NaiveDate,
    draw: &mut Draw,
    register: &mut Register,
    critical: &mut [Option<(Party, usize, String)>],
) -> Truth {
    use DeviceType::{Avb, Dc, Dcda, Pvb, Rp, Rpda, Svb};
    use NominalSize::{N0_5, N0_75, N1, N1_5, N1_25, N2, N2_5, N3, N4, N6, N8, N10};
    let device = match site {
        Site::HomeLawn => draw.weighted(&[(62, Pvb), (14, Dc), (10, Svb), (6, Avb), (8, Rp)]),
        Site::HomeWater => draw.weighted(&[(60, Rp), (40, Dc)]),
        Site::HomeFire => Dc,
        Site::ShopLawn => draw.weighted(&[(32, Pvb), (43, Rp), (25, Dc)]),
        Site::ShopWater => draw.weighted(&[(85, Rp), (15, Dc)]),
        Site::ShopFire => draw.weighted(&[(68, Dcda), (22, Rpda), (10, Dc)]),
        Site::Plant => Rp,
        Site::PublicGround => draw.weighted(&[(55, Rp), (30, Pvb), (15, Dc)]),
        Site::Critical(_) => draw.weighted(&[(64, Rp), (20, Dcda), (16, Rpda)]),
    };
    let detector = matches!(device, Rpda | Dcda);
    let size = match site {
        _ if detector => draw.weighted(&[(4, N2_5), (6, N3), (34, N4), (38, N6), (14, N8), (4, N10)]),
        _ if matches!(device, Svb | Avb) => draw.weighted(&[(10, N0_5), (60, N0_75), (30, N1)]),
        Site::HomeLawn => draw.weighted(&[(3, N0_5), (52, N0_75), (40, N1), (5, N1_25)]),
        Site::HomeWater => draw.weighted(&[(58, N0_75), (36, N1), (6, N1_5)]),
        Site::HomeFire => draw.weighted(&[(60, N1), (20, N1_25), (20, N2)]),
        Site::ShopLawn | Site::PublicGround => draw.weighted(&[(10, N0_75), (36, N1), (24, N1_5), (30, N2)]),
        Site::ShopWater => draw.weighted(&[(14, N0_75), (26, N1), (20, N1_5), (26, N2), (5, N2_5), (9, N3)]),
        Site::ShopFire => draw.weighted(&[(40, N2), (60, N4)]),
        Site::Plant => draw.weighted(&[(24, N0_75), (26, N1), (14, N1_5), (20, N2), (8, N3), (8, N4)]),
        Site::Critical(_) => draw.weighted(&[(40, N2), (24, N3), (24, N4), (12, N6)]),
    };
    let service = match site {
        _ if detector => Service::Fire,
        Site::HomeLawn | Site::ShopLawn | Site::PublicGround => Service::Irrigation,
        Site::HomeFire | Site::ShopFire => Service::Fire,
        Site::Plant => Service::Process,
        Site::HomeWater | Site::ShopWater | Site::Critical(_) => Service::Domestic,
    };
    let district_index = match site {
        Site::Plant => 4,
        Site::ShopFire | Site::ShopWater => draw.of(&[0, 1, 4, 4, 5]),
        _ => draw.weighted(&[(10, 0), (28, 1), (36, 2), (18, 3), (3, 4), (5, 5)]),
    };
    let (party, district_index, address) = party(site, district_index, draw, register, critical);
    let district = DISTRICTS.get(district_index).unwrap_or(&DISTRICTS[0]);
    let placement = placement(site, device, size, draw);
    let class = match site {
        Site::HomeLawn | Site::HomeWater | Site::HomeFire => CustomerClass::Residential,
        Site::ShopLawn | Site::ShopWater | Site::ShopFire | Site::Plant => CustomerClass::Commercial,
        Site::PublicGround => CustomerClass::Public,
        Site::Critical(at) if CRITICAL.get(at).is_some_and(|one| one.2) => CustomerClass::Public,
        Site::Critical(_) => CustomerClass::Commercial,
    };
    let out_of_doors = matches!(placement, Placement::Open | Placement::Cover);
    Truth {
        id,
        device,
        size,
        district: district_index,
        place: place(district, draw),
        elevation_ft: draw.of(district.elevations_ft),
        class,
        service,
        placement,
        wrap_r_us: if out_of_doors && size <= N2 {
            draw.weighted(&[(76, 0), (12, 2), (9, 4), (3, 6)])
        } else {
            0
        },
        material: if size <= N1 {
            draw.weighted(&[
                (62, RiserMaterial::Copper),
                (24, RiserMaterial::Pvc),
                (14, RiserMaterial::Brass),
            ])
        } else if size <= N2 {
            draw.weighted(&[(70, RiserMaterial::Copper), (30, RiserMaterial::Steel)])
        } else {
            draw.weighted(&[(80, RiserMaterial::DuctileIron), (20, RiserMaterial::Steel)])
        },
        height_in: match device {
            Avb => draw.of(&[8, 12, 12]),
            Pvb | Svb => draw.of(&[18, 24, 24, 30]),
            _ if size <= N1 => draw.of(&[16, 20, 20, 24]),
            _ if size <= N2 => draw.of(&[20, 24, 30]),
            _ => draw.of(&[30, 36, 42]),
        },
        wind: {
            let [open, partial, sheltered] = district.wind;
            draw.weighted(&[
                (open, WindExposure::Open),
                (partial, WindExposure::Partial),
                (sheltered, WindExposure::Sheltered),
            ])
        },
        drip: out_of_doors && size <= N1 && draw.chance(0.12),
        heat_trace_w: if placement == Placement::InsulatedEnclosure && draw.chance(0.35) {
            draw.of(&[60, 100, 200])
        } else {
            0
        },
        relief: service == Service::Domestic && draw.chance(0.3),
        winter: match site {
            // Now and then a fire line is listed as drained: a slip, or a line whose official must know.
            _ if service == Service::Fire => draw.weighted(&[(97, WinterUse::Idle), (3, WinterUse::Drained)]),
            Site::HomeLawn | Site::ShopLawn | Site::PublicGround => {
                draw.weighted(&[(74, WinterUse::Idle), (14, WinterUse::InUse), (12, WinterUse::Drained)])
            }
            Site::HomeWater => draw.weighted(&[(88, WinterUse::InUse), (12, WinterUse::Vacant)]),
            _ => WinterUse::InUse,
        },
        critical: match site {
            Site::Critical(at) => CRITICAL.get(at).map_or("", |one| one.0),
            _ => "",
        },
        last_test: first_day - TimeDelta::days(30 + draw.below(900) as i64),
        address,
        party,
    }
}

/// Who is called, and where the site is: a critical customer has one address, the others one a site.
fn party(
    site: Site,
    district: usize,
    draw: &mut Draw,
    register: &mut Register,
    critical: &mut [Option<(Party, usize, String)>],
) -> (Party, usize, String) {
    // Estates are managed: one number for many lawns, most of them in the new quarter.
    let managed = match site {
        Site::HomeLawn => draw.chance(0.2),
        Site::ShopLawn => draw.chance(0.25),
        _ => false,
    };
    let district = if managed && site == Site::HomeLawn { 2 } else { district };
    let streets = DISTRICTS.get(district).map_or(DISTRICTS[0].streets, |one| one.streets);
    let address = format!("{} {}", 2 + draw.below(180) * 3, draw.of(streets));
    match site {
        Site::Critical(at) => {
            let known = critical.get_mut(at);
            let name = CRITICAL.get(at).map_or("", |one| one.1);
            let made = (register.critical(name.to_owned()), district, address);
            match known {
                Some(slot) => slot.get_or_insert(made).clone(),
                None => made,
            }
        }
        _ if managed => (register.manager(draw), district, address),
        Site::HomeLawn | Site::HomeWater | Site::HomeFire => (register.household(draw), district, address),
        Site::ShopLawn | Site::ShopWater | Site::ShopFire | Site::Plant => (register.business(draw), district, address),
        Site::PublicGround => (register.public_body(draw), district, address),
    }
}

fn placement(site: Site, device: DeviceType, size: NominalSize, draw: &mut Draw) -> Placement {
    use Placement::{Cover, HeatedEnclosure, Indoors, InsulatedEnclosure, Open, Vault};
    let below_grade = matches!(device, DeviceType::Dc | DeviceType::Dcda);
    match site {
        Site::HomeLawn | Site::HomeFire if below_grade => {
            draw.weighted(&[(50, Open), (20, Cover), (25, Vault), (5, Indoors)])
        }
        Site::HomeLawn => draw.weighted(&[(74, Open), (20, Cover), (4, InsulatedEnclosure), (2, Indoors)]),
        Site::HomeWater => draw.weighted(&[(62, Open), (18, Cover), (10, InsulatedEnclosure), (10, Indoors)]),
        Site::Critical(_) => draw.weighted(&[
            (26, Open),
            (20, InsulatedEnclosure),
            (34, HeatedEnclosure),
            (20, Indoors),
        ]),
        _ if size >= NominalSize::N2_5 && below_grade => draw.weighted(&[
            (22, Open),
            (10, InsulatedEnclosure),
            (14, HeatedEnclosure),
            (32, Vault),
            (22, Indoors),
        ]),
        // One in many is below grade, where it should not be.
        _ => draw.weighted(&[
            (50, Open),
            (16, Cover),
            (14, InsulatedEnclosure),
            (8, HeatedEnclosure),
            (11, Indoors),
            (1, Vault),
        ]),
    }
}
