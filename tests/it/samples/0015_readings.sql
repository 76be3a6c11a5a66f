INSERT INTO reading (id, pack_id, taken_ms, by_id, volts, rested_minutes, resistance, meter, celsius, put_in_mah, context)
VALUES (id(93), id(8), {now} - 600000, id(1), 'c:3820,3810,3820', 60, 'c:51,49,120', 'C-02', -3, 1200, 'after_charge');
INSERT INTO reading (id, pack_id, taken_ms, by_id, volts, rested_minutes, taken_out_mah, context)
VALUES (id(94), id(8), {now} - 500000, id(1), 'c:3220,3210,3220', 15, 1800, 'capacity_run');
