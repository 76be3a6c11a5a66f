-- When the last day of an event begins in the hall, or the day on which it was ended: what was taken back or read as just used on that
-- day is back from then. Of events kept before, the day before their end, which is the same unless the clocks changed on it.
ALTER TABLE event ADD COLUMN last_day_ms BIGINT NOT NULL DEFAULT 0;
UPDATE event SET last_day_ms = CASE WHEN ends_ms - 86400000 > starts_ms THEN ends_ms - 86400000 ELSE starts_ms END;
