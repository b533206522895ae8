"""Keys of rows as forms send them."""


def is_key(text: str) -> bool:
    """Whether a text can be a row's key: eighteen digits are within what every database takes."""
    return text.isascii() and text.isdigit() and len(text) <= 18
