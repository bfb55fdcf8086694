"""Files of a client's, a business's or the trail's rows: columns, cells, tables and the archive of them."""
