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
-- INSERT OR REPLACE takes a row away without asking who guards against that. `rowid`: it finds a row by that too; where none was given it is -1.
CREATE TRIGGER IF NOT EXISTS activity_adds BEFORE INSERT ON activity WHEN EXISTS (SELECT 1 FROM activity WHERE seq = NEW.seq OR rowid = NEW.rowid) BEGIN SELECT RAISE(ABORT, 'the log is append-only'); END;
CREATE TRIGGER IF NOT EXISTS reading_adds BEFORE INSERT ON reading WHEN EXISTS (SELECT 1 FROM reading WHERE id = NEW.id OR rowid = NEW.rowid) BEGIN SELECT RAISE(ABORT, 'readings are append-only'); END;
CREATE TRIGGER IF NOT EXISTS book_entry_adds BEFORE INSERT ON book_entry WHEN EXISTS (SELECT 1 FROM book_entry WHERE seq = NEW.seq OR rowid = NEW.rowid) BEGIN SELECT RAISE(ABORT, 'the incident book is append-only'); END;
CREATE TRIGGER IF NOT EXISTS book_part_adds BEFORE INSERT ON book_part WHEN EXISTS (SELECT 1 FROM book_part WHERE seq = NEW.seq AND name = NEW.name OR rowid = NEW.rowid) BEGIN SELECT RAISE(ABORT, 'the incident book is append-only'); END;
CREATE TRIGGER IF NOT EXISTS book_file_adds BEFORE INSERT ON book_file WHEN EXISTS (SELECT 1 FROM book_file WHERE seq = NEW.seq AND sha256 = NEW.sha256 OR rowid = NEW.rowid) BEGIN SELECT RAISE(ABORT, 'the incident book is append-only'); END;
