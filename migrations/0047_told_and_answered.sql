-- Danger that nobody was told of yet: found as a pack was taken back or its volts were logged, not reported. What was found before is told.
ALTER TABLE finding ADD COLUMN is_to_tell BOOLEAN NOT NULL DEFAULT FALSE;
CREATE INDEX finding_to_tell ON finding (found_ms) WHERE is_to_tell = TRUE;
