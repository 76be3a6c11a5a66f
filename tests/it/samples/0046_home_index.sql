UPDATE care SET home_id = id(1), home_by = '2026-11-30' WHERE pack_id = (SELECT id FROM pack WHERE number = 'P-001');
UPDATE report SET answer = 'Seen to.', answered_ms = {now}, answered_by = id(1) WHERE id = id(94);
