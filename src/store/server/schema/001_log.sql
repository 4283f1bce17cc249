-- The log of contacts of one or several utilities. Every row belongs to a utility, and a session to the utility of its login role.

CREATE TABLE brimwater.enrolled (
    role name PRIMARY KEY,
    utility text NOT NULL CHECK (length(utility) BETWEEN 1 AND 200),
    job text NOT NULL CHECK (job IN ('desk', 'planner', 'reader')),
    since timestamptz NOT NULL DEFAULT now()
);

-- Keyed on the role that logged in: a client can change settings and its current role, but not this.
CREATE FUNCTION brimwater.utility() RETURNS text
    LANGUAGE sql STABLE SECURITY DEFINER SET search_path = pg_catalog, pg_temp
    AS $$ SELECT utility FROM brimwater.enrolled WHERE role = session_user $$;

CREATE TABLE brimwater.meta (
    utility text NOT NULL DEFAULT brimwater.utility(),
    key text NOT NULL,
    value text NOT NULL,
    PRIMARY KEY (utility, key)
);

-- tx is the transaction that added the row. Numbers are given out before they are committed, so that a desk that asks for what is new
-- by the largest number alone would miss a row that was committed late.
CREATE TABLE brimwater.events (
    id bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    utility text NOT NULL DEFAULT brimwater.utility(),
    uid text NOT NULL CHECK (length(uid) BETWEEN 1 AND 200),
    tx bigint NOT NULL DEFAULT (pg_current_xact_id()::text::bigint),
    role name NOT NULL DEFAULT session_user,
    at timestamptz NOT NULL,
    noted_at timestamptz NOT NULL DEFAULT date_trunc('second', clock_timestamp()),
    contact text NOT NULL CHECK (length(contact) BETWEEN 1 AND 200),
    outcome text NOT NULL CHECK (outcome IN ('reached', 'message-left', 'no-answer', 'wrong-number', 'declined', 'done')),
    note text NOT NULL DEFAULT '' CHECK (length(note) <= 4000),
    noted_by text NOT NULL CHECK (length(noted_by) BETWEEN 1 AND 200),
    source text NOT NULL CHECK (length(source) BETWEEN 1 AND 40),
    counts boolean NOT NULL DEFAULT true,
    UNIQUE (utility, uid)
);
CREATE INDEX events_new ON brimwater.events (utility, tx, id);
CREATE INDEX events_listed ON brimwater.events (utility, id);
CREATE INDEX events_contact ON brimwater.events (utility, contact, at, id);
CREATE INDEX events_at ON brimwater.events (utility, at);
CREATE INDEX events_from_calls ON brimwater.events (utility, at) WHERE source = 'call';

CREATE TABLE brimwater.calls (
    id bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    utility text NOT NULL DEFAULT brimwater.utility(),
    uid text NOT NULL CHECK (length(uid) BETWEEN 1 AND 200),
    tx bigint NOT NULL DEFAULT (pg_current_xact_id()::text::bigint),
    role name NOT NULL DEFAULT session_user,
    at timestamptz NOT NULL,
    noted_at timestamptz NOT NULL DEFAULT date_trunc('second', clock_timestamp()),
    about text NOT NULL CHECK (about IN ('assembly', 'address', 'neither')),
    subject text NOT NULL CHECK (length(subject) <= 200 AND (about = 'neither' OR length(subject) > 0)),
    caller text NOT NULL CHECK (length(caller) <= 200),
    words text NOT NULL CHECK (length(words) <= 4000),
    answer text NOT NULL CHECK (length(answer) <= 4000),
    told boolean NOT NULL,
    owner text NOT NULL CHECK (length(owner) <= 200),
    due timestamptz,
    noted_by text NOT NULL CHECK (length(noted_by) BETWEEN 1 AND 200),
    source text NOT NULL CHECK (length(source) BETWEEN 1 AND 40),
    -- The uid of the event that an early version had kept in place of this call.
    from_event text,
    UNIQUE (utility, uid),
    UNIQUE (utility, id)
);
CREATE INDEX calls_new ON brimwater.calls (utility, tx, id);
CREATE INDEX calls_subject ON brimwater.calls (utility, subject, id);
CREATE INDEX calls_due ON brimwater.calls (utility, due) WHERE due IS NOT NULL;

CREATE TABLE brimwater.call_steps (
    id bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    utility text NOT NULL DEFAULT brimwater.utility(),
    uid text NOT NULL CHECK (length(uid) BETWEEN 1 AND 200),
    tx bigint NOT NULL DEFAULT (pg_current_xact_id()::text::bigint),
    role name NOT NULL DEFAULT session_user,
    call bigint NOT NULL,
    at timestamptz NOT NULL,
    step text NOT NULL CHECK (step IN ('kept', 'tried', 'lapsed')),
    note text NOT NULL CHECK (length(note) <= 4000),
    noted_by text NOT NULL CHECK (length(noted_by) BETWEEN 1 AND 200),
    UNIQUE (utility, uid),
    -- With the utility, so that nobody takes a step in another's call.
    FOREIGN KEY (utility, call) REFERENCES brimwater.calls (utility, id)
);
CREATE INDEX call_steps_new ON brimwater.call_steps (utility, tx, id);
CREATE INDEX call_steps_call ON brimwater.call_steps (utility, call, id);

-- Where everybody stands: what the events come to, kept by a trigger.
CREATE TABLE brimwater.standings (
    utility text NOT NULL,
    contact text NOT NULL,
    first_at timestamptz,
    last_at timestamptz,
    last_id bigint,
    last text,
    attempts integer NOT NULL DEFAULT 0,
    wrong_number boolean NOT NULL DEFAULT false,
    message_left boolean NOT NULL DEFAULT false,
    PRIMARY KEY (utility, contact)
);
CREATE INDEX standings_last ON brimwater.standings (utility, last_at);

CREATE TABLE brimwater.queue (
    utility text NOT NULL DEFAULT brimwater.utility(),
    position bigint NOT NULL,
    contact text NOT NULL,
    attempt smallint NOT NULL,
    caller integer,
    slot_start timestamptz,
    act_by timestamptz,
    language text NOT NULL,
    open boolean NOT NULL DEFAULT true,
    claimed_by text,
    claimed_until timestamptz,
    PRIMARY KEY (utility, position)
);
CREATE INDEX queue_open ON brimwater.queue (utility, position) WHERE open;
CREATE INDEX queue_contact ON brimwater.queue (utility, contact, position);
