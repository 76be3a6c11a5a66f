-- When the fire extinguisher at a place, and its smoke or heat detector, are next to be checked: days as YYYY-MM-DD; none where nobody said.
ALTER TABLE place ADD COLUMN extinguisher_check_due TEXT;
ALTER TABLE place ADD COLUMN detector_check_due TEXT;
