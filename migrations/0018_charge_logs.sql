-- Charge and discharge logs of packs: what each showed, and so many of its readings that it can be drawn. Of the file nothing
-- is kept but its digest.
CREATE TABLE charge_log (
    id UUID PRIMARY KEY,
    pack_id UUID NOT NULL REFERENCES pack (id),
    added_ms BIGINT NOT NULL,
    added_by UUID NOT NULL REFERENCES person (id),
    -- When it was logged, where that was told.
    logged_on TEXT,
    name TEXT NOT NULL,
    original_sha256 TEXT NOT NULL,
    -- Which of the logs in the file, the first being 0.
    run BIGINT NOT NULL,
    sign TEXT NOT NULL CHECK (sign IN ('charging', 'discharging')),
    seconds BIGINT NOT NULL,
    charged_uah BIGINT NOT NULL,
    discharged_uah BIGINT NOT NULL,
    -- Of the whole pack; none where it did not go all the way.
    capacity_uah BIGINT,
    capacity_doubt_uah BIGINT,
    -- Of a cell in the middle.
    resistance_uohm BIGINT,
    told TEXT NOT NULL,
    points TEXT NOT NULL
);
CREATE UNIQUE INDEX charge_log_once ON charge_log (pack_id, original_sha256, run);
CREATE INDEX charge_log_file ON charge_log (original_sha256);
CREATE INDEX charge_log_pack ON charge_log (pack_id, added_ms);

-- A log's file on its way in, kept until it is stored, for nobody but who sent it, and swept after a day.
CREATE TABLE charge_log_waiting (
    id UUID PRIMARY KEY,
    person_id UUID NOT NULL REFERENCES person (id),
    pack_id UUID NOT NULL REFERENCES pack (id),
    name TEXT NOT NULL,
    original_sha256 TEXT NOT NULL,
    file BYTEA NOT NULL,
    choices TEXT NOT NULL,
    at_ms BIGINT NOT NULL
);
CREATE INDEX charge_log_waiting_of ON charge_log_waiting (person_id, at_ms);
