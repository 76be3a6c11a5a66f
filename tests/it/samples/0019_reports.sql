-- A poster that works, a stranger's report with a photo, and its double.
INSERT INTO poster (id, code, name, base, made_ms, made_by) VALUES (id(70), '2123456789abcdefghjkmnopqr', 'Hall door', 'http://pi:8080', {now}, id(1));
INSERT INTO report (id, token, reference, about, thing, pack_id, poster_id, seen, words, is_now, place_words, reach, gravity, rank, effect, is_verified, network, left_out, came_ms)
VALUES (id(71), '3123456789abcdefghjkmnopqr', 'K7M4QD', 'pack', '', id(8), NULL, 'wet', 'in a puddle', 'no', 'by the door', '', 'danger', 4, 'none', FALSE, 'a digest', '', {now});
INSERT INTO report (id, token, reference, about, thing, poster_id, seen, words, is_now, place_words, reach, gravity, rank, effect, is_verified, by_id, left_out, came_ms, read_ms, read_by, merged_into)
VALUES (id(72), '4123456789abcdefghjkmnopqr', 'K7M4QE', 'hall', 'socket', id(70), '', 'it is loose', 'not_said', '', '', 'to_mend', 3, 'none', TRUE, id(1), '', {now}, {now}, id(1), id(71));
INSERT INTO report_photo (report_id, added_ms, original_sha256, width, height, large, small) VALUES (id(71), {now}, 'a digest', 4, 3, 'large', 'small');
