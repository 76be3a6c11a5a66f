INSERT INTO push_key (id, private_key, public_key) VALUES (1, 'not a key', 'not a key');
INSERT INTO phone (id, person_id, session_id, device, endpoint, p256dh, auth, made_ms, ended_words)
VALUES (id(92), id(1), id(93), 'a phone', 'https://push.example/send/quinn', 'a point', 'a secret', {now}, '');
INSERT INTO push_done (mail_id, phone_id, was_taken) VALUES (id(91), id(92), TRUE);
