-- What somebody is to be told, a row for each reason, thing, person and due day; and what carries it to them, a row for each
-- person, day and channel. A message gathers the reminders of its person that were decided for its day.
CREATE TABLE reminder (
    id UUID PRIMARY KEY,
    person_id UUID NOT NULL REFERENCES person (id),
    -- What a person may silence.
    kind TEXT NOT NULL,
    reason TEXT NOT NULL,
    -- What it is about: 'pack', 'loan', 'place', 'report', 'person' or 'club', a colon and its id.
    thing TEXT NOT NULL,
    due_on TEXT NOT NULL,
    -- The day in the hall for which it was decided.
    told_on TEXT NOT NULL,
    -- What they hold, or answer for, and must put right.
    is_must BOOLEAN NOT NULL,
    by_mail BOOLEAN NOT NULL,
    by_push BOOLEAN NOT NULL,
    title TEXT NOT NULL,
    why TEXT NOT NULL,
    next_words TEXT NOT NULL,
    href TEXT NOT NULL,
    decided_ms BIGINT NOT NULL,
    UNIQUE (person_id, reason, thing, due_on)
);
CREATE INDEX reminder_told ON reminder (person_id, told_on);

-- The outbox. A process that takes a message has it until its lease ends; then another may.
CREATE TABLE mail (
    id UUID PRIMARY KEY,
    person_id UUID NOT NULL REFERENCES person (id),
    on_day TEXT NOT NULL,
    channel TEXT NOT NULL CHECK (channel IN ('mail', 'push')),
    -- The same each time it is sent.
    message_id TEXT NOT NULL UNIQUE,
    -- held: there was nowhere to send it to; dead: given up.
    state TEXT NOT NULL CHECK (state IN ('waiting', 'sent', 'dead', 'held')),
    address TEXT NOT NULL,
    made_ms BIGINT NOT NULL,
    next_ms BIGINT NOT NULL,
    tries BIGINT NOT NULL,
    lease_id UUID,
    lease_ms BIGINT,
    sent_ms BIGINT,
    -- What the other side last answered.
    answer TEXT NOT NULL,
    UNIQUE (person_id, on_day, channel)
);
CREATE INDEX mail_waiting ON mail (channel, next_ms) WHERE state = 'waiting';
CREATE INDEX mail_made ON mail (made_ms);

-- The days that were decided: each once, in the transaction that made its reminders and messages.
CREATE TABLE reminder_day (
    day TEXT PRIMARY KEY,
    decided_ms BIGINT NOT NULL
);

-- Links out of a mail that was sent: a digest of each.
CREATE TABLE mail_token (
    token_hash TEXT PRIMARY KEY,
    mail_id UUID NOT NULL REFERENCES mail (id),
    made_ms BIGINT NOT NULL
);
CREATE INDEX mail_token_made ON mail_token (made_ms);

-- What a person gets of each kind, where they chose; else all.
CREATE TABLE reminder_choice (
    person_id UUID NOT NULL REFERENCES person (id),
    kind TEXT NOT NULL,
    by_mail BOOLEAN NOT NULL,
    by_push BOOLEAN NOT NULL,
    in_calendar BOOLEAN NOT NULL,
    PRIMARY KEY (person_id, kind)
);

-- Where mail reaches a person, and their own quiet hours (HH:MM; NULL: the club's).
CREATE TABLE reach (
    person_id UUID PRIMARY KEY REFERENCES person (id),
    address TEXT NOT NULL,
    quiet_from TEXT,
    quiet_to TEXT,
    -- Mail to this address was refused for good.
    dead_ms BIGINT,
    dead_words TEXT NOT NULL
);

-- The club's rules of reminders (JSON); what is missing is as it starts.
ALTER TABLE club ADD COLUMN reminders TEXT NOT NULL DEFAULT '{}';
