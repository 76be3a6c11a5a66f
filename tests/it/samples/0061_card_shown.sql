INSERT INTO card_shown (pack_id, said, first_ms, last_ms) VALUES (id(8), 'for storage: C-01, output 1, set to 3S LiPo', {now} - 60000, {now});
