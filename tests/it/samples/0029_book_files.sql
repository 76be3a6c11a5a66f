-- A document of the first entry.
INSERT INTO book_file (seq, sha256, kind, bytes) VALUES (1, 'a digest', 'text', 'bytes');
