UPDATE finding SET is_to_tell = TRUE WHERE id = id(15);
