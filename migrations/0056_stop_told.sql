-- When who stays with a charge was told at once that it is to be stopped, since what it charges with was set aside.
ALTER TABLE charge ADD COLUMN stop_told_ms BIGINT;
