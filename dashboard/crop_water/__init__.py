"""The page of the crops' water: its questions, its fields, its sentence, its parts."""
