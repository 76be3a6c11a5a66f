UPDATE finding SET is_to_tell = TRUE WHERE id = id(15);
INSERT INTO report_answer (id, report_id, words, at_ms, by_id) VALUES (id(140), id(94), 'Somebody looks at it.', {now}, id(1));
