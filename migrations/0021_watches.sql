-- A pack in quarantine is watched: since when, and when somebody looks next.
CREATE TABLE watch (
    id UUID PRIMARY KEY,
    pack_id UUID NOT NULL REFERENCES pack (id),
    began_ms BIGINT NOT NULL,
    began_by UUID REFERENCES person (id),
    -- None: it is over, though the pack still lies there.
    next_ms BIGINT,
    ended_ms BIGINT,
    ended_by UUID REFERENCES person (id),
    how TEXT CHECK (how IN ('released', 'gone', 'disposed')),
    CHECK ((ended_ms IS NULL) = (how IS NULL))
);
CREATE UNIQUE INDEX watch_now ON watch (pack_id) WHERE ended_ms IS NULL;
CREATE INDEX watch_next ON watch (next_ms) WHERE ended_ms IS NULL;
-- What is in quarantine already is watched from when it came there.
INSERT INTO watch (id, pack_id, began_ms, next_ms) SELECT id, id, state_ms, state_ms + 900000 FROM pack WHERE state = 'quarantine';

-- A look from a distance: codes of the signs that were seen, with a space between; empty: it lay there as it lay.
CREATE TABLE watch_look (
    id UUID PRIMARY KEY,
    watch_id UUID NOT NULL REFERENCES watch (id),
    at_ms BIGINT NOT NULL,
    by_id UUID NOT NULL REFERENCES person (id),
    signs TEXT NOT NULL
);
CREATE INDEX watch_look_of ON watch_look (watch_id, at_ms);

-- How a retired pack was got rid of, for good.
CREATE TABLE disposal (
    pack_id UUID PRIMARY KEY REFERENCES pack (id),
    harmless TEXT NOT NULL CHECK (harmless IN ('discharged', 'packed', 'burnt_out')),
    handed_in TEXT NOT NULL,
    receipt TEXT NOT NULL,
    disposed_on TEXT NOT NULL,
    mass_g BIGINT,
    at_ms BIGINT NOT NULL,
    by_id UUID NOT NULL REFERENCES person (id),
    original_sha256 TEXT,
    photo BYTEA
);
