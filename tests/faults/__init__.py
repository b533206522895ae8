"""Faults: real processes are killed, stopped and started again, and what was promised holds."""
