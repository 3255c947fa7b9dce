"""The page of the harvest: what it asks, says and lists."""
