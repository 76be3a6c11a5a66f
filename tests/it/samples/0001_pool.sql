-- One row for every table of the first step: a quartermaster signed in, a pack that came back, adapters still out.
INSERT INTO club (id, name, time_zone, uses_fahrenheit, uses_decimal_comma, pack_prefix, loan_days, reading_days, spread_watch_mv, spread_wide_mv, may_members_borrow, is_demo, started_ms)
VALUES (1, 'Millrace Robotics Club', 'Europe/London', FALSE, FALSE, 'P-', 7, 90, 30, 100, FALSE, FALSE, {now});
INSERT INTO person (id, name, sign_in, password_hash, table_code_hash, is_member, is_quartermaster, is_organiser, responsible_id, created_ms)
VALUES (id(1), 'Quinn Marlow', 'quinn', NULL, NULL, TRUE, TRUE, TRUE, NULL, {now});
INSERT INTO tablet (id, name, token_hash, opened_by, opened_ms) VALUES (id(2), 'Table by the door', 'not a hash', id(1), {now});
INSERT INTO session (id, token_hash, person_id, tablet_id, device, created_ms, seen_ms, idle_minutes, ends_ms)
VALUES (id(3), '{token_hash}', id(1), NULL, 'a browser', {now}, {now}, 60, {now} + 86400000);
INSERT INTO link (id, token_hash, kind, person_id, made_by, made_ms, ends_ms) VALUES (id(4), 'not a hash', 'reset', id(1), id(1), {now}, {now} + 3600000);
INSERT INTO induction (id, person_id, shown_by, shown_on, ends_on, noted_ms) VALUES (id(5), id(1), id(1), '2026-11-18', NULL, {now});
INSERT INTO place (id, name, kind, room, energy_limit_mwh, notes, created_ms) VALUES (id(6), 'Box B', 'box', 'Hall', 500000, '', {now});
INSERT INTO connector (code, spec, created_ms)
VALUES ('hall-plug', '{"code":"hall-plug","name":"Hall plug","purpose":"input","pins":2,"rating_ma":7500,"peak_ma":null,"polarity":"","source":"the club, no source given"}', {now});
INSERT INTO design (id, name, chemistry, cells_series, groups_parallel, capacity_mah, label_discharge_c_tenths, label_charge_c_tenths, connector, balance_connector, mass_g, size_mm, created_ms)
VALUES (id(7), 'Mill 3S 2200', 'lipo', 3, 1, 2200, 300, 10, 'xt60', 'jst-xh', 180, '105 x 34 x 24', {now});
INSERT INTO pack (id, number, number_key, design_id, maker, batch, supplier, price, place_id, notes, life, state, state_words, state_next, state_ms, state_by, last_volts, last_rested_minutes, last_read_ms, created_ms)
VALUES (id(8), 'P-001', 1, id(7), 'Millrace', 'M7', '', '', id(6), '', 'in_use', 'fit', 'Its cells are even.', '', {now}, id(1), '3820 3810 3820', 60, {now}, {now});
INSERT INTO kit (id, number, number_key, kind, name, maker, spec, owned_count, place_id, notes, life, created_ms)
VALUES (id(9), 'A-01', 1, 'adapter', '', '', '{"kind":"adapter","from":"xt60","to":"xt30","rated_ma":12000}', 8, id(6), '', 'in_use', {now});
INSERT INTO night (id, place_id, on_duty_id, ends_on, ends_at, opened_by, opened_ms) VALUES (id(10), id(6), id(1), '2026-11-25', '21:30', id(1), {now});
INSERT INTO loan (id, borrower_id, handed_by, night_id, due_on, purpose, opened_ms) VALUES (id(11), id(1), id(1), id(10), '2026-11-25', 'practice', {now});
INSERT INTO lent (id, loan_id, pack_id, opened_ms, closed_ms, closed_by, outcome) VALUES (id(12), id(11), id(8), {now}, {now}, id(1), 'back');
INSERT INTO lent (id, loan_id, kit_id, counted, opened_ms) VALUES (id(13), id(11), id(9), 2, {now});
INSERT INTO reading (id, pack_id, taken_ms, by_id, volts, rested_minutes, lent_id) VALUES (id(14), id(8), {now}, id(1), '3820 3810 3820', 60, id(12));
INSERT INTO finding (id, pack_id, rule, gravity, words, next_words, found_ms, found_by, closed_ms, closed_by, closed_words)
VALUES (id(15), id(8), 'wrap_torn', 'to_mend', 'Its outer wrap is torn.', 'Mend it.', {now}, id(1), {now}, id(1), 'taped');
INSERT INTO activity (seq, at_ms, by_id, verb, subject, subject_id, before, after, hash) VALUES (1, {now} - 7200000, id(1), 'registered', 'pack', id(8), 'null', 'null', 'a hash');
UPDATE turn SET log_seq = 1, log_hash = 'a hash';
INSERT INTO form_key (key, person_id, body_hash, answer, at_ms) VALUES ('a key', id(1), 'a hash', '/packs/P-001', {now});
