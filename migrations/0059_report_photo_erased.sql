-- When the photo of a report was erased: it is then not taken once more from a phone that still holds it.
ALTER TABLE report ADD COLUMN photo_erased_ms BIGINT;
