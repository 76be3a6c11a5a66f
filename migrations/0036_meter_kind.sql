-- How a meter finds a resistance: by the sag under a load, or by an alternating current of about 1 kHz, which shows about half.
ALTER TABLE reading ADD COLUMN meter_kind TEXT CHECK (meter_kind IN ('load', 'alternating'));
