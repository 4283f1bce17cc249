//! Checks across cells and across rows: what no single cell can tell.

use super::assembly::{Assembly, DeviceType, NominalSize, Placement, Service, WinterUse};
use super::columns::{is_serial, normal};
use super::parse::is_blank;
use crate::faults::{Fault, Faults, Severity};
use crate::text::Text;
use std::collections::{BTreeMap, HashMap};

/// Rows with coordinates from which a middle of the service area is believed (judgement).
const ENOUGH_FOR_A_MIDDLE: usize = 5;
/// Farther than this from the middle of the list, degrees, no site of one utility lies (judgement).
const FAR_DEG: f64 = 5.0;
/// A repair is believed when it brings the site this near to the middle, degrees (judgement).
const NEAR_DEG: f64 = 2.0;
/// Rows on one telephone number from which it is said (judgement: a property manager's switchboard).
const MANY_ON_ONE_PHONE: usize = 25;

/// Whether an assembly of this type is made in this size (`[trade-practice]`: vacuum breakers end at 2 in, detector
/// assemblies begin there, the smallest double check and reduced pressure assemblies are 3/8 in).
pub fn is_made(device: DeviceType, size: NominalSize) -> bool {
    match device {
        DeviceType::Pvb | DeviceType::Svb | DeviceType::Avb => size <= NominalSize::N2,
        DeviceType::Rpda | DeviceType::Dcda => size >= NominalSize::N1,
        DeviceType::Rp | DeviceType::Dc => true,
    }
}

/// What the columns of one assembly say against each other.
///
/// Faults: `BW-A15` wrap on an assembly indoors (note), `BW-A16` a fire line listed as drained (warning), `BW-A17` a heated
/// enclosure listed with no power (warning), `BW-A24` a reduced pressure assembly below grade (warning), `BW-A25` a detector
/// assembly that is not on a fire line (note), `BW-A26` a drip device on a drained line (note).
pub fn one(assembly: &Assembly, file_name: &str, faults: &mut Faults) {
    let fault = |code, severity, column: &str, what: String| {
        Fault::new(code, severity, format!("{}: {what}", assembly.assembly_id))
            .file(file_name)
            .line(assembly.line)
            .column(column)
    };
    if assembly.placement == Placement::Indoors && assembly.wrap_m2k_per_w > 0.0 {
        faults.push(
            fault(
                "BW-A15",
                Severity::Note,
                "placement",
                "an assembly indoors is listed with a wrap".into(),
            )
            .remedy("Check whether it really stands indoors; both were used as listed."),
        );
    }
    if assembly.service == Service::Fire && assembly.winter_use == WinterUse::Drained {
        faults.push(
            fault("BW-A16", Severity::Warning, "winter_use", "a fire line is listed as drained".into())
                .expected("a fire line that is in service, unless it is a dry system with the valve indoors")
                .remedy(
                    "If the line is really out of service, the fire official must know of it today. Never shut or drain a fire line for cold.",
                ),
        );
    }
    let trace_told = !assembly
        .assumed
        .iter()
        .any(|assumption| assumption.field == "heat_trace_w");
    if assembly.placement == Placement::HeatedEnclosure && trace_told && assembly.heat_trace_w == 0.0 {
        faults.push(
            fault(
                "BW-A17",
                Severity::Warning,
                "heat_trace_w",
                "a heated enclosure is listed with 0 W".into(),
            )
            .expected("blank when the enclosure has its own heater")
            .remedy("If it has no working heater, list it as insulated_enclosure. The enclosure's heater was taken as working."),
        );
    }
    if matches!(assembly.device_type, DeviceType::Rp | DeviceType::Rpda) && assembly.placement == Placement::Vault {
        faults.push(
            fault(
                "BW-A24",
                Severity::Warning,
                "placement",
                "a reduced pressure assembly is listed below grade".into(),
            )
            .expected("above ground, where its relief can drain and is never submerged")
            .remedy("Have it looked at: a flooded relief port lets foul water in. Your code may forbid it."),
        );
    }
    if matches!(assembly.device_type, DeviceType::Rpda | DeviceType::Dcda) && assembly.service != Service::Fire {
        faults.push(
            fault(
                "BW-A25",
                Severity::Note,
                "service",
                format!("a detector assembly is listed for {} service", assembly.service),
            )
            .expected("fire")
            .remedy("Check it: a fire line must not be shut. It was used as listed."),
        );
    }
    if assembly.freeze_drip && assembly.winter_use == WinterUse::Drained {
        faults.push(
            fault(
                "BW-A26",
                Severity::Note,
                "freeze_drip",
                "a drip device is listed on a drained line".into(),
            )
            .remedy("It has no water to pass; the line was taken as drained."),
        );
    }
}

/// Whether two numbers can be a place on Earth that somebody meant.
fn is_place(latitude: f64, longitude: f64) -> bool {
    latitude.abs() <= 90.0 && longitude.abs() <= 180.0 && (latitude, longitude) != (0.0, 0.0)
}

fn middle(mut values: Vec<f64>) -> Option<f64> {
    values.sort_by(f64::total_cmp);
    values.get(values.len() / 2).copied()
}

/// Repairs coordinates that are swapped or lack their sign, and sets aside those that can be nowhere in the service area.
///
/// The middle of the list (the median of each coordinate) tells where the service area is; with fewer than five rows only what
/// is impossible on Earth is looked at.
///
/// Faults: `BW-A10` repaired (note), `BW-A11` set aside (warning).
pub fn coordinates(assemblies: &mut [Assembly], file_name: &str, faults: &mut Faults) {
    let placed: Vec<(f64, f64)> = assemblies
        .iter()
        .filter_map(|assembly| assembly.latitude_deg.zip(assembly.longitude_deg))
        // A latitude beyond 90 with a longitude within it can only be a swapped pair.
        .map(|(a, b)| {
            if is_place(a, b) || !is_place(b, a) {
                (a, b)
            } else {
                (b, a)
            }
        })
        .filter(|(a, b)| is_place(*a, *b))
        .collect();
    let center = if placed.len() >= ENOUGH_FOR_A_MIDDLE {
        middle(placed.iter().map(|pair| pair.0).collect()).zip(middle(placed.iter().map(|pair| pair.1).collect()))
    } else {
        None
    };
    let within = |pair: (f64, f64), degrees: f64| {
        is_place(pair.0, pair.1)
            && center.is_none_or(|center| (pair.0 - center.0).abs() <= degrees && (pair.1 - center.1).abs() <= degrees)
    };
    for assembly in assemblies {
        let told = (assembly.latitude_deg, assembly.longitude_deg);
        let (Some(latitude), Some(longitude)) = told else {
            if told != (None, None) {
                let lacking = if told.0.is_none() { "latitude" } else { "longitude" };
                set_aside(
                    assembly,
                    lacking,
                    "one of latitude and longitude is missing",
                    file_name,
                    faults,
                );
            }
            continue;
        };
        if within((latitude, longitude), FAR_DEG) {
            continue;
        }
        let repairs = [
            ((longitude, latitude), "latitude and longitude were swapped"),
            ((latitude, -longitude), "the longitude lacked its sign"),
            ((-latitude, longitude), "the latitude had the wrong sign"),
            (
                (-longitude, latitude),
                "latitude and longitude were swapped and a sign was wrong",
            ),
            (
                (longitude, -latitude),
                "latitude and longitude were swapped and a sign was wrong",
            ),
        ];
        // Without a middle nothing but the swap of an impossible pair can be believed.
        let repair = repairs
            .iter()
            .take(if center.is_some() { repairs.len() } else { 1 })
            .find(|(pair, _)| within(*pair, NEAR_DEG));
        match repair {
            Some((pair, what)) => {
                assembly.latitude_deg = Some(pair.0);
                assembly.longitude_deg = Some(pair.1);
                faults.push(
                    Fault::new("BW-A10", Severity::Note, format!("{what}; repaired"))
                        .file(file_name)
                        .line(assembly.line)
                        .column("latitude")
                        .value(&format!("{latitude}, {longitude}"))
                        .remedy("Correct it in your list."),
                );
            }
            None => {
                let what = if is_place(latitude, longitude) {
                    "the site lies far from all the others"
                } else {
                    "these coordinates are nowhere on Earth"
                };
                set_aside(assembly, "latitude", what, file_name, faults);
            }
        }
    }
}

fn set_aside(assembly: &mut Assembly, column: &str, what: &str, file_name: &str, faults: &mut Faults) {
    let shown = |value: Option<f64>| value.map_or_else(|| "blank".to_owned(), |value| value.to_string());
    faults.push(
        Fault::new("BW-A11", Severity::Warning, what)
            .file(file_name)
            .line(assembly.line)
            .column(column)
            .value(&format!(
                "{}, {}",
                shown(assembly.latitude_deg),
                shown(assembly.longitude_deg)
            ))
            .expected("degrees north and degrees east (negative in the Americas)")
            .remedy("The coordinates were not used. Correct them, or name the weather station in station_id."),
    );
    assembly.latitude_deg = None;
    assembly.longitude_deg = None;
}

/// Says which serial numbers stand on several rows: one assembly listed twice is called about twice and counted twice.
///
/// Faults: `BW-A30` (note).
pub fn shared_serials(assemblies: &[Assembly], file_name: &str, faults: &mut Faults) {
    let mut rows: BTreeMap<String, Vec<&Assembly>> = BTreeMap::new();
    for assembly in assemblies {
        let serials = assembly.extra.iter().filter(|(header, _)| is_serial(header));
        for (_, serial) in serials {
            // Serials of fewer than four signs are fillers as often as not (judgement).
            if !is_blank(serial) && normal(serial).len() >= 4 {
                rows.entry(normal(serial)).or_default().push(assembly);
            }
        }
    }
    for (serial, same) in rows.iter().filter(|(_, same)| same.len() > 1) {
        let ids: Vec<&str> = same.iter().take(5).map(|one| one.assembly_id.as_str()).collect();
        faults.push(
            Fault::new(
                "BW-A30",
                Severity::Note,
                format!("one serial number stands on {} rows: {}", same.len(), ids.join(", ")),
            )
            .file(file_name)
            .line(same.first().map_or(0, |one| one.line))
            .column("serial")
            .value(serial)
            .expected("each assembly once")
            .remedy("Look which row is right, and whether an assembly was replaced; all of them were used."),
        );
    }
}

/// Says which numbers stand on many rows: one person, or a switchboard, to be called once.
///
/// Faults: `BW-A18` (note).
pub fn shared_phones(assemblies: &[Assembly], file_name: &str, faults: &mut Faults) {
    let mut rows: HashMap<String, (usize, u64, &str)> = HashMap::new();
    for assembly in assemblies {
        let Some(phone) = &assembly.contact.phone else { continue };
        let digits: String = phone.chars().filter(char::is_ascii_digit).collect();
        // North American numbers with and without the country's 1 are the same number.
        let digits = match digits.strip_prefix('1') {
            Some(rest) if rest.len() == 10 => rest.to_owned(),
            _ => digits,
        };
        if digits.len() >= 7 {
            rows.entry(digits).or_insert((0, assembly.line, phone.as_str())).0 += 1;
        }
    }
    let mut many: Vec<_> = rows
        .into_values()
        .filter(|(count, _, _)| *count >= MANY_ON_ONE_PHONE)
        .collect();
    many.sort_by(|a, b| b.0.cmp(&a.0).then(a.1.cmp(&b.1)));
    for (count, line, phone) in many {
        faults.push(
            Fault::new(
                "BW-A18",
                Severity::Note,
                format!("{count} assemblies share one telephone number"),
            )
            .file(file_name)
            .line(line)
            .column("phone")
            .value(phone)
            .remedy("It is called once for all of them. If it is a manager's switchboard, add the people on site."),
        );
    }
}

/// Says which rows look like the bypass of a detector assembly that is listed too.
///
/// A small assembly is taken for one when its type cell or its id says so (`-BP`, `-BYP`, `-BYPASS`), or it serves fire, and a larger
/// detector assembly stands at the same account or address, or has the id without the ending.
///
/// Faults: `BW-A19` (note).
pub fn bypasses(assemblies: &[Assembly], said: &dyn Fn(usize) -> bool, file_name: &str, faults: &mut Faults) {
    let key = |text: &Option<Text>| text.as_ref().map(|text| text.to_lowercase());
    let mut by_place: HashMap<String, Vec<usize>> = HashMap::new();
    for (index, assembly) in assemblies.iter().enumerate() {
        if matches!(assembly.device_type, DeviceType::Rpda | DeviceType::Dcda) {
            let places = [
                key(&assembly.contact.account_id).map(|text| format!("account {text}")),
                key(&assembly.contact.site_address).map(|text| format!("address {text}")),
                Some(format!("id {}", assembly.assembly_id.to_lowercase())),
            ];
            for place in places.into_iter().flatten() {
                by_place.entry(place).or_default().push(index);
            }
        }
    }
    for (index, assembly) in assemblies.iter().enumerate() {
        if assembly.nominal_size > NominalSize::N1 {
            continue;
        }
        let id = assembly.assembly_id.to_lowercase();
        let stem = ["-bp", "-byp", "-bypass", "_bp", " bp", "_bypass", " bypass"]
            .iter()
            .find_map(|tail| id.strip_suffix(tail));
        let hinted = said(index) || stem.is_some();
        if !hinted && assembly.service != Service::Fire {
            continue;
        }
        let places = [
            stem.map(|stem| format!("id {stem}")),
            key(&assembly.contact.account_id).map(|text| format!("account {text}")),
            key(&assembly.contact.site_address).map(|text| format!("address {text}")),
        ];
        let main = places
            .iter()
            .flatten()
            .filter_map(|place| by_place.get(place))
            .flatten()
            .filter_map(|at| assemblies.get(*at))
            .find(|main| main.line != assembly.line && main.nominal_size > assembly.nominal_size);
        let what = match main {
            Some(main) => format!(
                "this looks like the bypass of the detector assembly {} (line {})",
                main.assembly_id, main.line
            ),
            None if hinted => "this is listed as a bypass, but its detector assembly is not in the list".into(),
            None => continue,
        };
        faults.push(
            Fault::new("BW-A19", Severity::Note, what)
                .file(file_name)
                .line(assembly.line)
                .column("assembly_id")
                .value(&assembly.assembly_id)
                .remedy("Both rows were used; the bypass is the part that freezes first. One visit serves both."),
        );
    }
}
