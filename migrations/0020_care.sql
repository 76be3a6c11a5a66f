-- Storage care. What is kept of a pack as of just before its latest reading, so that nobody goes through the old ones: since when it
-- lies above its storage band, since when it is back and was not put to storage, the days it lay above the band (JSON), when its
-- cells were first read, and what it loses by lying where its readings told it (percent a month: least, likely, most).
CREATE TABLE care (
    pack_id UUID PRIMARY KEY REFERENCES pack (id),
    above_ms BIGINT,
    back_ms BIGINT,
    first_check_ms BIGINT,
    lain TEXT NOT NULL,
    loses TEXT
);
-- What happened since a pack was last read, however much lies before.
CREATE INDEX charge_ended ON charge (pack_id, ended_ms);
CREATE INDEX lent_pack_back ON lent (pack_id, closed_ms) WHERE pack_id IS NOT NULL;
-- The club's rules of storage care (JSON); what is missing is as it starts.
ALTER TABLE club ADD COLUMN care TEXT NOT NULL DEFAULT '{}';

-- Where packs are taken to. Its instants are the start of its first day and the end of its last in the hall, or when it was ended.
CREATE TABLE event (
    id UUID PRIMARY KEY,
    name TEXT NOT NULL,
    place TEXT NOT NULL,
    first_on TEXT NOT NULL,
    last_on TEXT NOT NULL,
    starts_ms BIGINT NOT NULL,
    ends_ms BIGINT NOT NULL,
    made_by UUID NOT NULL REFERENCES person (id),
    made_ms BIGINT NOT NULL,
    ended_ms BIGINT,
    CHECK (last_on >= first_on)
);
CREATE INDEX event_ends ON event (ends_ms);
CREATE TABLE event_pack (
    event_id UUID NOT NULL REFERENCES event (id),
    pack_id UUID NOT NULL REFERENCES pack (id),
    added_ms BIGINT NOT NULL,
    PRIMARY KEY (event_id, pack_id)
);
CREATE INDEX event_of_pack ON event_pack (pack_id);
