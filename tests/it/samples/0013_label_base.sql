-- An index only: no table to put rows into.
SELECT 1;
