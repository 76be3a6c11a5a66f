INSERT INTO sheet (id, person_id, holds, name, text, choices, done, at_ms) VALUES
    (id(90), id(1), 'packs', 'packs.csv', 'Number,Design', '{}', NULL, {now});
