//! Who is told what and when.

use super::{Plan, Programme};
use crate::faults::Faults;
use crate::outreach::messages::Messages;
use crate::outreach::outcome::History;
use crate::outreach::people::{self, Person};
use crate::outreach::schedule::{self, ContactPlan, PlanInput};

/// The contact side of a plan.
pub struct Reach {
    /// People; their `assemblies` are places of the plan.
    pub people: Vec<Person>,
    /// Contacts.
    pub contacts: ContactPlan,
    /// What is said to them.
    pub messages: Messages,
}

impl Reach {
    /// Merges rows to people, places the contacts, and makes the messages ready. `history` is what came of contacts so far.
    pub fn of(programme: &Programme, plan: &Plan<'_>, history: &History) -> (Self, Faults) {
        let outreach = &programme.loaded.config.outreach;
        let mut faults = Faults::new();
        let (people, told) = people::merge(&plan.assemblies, &outreach.people, &programme.list);
        faults.append(told);
        let (mut contacts, told) = Self::with_input(programme, plan, &people, history, |input| {
            schedule::plan(input, outreach)
        });
        if plan.stand.over {
            contacts = contacts.after_the_spell();
        } else {
            faults.append(told);
        }
        let (messages, told) = programme.messages(!plan.words.us);
        faults.append(told);
        let reach = Self {
            people,
            contacts,
            messages,
        };
        (reach, faults)
    }

    /// What the schedule is made from, for those who make more from the same.
    pub fn with_input<T>(
        programme: &Programme,
        plan: &Plan<'_>,
        people: &[Person],
        history: &History,
        make: impl FnOnce(&PlanInput<'_>) -> T,
    ) -> T {
        let daylight = programme.daylight(&plan.assemblies);
        make(&PlanInput {
            people,
            assemblies: &plan.assemblies,
            outlooks: &plan.outlooks,
            ranked: &plan.ranked,
            now: plan.stand.now,
            zone: programme.zone,
            daylight: &*daylight,
            history,
        })
    }
}
