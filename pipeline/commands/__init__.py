"""The commands, a room a file, and what they share; `pipeline.cli` puts them together."""
