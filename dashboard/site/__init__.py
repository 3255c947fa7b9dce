"""A site on a screen and on paper: its panel, its questions, its numbers."""
