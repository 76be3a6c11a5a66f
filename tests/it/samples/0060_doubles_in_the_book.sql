UPDATE report SET incident = 'I-001' WHERE merged_into IS NOT NULL;
