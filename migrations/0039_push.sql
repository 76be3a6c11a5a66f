-- The key by which push services know this server: made once, and kept here alone.
CREATE TABLE push_key (
    id BIGINT PRIMARY KEY CHECK (id = 1),
    private_key TEXT NOT NULL,
    public_key TEXT NOT NULL
);

-- A phone that asked for reminders: where its push service takes them, and with what they are encrypted for it.
CREATE TABLE phone (
    id UUID PRIMARY KEY,
    person_id UUID NOT NULL REFERENCES person (id),
    -- The session in which it asked: signing out there ends it.
    session_id UUID NOT NULL,
    device TEXT NOT NULL,
    endpoint TEXT NOT NULL UNIQUE,
    p256dh TEXT NOT NULL,
    auth TEXT NOT NULL,
    made_ms BIGINT NOT NULL,
    -- Its push service took something last.
    taken_ms BIGINT,
    -- Its push service knows it no more, and what it answered.
    ended_ms BIGINT,
    ended_words TEXT NOT NULL
);
CREATE INDEX phone_person ON phone (person_id);
CREATE INDEX phone_session ON phone (session_id);

-- The phones that a message need not be sent to any more: taken, or refused for good. What failed is tried again for the others alone.
CREATE TABLE push_done (
    mail_id UUID NOT NULL REFERENCES mail (id),
    phone_id UUID NOT NULL,
    was_taken BOOLEAN NOT NULL,
    PRIMARY KEY (mail_id, phone_id)
);
