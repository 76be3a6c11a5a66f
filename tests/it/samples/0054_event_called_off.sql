UPDATE event SET called_off_ms = {now} WHERE id = id(80);
