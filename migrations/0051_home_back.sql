-- When a pack was back from somebody's home: until it lay at its place for a while it is as warm as where it came from.
ALTER TABLE care ADD COLUMN home_back_ms BIGINT;
