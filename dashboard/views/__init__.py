"""One question of one user a file."""
