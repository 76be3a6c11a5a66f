-- A pack that came from an event or was put on a storage round is due as soon as it is read outside of its band.
ALTER TABLE care ADD COLUMN is_due_when_read BOOLEAN NOT NULL DEFAULT FALSE;
