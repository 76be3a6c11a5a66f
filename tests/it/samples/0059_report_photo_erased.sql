UPDATE report SET photo_erased_ms = {now} WHERE phone_key IS NOT NULL;
