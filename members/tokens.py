"""Secrets that are shown once and kept only as a hash."""

import hashlib
import secrets

# 32 random bytes: far past guessing, so a plain hash is enough to keep.
TOKEN_BYTES = 32


def new_token() -> str:
    return secrets.token_urlsafe(TOKEN_BYTES)


def hash_token(token: str) -> str:
    return hashlib.sha256(token.encode("utf-8", "surrogatepass")).hexdigest()
