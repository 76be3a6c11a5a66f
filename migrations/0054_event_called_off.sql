-- When an event that had not begun was called off; its packs are on its list no more.
ALTER TABLE event ADD COLUMN called_off_ms BIGINT;
