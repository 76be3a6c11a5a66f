-- A report that waited on a phone, about a charger.
INSERT INTO report (id, token, reference, about, thing, seen, words, is_now, place_words, reach, gravity, rank, effect, is_verified, left_out, made_ms, came_ms, phone_key, phone_hash, photo_refused)
VALUES (id(994), '5123456789abcdefghjkmnopqr', 'K7M4QF', 'hall', 'charger', '', 'it hums', 'not_said', '', '', 'to_mend', 3, 'none', FALSE, '', {now}, {now}, 'a key', 'a digest', 'That is no photo that can be read.');
