"""What is on record of a site, and what can be entered there."""
