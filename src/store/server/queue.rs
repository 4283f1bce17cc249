//! The queue of calls on the server: who is next, for callers at many desks.

use super::events::ever;
use super::{Server, clean, whole};
use crate::faults::Fault;
use crate::store::queue::{Ask, CLAIM_MINUTES, QueueItem};
use chrono::{DateTime, TimeDelta, Utc};
use postgres::Row;

/// The first call in order that is open, with nobody else, in a language the caller speaks and in time. A row that another session is just
/// taking is passed over and not waited for; whoever was given it and is gone loses it when the claim ends.
pub(super) const CLAIM: &str = "UPDATE brimwater.queue q SET claimed_by = $1, claimed_until = $6 \
    FROM (SELECT utility, position FROM brimwater.queue \
        WHERE open AND (claimed_by IS NULL OR claimed_by = $1 OR claimed_until < $2) AND (act_by IS NULL OR act_by >= $3) \
        AND ($4 OR language <> 'es') AND (slot_start IS NULL OR slot_start <= $3 OR ($5 AND attempt <= 1)) \
        ORDER BY position LIMIT 1 FOR UPDATE SKIP LOCKED) f \
    WHERE q.utility = f.utility AND q.position = f.position \
    RETURNING q.position, q.contact, q.attempt, q.caller, q.slot_start, q.act_by, q.language";

impl Server {
    pub(super) fn replace_queue(&self, items: &[QueueItem], since: DateTime<Utc>) -> Result<usize, Fault> {
        let positions: Vec<i64> = (1..).take(items.len()).collect();
        let contacts: Vec<_> = items.iter().map(|item| clean(&item.contact)).collect();
        let attempts: Vec<_> = items.iter().map(|item| i16::from(item.attempt)).collect();
        let callers: Vec<_> = items.iter().map(|item| item.caller.map(i32::from)).collect();
        let slots: Vec<_> = items.iter().map(|item| item.slot_start.map(whole)).collect();
        let acts: Vec<_> = items.iter().map(|item| item.act_by.map(whole)).collect();
        let languages: Vec<_> = items.iter().map(|item| clean(&item.language)).collect();
        let since = ever(Some(since));
        let open = self.within(|transaction| {
            // Two who load at once load one after the other.
            transaction.execute("SELECT pg_advisory_xact_lock(hashtext('brimwater.queue'), hashtext(brimwater.utility()))", &[])?;
            transaction.execute("DELETE FROM brimwater.queue", &[])?;
            transaction.execute(
                "INSERT INTO brimwater.queue (position, contact, attempt, caller, slot_start, act_by, language) \
                 SELECT * FROM unnest($1::bigint[], $2::text[], $3::smallint[], $4::integer[], $5::timestamptz[], $6::timestamptz[], $7::text[])",
                &[&positions, &contacts, &attempts, &callers, &slots, &acts, &languages],
            )?;
            // Whose last event settles the matter; an earlier event does not count when a later one corrects it.
            transaction.execute(
                "UPDATE brimwater.queue q SET open = false FROM brimwater.standings s WHERE s.utility = q.utility \
                 AND s.contact = q.contact AND s.last_at >= $1 AND s.last IN ('reached', 'declined', 'done', 'wrong-number')",
                &[&since],
            )?;
            // A call that came in is noted under the assembly, of which the person's own identifier is made.
            transaction.execute(
                "UPDATE brimwater.queue q SET open = false FROM brimwater.events e WHERE e.utility = q.utility \
                 AND e.source = 'call' AND e.at >= $1 AND q.contact = 'C-' || e.contact",
                &[&since],
            )?;
            transaction.query_one("SELECT count(*) FROM brimwater.queue WHERE open", &[])
        })?;
        Ok(usize::try_from(open.get::<_, i64>(0)).unwrap_or(0))
    }

    pub(super) fn claim(&self, ask: &Ask) -> Result<Option<QueueItem>, Fault> {
        let now = whole(self.as_server_has_it(ask.now));
        let until = now + TimeDelta::minutes(CLAIM_MINUTES);
        let by = clean(&ask.by);
        let row =
            self.with(|client| client.query_opt(CLAIM, &[&by, &now, &now, &ask.spanish, &ask.early_first, &until]))?;
        Ok(row.map(|row| item(&row)))
    }

    pub(super) fn open_in_queue(&self) -> Result<usize, Fault> {
        let open = self.with(|client| client.query_one("SELECT count(*) FROM brimwater.queue WHERE open", &[]))?;
        Ok(usize::try_from(open.get::<_, i64>(0)).unwrap_or(0))
    }

    pub(super) fn is_in_queue(&self, contact: &str) -> Result<bool, Fault> {
        let known = self.with(|client| {
            client.query_one(
                "SELECT EXISTS (SELECT FROM brimwater.queue WHERE contact = $1)",
                &[&contact],
            )
        })?;
        Ok(known.get(0))
    }
}

fn item(row: &Row) -> QueueItem {
    QueueItem {
        position: row.get("position"),
        contact: row.get("contact"),
        attempt: u8::try_from(row.get::<_, i16>("attempt")).unwrap_or(u8::MAX),
        caller: row
            .get::<_, Option<i32>>("caller")
            .and_then(|caller| u16::try_from(caller).ok()),
        slot_start: row.get("slot_start"),
        act_by: row.get("act_by"),
        language: row.get("language"),
    }
}
