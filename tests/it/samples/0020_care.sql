INSERT INTO care (pack_id, above_ms, lain) VALUES (id(8), {now}, '[]');
INSERT INTO event (id, name, place, first_on, last_on, starts_ms, ends_ms, made_by, made_ms)
VALUES (id(80), 'Autumn Bouts', 'Town hall', '2026-11-21', '2026-11-22', {now} - 345600000, {now} - 172800000, id(1), {now});
INSERT INTO event_pack (event_id, pack_id, added_ms) VALUES (id(80), id(8), {now});
