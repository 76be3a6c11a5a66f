-- A token with which a program of a person's uses the API as that person. Its secret is kept as a hash.
CREATE TABLE token (
    id UUID PRIMARY KEY,
    token_hash TEXT NOT NULL UNIQUE,
    person_id UUID NOT NULL REFERENCES person (id),
    name TEXT NOT NULL,
    may_change BOOLEAN NOT NULL,
    made_ms BIGINT NOT NULL,
    used_ms BIGINT,
    ends_ms BIGINT NOT NULL
);
CREATE INDEX token_by_person ON token (person_id, made_ms);
