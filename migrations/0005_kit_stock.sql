-- Of adapters, which are counted, a part can be set aside; and kit a member brought back alone waits to be looked at.
ALTER TABLE kit ADD COLUMN aside_count BIGINT NOT NULL DEFAULT 0 CHECK (aside_count >= 0);
ALTER TABLE kit ADD COLUMN unchecked_count BIGINT NOT NULL DEFAULT 0 CHECK (unchecked_count >= 0);
UPDATE kit SET aside_count = owned_count WHERE set_aside_ms IS NOT NULL;
UPDATE kit SET set_aside_words = NULL, set_aside_ms = NULL, set_aside_by = NULL WHERE aside_count = 0;
