"""The dashboard: pages ask the pipeline and draw; no number is computed here."""
