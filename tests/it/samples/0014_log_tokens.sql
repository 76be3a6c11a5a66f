INSERT INTO token_name (token_id, person_id, name) VALUES (id(92), id(1), 'a program that ended');
