//! Tanks as sentences: a new one and those that are there. Count and number of a sentence belong to the message files.

use crate::language::Tongue;
use crate::units::show_volume_at_least;
use crate::words::{Arguments, Messages};

/// One of several tanks that are there.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Which {
    /// Its number, from one.
    pub number: usize,
    /// Its volume, L.
    pub volume_l: f64,
}

impl Which {
    fn say(self, tongue: Tongue) -> String {
        crate::say!(
            tongue.language,
            "expansion-tank-number",
            number = self.number.to_string(),
            volume = tongue.volume(self.volume_l)
        )
    }
}

/// What is wrong with the charge of a tank that is there. Pressures Pa gauge, volumes L, shares of one.
#[derive(Debug, Clone, Copy, PartialEq)]
#[allow(
    missing_docs,
    reason = "the messages say what each is; fields carry their unit in the name"
)]
pub enum Charge {
    DiaphragmFailed,
    Lost,
    Under {
        precharge_pa: f64,
        static_pa: f64,
        at_rest_l: f64,
        share: f64,
    },
    Over {
        precharge_pa: f64,
        static_pa: f64,
    },
    AboveLimit {
        limit_pa: f64,
    },
}

/// What is found of the tanks that are there, taken together. Pressures Pa gauge, volumes L.
#[derive(Debug, Clone, Copy, PartialEq)]
#[allow(
    missing_docs,
    reason = "the messages say what each is; fields carry their unit in the name"
)]
pub enum There {
    OverAcceptance {
        would_hold_l: f64,
        may_hold_l: f64,
    },
    CanTakeMore {
        usable_l: f64,
        limit_pa: f64,
        demand_l: f64,
    },
    Unbounded,
    EnoughWhenSet {
        precharge_pa: f64,
    },
    IsMarginal {
        over_pa: f64,
        unsure_pa: f64,
        short_l: f64,
        unsure_l: f64,
    },
    AddBeside {
        volume_l: f64,
        precharge_pa: f64,
    },
    IsEnough {
        usable_l: f64,
        limit_pa: f64,
        demand_l: f64,
    },
    EnoughOnceSet {
        static_pa: f64,
    },
    MarginalOnceSet {
        static_pa: f64,
        over_pa: f64,
        unsure_pa: f64,
    },
    Fails,
    HaveFailed,
    EnoughAfter {
        regulator_pa: f64,
    },
}

/// A tank, new or there. Pressures Pa gauge, volumes L, shares of one.
#[derive(Debug, Clone, Copy, PartialEq)]
#[allow(
    missing_docs,
    reason = "the messages say what each is; fields carry their unit in the name"
)]
pub enum OfTank {
    TankTooHigh,
    NoRoomForTank {
        static_pa: f64,
        limit_pa: f64,
    },
    TankTakesUp {
        volume_l: f64,
        share: f64,
        static_pa: f64,
        limit_pa: f64,
    },
    /// The charge of one; told which where several are there.
    Charged {
        which: Option<Which>,
        charge: Charge,
    },
    /// Those that are there together, and how many they are.
    There {
        tanks: usize,
        finding: There,
    },
    NoTankHolds,
    WouldLift {
        reaches_pa: f64,
        heater_relief_pa: f64,
    },
    EndsBelow {
        ends_pa: f64,
        by_pa: f64,
    },
    EndsAbove {
        ends_pa: f64,
        by_pa: f64,
    },
    NeededInTotal {
        volume_l: f64,
        precharge_pa: f64,
    },
    TooLargeForRoom {
        needed_l: f64,
        room_l: f64,
    },
    SavesWater {
        volume_l: f64,
        share: f64,
        static_pa: f64,
        limit_pa: f64,
    },
    MakeRoom,
}

/// A figure of a sentence.
#[derive(Debug, Clone, Copy)]
enum Figure {
    /// Pa gauge.
    Gauge(f64),
    /// L.
    Volume(f64),
    /// L, rounded up.
    AtLeast(f64),
    /// A share of one.
    Percent(f64),
    /// How many, for the sentence's number.
    Count(usize),
}
use Figure::{AtLeast, Count, Gauge, Percent, Volume};

/// The identifier of a message and its figures.
type Message = (&'static str, Vec<(&'static str, Figure)>);

fn sentence((id, figures): Message, tongue: Tongue) -> String {
    let mut arguments = Arguments::new();
    for (name, figure) in figures {
        match figure {
            Gauge(pascal) => arguments.set(name, tongue.gauge(pascal)),
            Volume(litre) => arguments.set(name, tongue.volume(litre)),
            AtLeast(litre) => arguments.set(name, show_volume_at_least(litre, tongue.units)),
            Percent(share) => arguments.set(name, format!("{:.0} %", 100.0 * share)),
            Count(count) => arguments.set(name, count),
        }
    }
    Messages::built_in().text(tongue.language.word(), id, &arguments)
}

impl Charge {
    fn message(self) -> Message {
        match self {
            Self::DiaphragmFailed => ("expansion-diaphragm-failed", Vec::new()),
            Self::Lost => ("expansion-precharge-lost", Vec::new()),
            Self::Under {
                precharge_pa,
                static_pa,
                at_rest_l,
                share,
            } => (
                "expansion-under-charged",
                vec![
                    ("precharge", Gauge(precharge_pa)),
                    ("static", Gauge(static_pa)),
                    ("at_rest", Volume(at_rest_l)),
                    ("share", Percent(share)),
                ],
            ),
            Self::Over {
                precharge_pa,
                static_pa,
            } => (
                "expansion-over-charged",
                vec![("precharge", Gauge(precharge_pa)), ("static", Gauge(static_pa))],
            ),
            Self::AboveLimit { limit_pa } => ("expansion-precharge-above-limit", vec![("limit", Gauge(limit_pa))]),
        }
    }
}

impl There {
    fn message(self) -> Message {
        match self {
            Self::OverAcceptance {
                would_hold_l,
                may_hold_l,
            } => (
                "expansion-over-acceptance",
                vec![("would", Volume(would_hold_l)), ("may", Volume(may_hold_l))],
            ),
            Self::CanTakeMore {
                usable_l,
                limit_pa,
                demand_l,
            } => ("expansion-can-take-more", takes(usable_l, limit_pa, demand_l)),
            Self::IsEnough {
                usable_l,
                limit_pa,
                demand_l,
            } => ("expansion-tank-is-enough", takes(usable_l, limit_pa, demand_l)),
            Self::Unbounded => ("expansion-unbounded", Vec::new()),
            Self::EnoughWhenSet { precharge_pa } => {
                ("expansion-enough-when-set", vec![("precharge", Gauge(precharge_pa))])
            }
            Self::IsMarginal {
                over_pa,
                unsure_pa,
                short_l,
                unsure_l,
            } => (
                "expansion-tank-is-marginal",
                vec![
                    ("over", Gauge(over_pa)),
                    ("unsure", Gauge(unsure_pa)),
                    ("short", Volume(short_l)),
                    ("unsure_water", Volume(unsure_l)),
                ],
            ),
            Self::AddBeside { volume_l, precharge_pa } => (
                "expansion-add-beside",
                vec![("volume", AtLeast(volume_l)), ("precharge", Gauge(precharge_pa))],
            ),
            Self::EnoughOnceSet { static_pa } => ("expansion-tank-enough-once-set", vec![("static", Gauge(static_pa))]),
            Self::MarginalOnceSet {
                static_pa,
                over_pa,
                unsure_pa,
            } => (
                "expansion-tank-marginal-once-set",
                vec![
                    ("static", Gauge(static_pa)),
                    ("over", Gauge(over_pa)),
                    ("unsure", Gauge(unsure_pa)),
                ],
            ),
            Self::Fails => ("expansion-tank-there-fails", Vec::new()),
            Self::HaveFailed => ("expansion-tank-there-has-failed", Vec::new()),
            Self::EnoughAfter { regulator_pa } => (
                "expansion-tank-there-enough-after",
                vec![("setting", Gauge(regulator_pa))],
            ),
        }
    }
}

impl OfTank {
    /// The sentence.
    pub fn say(self, tongue: Tongue) -> String {
        let text = sentence(self.message(), tongue);
        match self {
            Self::Charged { which: Some(which), .. } => format!("{}: {text}", which.say(tongue)),
            _ => text,
        }
    }

    fn message(self) -> Message {
        match self {
            Self::TankTooHigh => ("expansion-tank-too-high", Vec::new()),
            Self::Charged { charge, .. } => charge.message(),
            Self::There { tanks, finding } => {
                let (id, mut figures) = finding.message();
                figures.push(("tanks", Count(tanks)));
                (id, figures)
            }
            Self::NoRoomForTank { static_pa, limit_pa } => (
                "expansion-no-room-for-tank",
                vec![("static", Gauge(static_pa)), ("limit", Gauge(limit_pa))],
            ),
            Self::TankTakesUp {
                volume_l,
                share,
                static_pa,
                limit_pa,
            } => ("expansion-tank-takes-up", fills(volume_l, share, static_pa, limit_pa)),
            Self::SavesWater {
                volume_l,
                share,
                static_pa,
                limit_pa,
            } => ("expansion-saves-water", fills(volume_l, share, static_pa, limit_pa)),
            Self::WouldLift {
                reaches_pa,
                heater_relief_pa,
            } => (
                "expansion-would-lift",
                vec![("reaches", Gauge(reaches_pa)), ("relief", Gauge(heater_relief_pa))],
            ),
            Self::EndsBelow { ends_pa, by_pa } => (
                "expansion-ends-below",
                vec![("ends", Gauge(ends_pa)), ("by", Gauge(by_pa))],
            ),
            Self::EndsAbove { ends_pa, by_pa } => (
                "expansion-ends-above",
                vec![("ends", Gauge(ends_pa)), ("by", Gauge(by_pa))],
            ),
            Self::NeededInTotal { volume_l, precharge_pa } => (
                "expansion-needed-in-total",
                vec![("volume", AtLeast(volume_l)), ("precharge", Gauge(precharge_pa))],
            ),
            Self::TooLargeForRoom { needed_l, room_l } => (
                "expansion-too-large-for-room",
                vec![("needed", AtLeast(needed_l)), ("room", Volume(room_l))],
            ),
            Self::NoTankHolds => ("expansion-no-tank-holds", Vec::new()),
            Self::MakeRoom => ("expansion-no-relief-make-room", Vec::new()),
        }
    }
}

fn takes(usable_l: f64, limit_pa: f64, demand_l: f64) -> Vec<(&'static str, Figure)> {
    vec![
        ("usable", Volume(usable_l)),
        ("limit", Gauge(limit_pa)),
        ("demand", Volume(demand_l)),
    ]
}

fn fills(volume_l: f64, share: f64, static_pa: f64, limit_pa: f64) -> Vec<(&'static str, Figure)> {
    vec![
        ("volume", AtLeast(volume_l)),
        ("share", Percent(share)),
        ("static", Gauge(static_pa)),
        ("limit", Gauge(limit_pa)),
    ]
}
