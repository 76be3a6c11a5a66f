-- Log, readings and the incident book are added to, never changed.
CREATE OR REPLACE FUNCTION is_append_only() RETURNS trigger LANGUAGE plpgsql AS
$$ BEGIN RAISE EXCEPTION '% is append-only', TG_TABLE_NAME; END $$;
DROP TRIGGER IF EXISTS activity_keeps ON activity;
CREATE TRIGGER activity_keeps BEFORE UPDATE OR DELETE ON activity FOR EACH ROW EXECUTE FUNCTION is_append_only();
DROP TRIGGER IF EXISTS reading_keeps ON reading;
CREATE TRIGGER reading_keeps BEFORE UPDATE OR DELETE ON reading FOR EACH ROW EXECUTE FUNCTION is_append_only();
DROP TRIGGER IF EXISTS book_entry_keeps ON book_entry;
CREATE TRIGGER book_entry_keeps BEFORE UPDATE OR DELETE ON book_entry FOR EACH ROW EXECUTE FUNCTION is_append_only();
-- What is about a person can be erased, not changed.
DROP TRIGGER IF EXISTS book_part_keeps ON book_part;
CREATE TRIGGER book_part_keeps BEFORE UPDATE ON book_part FOR EACH ROW EXECUTE FUNCTION is_append_only();
DROP TRIGGER IF EXISTS book_file_keeps ON book_file;
CREATE TRIGGER book_file_keeps BEFORE UPDATE ON book_file FOR EACH ROW EXECUTE FUNCTION is_append_only();
-- TRUNCATE asks nobody who is asked row by row.
DROP TRIGGER IF EXISTS activity_stays ON activity;
CREATE TRIGGER activity_stays BEFORE TRUNCATE ON activity FOR EACH STATEMENT EXECUTE FUNCTION is_append_only();
DROP TRIGGER IF EXISTS reading_stays ON reading;
CREATE TRIGGER reading_stays BEFORE TRUNCATE ON reading FOR EACH STATEMENT EXECUTE FUNCTION is_append_only();
DROP TRIGGER IF EXISTS book_entry_stays ON book_entry;
CREATE TRIGGER book_entry_stays BEFORE TRUNCATE ON book_entry FOR EACH STATEMENT EXECUTE FUNCTION is_append_only();
DROP TRIGGER IF EXISTS book_part_stays ON book_part;
CREATE TRIGGER book_part_stays BEFORE TRUNCATE ON book_part FOR EACH STATEMENT EXECUTE FUNCTION is_append_only();
DROP TRIGGER IF EXISTS book_file_stays ON book_file;
CREATE TRIGGER book_file_stays BEFORE TRUNCATE ON book_file FOR EACH STATEMENT EXECUTE FUNCTION is_append_only();
