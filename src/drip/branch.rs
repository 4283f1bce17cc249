//! Calls that are not about a drip but come to the same desk, told by what the caller noticed.

use super::account::{Account, Sign, Where};
use super::finding::{Finding, Within};

/// A call with an answer of its own.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Branch {
    /// A flame was used to thaw it.
    ThawedFlame,
    /// Hot water was poured on it to thaw it.
    ThawedHotWater,
    /// No water comes, in frost.
    NoWaterInFrost,
    /// No water comes, and no frost is known.
    NoWater,
    /// Water, and nobody knows whose pipe it comes from.
    OwnerUnknown,
    /// Whether a bag or blanket is enough.
    Wrapped,
    /// A test past its date.
    TagOverdue,
}

impl Branch {
    /// The branch of a call; the one that can hurt most goes first.
    pub fn of(account: &Account) -> Option<Self> {
        let noticed = |sign: Sign| account.signs.contains(&sign);
        let nowhere = matches!(account.place, Where::Ground | Where::Seam | Where::Unsure);
        let flows = account.told_rate().is_some_and(|rate| !rate.is_none());
        // A question beside a drip does not push the drip aside.
        let no_drip = account.place == Where::Unsure && !flows;
        if noticed(Sign::ThawedFlame) {
            Some(Branch::ThawedFlame)
        } else if noticed(Sign::ThawedHotWater) {
            Some(Branch::ThawedHotWater)
        } else if noticed(Sign::NoWater) && !flows {
            let frost = account.frost() == Some(true) || account.when == super::When::ColdNights;
            Some(if frost { Branch::NoWaterInFrost } else { Branch::NoWater })
        } else if noticed(Sign::OwnerUnknown) && nowhere {
            Some(Branch::OwnerUnknown)
        } else if noticed(Sign::Wrapped) && no_drip {
            Some(Branch::Wrapped)
        } else if noticed(Sign::TagOverdue) && no_drip {
            Some(Branch::TagOverdue)
        } else {
            None
        }
    }

    /// What the branch comes to.
    pub fn finding(self) -> Finding {
        match self {
            // Steam and heat shock split what the frost had not.
            Branch::ThawedFlame | Branch::ThawedHotWater => Finding::FreezeDamage,
            Branch::NoWaterInFrost => Finding::FreezingNow,
            Branch::NoWater | Branch::Wrapped => Finding::CannotTell,
            Branch::OwnerUnknown => Finding::Leak,
            Branch::TagOverdue => Finding::DeviceFault,
        }
    }

    /// How soon, where the branch decides it (common practice, no source); `None` leaves it to the finding.
    pub fn within(self) -> Option<Within> {
        match self {
            // A pipe thawed by flame may smoulder in the wall behind it.
            Branch::ThawedFlame => Some(Within::Now),
            Branch::ThawedHotWater | Branch::NoWaterInFrost | Branch::NoWater | Branch::OwnerUnknown => {
                Some(Within::Today)
            }
            Branch::TagOverdue => Some(Within::Weeks2),
            Branch::Wrapped => None,
        }
    }
}
