-- How warm a pack was taken to lie, and until when (JSON): what its full days cost is reckoned by it when its record is gone through anew.
-- None of packs that were not read since.
ALTER TABLE care ADD COLUMN warmth TEXT;
