INSERT INTO reading (id, pack_id, taken_ms, by_id, volts, rested_minutes, resistance, meter, meter_kind)
VALUES (id(130), id(8), {now} - 400000, id(1), 'c:3820,3810,3820', 60, 'c:26,25,60', 'the red meter', 'alternating');
