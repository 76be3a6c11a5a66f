-- Of eight adapters two are out, one has a bent pin, and one came back unchecked.
UPDATE kit SET aside_count = 1, unchecked_count = 1, set_aside_words = 'a bent pin', set_aside_ms = {now}, set_aside_by = id(1) WHERE id = id(9);
