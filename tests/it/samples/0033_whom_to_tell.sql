UPDATE club SET whom_to_tell = '[{"whom":"Insurer","when":"after any fire"}]';
