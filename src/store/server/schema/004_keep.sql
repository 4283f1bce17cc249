-- Retention. Personal data of what happened before a time are blanked, and the rows stay, so that what was counted can still be counted.
-- A call whose call-back is still owed stays whole: somebody waits.
CREATE FUNCTION brimwater.forget_before(before timestamptz, OUT events bigint, OUT calls bigint, OUT steps bigint)
    LANGUAGE plpgsql SECURITY DEFINER SET search_path = pg_catalog, pg_temp
    AS $$
DECLARE
    whose CONSTANT text := brimwater.utility();
BEGIN
    UPDATE brimwater.call_steps t SET note = '', noted_by = '(forgotten)', role = 'brimwater_keeper'
        WHERE t.utility = whose AND t.at < before AND t.noted_by <> '(forgotten)'
        AND EXISTS (SELECT FROM brimwater.calls c WHERE c.utility = whose AND c.id = t.call AND c.at < before AND (c.due IS NULL
            OR EXISTS (SELECT FROM brimwater.call_steps s WHERE s.utility = whose AND s.call = c.id AND s.step <> 'tried')));
    GET DIAGNOSTICS steps = ROW_COUNT;
    UPDATE brimwater.calls c SET subject = CASE WHEN about = 'neither' THEN '' ELSE '(forgotten)' END, caller = '', words = '', answer = '',
            owner = CASE WHEN owner = '' THEN '' ELSE '(forgotten)' END, noted_by = '(forgotten)', role = 'brimwater_keeper'
        WHERE c.utility = whose AND c.at < before AND c.noted_by <> '(forgotten)' AND (c.due IS NULL
            OR EXISTS (SELECT FROM brimwater.call_steps s WHERE s.utility = whose AND s.call = c.id AND s.step <> 'tried'));
    GET DIAGNOSTICS calls = ROW_COUNT;
    UPDATE brimwater.events e SET contact = '(forgotten)', note = '', noted_by = '(forgotten)', role = 'brimwater_keeper'
        WHERE e.utility = whose AND e.at < before AND e.noted_by <> '(forgotten)';
    GET DIAGNOSTICS events = ROW_COUNT;
    -- Whoever has later events as well stands by these alone from now on.
    DELETE FROM brimwater.standings s WHERE s.utility = whose AND s.first_at < before;
    INSERT INTO brimwater.standings
        SELECT whose, e.contact, min(e.at), max(e.at), (array_agg(e.id ORDER BY e.at DESC, e.id DESC))[1],
            (array_agg(e.outcome ORDER BY e.at DESC, e.id DESC))[1],
            count(*) FILTER (WHERE e.outcome NOT IN ('reached', 'declined', 'done') AND (l.at IS NULL OR (e.at, e.id) > (l.at, l.id))),
            bool_or(e.outcome = 'wrong-number'), bool_or(e.outcome = 'message-left')
        FROM brimwater.events e
        LEFT JOIN LATERAL (SELECT x.at, x.id FROM brimwater.events x WHERE x.utility = whose AND x.contact = e.contact AND x.counts
            AND x.outcome IN ('reached', 'declined', 'done') ORDER BY x.at DESC, x.id DESC LIMIT 1) l ON true
        WHERE e.utility = whose AND e.counts AND e.at >= before
            AND NOT EXISTS (SELECT FROM brimwater.standings s WHERE s.utility = whose AND s.contact = e.contact)
        GROUP BY e.contact;
    INSERT INTO brimwater.meta AS m (utility, key, value)
        VALUES (whose, 'forgotten_before', to_char(before AT TIME ZONE 'UTC', 'YYYY-MM-DD"T"HH24:MI:SS"Z"'))
        ON CONFLICT (utility, key) DO UPDATE SET value = greatest(m.value, excluded.value);
END $$;

-- After a dump was read back into another server its transactions count from the start: rows from there are older than all here.
CREATE FUNCTION brimwater.renumber() RETURNS void
    LANGUAGE plpgsql SECURITY DEFINER SET search_path = pg_catalog, pg_temp
    AS $$
DECLARE
    now_tx CONSTANT bigint := pg_current_xact_id()::text::bigint;
BEGIN
    UPDATE brimwater.events SET tx = 0 WHERE tx > now_tx;
    UPDATE brimwater.calls SET tx = 0 WHERE tx > now_tx;
    UPDATE brimwater.call_steps SET tx = 0 WHERE tx > now_tx;
END $$;

CREATE POLICY renumbered_events ON brimwater.events FOR UPDATE TO brimwater_keeper USING (true);
CREATE POLICY renumbered_events_seen ON brimwater.events FOR SELECT TO brimwater_keeper USING (true);
CREATE POLICY renumbered_calls ON brimwater.calls FOR UPDATE TO brimwater_keeper USING (true);
CREATE POLICY renumbered_calls_seen ON brimwater.calls FOR SELECT TO brimwater_keeper USING (true);
CREATE POLICY renumbered_steps ON brimwater.call_steps FOR UPDATE TO brimwater_keeper USING (true);
CREATE POLICY renumbered_steps_seen ON brimwater.call_steps FOR SELECT TO brimwater_keeper USING (true);

REVOKE ALL ON FUNCTION brimwater.forget_before(timestamptz), brimwater.renumber() FROM PUBLIC;
GRANT EXECUTE ON FUNCTION brimwater.forget_before(timestamptz) TO brimwater_planner;
GRANT UPDATE (contact, note, noted_by, role, tx) ON brimwater.events TO brimwater_keeper;
GRANT UPDATE (subject, caller, words, answer, owner, noted_by, role, tx) ON brimwater.calls TO brimwater_keeper;
GRANT UPDATE (note, noted_by, role, tx) ON brimwater.call_steps TO brimwater_keeper;
GRANT SELECT, INSERT, DELETE ON brimwater.standings TO brimwater_keeper;
GRANT SELECT, INSERT, UPDATE ON brimwater.meta TO brimwater_keeper;

GRANT CREATE ON SCHEMA brimwater TO brimwater_keeper;
RESET ROLE;
ALTER FUNCTION brimwater.forget_before(timestamptz) OWNER TO brimwater_keeper;
ALTER FUNCTION brimwater.renumber() OWNER TO brimwater_keeper;
REVOKE CREATE ON SCHEMA brimwater FROM brimwater_keeper;
