"""The farmers' week: which valve is open when, and how far the water goes."""
