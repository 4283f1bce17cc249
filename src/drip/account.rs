//! What the caller says, and what is known about the assembly and the weather behind the caller.

use super::heating::Heater;
use super::rate::ToldRate;
use crate::inventory::{DeviceType, NominalSize, Service};
use serde::{Deserialize, Serialize};
use std::collections::BTreeSet;

macro_rules! choices {
    ($(#[$meta:meta])* $name:ident { $($(#[$vmeta:meta])* $variant:ident = $word:literal),+ $(,)? }) => {
        $(#[$meta])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
        pub enum $name {
            $($(#[$vmeta])* #[serde(rename = $word)] $variant),+
        }
        impl $name {
            /// Every value, in the order of the interface.
            pub const ALL: &'static [$name] = &[$($name::$variant),+];
            /// The word that the interface uses.
            pub fn word(self) -> &'static str {
                match self { $($name::$variant => $word),+ }
            }
            /// The value with this word, whatever its case; `None` for any other word.
            pub fn parse(word: &str) -> Option<Self> {
                let word = word.trim().to_ascii_lowercase();
                Self::ALL.iter().copied().find(|value| value.word() == word)
            }
        }
    };
}

choices! {
    /// Where the water comes out.
    Where {
        /// A small add-on valve that drips in the cold.
        FreezeDrip = "freeze-drip",
        /// The port or funnel under a reduced pressure assembly.
        ReliefPort = "relief-port",
        /// A relief on the cold line that gives way to expansion.
        ExpansionRelief = "expansion-relief",
        /// The temperature and pressure relief of the water heater.
        HeaterRelief = "heater-relief",
        /// The cap on top of a vacuum breaker.
        Canopy = "canopy",
        /// One of the small test valves.
        TestCock = "test-cock",
        /// A seam, cover, joint or crack.
        Seam = "seam",
        /// The ground, a vault, the inside of an enclosure.
        Ground = "ground",
        /// Not known.
        Unsure = "unsure",
    }
}

choices! {
    /// When it drips or when it began.
    When {
        /// On cold nights, and stops in the warmth.
        ColdNights = "cold-nights",
        /// While or just after the water heater works.
        Heating = "heating",
        /// All the time.
        Always = "always",
        /// Since work on the main, flushing or a pressure drop.
        AfterMainWork = "after-main-work",
        /// Since the thaw after a freeze.
        AfterThaw = "after-thaw",
        /// When the water was turned on.
        StartUp = "start-up",
        /// Not known.
        Unsure = "unsure",
    }
}

choices! {
    /// How the water feels. Nobody should put a hand in it to find out.
    Water {
        /// Cold.
        Cold = "cold",
        /// Lukewarm or warm.
        Warm = "warm",
        /// Hot, but a hand stays.
        Hot = "hot",
        /// Too hot to touch, or steaming.
        Scalding = "scalding",
    }
}

choices! {
    /// What can hurt somebody now.
    Hazard {
        /// Water is running into a building or undermining something.
        Flood = "flood",
        /// Water near outlets, a panel, or a live enclosure.
        Electric = "electric",
        /// Steam, boiling sounds, a hissing heater.
        Steam = "steam",
        /// A smell of gas: a spark anywhere in the building can set it off.
        Gas = "gas",
        /// Somebody is hurt or about to be.
        Person = "person",
    }
}

choices! {
    /// What else the caller noticed.
    Sign {
        /// Ice on it now, or no water comes and the pipe is cold as ice.
        Ice = "ice",
        /// It went through a freeze since it last ran as usual.
        Frost = "frost",
        /// It was tested within the last day.
        AfterTest = "after-test",
        /// The opening is covered, plugged, piped solid or wrapped shut.
        Covered = "covered",
        /// The tap water looks, smells or tastes wrong.
        OddWater = "odd-water",
        /// No water comes at any tap.
        NoWater = "no-water",
        /// Nobody knows whose pipe the water comes from.
        OwnerUnknown = "owner-unknown",
        /// The caller has put a bag, a blanket or another wrap on and asks whether that is enough.
        Wrapped = "wrapped",
        /// The test tag is past its date.
        TagOverdue = "tag-overdue",
        /// Hot water was poured on it to thaw it.
        ThawedHotWater = "thawed-hot-water",
        /// A flame was used to thaw it.
        ThawedFlame = "thawed-flame",
    }
}

/// What is on file about the assembly; every field may be unknown.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct DeviceFacts {
    /// Kind of assembly.
    pub device_type: Option<DeviceType>,
    /// Nominal size.
    pub size: Option<NominalSize>,
    /// What the line serves.
    pub service: Option<Service>,
    /// Whether a thermostatic drip device is on file.
    pub freeze_drip: Option<bool>,
    /// Resistance of the wrap on file, m²K/W.
    pub wrap_m2k_per_w: Option<f64>,
}

impl DeviceFacts {
    /// Takes over what the inventory says of an assembly.
    pub fn of(assembly: &crate::inventory::Assembly) -> Self {
        Self {
            device_type: Some(assembly.device_type),
            size: Some(assembly.nominal_size),
            service: Some(assembly.service),
            freeze_drip: Some(assembly.freeze_drip),
            wrap_m2k_per_w: Some(assembly.wrap_m2k_per_w),
        }
    }
}

/// What the weather series and the freeze model say about the hours around the call.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Behind {
    /// Hours with air below 0 °C in the seven days before the call; `None` when the series does not reach back.
    pub hours_below_0c: Option<f64>,
    /// Hours since the air last rose past 0 °C; `None` when there was no frost or it is still freezing.
    pub hours_since_thaw: Option<f64>,
    /// Air at the site in the hour of the call, °C.
    pub air_c: Option<f64>,
    /// What the freeze model expects the drip device to pass, L/h: low and high edge of the hours that it runs.
    pub drip_l_per_h: Option<[f64; 2]>,
}

/// One caller's account.
#[derive(Debug, Clone, PartialEq)]
pub struct Account {
    /// Where the water comes out.
    pub place: Where,
    /// How much, if told.
    pub rate: Option<ToldRate>,
    /// When.
    pub when: When,
    /// How the water feels, if told.
    pub water: Option<Water>,
    /// Air temperature as told, °C; values that are not a temperature of this planet are set aside.
    pub air_c: Option<f64>,
    /// Whether it is a fire line: yes, no, or not asked.
    pub fire: Option<bool>,
    /// Whether a critical customer depends on it.
    pub critical: bool,
    /// What can hurt somebody now.
    pub hazards: BTreeSet<Hazard>,
    /// What else was noticed.
    pub signs: BTreeSet<Sign>,
    /// The assembly on file.
    pub device: DeviceFacts,
    /// The caller's water heater.
    pub heater: Heater,
    /// The weather and the model's expectation behind the caller.
    pub behind: Behind,
}

impl Default for Account {
    fn default() -> Self {
        Self {
            place: Where::Unsure,
            rate: None,
            when: When::Unsure,
            water: None,
            air_c: None,
            fire: None,
            critical: false,
            hazards: BTreeSet::new(),
            signs: BTreeSet::new(),
            device: DeviceFacts::default(),
            heater: Heater::default(),
            behind: Behind::default(),
        }
    }
}

/// Lowest and highest air temperature that is taken as told, °C (judgement: outside lies no inhabited weather).
pub const AIR_RANGE_C: [f64; 2] = [-70.0, 60.0];

impl Account {
    /// The air to reckon with, °C: as told when it is believable, else from the series.
    pub fn air(&self) -> Option<f64> {
        let believable = |air: &f64| (AIR_RANGE_C[0]..=AIR_RANGE_C[1]).contains(air);
        self.air_c.filter(believable).or(self.behind.air_c.filter(believable))
    }

    /// The rate to reckon with: as told when its edges are numbers in order, else none.
    pub fn told_rate(&self) -> Option<&ToldRate> {
        self.rate.as_ref().filter(|rate| rate.is_believable())
    }

    /// How the water is, as told; steam and boiling sounds tell of scalding water to whoever did not say.
    pub fn water_seen(&self) -> Option<Water> {
        let steams = self.hazards.contains(&Hazard::Steam);
        self.water.or(steams.then_some(Water::Scalding))
    }

    /// Whether the line must be handled as a fire line.
    ///
    /// A detector assembly always is. A line of 3 in and over whose service nobody knows is, until somebody
    /// says no (common practice, no source).
    pub fn is_fire_line(&self) -> bool {
        if self.fire == Some(true) {
            return true;
        }
        let detector = matches!(self.device.device_type, Some(DeviceType::Rpda | DeviceType::Dcda));
        if detector || self.device.service == Some(Service::Fire) {
            return true;
        }
        let large = self.device.size.is_some_and(|size| size.inches() >= 3.0);
        let unknown = matches!(self.device.service, None | Some(Service::Unknown));
        large && unknown && self.fire.is_none()
    }

    /// Whether frost lies behind the caller: told or in the series; `None` when nobody knows.
    pub fn frost(&self) -> Option<bool> {
        // "Since the thaw" and air below freezing tell of a freeze as well.
        let told = self.signs.contains(&Sign::Ice) || self.signs.contains(&Sign::Frost);
        if told || self.when == When::AfterThaw || self.air().is_some_and(|air_c| air_c < 0.0) {
            return Some(true);
        }
        match self.behind.hours_below_0c {
            Some(hours) if hours >= 1.0 => Some(true),
            // Seven days clear of frost do not clear an irrigation line that stood full all winter.
            Some(_) if self.device.service != Some(Service::Irrigation) => Some(false),
            _ => None,
        }
    }

    /// Whether the place told cannot be on the assembly on file (a relief port on a double check, say).
    pub fn place_contradicts_device(&self) -> bool {
        let Some(kind) = self.device.device_type else {
            return false;
        };
        let reduced_pressure = matches!(kind, DeviceType::Rp | DeviceType::Rpda);
        let vacuum_breaker = matches!(kind, DeviceType::Pvb | DeviceType::Svb | DeviceType::Avb);
        match self.place {
            Where::ReliefPort => !reduced_pressure,
            Where::Canopy => !vacuum_breaker,
            Where::TestCock => kind == DeviceType::Avb,
            _ => false,
        }
    }
}
