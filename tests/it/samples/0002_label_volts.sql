-- A design whose label is stricter than its chemistry.
INSERT INTO design (id, name, chemistry, cells_series, groups_parallel, capacity_mah, label_discharge_c_tenths, label_charge_c_tenths, connector, balance_connector, mass_g, size_mm, created_ms, label_full_mv, label_lowest_mv)
VALUES (id(40), 'Mill 2S 450', 'lipo', 2, 1, 450, NULL, NULL, 'xt30', 'jst-xh', NULL, '', {now}, 4100, 3200);
