//! Which header cell is which column.

use crate::faults::{Fault, Faults, Severity};
use crate::text::Text;
use std::collections::{BTreeMap, HashMap};

macro_rules! columns {
    ($($(#[$meta:meta])* $variant:ident = $name:literal [$($other:literal),*]),+ $(,)?) => {
        /// A column of the interface.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum Column { $($(#[$meta])* $variant),+ }
        impl Column {
            /// Every column, in the order of the interface.
            pub const ALL: &'static [Column] = &[$(Column::$variant),+];
            /// How many there are.
            pub const COUNT: usize = Self::ALL.len();
            /// The interface's name of the column.
            pub fn name(self) -> &'static str {
                match self { $(Column::$variant => $name),+ }
            }
            /// The column of an interface's name.
            pub fn named(name: &str) -> Option<Column> {
                Self::ALL.iter().copied().find(|column| column.name() == name.trim())
            }
            /// All names, for faults.
            pub fn names() -> String {
                let names: Vec<&str> = Self::ALL.iter().map(|column| column.name()).collect();
                names.join(", ")
            }
            /// Other headers that mean the same thing without doubt, already in [`normal`] form.
            fn others(self) -> &'static [&'static str] {
                match self { $(Column::$variant => &[$($other),*]),+ }
            }
        }
    };
}

columns! {
    /// Unique identifier.
    AssemblyId = "assembly_id" ["device_id", "assembly", "assembly_number", "assembly_no", "asset_id"],
    /// Kind of assembly.
    DeviceType = "device_type" ["type", "assembly_type"],
    /// Nominal size.
    NominalSize = "nominal_size_in" ["size", "size_in", "nominal_size", "device_size"],
    /// Degrees north.
    Latitude = "latitude" ["lat"],
    /// Degrees east.
    Longitude = "longitude" ["lon", "long", "lng"],
    /// Elevation of the site.
    Elevation = "elevation_ft" ["elevation", "elev_ft"],
    /// Weather station to use.
    StationId = "station_id" ["station", "weather_station"],
    /// Who the customer is.
    CustomerClass = "customer_class" ["class", "service_class"],
    /// What the line serves.
    Service = "service" ["service_use", "serves"],
    /// Where the assembly stands.
    Placement = "placement" [],
    /// Wrap.
    Wrap = "wrap_r_us" ["wrap_r", "wrap"],
    /// Riser material.
    RiserMaterial = "riser_material" [],
    /// Riser height.
    RiserHeight = "riser_height_in" ["riser_height", "height_in"],
    /// Wind exposure.
    WindExposure = "wind_exposure" ["wind"],
    /// Thermostatic drip device.
    FreezeDrip = "freeze_drip" [],
    /// Heat trace.
    HeatTrace = "heat_trace_w" ["heat_trace"],
    /// Expansion relief behind the assembly.
    ExpansionRelief = "expansion_relief" [],
    /// What the line does in winter.
    WinterUse = "winter_use" ["winter"],
    /// Critical customer.
    Critical = "critical" ["critical_customer"],
    /// Last field test.
    LastTest = "last_test" ["last_test_date", "test_date"],
    /// Account.
    AccountId = "account_id" ["account", "account_no", "account_number", "acct"],
    /// Address of the site.
    SiteAddress = "site_address" ["address", "service_address"],
    /// Who to reach.
    ContactName = "contact_name" ["contact", "name", "owner", "owner_name"],
    /// Telephone.
    Phone = "phone" ["telephone", "phone_number", "contact_phone"],
    /// E-mail.
    Email = "email" ["e_mail", "email_address", "contact_email"],
    /// Language.
    Language = "language" ["preferred_language"],
    /// Channels allowed.
    Channels = "channels" ["channel", "preferred_channel"],
}

/// A header cell in small letters, its runs of anything but letters and digits turned into one underscore.
pub fn normal(header: &str) -> String {
    let mut out = String::with_capacity(header.len());
    for c in header.chars().flat_map(char::to_lowercase) {
        if c.is_alphanumeric() {
            out.push(c);
        } else if !out.is_empty() && !out.ends_with('_') {
            out.push('_');
        }
    }
    out.truncate(out.trim_end_matches('_').len());
    out
}

/// Whether a header names the note that says where on the site an assembly stands, as people find it: `location_note`, `Loc. notes`,
/// `Device location desc.` (judgement, from the vocabulary of the trade). It is no column of the interface: the note is shown as it came.
pub fn is_site_note(header: &str) -> bool {
    const WHERE: [&str; 4] = ["location", "loc", "ubicación", "ubicacion"];
    const NOTE: [&str; 13] = [
        "note",
        "notes",
        "desc",
        "description",
        "detail",
        "details",
        "comment",
        "comments",
        "remark",
        "remarks",
        "nota",
        "notas",
        "descripción",
    ];
    let header = normal(header);
    let has = |words: &[&str]| header.split('_').any(|word| words.contains(&word));
    has(&WHERE) && has(&NOTE)
}

/// Whether a header names the maker's serial number.
pub fn is_serial(header: &str) -> bool {
    let header = normal(header);
    let words: Vec<&str> = header.split('_').collect();
    let serial = words.iter().any(|word| matches!(*word, "serial" | "sn" | "serie"));
    serial && !words.contains(&"meter") && words.len() <= 3
}

/// Finds columns by the interface's names, the utility's own names and undoubted other spellings.
#[derive(Debug, Clone)]
pub struct Names {
    by_header: HashMap<String, Column>,
}

impl Names {
    /// With the `[columns]` section of the config: our names on the left, the utility's on the right.
    ///
    /// Faults: `BW-C05` a name on the left that is no column (fatal).
    pub fn new(own: &BTreeMap<String, String>) -> (Self, Faults) {
        let mut faults = Faults::new();
        let mut by_header = HashMap::new();
        for column in Column::ALL {
            for other in column.others() {
                by_header.insert((*other).to_owned(), *column);
            }
        }
        for column in Column::ALL {
            by_header.insert(column.name().to_owned(), *column);
        }
        // The utility's word is last, so that it has the last word.
        for (ours, theirs) in own {
            match Column::named(ours) {
                Some(column) => {
                    by_header.insert(normal(theirs), column);
                }
                None => {
                    let near = nearest(ours).map_or_else(String::new, |name| format!(" Did you mean {name}?"));
                    faults.push(
                        Fault::new(
                            "BW-C05",
                            Severity::Fatal,
                            "the config maps a column that does not exist",
                        )
                        .column("columns")
                        .value(ours)
                        .expected(format!(
                            "on the left one of {}; on the right your own header",
                            Column::names()
                        ))
                        .remedy(format!("Correct the name in [columns].{near}")),
                    );
                }
            }
        }
        (Self { by_header }, faults)
    }

    /// The column that a header cell names.
    pub fn column(&self, header: &str) -> Option<Column> {
        self.by_header.get(&normal(header)).copied()
    }
}

/// The column whose name is near enough to be what was meant.
pub fn nearest(header: &str) -> Option<&'static str> {
    let header = normal(header);
    // Judgement: above 0.9 of Jaro-Winkler a slip of the keyboard is likelier than another word.
    Column::ALL
        .iter()
        .map(|column| (strsim::jaro_winkler(&header, column.name()), column.name()))
        .filter(|(likeness, _)| *likeness > 0.9)
        .max_by(|a, b| a.0.total_cmp(&b.0))
        .map(|(_, name)| name)
}

/// Where each column stands in a record, and which cells are not ours.
#[derive(Debug, Clone, Default)]
pub struct Layout {
    at: BTreeMap<Column, usize>,
    /// Cells that are not columns of the interface: index and header as written.
    pub extra: Vec<(usize, Text)>,
}

impl Layout {
    /// Lays out a header.
    ///
    /// Faults: `BW-A20` a header near to one of ours (note), `BW-A22` a column named twice (warning; the first is used, unless
    /// only a later one has the interface's own name).
    pub fn of(header: &[String], names: &Names, file_name: &str, line: u64) -> (Self, Faults) {
        let mut faults = Faults::new();
        let mut layout = Self::default();
        let mut claims: BTreeMap<Column, Vec<usize>> = BTreeMap::new();
        for (index, cell) in header.iter().enumerate() {
            match names.column(cell) {
                Some(column) => claims.entry(column).or_default().push(index),
                None => layout.extra.push((index, cell.as_str().into())),
            }
        }
        for (column, indices) in claims {
            let exact = indices
                .iter()
                .find(|index| header.get(**index).is_some_and(|cell| normal(cell) == column.name()));
            let Some(&used) = exact.or(indices.first()) else {
                continue;
            };
            layout.at.insert(column, used);
            for index in indices.iter().filter(|index| **index != used) {
                let cell = header.get(*index).cloned().unwrap_or_default();
                faults.push(
                    Fault::new(
                        "BW-A22",
                        Severity::Warning,
                        format!("two columns could be {}", column.name()),
                    )
                    .file(file_name)
                    .line(line)
                    .column(cell.clone())
                    .remedy(format!(
                        "Column {} is used; say which one you mean in [columns] of the config.",
                        used + 1
                    )),
                );
                layout.extra.push((*index, cell.into()));
            }
        }
        layout.extra.sort();
        for (_, cell) in &layout.extra {
            if let Some(near) = nearest(cell)
                && !layout.at.keys().any(|column| column.name() == near)
            {
                faults.push(
                    Fault::new(
                        "BW-A20",
                        Severity::Note,
                        format!("this column is not known; {near} is close to it"),
                    )
                    .file(file_name)
                    .line(line)
                    .column(cell.as_str())
                    .remedy("Rename it, or map it in [columns] of the config. It was passed through unread."),
                );
            }
        }
        (layout, faults)
    }

    /// Whether the header has this column.
    pub fn has(&self, column: Column) -> bool {
        self.at.contains_key(&column)
    }

    /// The cell of a column, empty when the header or the record lacks it.
    pub fn get<'r>(&self, column: Column, fields: &'r [String]) -> &'r str {
        self.at
            .get(&column)
            .and_then(|index| fields.get(*index))
            .map_or("", String::as_str)
    }
}
