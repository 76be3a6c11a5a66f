INSERT INTO calendar (person_id, token_hash, made_ms) VALUES (id(1), 'c0ffee', {now});
