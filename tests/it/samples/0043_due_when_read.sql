-- It came from an event and was read outside of its band.
UPDATE care SET back_ms = {now}, is_due_when_read = TRUE WHERE pack_id = id(8);
