-- Storage rounds: the packs that came back from an event, read and put to storage one by one, on whichever phone.
CREATE TABLE storage_round (
    id UUID PRIMARY KEY,
    name TEXT NOT NULL,
    event_id UUID REFERENCES event (id),
    opened_by UUID NOT NULL REFERENCES person (id),
    opened_ms BIGINT NOT NULL,
    closed_by UUID REFERENCES person (id),
    closed_ms BIGINT,
    CHECK ((closed_ms IS NULL) = (closed_by IS NULL))
);
CREATE INDEX storage_round_opened ON storage_round (opened_ms);
-- A pack came back when it was added, and nobody had looked at it. Where it was closed unfinished: how it stood then.
CREATE TABLE round_pack (
    round_id UUID NOT NULL REFERENCES storage_round (id),
    pack_id UUID NOT NULL REFERENCES pack (id),
    added_ms BIGINT NOT NULL,
    home_id UUID REFERENCES person (id),
    home_by TEXT,
    home_ms BIGINT,
    stood TEXT,
    volts TEXT,
    PRIMARY KEY (round_id, pack_id),
    CHECK ((home_id IS NULL) = (home_by IS NULL))
);
CREATE INDEX round_of_pack ON round_pack (pack_id, added_ms);
-- Who took a pack home unfinished, and by which day it is to be done; until it was read in its band, or went out on a loan.
ALTER TABLE care ADD COLUMN home_id UUID REFERENCES person (id);
ALTER TABLE care ADD COLUMN home_by TEXT;
