-- A spreadsheet on its way in, kept between the steps for whoever sent it, and swept after a day. `done`: what came of it.
CREATE TABLE sheet (
    id UUID PRIMARY KEY,
    person_id UUID NOT NULL REFERENCES person (id),
    holds TEXT NOT NULL,
    name TEXT NOT NULL,
    text TEXT NOT NULL,
    choices TEXT NOT NULL,
    done TEXT,
    at_ms BIGINT NOT NULL
);
CREATE INDEX sheet_by_person ON sheet (person_id, at_ms);
