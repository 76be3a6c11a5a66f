-- Only when the demo club is ended.
DROP TRIGGER IF EXISTS activity_keeps ON activity;
DROP TRIGGER IF EXISTS reading_keeps ON reading;
DROP TRIGGER IF EXISTS book_entry_keeps ON book_entry;
DROP TRIGGER IF EXISTS book_part_keeps ON book_part;
DROP TRIGGER IF EXISTS book_file_keeps ON book_file;
DROP TRIGGER IF EXISTS activity_stays ON activity;
DROP TRIGGER IF EXISTS reading_stays ON reading;
DROP TRIGGER IF EXISTS book_entry_stays ON book_entry;
DROP TRIGGER IF EXISTS book_part_stays ON book_part;
DROP TRIGGER IF EXISTS book_file_stays ON book_file;
