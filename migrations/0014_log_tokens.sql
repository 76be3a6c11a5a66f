-- Which token an entry of the log was made with. What tokens were called stays as long as their person is not erased.
ALTER TABLE activity ADD COLUMN by_token UUID;
CREATE TABLE token_name (
    token_id UUID PRIMARY KEY,
    person_id UUID NOT NULL REFERENCES person (id),
    name TEXT NOT NULL
);
CREATE INDEX token_name_by_person ON token_name (person_id);
INSERT INTO token_name (token_id, person_id, name) SELECT id, person_id, name FROM token;
