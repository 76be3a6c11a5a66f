-- Which entry says who sees to an action: the one that set it, or the latest that put its owner right. Who is linked to that part reads
-- the action on their own page.
ALTER TABLE book_action ADD COLUMN owner_seq BIGINT NOT NULL DEFAULT 0;
UPDATE book_action SET owner_seq = COALESCE((SELECT MAX(e.seq) FROM book_entry e WHERE e.incident = book_action.incident
    AND e.text LIKE '%"corrects":{"field":"owner",%"seq":' || book_action.seq || '}%'), seq);
CREATE INDEX book_action_owner ON book_action (owner_seq) WHERE stands = 'to_do';
