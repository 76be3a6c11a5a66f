-- The charge that runs was handed to somebody else a minute ago.
UPDATE charge SET watched_ms = {now} - 60000, handed_count = 1 WHERE ended_ms IS NULL;
