"""What the sites delivered, needed and could deliver, and the figures made of it."""
