-- The tables of the first version of the log, as released.
CREATE TABLE IF NOT EXISTS meta (key TEXT PRIMARY KEY, value TEXT NOT NULL) WITHOUT ROWID;
CREATE TABLE IF NOT EXISTS events (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    uid TEXT NOT NULL UNIQUE,
    at TEXT NOT NULL,
    noted_at TEXT NOT NULL,
    contact TEXT NOT NULL CHECK (length(contact) BETWEEN 1 AND 200),
    outcome TEXT NOT NULL CHECK (outcome IN ('reached','message-left','no-answer','wrong-number','declined','done')),
    note TEXT NOT NULL DEFAULT '',
    by TEXT NOT NULL CHECK (length(by) BETWEEN 1 AND 200),
    source TEXT NOT NULL
);
CREATE INDEX IF NOT EXISTS events_contact ON events (contact, id);
CREATE TRIGGER IF NOT EXISTS events_are_kept BEFORE DELETE ON events
    BEGIN SELECT RAISE(ABORT, 'events are only added, never deleted'); END;
CREATE TRIGGER IF NOT EXISTS events_stand BEFORE UPDATE ON events
    BEGIN SELECT RAISE(ABORT, 'events are only added, never changed'); END;
CREATE TABLE IF NOT EXISTS queue (
    position INTEGER PRIMARY KEY,
    contact TEXT NOT NULL,
    attempt INTEGER NOT NULL,
    caller INTEGER,
    slot_start TEXT,
    act_by TEXT,
    language TEXT NOT NULL,
    open INTEGER NOT NULL DEFAULT 1,
    claimed_by TEXT,
    claimed_until TEXT
);
CREATE INDEX IF NOT EXISTS queue_open ON queue (open, position);
CREATE INDEX IF NOT EXISTS queue_contact ON queue (contact, position);
CREATE TRIGGER IF NOT EXISTS events_settle AFTER INSERT ON events
    WHEN NEW.outcome IN ('reached','declined','done','wrong-number')
    BEGIN UPDATE queue SET open = 0 WHERE contact = NEW.contact; END;
CREATE TRIGGER IF NOT EXISTS events_attempt AFTER INSERT ON events
    WHEN NEW.outcome IN ('message-left','no-answer')
    BEGIN UPDATE queue SET open = 0 WHERE position =
        (SELECT min(position) FROM queue WHERE contact = NEW.contact AND open = 1); END;
PRAGMA application_id = 1113017415; PRAGMA user_version = 1;
INSERT INTO meta (key, value) VALUES ('programme', 'default');
