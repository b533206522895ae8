"""Data of each release, and whether today's program takes them over whole."""
