-- Not a picture, but bytes on both databases.
INSERT INTO photo (id, pack_id, added_ms, added_by, original_sha256, width, height, large, small)
VALUES (id(60), id(8), {now}, id(1), 'a digest', 4, 3, 'large', 'small');
