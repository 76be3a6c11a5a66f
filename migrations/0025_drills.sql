-- The card for the wall: who does what and where things are, as JSON; and by which day the next drill is to be held, where the club set one.
ALTER TABLE club ADD COLUMN wall_plan TEXT NOT NULL DEFAULT '';
ALTER TABLE club ADD COLUMN drill_by TEXT;

-- Drills of the first minute. Seconds from the alarm; none where nobody looked at the clock.
CREATE TABLE drill (
    id UUID PRIMARY KEY,
    held_on TEXT NOT NULL,
    led_by UUID NOT NULL REFERENCES person (id),
    people BIGINT NOT NULL CHECK (people > 0),
    out_s BIGINT,
    called_s BIGINT,
    counted_s BIGINT,
    went_well TEXT NOT NULL,
    to_change TEXT NOT NULL,
    noted_by UUID NOT NULL REFERENCES person (id),
    noted_ms BIGINT NOT NULL
);
CREATE INDEX drill_held ON drill (held_on, noted_ms);
