-- Log, readings and the incident book are added to, never changed.
CREATE TRIGGER IF NOT EXISTS activity_keeps BEFORE UPDATE ON activity BEGIN SELECT RAISE(ABORT, 'the log is append-only'); END;
CREATE TRIGGER IF NOT EXISTS activity_stays BEFORE DELETE ON activity BEGIN SELECT RAISE(ABORT, 'the log is append-only'); END;
CREATE TRIGGER IF NOT EXISTS reading_keeps BEFORE UPDATE ON reading BEGIN SELECT RAISE(ABORT, 'readings are append-only'); END;
CREATE TRIGGER IF NOT EXISTS reading_stays BEFORE DELETE ON reading BEGIN SELECT RAISE(ABORT, 'readings are append-only'); END;
CREATE TRIGGER IF NOT EXISTS book_entry_keeps BEFORE UPDATE ON book_entry BEGIN SELECT RAISE(ABORT, 'the incident book is append-only'); END;
CREATE TRIGGER IF NOT EXISTS book_entry_stays BEFORE DELETE ON book_entry BEGIN SELECT RAISE(ABORT, 'the incident book is append-only'); END;
-- What is about a person can be erased, not changed.
CREATE TRIGGER IF NOT EXISTS book_file_keeps BEFORE UPDATE ON book_file BEGIN SELECT RAISE(ABORT, 'the incident book is append-only'); END;
CREATE TRIGGER IF NOT EXISTS book_part_keeps BEFORE UPDATE ON book_part BEGIN SELECT RAISE(ABORT, 'the incident book is append-only'); END;
