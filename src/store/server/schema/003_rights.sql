-- Rows of another utility are neither seen nor written, by whatever statement. FORCE: not by the owner either.
DO $$
DECLARE
    t text;
BEGIN
    FOREACH t IN ARRAY ARRAY['meta', 'events', 'calls', 'call_steps', 'standings', 'queue'] LOOP
        EXECUTE format('ALTER TABLE brimwater.%I ENABLE ROW LEVEL SECURITY', t);
        EXECUTE format('ALTER TABLE brimwater.%I FORCE ROW LEVEL SECURITY', t);
        -- The call in brackets is worked out once for a statement and then used with the index.
        EXECUTE format('CREATE POLICY own_utility ON brimwater.%I USING (utility = (SELECT brimwater.utility())) '
            'WITH CHECK (utility = (SELECT brimwater.utility()))', t);
    END LOOP;
END $$;

REVOKE ALL ON ALL TABLES IN SCHEMA brimwater FROM PUBLIC;
REVOKE ALL ON ALL FUNCTIONS IN SCHEMA brimwater FROM PUBLIC;
GRANT USAGE ON SCHEMA brimwater TO brimwater_desk, brimwater_planner, brimwater_reader, brimwater_keeper;
GRANT EXECUTE ON FUNCTION brimwater.utility() TO brimwater_desk, brimwater_planner, brimwater_reader, brimwater_keeper;
GRANT SELECT ON brimwater.schema, brimwater.meta, brimwater.events, brimwater.calls, brimwater.call_steps, brimwater.standings,
    brimwater.queue TO brimwater_desk, brimwater_planner, brimwater_reader, brimwater_keeper;
GRANT INSERT (uid, at, noted_at, contact, outcome, note, noted_by, source, counts) ON brimwater.events
    TO brimwater_desk, brimwater_planner;
GRANT INSERT (uid, at, noted_at, about, subject, caller, words, answer, told, owner, due, noted_by, source, from_event)
    ON brimwater.calls TO brimwater_desk, brimwater_planner;
GRANT INSERT (uid, call, at, step, note, noted_by) ON brimwater.call_steps TO brimwater_desk, brimwater_planner;
GRANT UPDATE (claimed_by, claimed_until) ON brimwater.queue TO brimwater_desk, brimwater_planner;
GRANT UPDATE (open), DELETE ON brimwater.queue TO brimwater_planner;
GRANT INSERT (position, contact, attempt, caller, slot_start, act_by, language) ON brimwater.queue TO brimwater_planner;
