INSERT INTO report (id, token, reference, about, thing, seen, words, is_now, place_words, reach, gravity, rank, effect, is_verified, left_out, came_ms)
VALUES (id(94), 'token94', 'R-94', 'hall', 'socket', '', 'it smoulders', 'yes', '', '', 'danger', 5, 'none', FALSE, '', {now});
INSERT INTO mail (id, person_id, on_day, channel, message_id, state, address, made_ms, next_ms, tries, answer, kind)
VALUES (id(95), id(1), '2026-11-25 at-once', 'mail', 'at-once@millrace.example', 'sent', 'quinn@millrace.example', {now}, {now}, 1, '', 'at_once');
