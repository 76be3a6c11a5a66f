INSERT INTO storage_round (id, name, event_id, opened_by, opened_ms) VALUES (id(81), 'After the Autumn Bouts', id(80), id(1), {now});
INSERT INTO round_pack (round_id, pack_id, added_ms, home_id, home_by, home_ms) VALUES (id(81), id(8), {now}, id(1), '2026-11-27', {now});
UPDATE care SET home_id = id(1), home_by = '2026-11-27';
