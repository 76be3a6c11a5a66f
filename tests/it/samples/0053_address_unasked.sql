UPDATE reach SET unasked_ms = {now} WHERE person_id = id(1);
