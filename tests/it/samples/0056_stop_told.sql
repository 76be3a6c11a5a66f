UPDATE charge SET stop_told_ms = {now} - 60000;
