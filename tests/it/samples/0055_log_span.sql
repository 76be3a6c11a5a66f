UPDATE charge_log SET to_ms = added_ms - 3600000;
