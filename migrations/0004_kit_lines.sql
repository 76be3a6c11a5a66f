-- The lines of a piece of kit, the latest of them last, without reading every loan.
CREATE INDEX lent_kit_lines ON lent (kit_id, opened_ms);
