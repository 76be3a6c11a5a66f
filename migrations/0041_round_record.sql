-- What the record of a storage round keeps of each pack as it was closed: when and by whom its volts were read, why it was left alone
-- and what was to be done next, as its own page said it then.
ALTER TABLE round_pack ADD COLUMN read_ms BIGINT;
ALTER TABLE round_pack ADD COLUMN read_by UUID REFERENCES person (id);
ALTER TABLE round_pack ADD COLUMN why TEXT;
