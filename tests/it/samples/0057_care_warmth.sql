UPDATE care SET warmth = '[[1795000000000,19]]';
