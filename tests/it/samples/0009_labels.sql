-- Two labels of one pack, the first of them revoked; and a take-back that is being gathered.
INSERT INTO label (code, pack_id, made_ms, made_by, base, printed_ms, ended_ms, ended_by) VALUES ('0123456789abcdefghjkmnopqr', id(8), {now}, id(1), 'http://pi:8080', {now}, {now}, id(1));
INSERT INTO label (code, pack_id, made_ms, made_by, base, printed_ms) VALUES ('1123456789abcdefghjkmnopqr', id(8), {now}, id(1), 'http://pi:8080', {now});
INSERT INTO gathering (session_id, kind, items, due, purpose, at_ms) SELECT id, 'take_back', 'P-001', '', '', {now} FROM session;
