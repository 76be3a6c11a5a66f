INSERT INTO reach (person_id, address, quiet_from, quiet_to, dead_words) VALUES (id(1), 'quinn@millrace.example', '21:00', '07:00', '');
INSERT INTO reminder_choice (person_id, kind, by_mail, by_push, in_calendar) VALUES (id(1), 'recheck', FALSE, TRUE, TRUE);
INSERT INTO reminder_day (day, decided_ms) VALUES ('2026-11-25', {now});
INSERT INTO reminder (id, person_id, kind, reason, thing, due_on, told_on, is_must, by_mail, by_push, title, why, next_words, href, decided_ms)
VALUES (id(90), id(1), 'storage_overdue', 'above_band', 'pack:P-001', '2026-11-24', '2026-11-25', FALSE, TRUE, FALSE, 'P-001: above its storage band', 'Above its storage band for 3 days.', 'Bring it to 3.82 V per cell, then log its volts.', '/packs/P-001', {now});
INSERT INTO mail (id, person_id, on_day, channel, message_id, state, address, made_ms, next_ms, tries, answer)
VALUES (id(91), id(1), '2026-11-25', 'mail', 'a-message@millrace.example', 'waiting', 'quinn@millrace.example', {now}, {now}, 0, '');
INSERT INTO mail_token (token_hash, mail_id, made_ms) VALUES ('not a hash', id(91), {now});
