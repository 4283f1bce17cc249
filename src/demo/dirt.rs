//! How the office wrote it down: blanks, spellings, slips.
//!
//! The shares of blanks are those of practice: 60 to 90 % in the columns that decide freezing.

use super::draw::Draw;
use super::list::Truth;
use crate::inventory::{DeviceType, NominalSize, Placement, Service, WinterUse};

const HEADER: [&str; 29] = [
    "assembly_id",
    "device_type",
    "nominal_size_in",
    "latitude",
    "longitude",
    "elevation_ft",
    "station_id",
    "customer_class",
    "service",
    "placement",
    "wrap_r_us",
    "riser_material",
    "riser_height_in",
    "wind_exposure",
    "freeze_drip",
    "heat_trace_w",
    "expansion_relief",
    "winter_use",
    "critical",
    "last_test",
    "account_id",
    "site_address",
    "contact_name",
    "phone",
    "email",
    "language",
    "channels",
    "serial",
    "location_note",
];

const NOTES: [&str; 12] = [
    "LFT of drwy",
    "behind hedge",
    "NE corner, by meter",
    "front yard RT side",
    "by A/C pad",
    "gate code w/ office",
    "dog!",
    "in planter",
    "see photo",
    "under stairs",
    "=see map",
    "side of bldg, 3 ft off wall",
];

/// A slip that the committed list is to show once, from which row on; more come by chance.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Slip {
    SizeAsDate,
    WrongType,
    NoId,
    FarAway,
    FireDrained,
    Mail,
}

const SLIPS: [(usize, Slip); 6] = [
    (35, Slip::SizeAsDate),
    (90, Slip::WrongType),
    (140, Slip::NoId),
    (185, Slip::FarAway),
    (230, Slip::FireDrained),
    (275, Slip::Mail),
];

/// Whether a list is kept with care: blanks and spellings as in life, but nothing that has to be set aside or asked about.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Care {
    /// Every row can be used.
    Tidy,
    /// With the slips of real lists.
    Untidy,
}

/// Writes rows as an office keeps them.
pub struct Writer {
    care: Care,
    draw: Draw,
    slips_left: Vec<(usize, Slip)>,
    out: csv::Writer<Vec<u8>>,
    rows: usize,
    previous_id: String,
}

impl Writer {
    /// A list with its header.
    pub fn new(seed: u64, care: Care) -> Self {
        let mut out = csv::Writer::from_writer(Vec::new());
        // Writing into memory cannot fail.
        let _ = out.write_record(HEADER);
        Self {
            care,
            draw: Draw::new(seed, 2),
            slips_left: match care {
                Care::Tidy => Vec::new(),
                Care::Untidy => SLIPS.to_vec(),
            },
            out,
            rows: 0,
            previous_id: String::new(),
        }
    }

    /// Rows written so far.
    pub fn rows(&self) -> usize {
        self.rows
    }

    /// The text of the list.
    pub fn finish(self) -> String {
        String::from_utf8(self.out.into_inner().unwrap_or_default()).unwrap_or_default()
    }

    fn tidy(&self) -> bool {
        self.care == Care::Tidy
    }

    /// Whether this row makes a planned slip: from its row on, the first that can.
    fn slips(&mut self, slip: Slip, can: bool) -> bool {
        let rows = self.rows;
        let due = self
            .slips_left
            .iter()
            .position(|(from, one)| can && *one == slip && rows >= *from);
        due.map(|at| self.slips_left.remove(at)).is_some()
    }

    /// Writes one row.
    pub fn row(&mut self, truth: &Truth) {
        let (latitude, longitude, station) = self.place(truth);
        let told = |draw: &mut Draw, chance: f64, text: String| if draw.chance(chance) { text } else { String::new() };
        let id = self.id(truth);
        let device = self.device(truth.device);
        let size = self.size(truth.size);
        let drained = self.slips(Slip::FireDrained, truth.service == Service::Fire);
        let bad_mail = self.slips(Slip::Mail, !truth.party.email.is_empty());
        let tidy = self.tidy();
        let draw = &mut self.draw;
        let drip_known = if truth.drip { 0.85 } else { 0.25 };
        let trace_known = if truth.heat_trace_w > 0 { 0.6 } else { 0.08 };
        let wrap_known = if truth.wrap_r_us > 0 { 0.45 } else { 0.08 };
        let drained_known = if truth.winter == WinterUse::Drained { 0.7 } else { 0.26 };
        let service = match truth.service {
            Service::Unknown => String::new(),
            service => spelled(
                draw,
                service.word(),
                &[("irrigation", "IRR"), ("fire", "Fire Line"), ("domestic", "Dom")],
            ),
        };
        // A pit that a relief valve would drown in is asked about; a careful office has moved it or not told.
        let drowns = truth.placement == Placement::Vault && matches!(truth.device, DeviceType::Rp | DeviceType::Rpda);
        let placement = match placement(draw, truth.placement, tidy) {
            _ if tidy && drowns => String::new(),
            word => word,
        };
        let height = height(draw, truth.height_in);
        let (drip, relief) = (yes_no(draw, truth.drip), yes_no(draw, truth.relief));
        let phone = phone(draw, &truth.party.phone, tidy);
        let record = [
            id,
            device,
            size,
            latitude,
            longitude,
            told(draw, 0.6, truth.elevation_ft.to_string()),
            station,
            told(draw, 0.93, truth.class.word().to_owned()),
            if drained { service } else { told(draw, 0.88, service) },
            told(draw, 0.36, placement),
            told(draw, wrap_known, truth.wrap_r_us.to_string()),
            told(draw, 0.22, truth.material.word().to_owned()),
            told(draw, 0.18, height),
            told(draw, 0.12, truth.wind.word().to_owned()),
            told(draw, drip_known, drip),
            told(
                draw,
                trace_known,
                // Nought beside a heated enclosure may mean a dead heater, which is asked about.
                match truth.heat_trace_w {
                    0 if tidy && truth.placement == Placement::HeatedEnclosure => String::new(),
                    watt => watt.to_string(),
                },
            ),
            told(draw, 0.12, relief),
            if drained {
                "drained".to_owned()
            } else {
                let fire_off = tidy && truth.service == Service::Fire && truth.winter == WinterUse::Drained;
                let word = told(draw, drained_known, truth.winter.word().to_owned());
                if fire_off { String::new() } else { word }
            },
            truth.critical.to_owned(),
            told(draw, 0.85, date(truth)),
            told(draw, 0.97, truth.party.account.clone()),
            told(draw, 0.98, truth.address.clone()),
            told(draw, 0.88, truth.party.name.clone()),
            told(draw, 0.9, phone),
            if bad_mail {
                truth.party.email.replace('@', " at ")
            } else {
                told(draw, 0.48, truth.party.email.clone())
            },
            told(draw, 0.75, truth.party.language.to_owned()),
            truth.party.channels.to_owned(),
            told(draw, 0.8, format!("S{:06}", serial(truth))),
            told(draw, 0.3, note(truth)),
        ];
        let _ = self.out.write_record(record);
        self.rows += 1;
    }

    fn id(&mut self, truth: &Truth) -> String {
        let id = if self.tidy() {
            truth.id.clone()
        } else if self.draw.chance(0.005) && !self.previous_id.is_empty() {
            // Copied from the line above, and only the rest was changed.
            self.previous_id.clone()
        } else if self.draw.chance(0.0015) | self.slips(Slip::NoId, true) {
            String::new()
        } else {
            truth.id.clone()
        };
        self.previous_id.clone_from(&truth.id);
        id
    }

    /// Latitude, longitude, station: most rows have a place, a few name a station, a very few have neither.
    fn place(&mut self, truth: &Truth) -> (String, String, String) {
        let far = self.slips(Slip::FarAway, true);
        let tidy = self.tidy();
        let draw = &mut self.draw;
        let (a, b) = (format!("{:.4}", truth.place.0), format!("{:.4}", truth.place.1));
        if far {
            return (a, "-9.0".to_owned(), String::new());
        }
        if draw.chance(0.04) {
            let station = match truth.district {
                0 => "PR-BAY",
                3 => "PR-RIDGE",
                _ => "PR-AIRFIELD",
            };
            let known = draw.chance(0.85);
            return (
                String::new(),
                String::new(),
                if known || tidy {
                    station.to_owned()
                } else {
                    String::new()
                },
            );
        }
        match draw.below(400) {
            0..6 if tidy => (a, b, String::new()),
            0..3 => (b, a, String::new()),
            3..5 => (a, b.trim_start_matches('-').to_owned(), String::new()),
            5 => (a, "-9.0".to_owned(), String::new()),
            6..16 => (a, b, "PR-AIRFIELD".to_owned()),
            _ => (a, b, String::new()),
        }
    }

    fn device(&mut self, device: DeviceType) -> String {
        if self.slips(Slip::WrongType, device == DeviceType::Rp) {
            return "RPX".to_owned();
        }
        let other = match device {
            DeviceType::Rp => self
                .draw
                .weighted(&[(34, "RPZ"), (16, "RPBA"), (8, "Reduced Pressure"), (1, "RPX")]),
            DeviceType::Rpda => self.draw.of(&["RPDA", "Rpda", "Reduced Pressure Detector Assembly"]),
            DeviceType::Dc => self.draw.weighted(&[(40, "DCVA"), (20, "Double Check"), (8, "D.C.")]),
            DeviceType::Dcda => self.draw.of(&["DCDA", "Double Check Detector Assembly", "DDC"]),
            DeviceType::Pvb => self
                .draw
                .weighted(&[(40, "pvb"), (16, "Pressure Vacuum Breaker"), (1, "PVBB")]),
            DeviceType::Svb => self.draw.of(&["SVB", "SRVB", "Spill-resistant vacuum breaker"]),
            DeviceType::Avb => self.draw.of(&["AVB", "Atmospheric Vacuum Breaker"]),
        };
        if self.draw.chance(0.72) || (self.tidy() && matches!(other, "RPX" | "PVBB")) {
            device.word().to_owned()
        } else {
            other.to_owned()
        }
    }

    fn size(&mut self, size: NominalSize) -> String {
        if self.slips(Slip::SizeAsDate, size == NominalSize::N0_75) {
            return "4-Mar".to_owned();
        }
        let inches = size.inches();
        match self.draw.below(1000) {
            0..560 => size.word().to_owned(),
            560..720 => format!("{inches}"),
            720..820 => format!("{inches:.2}"),
            820..900 => format!("{}\"", size.word()),
            900..950 => format!("{} in", size.word().replace('-', " ")),
            950..980 => match size {
                NominalSize::N0_375 => "10 mm",
                NominalSize::N0_5 => "15 mm",
                NominalSize::N0_75 => "20 mm",
                NominalSize::N1 => "25 mm",
                NominalSize::N1_25 => "32 mm",
                NominalSize::N1_5 => "40 mm",
                NominalSize::N2 => "50 mm",
                NominalSize::N2_5 => "65 mm",
                NominalSize::N3 => "80 mm",
                NominalSize::N4 => "100 mm",
                NominalSize::N6 => "150 mm",
                NominalSize::N8 => "200 mm",
                NominalSize::N10 => "250 mm",
            }
            .to_owned(),
            // A spreadsheet takes the fraction for a date.
            980..997 if self.tidy() => size.word().to_owned(),
            980..994 if size == NominalSize::N0_75 => "4-Mar".to_owned(),
            994..997 => "5".to_owned(),
            _ => size.word().to_owned(),
        }
    }
}

fn spelled(draw: &mut Draw, word: &str, others: &[(&str, &str)]) -> String {
    match others.iter().find(|(ours, _)| *ours == word) {
        Some((_, other)) if draw.chance(0.2) => (*other).to_owned(),
        _ => word.to_owned(),
    }
}

fn placement(draw: &mut Draw, placement: Placement, tidy: bool) -> String {
    let word = placement.word();
    match draw.below(100) {
        0..12 => word.replace('_', " "),
        12..20 => match placement {
            Placement::Open => "outside".into(),
            Placement::Indoors => "Inside".into(),
            Placement::Vault => "pit".into(),
            Placement::HeatedEnclosure => "heated box".into(),
            _ => word.into(),
        },
        20 if !tidy => "opne".into(),
        _ => word.into(),
    }
}

fn height(draw: &mut Draw, inches: u32) -> String {
    match draw.below(20) {
        0 => format!("{inches} in"),
        1 => format!("{inches}\""),
        _ => inches.to_string(),
    }
}

fn yes_no(draw: &mut Draw, yes: bool) -> String {
    match (draw.below(4), yes) {
        (0, true) => "Y",
        (0, false) => "N",
        (_, true) => "yes",
        (_, false) => "no",
    }
    .to_owned()
}

/// Each district's tester has a way of writing dates.
fn date(truth: &Truth) -> String {
    let shape = match truth.district % 3 {
        0 => "%Y-%m-%d",
        1 => "%-m/%-d/%Y",
        _ => "%-d-%b-%Y",
    };
    truth.last_test.format(shape).to_string()
}

fn phone(draw: &mut Draw, digits: &str, tidy: bool) -> String {
    let (number, extension) = digits.split_once('x').unwrap_or((digits, ""));
    let (Some(area), Some(exchange), Some(line)) = (number.get(..3), number.get(3..6), number.get(6..)) else {
        return digits.to_owned();
    };
    let text = match draw.below(100) {
        0..52 => format!("({area}) {exchange}-{line}"),
        52..76 => format!("{area}-{exchange}-{line}"),
        76..86 => format!("{area}.{exchange}.{line}"),
        86..92 => number.to_owned(),
        92..96 => format!("+1 {area} {exchange} {line}"),
        96.. if tidy => format!("{area}-{exchange}-{line}"),
        96..98 => format!("{exchange}-{line}"),
        98 => "call office".to_owned(),
        _ => format!("({area}) {exchange}-{line} after 5"),
    };
    if extension.is_empty() {
        text
    } else {
        format!("{text} x{extension}")
    }
}

/// A number that belongs to the assembly and needs no draw.
fn serial(truth: &Truth) -> u32 {
    let seed: u32 = truth
        .id
        .bytes()
        .fold(17, |sum, byte| sum.wrapping_mul(31).wrapping_add(u32::from(byte)));
    seed % 1_000_000
}

fn note(truth: &Truth) -> String {
    let at = serial(truth) as usize / 7 % NOTES.len();
    NOTES.get(at).copied().unwrap_or_default().to_owned()
}
