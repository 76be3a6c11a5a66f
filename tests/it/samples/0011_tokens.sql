INSERT INTO token (id, token_hash, person_id, name, may_change, made_ms, used_ms, ends_ms) VALUES
    (id(91), 'not a hash', id(1), 'the shelf display', FALSE, {now}, NULL, {now} + 604800000);
