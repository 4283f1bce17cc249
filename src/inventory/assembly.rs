//! One backflow prevention assembly with every blank filled by a named default.

pub use crate::language::Language;
use crate::text::Text;
use chrono::NaiveDate;
use serde::{Deserialize, Serialize, Serializer};
use std::ops::Deref;
use std::sync::Arc;

macro_rules! words {
    ($(#[$meta:meta])* $name:ident { $($(#[$vmeta:meta])* $variant:ident = $word:literal),+ $(,)? }) => {
        $(#[$meta])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
        pub enum $name {
            $($(#[$vmeta])* #[serde(rename = $word)] $variant),+
        }
        impl $name {
            /// Every value, in the order of the interface.
            pub const ALL: &'static [$name] = &[$($name::$variant),+];
            /// The word that files and pages use.
            pub fn word(self) -> &'static str {
                match self { $($name::$variant => $word),+ }
            }
        }
        impl std::fmt::Display for $name {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                f.write_str(self.word())
            }
        }
    };
}

words! {
    /// Kind of assembly.
    DeviceType {
        /// Reduced pressure principle assembly.
        Rp = "RP",
        /// Reduced pressure detector assembly.
        Rpda = "RPDA",
        /// Double check valve assembly.
        Dc = "DC",
        /// Double check detector assembly.
        Dcda = "DCDA",
        /// Pressure vacuum breaker.
        Pvb = "PVB",
        /// Spill-resistant vacuum breaker.
        Svb = "SVB",
        /// Atmospheric vacuum breaker.
        Avb = "AVB",
    }
}

words! {
    /// Who the customer is.
    CustomerClass {
        /// A household.
        Residential = "residential",
        /// A business.
        Commercial = "commercial",
        /// A public body.
        Public = "public",
        /// Not told.
        Unknown = "unknown",
    }
}

words! {
    /// What the line serves.
    Service {
        /// Drinking and household water.
        Domestic = "domestic",
        /// Irrigation only.
        Irrigation = "irrigation",
        /// Fire line.
        Fire = "fire",
        /// Process water.
        Process = "process",
        /// Not told.
        Unknown = "unknown",
    }
}

words! {
    /// Where the assembly stands.
    Placement {
        /// Bare, above ground.
        Open = "open",
        /// Under an uninsulated cover.
        Cover = "cover",
        /// In an insulated enclosure without heat.
        InsulatedEnclosure = "insulated_enclosure",
        /// In an insulated enclosure with a heater.
        HeatedEnclosure = "heated_enclosure",
        /// Below grade.
        Vault = "vault",
        /// In a building.
        Indoors = "indoors",
    }
}

words! {
    /// Material of the risers.
    RiserMaterial {
        /// Copper tube, type L.
        Copper = "copper",
        /// Steel pipe, schedule 40.
        Steel = "steel",
        /// Ductile iron pipe.
        DuctileIron = "ductile_iron",
        /// PVC pipe, schedule 40.
        Pvc = "pvc",
        /// Brass pipe.
        Brass = "brass",
    }
}

words! {
    /// How open the place is to wind.
    WindExposure {
        /// Nothing near.
        Open = "open",
        /// Some shelter.
        Partial = "partial",
        /// Behind walls or hedges.
        Sheltered = "sheltered",
    }
}

words! {
    /// What the line does in winter.
    WinterUse {
        /// Water is drawn through it.
        InUse = "in_use",
        /// Full, but nothing is drawn.
        Idle = "idle",
        /// Full, nothing is drawn and nobody is there.
        Vacant = "vacant",
        /// Shut off and emptied.
        Drained = "drained",
    }
}

words! {
    /// A way to reach a person.
    Channel {
        /// Telephone call.
        Call = "call",
        /// Text message.
        Text = "text",
        /// E-mail.
        Email = "email",
        /// Letter.
        Letter = "letter",
    }
}

words! {
    /// Nominal pipe size, inches as the trade writes them.
    NominalSize {
        /// 3/8 in.
        N0_375 = "3/8",
        /// 1/2 in.
        N0_5 = "1/2",
        /// 3/4 in.
        N0_75 = "3/4",
        /// 1 in.
        N1 = "1",
        /// 1-1/4 in.
        N1_25 = "1-1/4",
        /// 1-1/2 in.
        N1_5 = "1-1/2",
        /// 2 in.
        N2 = "2",
        /// 2-1/2 in.
        N2_5 = "2-1/2",
        /// 3 in.
        N3 = "3",
        /// 4 in.
        N4 = "4",
        /// 6 in.
        N6 = "6",
        /// 8 in.
        N8 = "8",
        /// 10 in.
        N10 = "10",
    }
}

impl NominalSize {
    /// The size in inches.
    pub fn inches(self) -> f64 {
        match self {
            NominalSize::N0_375 => 0.375,
            NominalSize::N0_5 => 0.5,
            NominalSize::N0_75 => 0.75,
            NominalSize::N1 => 1.0,
            NominalSize::N1_25 => 1.25,
            NominalSize::N1_5 => 1.5,
            NominalSize::N2 => 2.0,
            NominalSize::N2_5 => 2.5,
            NominalSize::N3 => 3.0,
            NominalSize::N4 => 4.0,
            NominalSize::N6 => 6.0,
            NominalSize::N8 => 8.0,
            NominalSize::N10 => 10.0,
        }
    }
}

/// A blank that a default filled.
#[derive(Debug, Clone, PartialEq, Eq, Hash, Serialize)]
pub struct Assumption {
    /// Column that was blank, by its interface name.
    pub field: &'static str,
    /// What was taken in its place.
    pub used: std::borrow::Cow<'static, str>,
    /// Whether the default leans to the cautious side (`cautious`, `neutral`).
    pub direction: &'static str,
}

/// The blanks of one assembly that defaults filled. Lists have few different sets of them, and assemblies with the same set share it.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Assumed(Option<Arc<[Assumption]>>);

impl Assumed {
    /// Adds one.
    pub fn push(&mut self, assumption: Assumption) {
        *self = self.iter().cloned().chain([assumption]).collect();
    }

    /// Keeps those that are told to be kept.
    pub fn retain(&mut self, keep: impl Fn(&Assumption) -> bool) {
        if !self.iter().all(&keep) {
            *self = self.iter().filter(|assumption| keep(assumption)).cloned().collect();
        }
    }
}

impl Deref for Assumed {
    type Target = [Assumption];

    fn deref(&self) -> &[Assumption] {
        self.0.as_deref().unwrap_or_default()
    }
}

impl From<Arc<[Assumption]>> for Assumed {
    fn from(all: Arc<[Assumption]>) -> Self {
        Self((!all.is_empty()).then_some(all))
    }
}

impl FromIterator<Assumption> for Assumed {
    fn from_iter<I: IntoIterator<Item = Assumption>>(all: I) -> Self {
        Arc::<[Assumption]>::from_iter(all).into()
    }
}

impl Serialize for Assumed {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_seq(self.iter())
    }
}

/// The person to reach, as listed; normalising is `outreach`'s work.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize)]
pub struct Contact {
    /// Account number as listed.
    pub account_id: Option<Text>,
    /// Street address of the site as listed.
    pub site_address: Option<Text>,
    /// Name as listed.
    pub contact_name: Option<Text>,
    /// Telephone number as listed.
    pub phone: Option<Text>,
    /// E-mail address as listed.
    pub email: Option<Text>,
    /// Language, if told.
    pub language: Option<Language>,
    /// Channels allowed; `None` when blank, empty when the person opted out (`none`).
    pub channels: Option<Vec<Channel>>,
    /// What the cell of the channels says where it cannot be understood: it may be a refusal, so a human decides.
    pub channels_unread: Option<Text>,
}

/// One assembly, ready for the model: every blank that matters is filled and listed in `assumed`.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Assembly {
    /// Unique identifier.
    pub assembly_id: Text,
    /// Kind of assembly.
    pub device_type: DeviceType,
    /// Nominal size.
    pub nominal_size: NominalSize,
    /// Latitude, degrees north, if known.
    pub latitude_deg: Option<f64>,
    /// Longitude, degrees east, if known.
    pub longitude_deg: Option<f64>,
    /// Elevation of the site, m, if known.
    pub elevation_m: Option<f64>,
    /// Weather station named for the site; the nearest when `None`.
    pub station_id: Option<Text>,
    /// Customer class.
    pub customer_class: CustomerClass,
    /// Service.
    pub service: Service,
    /// Placement.
    pub placement: Placement,
    /// Thermal resistance of the wrap, m²K/W; 0 when bare.
    pub wrap_m2k_per_w: f64,
    /// Riser material.
    pub riser_material: RiserMaterial,
    /// Height of the assembly's centreline above grade, m.
    pub riser_height_m: f64,
    /// Wind exposure.
    pub wind_exposure: WindExposure,
    /// Whether a thermostatic drip device is fitted.
    pub freeze_drip: bool,
    /// Power of heat trace, W; 0 when none.
    pub heat_trace_w: f64,
    /// Whether expansion relief is fitted behind it, if known.
    pub expansion_relief: Option<bool>,
    /// What the line does in winter.
    pub winter_use: WinterUse,
    /// Critical customer in the utility's own word, if any.
    pub critical: Option<Text>,
    /// Date of the last field test, if known.
    pub last_test: Option<NaiveDate>,
    /// Who and how.
    pub contact: Contact,
    /// Unknown columns, passed through to the ranking: header and value, in file order.
    pub extra: Vec<(Text, Text)>,
    /// Blanks that a default filled.
    pub assumed: Assumed,
    /// One-based line in the file it came from.
    pub line: u64,
}

impl Assembly {
    /// Whether its owner may be told to shut it off and drain it, decided here for the model's advice, the reasons and the messages
    /// alike: never a fire line, a critical customer's line, one whose service is not known (it may feed either), or one that a drip
    /// device keeps from freezing, which needs its supply.
    pub fn may_be_drained(&self) -> bool {
        let unneeded = match self.service {
            Service::Irrigation => true,
            Service::Domestic | Service::Process => matches!(self.winter_use, WinterUse::Idle | WinterUse::Vacant),
            Service::Fire | Service::Unknown => false,
        };
        unneeded && self.critical.is_none() && !self.freeze_drip
    }

    /// Whether something beside the ground and the supply warms it: a heated enclosure, a building, heat trace.
    pub fn has_heat(&self) -> bool {
        matches!(self.placement, Placement::HeatedEnclosure | Placement::Indoors) || self.heat_trace_w > 0.0
    }
}
