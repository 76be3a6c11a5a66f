UPDATE reach SET unconfirmed_ms = {now} WHERE person_id = id(1);
INSERT INTO mail (id, person_id, on_day, channel, message_id, state, address, made_ms, next_ms, tries, answer, is_to_confirm)
VALUES (id(96), id(1), '2026-11-25 to-confirm', 'mail', 'to-confirm@millrace.example', 'sent', 'quinn@millrace.example', {now}, {now}, 1, '', TRUE);
