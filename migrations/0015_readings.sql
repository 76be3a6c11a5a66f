-- What stands beside the volts of a reading: resistance of each cell in tenths of a milliohm (c:51,49,53), what it was read with,
-- the pack's temperature in degrees Celsius, charge put in or taken out since the reading before, and what it was about.
ALTER TABLE reading ADD COLUMN resistance TEXT CHECK (resistance LIKE 'c:_%');
ALTER TABLE reading ADD COLUMN meter TEXT CHECK (LENGTH(meter) BETWEEN 1 AND 60);
ALTER TABLE reading ADD COLUMN celsius BIGINT CHECK (celsius BETWEEN -20 AND 60);
ALTER TABLE reading ADD COLUMN put_in_mah BIGINT CHECK (put_in_mah BETWEEN 1 AND 999999);
ALTER TABLE reading ADD COLUMN taken_out_mah BIGINT
    CHECK (taken_out_mah IS NULL OR (taken_out_mah BETWEEN 1 AND 999999 AND put_in_mah IS NULL));
ALTER TABLE reading ADD COLUMN context TEXT
    CHECK (context IN ('at_home', 'after_use', 'after_charge', 'storage_check', 'capacity_run'));
-- The packs whose reading is oldest, never read ones first.
CREATE INDEX pack_read ON pack (life, (COALESCE(last_read_ms, 0)), number_key, number);
