-- One entry that holds in nothing but its place, and what it commits to.
INSERT INTO book_entry (seq, incident, text, hash) VALUES (1, 'I-001', '{}', 'a digest');
INSERT INTO book_part (seq, name, salt, words) VALUES (1, 'who_was_there', '01', 'Ada');
