UPDATE report SET phone_hash = 'digest' WHERE phone_key IS NOT NULL;
