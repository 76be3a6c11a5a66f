-- Of adapters, which are counted, a part can be set aside; and kit a member brought back alone waits to be looked over.
ALTER TABLE kit ADD COLUMN aside_count BIGINT NOT NULL DEFAULT 0 CHECK (aside_count >= 0);
ALTER TABLE kit ADD COLUMN unchecked_count BIGINT NOT NULL DEFAULT 0 CHECK (unchecked_count >= 0);
-- What a line put there when it came back, so that undoing its take-back takes no more than that away again.
ALTER TABLE lent ADD COLUMN aside_count BIGINT NOT NULL DEFAULT 0 CHECK (aside_count >= 0);
ALTER TABLE lent ADD COLUMN unchecked_count BIGINT NOT NULL DEFAULT 0 CHECK (unchecked_count >= 0);
UPDATE kit SET aside_count = CASE WHEN kind = 'adapter' THEN owned_count - (SELECT CAST(COALESCE(SUM(l.counted), 0) AS BIGINT)
    FROM lent l WHERE l.kit_id = kit.id AND l.closed_ms IS NULL) ELSE 1 END WHERE set_aside_ms IS NOT NULL;
