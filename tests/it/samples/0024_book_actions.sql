-- An action that is to be done, and who is named in the first entry.
INSERT INTO book_action (seq, incident, stands, by_on) VALUES (1, 'I-001', 'to_do', '2026-12-01');
INSERT INTO book_part_person (seq, name, person_id) VALUES (1, 'who_was_there', id(1));
