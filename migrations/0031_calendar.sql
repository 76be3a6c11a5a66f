-- The secret address at which a person's calendar programs read what is due for them; kept as a hash, one for each person.
CREATE TABLE calendar (
    person_id UUID PRIMARY KEY REFERENCES person (id),
    token_hash TEXT NOT NULL UNIQUE,
    made_ms BIGINT NOT NULL
);
