-- The volts that were measured with a report and stored with it, as a reading keeps them; empty: none were.
ALTER TABLE report ADD COLUMN volts TEXT NOT NULL DEFAULT '';
