"""The page of sprays and laterals: its questions, its sentence, its words, its lists and tables."""
