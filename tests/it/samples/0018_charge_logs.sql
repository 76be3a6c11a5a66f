-- A log that showed a discharge, and a file on its way: bytes on both databases.
INSERT INTO charge_log (id, pack_id, added_ms, added_by, logged_on, name, original_sha256, run, sign, seconds, charged_uah, discharged_uah,
 capacity_uah, capacity_doubt_uah, resistance_uohm, told, points)
VALUES (id(80), id(8), {now}, id(1), '2026-11-24', 'bench.csv', 'a digest', 0, 'charging', 3600, 0, 2100000, 2100000, 5000, 9000, '{}',
 '0 12600 -2100;3600 9100 -2100');
INSERT INTO charge_log_waiting (id, person_id, pack_id, name, original_sha256, file, choices, at_ms)
VALUES (id(81), id(1), id(8), 'charge.csv', 'another digest', 'Test Time / s', '{}', {now});
