//! Events on the server: adding, listing, and where everybody stands.

use super::{Server, clean, whole};
use crate::faults::{Fault, Severity};
use crate::outreach::outcome::{History, Outcome, Standing};
use crate::store::{Added, Event, Filter, NewEvent};
use chrono::{DateTime, Utc};
use postgres::Row;

/// Rows that travel in one statement.
const CHUNK: usize = 5_000;
/// Rows of a listing that are fetched at once.
const PAGE: i64 = 10_000;

/// Adds events in the order given; known ones are left.
pub(super) const INSERT: &str = "INSERT INTO brimwater.events (uid, at, noted_at, contact, outcome, note, noted_by, source, counts) \
    SELECT g.uid, g.at, coalesce(g.noted_at, date_trunc('second', clock_timestamp())), g.contact, g.outcome, g.note, g.noted_by, g.source, g.counts \
    FROM unnest($1::text[], $2::timestamptz[], $3::timestamptz[], $4::text[], $5::text[], $6::text[], $7::text[], $8::text[], $9::bool[]) \
        WITH ORDINALITY AS g (uid, at, noted_at, contact, outcome, note, noted_by, source, counts, n) \
    ORDER BY g.n ON CONFLICT (utility, uid) DO NOTHING RETURNING id";
/// Standings that need no event: everything of the person lies since the time given.
pub(super) const STANDINGS: &str = "SELECT contact, last, last_at, attempts, wrong_number, message_left FROM brimwater.standings \
    WHERE last_at >= $1 AND first_at >= $1";
/// Events since the time given of those who have earlier ones too, a row a person: its outcomes in the order in which they happened, and
/// when the last did. A row an event took three times as long, most of it on the way.
const PART_OF_STANDINGS: &str = "SELECT e.contact, string_agg(e.outcome, ' ' ORDER BY e.at, e.id), max(e.at) FROM brimwater.standings s \
    JOIN brimwater.events e ON e.utility = s.utility AND e.contact = s.contact \
    WHERE s.last_at >= $1 AND s.first_at < $1 AND e.at >= $1 AND e.counts GROUP BY e.contact";
/// Events of one person, the last first.
pub(super) const OF_CONTACT: &str =
    "SELECT * FROM brimwater.events WHERE contact = $1 AND at >= $2 AND id < $3 ORDER BY id DESC LIMIT $4";
const LAST: &str = "SELECT * FROM brimwater.events WHERE at >= $1 AND id < $2 ORDER BY id DESC LIMIT $3";
const ONWARD: &str = "SELECT * FROM brimwater.events WHERE at >= $1 AND id > $2 ORDER BY id LIMIT $3";

/// Before all times that a log can hold.
pub(super) fn ever(since: Option<DateTime<Utc>>) -> DateTime<Utc> {
    since.map_or(DateTime::UNIX_EPOCH, whole)
}

/// Sixteen random bytes in hexadecimal.
pub(super) fn random_uid() -> Result<String, Fault> {
    crate::store::events::random_uid()
        .map_err(|_| Fault::new("BW-L07", Severity::Fatal, "the system gives no random numbers"))
}

impl Server {
    pub(super) fn insert_events(&self, events: &[NewEvent]) -> Result<Added, Fault> {
        for event in events {
            event.check()?;
        }
        // Made before the first try, so that a second one after a cut adds nothing twice.
        let uids: Vec<String> = events
            .iter()
            .map(|event| event.uid.clone().map_or_else(random_uid, Ok))
            .collect::<Result<_, _>>()?;
        self.within(|transaction| {
            let statement = transaction.prepare(INSERT)?;
            let mut done = Added::default();
            for (events, uids) in events.chunks(CHUNK).zip(uids.chunks(CHUNK)) {
                let at: Vec<_> = events
                    .iter()
                    .map(|event| whole(self.as_server_has_it(event.at)))
                    .collect();
                let noted: Vec<Option<DateTime<Utc>>> = vec![None; events.len()];
                let text =
                    |pick: fn(&NewEvent) -> &str| events.iter().map(|event| clean(pick(event))).collect::<Vec<_>>();
                let outcomes: Vec<_> = events.iter().map(|event| event.outcome.word()).collect();
                let sources: Vec<_> = events.iter().map(|event| event.source).collect();
                let counts = vec![true; events.len()];
                let rows = transaction.query(
                    &statement,
                    &[
                        &uids,
                        &at,
                        &noted,
                        &text(|event| &event.contact),
                        &outcomes,
                        &text(|event| &event.note),
                        &text(|event| &event.by),
                        &sources,
                        &counts,
                    ],
                )?;
                done.added += rows.len();
                done.known += events.len() - rows.len();
                if let Some(row) = rows.last() {
                    done.last_id = row.get(0);
                }
            }
            Ok(done)
        })
    }

    pub(super) fn walk_events(&self, filter: &Filter, each: &mut dyn FnMut(Event)) -> Result<(), Fault> {
        let since = ever(filter.since);
        if filter.contact.is_some() || filter.last.is_some() {
            let last = filter.last.map_or(i64::MAX, i64::from);
            let rows = self.with(|client| match &filter.contact {
                Some(contact) => client.query(OF_CONTACT, &[contact, &since, &i64::MAX, &last]),
                None => client.query(LAST, &[&since, &i64::MAX, &last]),
            })?;
            for row in rows.iter().rev() {
                each(event(row)?);
            }
            return Ok(());
        }
        let mut after = 0i64;
        loop {
            let rows = self.with(|client| client.query(ONWARD, &[&since, &after, &PAGE]))?;
            let Some(last) = rows.last() else { return Ok(()) };
            after = last.get("id");
            for row in &rows {
                each(event(row)?);
            }
        }
    }

    pub(super) fn standings(&self, since: Option<DateTime<Utc>>) -> Result<History, Fault> {
        let since = ever(since);
        // Both in one look, so that an event that comes in between is in neither or in one.
        let (whole, parts) = self.with(|client| {
            let mut transaction = client
                .build_transaction()
                .read_only(true)
                .isolation_level(postgres::IsolationLevel::RepeatableRead)
                .start()?;
            Ok((
                transaction.query(STANDINGS, &[&since])?,
                transaction.query(PART_OF_STANDINGS, &[&since])?,
            ))
        })?;
        let mut history = History::default();
        for row in &parts {
            // Only the time of the last is kept of a person's, so all may have it.
            let (contact, outcomes, last_at): (&str, &str, _) = (row.get(0), row.get(1), row.get(2));
            for word in outcomes.split(' ') {
                history.add(contact, outcome(word)?, last_at);
            }
        }
        for row in &whole {
            let standing = Standing {
                last: outcome(row.get(1))?,
                last_at: row.get(2),
                attempts: u32::try_from(row.get::<_, i32>(3)).unwrap_or(0),
                wrong_number: row.get(4),
                message_left: row.get(5),
            };
            history.0.insert(row.get(0), standing);
        }
        Ok(history)
    }
}

fn outcome(word: &str) -> Result<Outcome, Fault> {
    Outcome::parse(word).ok_or_else(|| {
        Fault::new(
            "BW-L36",
            Severity::Fatal,
            "the server's log holds an outcome that this version does not know",
        )
        .value(word)
        .remedy("Use the later version on this computer too.")
    })
}

fn event(row: &Row) -> Result<Event, Fault> {
    Ok(Event {
        id: row.get("id"),
        at: row.get("at"),
        noted_at: row.get("noted_at"),
        contact: row.get("contact"),
        outcome: outcome(row.get("outcome"))?,
        note: row.get("note"),
        by: row.get("noted_by"),
        source: row.get("source"),
        counts: row.get("counts"),
    })
}
