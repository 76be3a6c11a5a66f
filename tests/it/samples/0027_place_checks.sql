-- The extinguisher's check is past, the detector's to come.
UPDATE place SET extinguisher_check_due = '2026-11-20', detector_check_due = '2027-05-01';
