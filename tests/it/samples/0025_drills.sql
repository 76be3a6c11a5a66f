INSERT INTO drill (id, held_on, led_by, people, out_s, went_well, to_change, noted_by, noted_ms) VALUES (id(90), '2026-11-20', id(1), 14, 150, 'Everybody was out.', 'The side door was locked.', id(1), {now});
UPDATE club SET wall_plan = '{"sand":"by the door"}', drill_by = '2027-02-01';
