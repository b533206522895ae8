"""Measurements. ``make bench`` prints them; nothing asserts them."""
