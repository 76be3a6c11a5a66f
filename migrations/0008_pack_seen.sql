-- When somebody last had the pack in hand or before their eyes. The log tells it of what is on record: by all that was
-- done with the pack but for what is done on the record alone.
ALTER TABLE pack ADD COLUMN seen_ms BIGINT NOT NULL DEFAULT 0;
UPDATE pack SET seen_ms = COALESCE((SELECT MAX(a.at_ms) FROM activity a WHERE a.subject_id = pack.id AND a.subject = 'pack'
    AND a.verb NOT IN ('loan extended', 'changed its details', 'recorded as lost', 'withdrawn', 'corrected a reading',
    'take-back undone', 'cautioned for a batch sister', 'weighed by the club''s new limits')), created_ms);
DROP INDEX pack_seen;
CREATE INDEX pack_seen ON pack (life, seen_ms, number_key, number);
