"""Charts: rows in, a plotly figure out."""
