UPDATE book_action SET owner_seq = seq;
