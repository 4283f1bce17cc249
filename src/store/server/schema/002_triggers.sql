-- What is added stands: nobody changes, deletes or empties, not even the owner. One role, which nobody logs in as and which only the
-- function for the retention of personal data runs as, may blank personal columns; all other columns it must leave.
CREATE FUNCTION brimwater.only_added() RETURNS trigger
    LANGUAGE plpgsql SET search_path = pg_catalog, pg_temp
    AS $$
DECLARE
    personal CONSTANT text[] := ARRAY['contact', 'note', 'noted_by', 'subject', 'caller', 'words', 'answer', 'owner', 'role', 'tx'];
BEGIN
    IF TG_OP = 'UPDATE' AND current_user = 'brimwater_keeper' THEN
        IF to_jsonb(OLD) - personal = to_jsonb(NEW) - personal THEN
            RETURN NEW;
        END IF;
    END IF;
    RAISE EXCEPTION '% are only added, never changed or deleted', TG_TABLE_NAME USING ERRCODE = 'BW001';
END $$;

CREATE TRIGGER events_stand BEFORE UPDATE OR DELETE ON brimwater.events
    FOR EACH ROW EXECUTE FUNCTION brimwater.only_added();
CREATE TRIGGER events_are_kept BEFORE TRUNCATE ON brimwater.events
    FOR EACH STATEMENT EXECUTE FUNCTION brimwater.only_added();
CREATE TRIGGER calls_stand BEFORE UPDATE OR DELETE ON brimwater.calls
    FOR EACH ROW EXECUTE FUNCTION brimwater.only_added();
CREATE TRIGGER calls_are_kept BEFORE TRUNCATE ON brimwater.calls
    FOR EACH STATEMENT EXECUTE FUNCTION brimwater.only_added();
CREATE TRIGGER call_steps_stand BEFORE UPDATE OR DELETE ON brimwater.call_steps
    FOR EACH ROW EXECUTE FUNCTION brimwater.only_added();
CREATE TRIGGER call_steps_are_kept BEFORE TRUNCATE ON brimwater.call_steps
    FOR EACH STATEMENT EXECUTE FUNCTION brimwater.only_added();

-- One event's part in a standing.
CREATE FUNCTION brimwater.stand(s brimwater.standings, outcome text, at timestamptz, id bigint)
    RETURNS brimwater.standings LANGUAGE plpgsql IMMUTABLE SET search_path = pg_catalog, pg_temp
    AS $$
BEGIN
    s.first_at := coalesce(s.first_at, at);
    s.last_at := at;
    s.last_id := id;
    s.last := outcome;
    IF outcome IN ('reached', 'declined', 'done') THEN
        s.attempts := 0;
    ELSE
        s.attempts := s.attempts + 1;
        s.message_left := s.message_left OR outcome = 'message-left';
        s.wrong_number := s.wrong_number OR outcome = 'wrong-number';
    END IF;
    RETURN s;
END $$;

-- An event settles the person's calls, or ends one attempt, and moves the standing on. The standing's row is locked first, so that two
-- events of one person at once both count.
CREATE FUNCTION brimwater.event_counted() RETURNS trigger
    LANGUAGE plpgsql SECURITY DEFINER SET search_path = pg_catalog, pg_temp
    AS $$
DECLARE
    s brimwater.standings;
    e record;
BEGIN
    IF NEW.outcome IN ('reached', 'declined', 'done', 'wrong-number') THEN
        UPDATE brimwater.queue SET open = false WHERE utility = NEW.utility AND contact = NEW.contact AND open;
        IF NEW.source = 'call' THEN
            UPDATE brimwater.queue SET open = false WHERE utility = NEW.utility AND contact = 'C-' || NEW.contact AND open;
        END IF;
    ELSE
        UPDATE brimwater.queue SET open = false WHERE utility = NEW.utility AND position =
            (SELECT min(position) FROM brimwater.queue WHERE utility = NEW.utility AND contact = NEW.contact AND open);
    END IF;
    IF NOT NEW.counts THEN
        RETURN NULL;
    END IF;
    INSERT INTO brimwater.standings (utility, contact) VALUES (NEW.utility, NEW.contact) ON CONFLICT DO NOTHING;
    SELECT * INTO s FROM brimwater.standings WHERE utility = NEW.utility AND contact = NEW.contact FOR UPDATE;
    IF s.last_at IS NULL OR (NEW.at, NEW.id) > (s.last_at, s.last_id) THEN
        s := brimwater.stand(s, NEW.outcome, NEW.at, NEW.id);
    ELSE
        -- It happened earlier than what is known: all of the person's events in the order in which they happened.
        s.first_at := NULL;
        s.attempts := 0;
        s.wrong_number := false;
        s.message_left := false;
        FOR e IN SELECT outcome, at, id FROM brimwater.events
            WHERE utility = NEW.utility AND contact = NEW.contact AND counts ORDER BY at, id
        LOOP
            s := brimwater.stand(s, e.outcome, e.at, e.id);
        END LOOP;
    END IF;
    UPDATE brimwater.standings SET first_at = s.first_at, last_at = s.last_at, last_id = s.last_id, last = s.last,
        attempts = s.attempts, wrong_number = s.wrong_number, message_left = s.message_left
        WHERE utility = NEW.utility AND contact = NEW.contact;
    RETURN NULL;
END $$;

CREATE TRIGGER events_counted AFTER INSERT ON brimwater.events
    FOR EACH ROW EXECUTE FUNCTION brimwater.event_counted();
