-- All limits a club may tighten stand in one column, as JSON: what is missing is as loose as it may be.
ALTER TABLE club ADD COLUMN limits TEXT NOT NULL DEFAULT '{}';
UPDATE club SET limits = '{"reading_days":' || reading_days || ',"spread_watch_mv":' || spread_watch_mv
    || ',"spread_wide_mv":' || spread_wide_mv || '}';
ALTER TABLE club DROP COLUMN reading_days;
ALTER TABLE club DROP COLUMN spread_watch_mv;
ALTER TABLE club DROP COLUMN spread_wide_mv;
