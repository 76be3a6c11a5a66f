-- What a card told whoever looked at it, whether it was started or not: the incident book tells it beside what was charged. The same
-- card of a pack is one row, with when it was first and last shown.
CREATE TABLE card_shown (
    pack_id UUID NOT NULL REFERENCES pack (id),
    -- What for, with which kit, and what was to be set; no names of people.
    said TEXT NOT NULL,
    first_ms BIGINT NOT NULL,
    last_ms BIGINT NOT NULL,
    PRIMARY KEY (pack_id, said)
);
CREATE INDEX card_shown_last ON card_shown (last_ms);
