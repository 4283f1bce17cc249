//! What a watch told against the nights that came: hits, misses, false alarms, and how long before.

use super::decide::{About, Word};
use crate::weather::Series;
use chrono::{DateTime, NaiveDate, TimeDelta, Utc};
use chrono_tz::Tz;
use std::collections::BTreeMap;

/// Air of a hard freeze, °C: 28 °F (common practice of US weather offices in the growing season, from memory, no source at hand).
pub const HARD_FREEZE_C: f64 = -2.222;

/// A night that froze.
#[derive(Debug, Clone, PartialEq)]
pub struct Night {
    /// The day on whose evening it began; nights go from noon to noon.
    pub evening: NaiveDate,
    /// Its first hour at or below the threshold.
    pub began: DateTime<Utc>,
    /// Its lowest air, °C.
    pub low_c: f64,
    /// How long before that hour the first word of the spell was told, h; `None` where none was in force: a miss.
    pub lead_h: Option<f64>,
}

/// A spell that was told of.
#[derive(Debug, Clone, PartialEq)]
pub struct Told {
    /// Its first word.
    pub first: DateTime<Utc>,
    /// When the thaw was told; `None` while it was in force to the end.
    pub until: Option<DateTime<Utc>>,
    /// Nights at or below the threshold within it.
    pub nights: usize,
    /// The lowest air of the record within it, °C.
    pub low_c: Option<f64>,
}

/// The count of a record.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Count {
    /// Nights that froze, in order.
    pub nights: Vec<Night>,
    /// Spells that were told of, in order.
    pub told: Vec<Told>,
    /// Words, reminders among them.
    pub words: usize,
}

impl Count {
    /// Nights of which nobody had been told.
    pub fn misses(&self) -> usize {
        self.nights.iter().filter(|night| night.lead_h.is_none()).count()
    }

    /// Spells in which no night froze.
    pub fn false_alarms(&self) -> usize {
        self.told.iter().filter(|told| told.nights == 0).count()
    }

    /// Leads of the nights that were told of, shortest first, h.
    pub fn leads_h(&self) -> Vec<f64> {
        let mut leads: Vec<f64> = self.nights.iter().filter_map(|night| night.lead_h).collect();
        leads.sort_by(f64::total_cmp);
        leads
    }

    /// Leads of the first night of each told spell, shortest first, h: the time that there is to begin.
    pub fn first_leads_h(&self) -> Vec<f64> {
        let first = |told: &Told| {
            let until = told.until.unwrap_or(DateTime::<Utc>::MAX_UTC);
            let night = self
                .nights
                .iter()
                .find(|night| (told.first..until).contains(&night.began))?;
            night.lead_h
        };
        let mut leads: Vec<f64> = self.told.iter().filter_map(first).collect();
        leads.sort_by(f64::total_cmp);
        leads
    }
}

/// Counts words against the hours that came. Hours before `from`, from which on somebody was watching, are left out.
pub fn count(record: &Series, words: &[Word], threshold_c: f64, zone: Tz, from: DateTime<Utc>) -> Count {
    let mut told: Vec<Told> = Vec::new();
    for word in words {
        let open = told.last().is_some_and(|spell| spell.until.is_none());
        match word.about {
            About::FirstNight | About::MoreToCall if !open => told.push(Told {
                first: word.time,
                until: None,
                nights: 0,
                low_c: None,
            }),
            About::Thaw => {
                if let Some(spell) = told.last_mut().filter(|spell| spell.until.is_none()) {
                    spell.until = Some(word.time);
                }
            }
            _ => {}
        }
    }
    let mut nights: BTreeMap<NaiveDate, Night> = BTreeMap::new();
    for (hour, air) in record.air_c.iter().enumerate() {
        let time = record.time(hour);
        if time < from {
            continue;
        }
        let inside = told
            .iter_mut()
            .find(|spell| spell.first <= time && spell.until.is_none_or(|until| time < until));
        if let Some(spell) = inside {
            spell.low_c = Some(spell.low_c.map_or(*air, |low| low.min(*air)));
        }
        if *air > threshold_c {
            continue;
        }
        let evening = (time.with_timezone(&zone).naive_local() - TimeDelta::hours(12)).date();
        let night = nights.entry(evening).or_insert_with(|| Night {
            evening,
            began: time,
            low_c: *air,
            lead_h: None,
        });
        night.low_c = night.low_c.min(*air);
    }
    for night in nights.values_mut() {
        let spell = told
            .iter_mut()
            .find(|spell| spell.first <= night.began && spell.until.is_none_or(|until| night.began < until));
        if let Some(spell) = spell {
            spell.nights += 1;
            night.lead_h = Some((night.began - spell.first).num_minutes() as f64 / 60.0);
        }
    }
    Count {
        nights: nights.into_values().collect(),
        told,
        words: words.len(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::weather::series::{Kind, Station};
    use std::collections::BTreeSet;

    fn word(about: About, hour: i64) -> Word {
        Word {
            id: 0,
            time: DateTime::<Utc>::default() + TimeDelta::hours(hour),
            about,
            reminder: false,
            sites: 1,
            new: 1,
            first_ice: None,
            lowest_c: None,
            why: String::new(),
            to: BTreeSet::new(),
            mailed: BTreeSet::new(),
            after: None,
        }
    }

    #[test]
    fn nights_spells_and_leads_are_counted_by_hand() {
        // Five days from midnight: frost at 30 to 32 h and 54 h, none after that.
        let hours = 120;
        let mut air_c = vec![5.0; hours];
        for hour in [30, 31, 32, 54] {
            air_c[hour] = -3.0;
        }
        let record = Series {
            format: "test",
            station: Station::default(),
            start: DateTime::<Utc>::default(),
            wind_m_s: vec![None; hours],
            dew_point_c: vec![None; hours],
            sky_cover: vec![None; hours],
            kind: vec![Kind::Observed; hours],
            interpolated: vec![false; hours],
            issued: None,
            air_c,
        };
        let told = [
            word(About::Thaw, 0),
            word(About::FirstNight, 36),
            word(About::MoreToCall, 40),
            word(About::Thaw, 60),
            word(About::FirstNight, 80),
        ];
        let count = count(&record, &told, HARD_FREEZE_C, Tz::UTC, record.start);
        assert_eq!((count.nights.len(), count.misses(), count.false_alarms()), (2, 1, 1));
        assert_eq!((count.leads_h(), count.first_leads_h()), (vec![18.0], vec![18.0]));
        assert_eq!(
            count.told.iter().map(|told| told.low_c).collect::<Vec<_>>(),
            [Some(-3.0), Some(5.0)]
        );
    }
}
