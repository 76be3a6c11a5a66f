-- Only when the demo club is ended.
DROP TRIGGER IF EXISTS activity_keeps ON activity;
DROP TRIGGER IF EXISTS reading_keeps ON reading;
DROP TRIGGER IF EXISTS book_entry_keeps ON book_entry;
DROP TRIGGER IF EXISTS book_part_keeps ON book_part;
DROP TRIGGER IF EXISTS book_file_keeps ON book_file;
