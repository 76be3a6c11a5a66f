UPDATE care SET home_back_ms = 1795000000000;
