UPDATE reach SET kept_ms = {now} WHERE person_id = id(1);
