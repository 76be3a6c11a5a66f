-- A pack that is watched, a look at it, and one that was got rid of.
INSERT INTO watch (id, pack_id, began_ms, next_ms) VALUES (id(100), id(8), {now}, {now});
INSERT INTO watch_look (id, watch_id, at_ms, by_id, signs) VALUES (id(101), id(100), {now}, id(1), 'bulging wet_patch');
INSERT INTO disposal (pack_id, harmless, handed_in, receipt, disposed_on, at_ms, by_id) VALUES (id(8), 'packed', 'The town''s collection point', '', '2026-11-25', {now}, id(1));
