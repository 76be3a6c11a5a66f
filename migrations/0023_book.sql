-- The incident book: each entry as its one text, with the digest that the next one names. Guards let none be changed or deleted.
CREATE TABLE book_entry (
    seq BIGINT PRIMARY KEY,
    incident TEXT NOT NULL,
    text TEXT NOT NULL,
    hash TEXT NOT NULL
);
CREATE INDEX book_entry_incident ON book_entry (incident, seq);

-- What in an entry is about a person, kept beside it: it can be erased, never changed.
CREATE TABLE book_part (
    seq BIGINT NOT NULL REFERENCES book_entry (seq),
    name TEXT NOT NULL,
    salt TEXT NOT NULL,
    words TEXT NOT NULL,
    PRIMARY KEY (seq, name)
);

-- The end of the book.
ALTER TABLE turn ADD COLUMN book_count BIGINT NOT NULL DEFAULT 0;
ALTER TABLE turn ADD COLUMN book_hash TEXT NOT NULL DEFAULT '';
ALTER TABLE turn ADD COLUMN book_at_ms BIGINT NOT NULL DEFAULT 0;
