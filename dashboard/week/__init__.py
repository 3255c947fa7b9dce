"""The page of the week: its questions, its sentence, its words and its lists."""
