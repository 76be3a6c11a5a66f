-- A pack's label: the code on it leads to the pack's page. A reissued or revoked label stays, so that its code is never
-- given again. Codes stand here as printed: a sheet can be printed once more, and to read one shows no more than the pack does.
CREATE TABLE label (
    code TEXT PRIMARY KEY,
    pack_id UUID NOT NULL REFERENCES pack (id),
    made_ms BIGINT NOT NULL,
    made_by UUID NOT NULL REFERENCES person (id),
    -- What its address began with when it was last put on a sheet.
    base TEXT NOT NULL,
    printed_ms BIGINT NOT NULL,
    ended_ms BIGINT,
    ended_by UUID REFERENCES person (id)
);
CREATE UNIQUE INDEX label_in_use ON label (pack_id) WHERE ended_ms IS NULL;

-- What somebody is gathering by scanning, on one device, until it is handed out or taken back.
CREATE TABLE gathering (
    session_id UUID PRIMARY KEY REFERENCES session (id) ON DELETE CASCADE,
    kind TEXT NOT NULL CHECK (kind IN ('hand_out', 'take_back')),
    borrower_id UUID REFERENCES person (id),
    items TEXT NOT NULL,
    -- Of a hand-out: what was typed of it before.
    due TEXT NOT NULL,
    purpose TEXT NOT NULL,
    at_ms BIGINT NOT NULL
);
