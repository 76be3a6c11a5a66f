-- Log and readings are added to, never changed.
CREATE TRIGGER IF NOT EXISTS activity_keeps BEFORE UPDATE ON activity BEGIN SELECT RAISE(ABORT, 'the log is append-only'); END;
CREATE TRIGGER IF NOT EXISTS activity_stays BEFORE DELETE ON activity BEGIN SELECT RAISE(ABORT, 'the log is append-only'); END;
CREATE TRIGGER IF NOT EXISTS reading_keeps BEFORE UPDATE ON reading BEGIN SELECT RAISE(ABORT, 'readings are append-only'); END;
CREATE TRIGGER IF NOT EXISTS reading_stays BEFORE DELETE ON reading BEGIN SELECT RAISE(ABORT, 'readings are append-only'); END;
