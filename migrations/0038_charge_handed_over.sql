-- A charge that runs is handed to somebody else: since when they stay with it, and how often it was handed over, so that two who
-- hand it over at once do not both succeed.
ALTER TABLE charge ADD COLUMN watched_ms BIGINT;
ALTER TABLE charge ADD COLUMN handed_count BIGINT NOT NULL DEFAULT 0;
