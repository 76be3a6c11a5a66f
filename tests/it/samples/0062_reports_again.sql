UPDATE report SET left_out = 'Its volts could not be read: log them on its page.' WHERE phone_key IS NOT NULL;
