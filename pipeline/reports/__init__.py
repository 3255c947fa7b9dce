"""What goes out on paper and by telephone."""
