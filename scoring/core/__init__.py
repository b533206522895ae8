"""The rules of scoring in pure Python: no Django, no input or output, no clock."""
