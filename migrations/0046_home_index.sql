-- Whoever took packs home is asked for with every list of people; few packs are at home.
CREATE INDEX care_home ON care (home_id) WHERE home_id IS NOT NULL;
