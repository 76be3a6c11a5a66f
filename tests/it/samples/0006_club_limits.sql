-- The club is stricter than the hard stop of its packs.
UPDATE club SET limits = '{"reading_days":60,"above_minimum_mv":200}';
