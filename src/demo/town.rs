//! The town: districts, streets, stations, the utility's config.

use super::draw::Draw;

/// Name of the town.
pub const NAME: &str = "Pellow Reach";

/// A district: where it lies and how its sites stand to the wind.
#[derive(Debug, Clone, Copy)]
pub struct District {
    /// Center, degrees north and east: open water.
    pub center: (f64, f64),
    /// Half width, degrees.
    pub spread: f64,
    /// Elevations of its sites, ft, in steps of a contour map, so that sites share them.
    pub elevations_ft: &'static [u32],
    /// Streets.
    pub streets: &'static [&'static str],
    /// Chances of open, partial and sheltered sites, per cent.
    pub wind: [u32; 3],
}

/// The districts: quay, terraces, new estates, ridge, works, campus.
pub const DISTRICTS: [District; 6] = [
    District {
        center: (28.585, -90.935),
        spread: 0.012,
        elevations_ft: &[10, 10, 20],
        streets: &["Oyster Row", "Quayside", "Halyard St", "Tidewrack Ln", "Lantern St"],
        wind: [50, 40, 10],
    },
    District {
        center: (28.605, -90.905),
        spread: 0.016,
        elevations_ft: &[60, 80, 100],
        streets: &[
            "Mill Terrace",
            "Weir St",
            "Carder St",
            "Fuller Ct",
            "Chandler Ave",
            "Loom Ln",
        ],
        wind: [10, 55, 35],
    },
    District {
        center: (28.632, -90.868),
        spread: 0.020,
        elevations_ft: &[100, 120, 140],
        streets: &[
            "Bittern Way",
            "Reed Ln",
            "Heron Park Dr",
            "Sedge Ct",
            "Avocet Loop",
            "Teal Hollow",
            "Curlew Path",
        ],
        wind: [30, 55, 15],
    },
    District {
        center: (28.662, -90.902),
        spread: 0.014,
        elevations_ft: &[300, 340, 380],
        streets: &["Ridge Rd", "Cairn Dr", "Overlook Ct", "Thornback Hill"],
        wind: [60, 35, 5],
    },
    District {
        center: (28.598, -90.860),
        spread: 0.010,
        elevations_ft: &[80, 100],
        streets: &["Foundry Rd", "Cooperage Way", "Ropewalk Dr", "Kiln Rd"],
        wind: [40, 45, 15],
    },
    District {
        center: (28.622, -90.925),
        spread: 0.008,
        elevations_ft: &[120, 140, 160],
        streets: &["Scholars Walk", "Infirmary Rd", "Observatory Ln"],
        wind: [25, 55, 20],
    },
];

/// A station: id, degrees north and east, elevation in ft.
pub const STATIONS: [(&str, f64, f64, u32); 3] = [
    ("PR-AIRFIELD", 28.6150, -90.8800, 110),
    ("PR-RIDGE", 28.6600, -90.9050, 360),
    ("PR-BAY", 28.5800, -90.9400, 12),
];

/// A place in a district, rounded to four decimals as such lists are.
pub fn place(district: &District, draw: &mut Draw) -> (f64, f64) {
    let mut near = |center: f64| center + district.spread * (draw.unit() + draw.unit() - 1.0);
    (near(district.center.0), near(district.center.1))
}

/// `stations.csv`.
pub fn stations_csv() -> String {
    let mut text = String::from("station_id,latitude,longitude,elevation_ft,zone\n");
    for (id, latitude, longitude, elevation) in STATIONS {
        text.push_str(&format!(
            "{id},{latitude:.4},{longitude:.4},{elevation},America/Chicago\n"
        ));
    }
    text
}

/// `config.toml`.
pub fn config_toml() -> &'static str {
    "# Choices of the invented utility of Pellow Reach. What is left out keeps its default.\n\
     \n\
     [utility]\n\
     name = \"Pellow Reach Water\"\n\
     zone = \"America/Chicago\"\n\
     phone = \"(201) 555-0100\"\n\
     emergency_phone = \"(201) 555-0199\"\n\
     \n\
     # The utility's own header names go here: ours on the left, theirs on the right.\n\
     # [columns]\n\
     # assembly_id = \"Device No.\"\n"
}
