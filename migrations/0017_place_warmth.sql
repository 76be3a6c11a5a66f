-- How warm a place usually is, whole degrees Celsius: a charge asks for it where nobody read a thermometer.
ALTER TABLE place ADD COLUMN warmth_celsius BIGINT;
