-- Indexes only. What the log tells of the pack until the next step: registered, then taken back an hour ago; extending a
-- loan later shows it to nobody.
INSERT INTO activity (seq, at_ms, by_id, verb, subject, subject_id, before, after, hash) VALUES (2, {now} - 3600000, id(1), 'taken back', 'pack', id(8), 'null', 'null', 'a hash');
INSERT INTO activity (seq, at_ms, by_id, verb, subject, subject_id, before, after, hash) VALUES (3, {now} - 1800000, id(1), 'loan extended', 'pack', id(8), 'null', 'null', 'a hash');
UPDATE turn SET log_seq = 3;
