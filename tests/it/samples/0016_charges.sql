INSERT INTO charge (id, pack_id, charger_id, output, mode, is_balanced, purpose, current_ma, target_mv, least_minutes, most_minutes,
 least_mah, most_mah, cutoff_mah, cutoff_minutes, drawn_mw, started_ms, started_by, watched_by)
VALUES (id(70), id(8), id(9), 0, 'balance', TRUE, 'no_hurry', 400, 12600, 30, 45, 100, 200, 240, 55, 6000, {now}, id(1), id(1));
INSERT INTO charger_setting (charger_id, output, current_ma, set_ms) VALUES (id(9), 0, 400, {now});
