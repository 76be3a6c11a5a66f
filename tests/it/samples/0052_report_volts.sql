UPDATE report SET volts = 'c:3290,1700,3300' WHERE pack_id IS NOT NULL;
