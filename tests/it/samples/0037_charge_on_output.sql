-- An index only.
UPDATE club SET is_demo = is_demo;
