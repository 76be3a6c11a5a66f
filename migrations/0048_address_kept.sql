-- Since when a person has this address, or asked for it to be tried again; empty: since before that was kept. What became of mail before
-- then says nothing of it.
ALTER TABLE reach ADD COLUMN kept_ms BIGINT;
