-- The packs page in each order it is most asked for, without looking at packs it does not show: what the page is
-- limited to comes first in each index, then the order.
DROP INDEX pack_state;
CREATE INDEX pack_state ON pack (state, number_key, number);
CREATE INDEX pack_in_use ON pack (life, number_key, number);
CREATE INDEX pack_gravity ON pack (
    life,
    (CASE state WHEN 'quarantine' THEN 0 WHEN 'set_aside' THEN 1 WHEN 'not_known' THEN 2 WHEN 'caution' THEN 3 WHEN 'fit' THEN 4 ELSE 5 END),
    number_key,
    number
);
CREATE INDEX pack_seen ON pack (life, (COALESCE(last_read_ms, 0)), number_key, number);
