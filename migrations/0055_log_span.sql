-- Between when what a log shows may have gone on: on the day that was told, else soon before it was brought in. Logs from before are
-- taken to be of the day before they came.
ALTER TABLE charge_log ADD COLUMN from_ms BIGINT NOT NULL DEFAULT 0;
ALTER TABLE charge_log ADD COLUMN to_ms BIGINT NOT NULL DEFAULT 0;
UPDATE charge_log SET from_ms = added_ms - 86400000, to_ms = added_ms;
