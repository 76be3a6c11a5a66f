-- A report that waits on a phone is sent until it arrives: the key that the phone made for it, and a digest of what it sent.
-- They stay with the report, since a phone may lie in a bag for weeks between two tries: sent twice, it exists once.
ALTER TABLE report ADD COLUMN phone_key TEXT;
ALTER TABLE report ADD COLUMN phone_hash TEXT;
CREATE UNIQUE INDEX report_phone_key ON report (phone_key) WHERE phone_key IS NOT NULL;

-- Why its photo could not be kept; gone once another one is.
ALTER TABLE report ADD COLUMN photo_refused TEXT NOT NULL DEFAULT '';
