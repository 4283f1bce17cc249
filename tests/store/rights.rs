//! Who may see and do what on the server.

use super::both::{event, item, new_call, noon};
use super::server::{self, role};
use brimwater::outreach::outcome::Outcome;
use brimwater::store::server::Server;
use brimwater::store::server::set_up::Job;
use brimwater::store::{NewCall, NewEvent, Step, Store};
use chrono::TimeDelta;
use postgres::SimpleQueryMessage;

/// Statements by which a desk of the north might see or write what is the south's. `{id}` is the number of a call of the south.
const TRIES: [&str; 44] = [
    "SELECT * FROM brimwater.events",
    "SELECT * FROM brimwater.events WHERE utility = 'south'",
    "SELECT * FROM brimwater.calls",
    "SELECT * FROM brimwater.call_steps",
    "SELECT * FROM brimwater.queue",
    "SELECT * FROM brimwater.standings",
    "SELECT * FROM brimwater.meta",
    "SELECT * FROM brimwater.enrolled",
    "SELECT e.* FROM brimwater.events e JOIN brimwater.calls c ON true",
    "SELECT count(*) AS n, max(note) FROM brimwater.events WHERE contact LIKE 'SOUTH%'",
    "COPY brimwater.events TO STDOUT",
    "COPY (SELECT * FROM brimwater.events) TO STDOUT",
    "SET row_security = off; SELECT * FROM brimwater.events",
    "SET SESSION AUTHORIZATION '{db}_south_desk'; SELECT * FROM brimwater.events",
    "SET ROLE brimwater_owner; SELECT * FROM brimwater.events",
    "SET ROLE brimwater_keeper; SELECT * FROM brimwater.events",
    "SET ROLE '{db}_south_desk'; SELECT * FROM brimwater.events",
    "SET ROLE brimwater_desk; SELECT * FROM brimwater.events",
    "SET brimwater.utility = 'south'; SELECT * FROM brimwater.events",
    "CREATE TEMP TABLE enrolled (role name, utility text); INSERT INTO enrolled VALUES (session_user, 'south'); SET search_path = pg_temp, brimwater; SELECT * FROM brimwater.events",
    "CREATE FUNCTION pg_temp.utility() RETURNS text LANGUAGE sql AS 'SELECT ''south''::text'; SET search_path = pg_temp; SELECT * FROM brimwater.events",
    "CREATE FUNCTION pg_temp.leak(text) RETURNS boolean LANGUAGE plpgsql COST 0.0000001 AS $$ BEGIN RAISE WARNING 'leak %', $1; RETURN true; END $$; SELECT contact FROM brimwater.events WHERE pg_temp.leak(contact)",
    "SELECT 1 / (length(note) - length(note)) FROM brimwater.events WHERE utility = 'south'",
    "CREATE VIEW pg_temp.v AS SELECT * FROM brimwater.events; SELECT * FROM pg_temp.v",
    "INSERT INTO brimwater.events (utility, uid, at, contact, outcome, noted_by, source) VALUES ('south', 'try-1', now(), 'X', 'done', 'x', 'x')",
    "INSERT INTO brimwater.queue (utility, position, contact, attempt, language) VALUES ('south', 99, 'X', 1, 'en')",
    "INSERT INTO brimwater.call_steps (uid, call, at, step, note, noted_by) VALUES ('try-2', {id}, now(), 'kept', '', 'x')",
    "INSERT INTO brimwater.meta (utility, key, value) VALUES ('south', 'forgotten_before', '2999')",
    "INSERT INTO brimwater.enrolled VALUES (session_user, 'south', 'desk')",
    "UPDATE brimwater.enrolled SET utility = 'south'",
    "UPDATE brimwater.events SET utility = 'north'",
    "UPDATE brimwater.events SET note = 'gone' WHERE utility = 'south'",
    "UPDATE brimwater.queue SET claimed_by = 'me', claimed_until = now() + interval '1 year'",
    "UPDATE brimwater.queue SET utility = 'north'",
    "UPDATE brimwater.standings SET last = 'done'",
    "DELETE FROM brimwater.events",
    "DELETE FROM brimwater.queue",
    "TRUNCATE brimwater.events CASCADE",
    "ALTER TABLE brimwater.events DISABLE ROW LEVEL SECURITY",
    "ALTER TABLE brimwater.events DISABLE TRIGGER ALL",
    "DROP POLICY own_utility ON brimwater.events",
    "CREATE OR REPLACE FUNCTION brimwater.utility() RETURNS text LANGUAGE sql AS $$ SELECT 'south'::text $$",
    "SELECT brimwater.forget_before(now() + interval '1 day')",
    "GRANT brimwater_owner TO CURRENT_USER",
];

#[test]
fn no_statement_of_a_long_list_sees_or_writes_what_is_anothers() {
    let Some(run) = server::shared() else { return };
    let database = run.database(&["north", "south"]);
    let open = |utility: &str, job: Job| {
        Server::open(&run.address(&role(&database, utility, job), &database), Some(utility)).unwrap()
    };
    let mut south = open("south", Job::Planner);
    south
        .add(&NewEvent {
            note: "SOUTH note".into(),
            ..event("SOUTH-1", Outcome::Reached, 0)
        })
        .unwrap();
    let call = NewCall {
        words: "SOUTH words".into(),
        caller: "SOUTH caller".into(),
        ..new_call("SOUTH-2", true, Some(2))
    };
    let id = south.record(&call).unwrap();
    south.step(id, Step::Tried, "SOUTH tried", "SOUTH rep", None).unwrap();
    south.load_queue(&[item("SOUTH-3", 1, 0, "en")], noon()).unwrap();
    let mut north = open("north", Job::Desk);
    north.add(&event("NORTH-1", Outcome::Reached, 0)).unwrap();

    // Everything of the south as the server's maker sees it, who is above the rules.
    let everything = || -> Vec<String> {
        let mut admin = run.admin(&database).unwrap();
        ["events", "calls", "call_steps", "queue", "standings", "meta"]
            .iter()
            .flat_map(|table| {
                let query = format!("SELECT t::text FROM brimwater.{table} t WHERE utility = 'south' ORDER BY 1");
                admin
                    .query(&query, &[])
                    .unwrap()
                    .into_iter()
                    .map(|row| row.get(0))
                    .collect::<Vec<String>>()
            })
            .collect()
    };
    let before = everything();
    assert!(
        before.len() == 7 && before.iter().all(|row| row.contains("SOUTH")),
        "{before:#?}"
    );
    for job in [Job::Desk, Job::Planner, Job::Reader] {
        let mut seen = 0;
        for statement in TRIES {
            let statement = statement.replace("{id}", &id.to_string()).replace("{db}", &database);
            // A session of its own: what one try leaves does not help the next.
            let mut client = run.raw(&role(&database, "north", job), &database).unwrap();
            for message in client.simple_query(&statement).unwrap_or_default() {
                if let SimpleQueryMessage::Row(row) = message {
                    let text: Vec<&str> = (0..row.len()).filter_map(|at| row.get(at)).collect();
                    assert!(
                        !text.iter().any(|cell| cell.contains("SOUTH") || *cell == "south"),
                        "{statement}: {text:?}"
                    );
                    seen += usize::from(text.iter().any(|cell| cell.contains("NORTH") || *cell == "(forgotten)"));
                }
            }
            // A planner may empty its own queue and forget its own people; nothing of it reaches the south.
            assert_eq!(everything(), before, "{} of the north: {statement}", job.word());
        }
        assert!(seen >= 5, "the tries see nothing at all, so they show nothing: {seen}");
    }
    assert!(
        !run.told().contains("leak SOUTH"),
        "a function of the client's saw rows before the rules did"
    );
}

/// A wrong program keeps the rule in its own statements only.
#[test]
fn not_even_the_owner_changes_deletes_or_empties_what_was_added() {
    let Some(run) = server::shared() else { return };
    let database = run.database(&["north"]);
    let mut log = Server::open(&run.address(&role(&database, "north", Job::Planner), &database), None).unwrap();
    log.add(&event("C-1", Outcome::Reached, 0)).unwrap();
    let id = log.record(&new_call("A-1", false, Some(1))).unwrap();
    log.step(id, Step::Tried, "", "Lee", None).unwrap();
    let mut admin = run.admin(&database).unwrap();
    // Even without the rules of the rows, which hide all of them from the owner.
    admin
        .batch_execute("ALTER TABLE brimwater.events NO FORCE ROW LEVEL SECURITY; ALTER TABLE brimwater.calls NO FORCE ROW LEVEL SECURITY; ALTER TABLE brimwater.call_steps NO FORCE ROW LEVEL SECURITY; SET ROLE brimwater_owner")
        .unwrap();
    for statement in [
        "UPDATE brimwater.events SET outcome = 'done'",
        "UPDATE brimwater.events SET note = ''",
        "DELETE FROM brimwater.events",
        "TRUNCATE brimwater.events",
        "UPDATE brimwater.calls SET due = now()",
        "DELETE FROM brimwater.calls",
        "TRUNCATE brimwater.calls CASCADE",
        "UPDATE brimwater.call_steps SET step = 'kept'",
        "DELETE FROM brimwater.call_steps",
        "TRUNCATE brimwater.call_steps",
    ] {
        let told = admin.batch_execute(statement).unwrap_err();
        assert!(
            told.as_db_error().unwrap().message().contains("only added"),
            "{statement}: {told:?}"
        );
    }
    // The one role that may blank may do nothing else.
    admin.batch_execute("RESET ROLE; SET ROLE brimwater_keeper").unwrap();
    for statement in [
        "UPDATE brimwater.events SET outcome = 'done'",
        "DELETE FROM brimwater.events",
    ] {
        assert!(admin.batch_execute(statement).is_err(), "{statement}");
    }
    assert_eq!(log.count().unwrap(), 1);
}

/// Wrong would be a policy that calls its function for each row, or one that keeps the index from being used (PostgreSQL, "Row Security
/// Policies"): both show in the plan.
#[test]
fn under_the_rules_of_rows_the_index_is_used() {
    let Some(run) = server::shared() else { return };
    let database = run.database(&["north", "south"]);
    for (utility, rows) in [("north", 4_000), ("south", 16_000)] {
        let mut log = Server::open(&run.address(&role(&database, utility, Job::Planner), &database), None).unwrap();
        let events: Vec<_> = (0..rows)
            .map(|n| event(&format!("C-{}", n % 900), Outcome::NoAnswer, n % 50))
            .collect();
        log.add_all(&events).unwrap();
        let queue: Vec<_> = (0..rows).map(|n| item(&format!("C-{n}"), 1, 0, "en")).collect();
        log.load_queue(&queue, noon() - TimeDelta::days(1)).unwrap();
    }
    run.admin(&database).unwrap().batch_execute("ANALYZE").unwrap();
    let mut desk = run.raw(&role(&database, "north", Job::Desk), &database).unwrap();
    let claim = "SELECT utility, position FROM brimwater.queue WHERE open AND (claimed_by IS NULL OR claimed_by = 'x' OR claimed_until < now()) \
                 AND (act_by IS NULL OR act_by >= now()) ORDER BY position LIMIT 1 FOR UPDATE SKIP LOCKED";
    for (query, index) in [
        (claim, "queue_"),
        (
            "SELECT * FROM brimwater.events WHERE contact = 'C-7' AND at >= '2030-01-01' AND id < 99999999 ORDER BY id DESC LIMIT 20",
            "events_contact",
        ),
        (
            "SELECT * FROM brimwater.events WHERE (tx, id) > (999999999, 0) AND at >= '2000-01-01' ORDER BY tx, id LIMIT 100",
            "events_new",
        ),
        ("SELECT * FROM brimwater.standings WHERE contact = 'C-7'", "standings_"),
        (
            "SELECT EXISTS (SELECT FROM brimwater.queue WHERE contact = 'C-7')",
            "queue_contact",
        ),
        (
            "SELECT * FROM brimwater.events WHERE uid = 'x'",
            "events_utility_uid_key",
        ),
    ] {
        let plan: Vec<String> = desk
            .query(&format!("EXPLAIN {query}"), &[])
            .unwrap()
            .into_iter()
            .map(|row| row.get(0))
            .collect();
        let plan = plan.join("\n");
        assert!(plan.contains(index) && !plan.contains("Seq Scan"), "{query}\n{plan}");
        // Worked out once, and then a condition of the index.
        assert!(
            plan.contains("InitPlan") && plan.contains("Index Cond: ((utility = $0)")
                || plan.contains("Index Cond: (utility = $0)"),
            "{plan}"
        );
    }
}
