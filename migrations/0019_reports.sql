-- What the club wrote down for the first minute (number to call, address, its own plan) and for quarantine: JSON.
ALTER TABLE club ADD COLUMN hall TEXT NOT NULL DEFAULT '';

-- A code on the wall: what has no label is reported by it. One that was ended stays, so that it is never given again.
CREATE TABLE poster (
    id UUID PRIMARY KEY,
    code TEXT NOT NULL UNIQUE,
    -- Where it hangs.
    name TEXT NOT NULL,
    base TEXT NOT NULL,
    made_ms BIGINT NOT NULL,
    made_by UUID NOT NULL REFERENCES person (id),
    ended_ms BIGINT,
    ended_by UUID REFERENCES person (id)
);

-- What somebody saw and told, signed in or not. What it does to a pack is a finding; this is what was said, and what became of it.
CREATE TABLE report (
    id UUID PRIMARY KEY,
    -- Of the page where whoever sent it sees whether it was read: 130 random bits, and it shows no more than they told.
    token TEXT NOT NULL UNIQUE,
    reference TEXT NOT NULL UNIQUE,
    about TEXT NOT NULL CHECK (about IN ('pack', 'hall', 'near_miss', 'wrong_setting', 'message')),
    -- Of what has no label.
    thing TEXT NOT NULL,
    pack_id UUID REFERENCES pack (id),
    poster_id UUID REFERENCES poster (id),
    -- Codes of what was seen, with a space between.
    seen TEXT NOT NULL,
    crash TEXT,
    words TEXT NOT NULL,
    is_now TEXT NOT NULL CHECK (is_now IN ('yes', 'no', 'not_said')),
    place_words TEXT NOT NULL,
    -- How to reach who sent it, where they said so.
    reach TEXT NOT NULL,
    gravity TEXT NOT NULL,
    -- The graver, the higher.
    rank BIGINT NOT NULL,
    effect TEXT NOT NULL CHECK (effect IN ('quarantined', 'set_aside', 'none')),
    finding_id UUID REFERENCES finding (id),
    is_verified BOOLEAN NOT NULL,
    by_id UUID REFERENCES person (id),
    -- A digest of a stranger's network, forgotten after two days.
    network TEXT,
    -- What could not be kept of what was sent, and why.
    left_out TEXT NOT NULL,
    -- When it was made on the phone, where it was sent later.
    made_ms BIGINT,
    came_ms BIGINT NOT NULL,
    read_ms BIGINT,
    read_by UUID REFERENCES person (id),
    looked_ms BIGINT,
    looked_by UUID REFERENCES person (id),
    was_so BOOLEAN,
    looked_words TEXT NOT NULL DEFAULT '',
    answer TEXT NOT NULL DEFAULT '',
    answered_ms BIGINT,
    answered_by UUID REFERENCES person (id),
    merged_into UUID REFERENCES report (id)
);
CREATE INDEX report_unread ON report (rank, came_ms) WHERE read_ms IS NULL;
CREATE INDEX report_came ON report (came_ms);
CREATE INDEX report_pack ON report (pack_id, came_ms) WHERE pack_id IS NOT NULL;
CREATE INDEX report_network ON report (network, came_ms) WHERE network IS NOT NULL;

-- One photo of a report, made anew from what was sent.
CREATE TABLE report_photo (
    report_id UUID PRIMARY KEY REFERENCES report (id),
    added_ms BIGINT NOT NULL,
    original_sha256 TEXT NOT NULL,
    width BIGINT NOT NULL,
    height BIGINT NOT NULL,
    large BYTEA NOT NULL,
    small BYTEA NOT NULL
);
