-- Photos of packs, made anew from what was sent: nothing of the original is kept but its digest.
CREATE TABLE photo (
    id UUID PRIMARY KEY,
    pack_id UUID NOT NULL REFERENCES pack (id),
    added_ms BIGINT NOT NULL,
    added_by UUID NOT NULL REFERENCES person (id),
    original_sha256 TEXT NOT NULL,
    width BIGINT NOT NULL,
    height BIGINT NOT NULL,
    -- JPEG: at most 1600 dots on its longer side, and at most 320.
    large BYTEA NOT NULL,
    small BYTEA NOT NULL
);
CREATE INDEX photo_pack ON photo (pack_id, added_ms);
