-- Only when the demo club is ended.
DROP TRIGGER IF EXISTS activity_keeps;
DROP TRIGGER IF EXISTS activity_stays;
DROP TRIGGER IF EXISTS reading_keeps;
DROP TRIGGER IF EXISTS reading_stays;
DROP TRIGGER IF EXISTS book_entry_keeps;
DROP TRIGGER IF EXISTS book_entry_stays;
DROP TRIGGER IF EXISTS book_part_keeps;
DROP TRIGGER IF EXISTS book_file_keeps;
DROP TRIGGER IF EXISTS activity_adds;
DROP TRIGGER IF EXISTS reading_adds;
DROP TRIGGER IF EXISTS book_entry_adds;
DROP TRIGGER IF EXISTS book_part_adds;
DROP TRIGGER IF EXISTS book_file_adds;
