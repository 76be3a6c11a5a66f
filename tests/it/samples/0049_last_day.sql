UPDATE event SET last_day_ms = ends_ms - 3600000 WHERE id = id(80);
