-- The incident that began with a report.
ALTER TABLE report ADD COLUMN incident TEXT NOT NULL DEFAULT '';

-- Photos, made anew, and documents, as they were sent, that belong to an entry of the incident book: it names the digest of these bytes.
-- They can be erased, never changed.
CREATE TABLE book_file (
    seq BIGINT NOT NULL REFERENCES book_entry (seq),
    sha256 TEXT NOT NULL,
    kind TEXT NOT NULL CHECK (kind IN ('photo', 'pdf', 'text')),
    bytes BYTEA NOT NULL,
    PRIMARY KEY (seq, sha256)
);
