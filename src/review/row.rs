//! One assembly in one spell: what the plan said, what was done, what was found.

use super::case::Case;
use super::scores::Scored;
use std::collections::BTreeMap;

/// What is known of an assembly after the spell. Never folded together: each enters a score or a likelihood in its own way.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum State {
    /// Looked at and damaged.
    Damaged,
    /// Looked at and whole.
    Whole,
    /// Reported damaged, not looked at.
    Reported,
    /// Not looked at, nothing reported.
    NotLooked,
    /// Looked at, cannot tell.
    CannotTell,
    /// Drained or removed: no water stood in it.
    NotExposed,
}

impl State {
    /// All states.
    pub const ALL: [State; 6] = [
        State::Damaged,
        State::Whole,
        State::Reported,
        State::NotLooked,
        State::CannotTell,
        State::NotExposed,
    ];

    /// The word that files use.
    pub fn word(self) -> &'static str {
        match self {
            State::Damaged => "damaged",
            State::Whole => "no damage",
            State::Reported => "reported damaged, not looked at",
            State::NotLooked => "not looked at",
            State::CannotTell => "looked at, cannot tell",
            State::NotExposed => "not exposed",
        }
    }

    /// The state of a word, however it is spaced and in whichever case.
    pub fn read(word: &str) -> Option<State> {
        let word = word.trim().to_lowercase();
        State::ALL.into_iter().find(|state| state.word() == word)
    }

    /// Whether somebody looked and could tell.
    pub fn seen(self) -> bool {
        matches!(self, State::Damaged | State::Whole)
    }
}

/// What came of the calls.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Contact {
    /// Nobody was tried.
    None,
    /// Tried, not spoken to.
    NotReached,
    /// Spoken to.
    Reached,
}

impl Contact {
    /// The word that files use.
    pub fn word(self) -> &'static str {
        match self {
            Contact::None => "none",
            Contact::NotReached => "no-answer",
            Contact::Reached => "reached",
        }
    }

    /// The contact of a word of the log; blank is none.
    pub fn read(word: &str) -> Option<Contact> {
        match word.trim().to_lowercase().as_str() {
            "" | "none" => Some(Contact::None),
            "reached" | "done" => Some(Contact::Reached),
            "no-answer" | "message-left" | "wrong-number" | "declined" => Some(Contact::NotReached),
            _ => None,
        }
    }
}

/// What simple rules look at.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Traits {
    /// Nominal size, m.
    pub size_m: Option<f64>,
    /// Whether it stands bare.
    pub bare: Option<bool>,
    /// Site minus station, K; or the site's lowest air.
    pub site_k: Option<f64>,
}

/// One assembly in one spell.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// Name of the spell.
    pub spell: String,
    /// The assembly.
    pub assembly_id: String,
    /// Chance of damage as issued.
    pub p_issued: f64,
    /// Chance on the hours that were observed.
    pub p_hindcast: Option<f64>,
    /// The same with the measure in place.
    pub p_protected: Option<f64>,
    /// What damage costs, US dollars.
    pub loss_usd: Option<f64>,
    /// Place on the list, 1 first.
    pub rank: Option<f64>,
    /// What came of the calls.
    pub contact: Contact,
    /// Whether the measure was in place; `None` when only the contact is known.
    pub protected: Option<bool>,
    /// Chance that it was to be looked at, above 0 to 1.
    pub inclusion: f64,
    /// Whether it was looked at by design (all of a list, or drawn at random), not because somebody complained or days allowed it.
    pub by_design: bool,
    /// Whether the record tells how it came to be looked at (`how_found`, or a chance of inclusion): without it those looked at may be
    /// the complaints, and stand for no town.
    pub told_how: bool,
    /// What is known.
    pub state: State,
    /// What simple rules look at.
    pub traits: Traits,
    /// How its chance under what was done hangs on nucleation, where that was worked out.
    pub case: Option<Case>,
}

impl Row {
    /// The chance under what was done: with the measure in place where it was, mixed where only a contact is known. `acts` is the chance
    /// that a contact led to protection.
    pub fn p_done(&self, acts: f64) -> Option<f64> {
        let bare = self.p_hindcast?;
        match (self.protected, self.contact) {
            (Some(true), _) => self.p_protected,
            (None, Contact::Reached) => Some((1.0 - acts) * bare + acts * self.p_protected?),
            _ => Some(bare),
        }
    }

    /// The row with one of its chances, where it was looked at by design and can be scored.
    pub fn scored(&self, p: Option<f64>) -> Option<Scored> {
        (self.state.seen() && self.by_design).then_some(())?;
        Some(Scored {
            p: p?,
            broke: self.state == State::Damaged,
            weight: 1.0 / self.inclusion,
        })
    }
}

/// Rows of one assembly in one spell that are there more than once: equal ones are kept once, those that disagree are set aside.
pub struct Merged {
    /// Rows that stand.
    pub rows: Vec<Row>,
    /// Spell and assembly of those that were repeated alike.
    pub repeated: Vec<(String, String)>,
    /// Spell and assembly of those that disagree.
    pub disagreeing: Vec<(String, String)>,
}

/// Merges repeated rows. A row that says nothing yields to one that does.
pub fn merge(rows: Vec<Row>) -> Merged {
    let mut at: BTreeMap<(String, String), usize> = BTreeMap::new();
    let mut kept: Vec<Option<Row>> = Vec::new();
    let (mut repeated, mut disagreeing) = (Vec::new(), Vec::new());
    for row in rows {
        let key = (row.spell.clone(), row.assembly_id.clone());
        // A row without an identifier cannot be told from another.
        if row.assembly_id.is_empty() {
            kept.push(Some(row));
            continue;
        }
        match at.get(&key).copied() {
            None => {
                at.insert(key, kept.len());
                kept.push(Some(row));
            }
            Some(place) => match kept[place].as_ref().map(|old| old.state) {
                Some(old) if old == row.state => repeated.push(key),
                Some(State::NotLooked) => {
                    kept[place] = Some(row);
                    repeated.push(key);
                }
                Some(_) if row.state == State::NotLooked => repeated.push(key),
                Some(_) => {
                    kept[place] = None;
                    disagreeing.push(key);
                }
                None => {}
            },
        }
    }
    Merged {
        rows: kept.into_iter().flatten().collect(),
        repeated,
        disagreeing,
    }
}
