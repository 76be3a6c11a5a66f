-- Since when an address for mail is kept that nobody could be asked about, since no mail server was set; empty once they confirmed it, of any
-- other address, and of all that was kept before.
ALTER TABLE reach ADD COLUMN unasked_ms BIGINT;
