-- The cabinet stands in a cool room.
UPDATE place SET warmth_celsius = 16;
