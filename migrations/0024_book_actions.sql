-- What is to be done after an incident, as its entries say it stands: so that what is due is found without reading the book.
CREATE TABLE book_action (
    seq BIGINT PRIMARY KEY REFERENCES book_entry (seq),
    incident TEXT NOT NULL,
    stands TEXT NOT NULL CHECK (stands IN ('to_do', 'to_look_at', 'worked', 'did_not_work', 'replaced')),
    -- The day by which something is to happen as it stands.
    by_on TEXT NOT NULL
);
CREATE INDEX book_action_waiting ON book_action (by_on) WHERE stands IN ('to_do', 'to_look_at', 'did_not_work');

-- Who of the club is named in which part, so that erasing them finds it though they were called otherwise since.
CREATE TABLE book_part_person (
    seq BIGINT NOT NULL,
    name TEXT NOT NULL,
    person_id UUID NOT NULL REFERENCES person (id),
    PRIMARY KEY (seq, name, person_id),
    FOREIGN KEY (seq, name) REFERENCES book_part (seq, name) ON DELETE CASCADE
);
CREATE INDEX book_part_person_of ON book_part_person (person_id);

-- What the club settled for what goes wrong: how long a pack is watched, what of injuries stands in the book. JSON.
ALTER TABLE club ADD COLUMN in_danger TEXT NOT NULL DEFAULT '';
