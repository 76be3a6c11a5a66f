-- Somebody had it in hand since.
UPDATE pack SET seen_ms = {now} - 1200000 WHERE id = id(8) AND seen_ms = {now} - 3600000;
