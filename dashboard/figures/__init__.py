"""The page of figures: a block for each, and the tables below them."""
