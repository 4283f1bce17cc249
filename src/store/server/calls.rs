//! Calls that came in, on the server.

use super::events::{ever, random_uid};
use super::{Server, clean, whole};
use crate::faults::Fault;
use crate::store::calls::{About, Call, CallFilter, NewCall, Step};
use crate::store::events::{MOST_NOTE, NewEvent, fits, refused};
use postgres::Row;

/// Calls with what became of their call-backs.
pub(super) const LIST: &str = "SELECT * FROM (SELECT c.*, \
    (SELECT count(*) FROM brimwater.call_steps s WHERE s.utility = c.utility AND s.call = c.id AND s.step = 'tried') AS tried, \
    (SELECT s.step FROM brimwater.call_steps s WHERE s.utility = c.utility AND s.call = c.id AND s.step <> 'tried' ORDER BY s.id LIMIT 1) AS ended \
    FROM brimwater.calls c WHERE ($1::text IS NULL OR c.subject = $1) AND c.at >= $2 AND (NOT $3 OR c.due IS NOT NULL)) l \
    WHERE NOT $3 OR l.ended IS NULL ORDER BY l.id DESC LIMIT $4";

impl Server {
    pub(super) fn insert_call(&self, call: &NewCall) -> Result<i64, Fault> {
        call.check()?;
        let uid = call.uid.clone().map_or_else(random_uid, Ok)?;
        let at = whole(self.as_server_has_it(call.at));
        let due = call.due.map(|due| whole(due + (at - whole(call.at))));
        self.within(|transaction| {
            let row = transaction.query_opt(
                "INSERT INTO brimwater.calls (uid, at, about, subject, caller, words, answer, told, owner, due, noted_by, source) \
                 VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12) ON CONFLICT (utility, uid) DO NOTHING RETURNING id",
                &[
                    &uid,
                    &at,
                    &call.about.word(),
                    &clean(&call.subject),
                    &clean(&call.caller),
                    &clean(&call.words),
                    &clean(&call.answer),
                    &call.told,
                    &clean(&call.owner),
                    &due,
                    &clean(&call.by),
                    &call.source,
                ],
            )?;
            let Some(row) = row else { return Ok(0) };
            let id: i64 = row.get(0);
            if call.told && call.about == About::Assembly {
                transaction.execute(
                    "INSERT INTO brimwater.events (uid, at, contact, outcome, note, noted_by, source) \
                     VALUES ($1, $2, $3, 'reached', $4, $5, 'call') ON CONFLICT (utility, uid) DO NOTHING",
                    &[
                        &NewEvent::uid_of(&["told", &uid]),
                        &at,
                        &clean(&call.subject),
                        &format!("told about the freeze in call {id}"),
                        &clean(&call.by),
                    ],
                )?;
            }
            Ok(id)
        })
    }

    pub(super) fn insert_step(
        &self,
        call: i64,
        step: Step,
        note: &str,
        by: &str,
        uid: Option<String>,
    ) -> Result<(), Fault> {
        if !fits(by) {
            let expected = "the name of whoever called back, 1 to 200 characters".to_owned();
            return refused("BW-L11", "by", by, "nobody is named", expected);
        }
        let uid = uid.map_or_else(random_uid, Ok)?;
        let word = match step {
            Step::Kept => "kept",
            Step::Tried => "tried",
        };
        let note: String = clean(note).chars().take(MOST_NOTE).collect();
        let known = self.within(|transaction| {
            let known = transaction.query_opt("SELECT FROM brimwater.calls WHERE id = $1", &[&call])?;
            if known.is_some() {
                transaction.execute(
                    "INSERT INTO brimwater.call_steps (uid, call, at, step, note, noted_by) \
                     VALUES ($1, $2, date_trunc('second', clock_timestamp()), $3, $4, $5) ON CONFLICT (utility, uid) DO NOTHING",
                    &[&uid, &call, &word, &note, &clean(by)],
                )?;
            }
            Ok(known.is_some())
        })?;
        if known {
            return Ok(());
        }
        let expected = "the number of a call that the list of calls shows".to_owned();
        refused("BW-L18", "call", &call.to_string(), "there is no such call", expected)
    }

    pub(super) fn list_calls(&self, filter: &CallFilter) -> Result<Vec<Call>, Fault> {
        let since = ever(filter.since);
        let last = filter.last.map_or(i64::MAX, i64::from);
        let rows = self.with(|client| client.query(LIST, &[&filter.subject, &since, &filter.open, &last]))?;
        let mut calls: Vec<Call> = rows.iter().rev().filter_map(call).collect();
        if filter.open {
            calls.sort_by_key(|call| (call.due, call.id));
        }
        Ok(calls)
    }
}

fn call(row: &Row) -> Option<Call> {
    Some(Call {
        id: row.get("id"),
        at: row.get("at"),
        // The table lets no other word in.
        about: About::parse(row.get("about"))?,
        subject: row.get("subject"),
        caller: row.get("caller"),
        words: row.get("words"),
        answer: row.get("answer"),
        told: row.get("told"),
        owner: row.get("owner"),
        due: row.get("due"),
        by: row.get("noted_by"),
        source: row.get("source"),
        tried: u32::try_from(row.get::<_, i64>("tried")).unwrap_or(u32::MAX),
        ended: row.get("ended"),
    })
}
