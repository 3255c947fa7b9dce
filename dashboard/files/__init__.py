"""The page of data: what is dropped, what would become of it, and what came."""
