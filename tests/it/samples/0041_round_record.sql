UPDATE round_pack SET read_ms = {now}, read_by = id(1), why = 'Cell 2 rests at 2.80 V. Don''t charge or use it; it goes to quarantine.';
