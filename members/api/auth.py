"""Tokens of devices, as the Authorization header brings them."""

from typing import Any

from drf_spectacular.extensions import OpenApiAuthenticationExtension
from knox.auth import TokenAuthentication
from rest_framework.exceptions import AuthenticationFailed


class DeviceTokens(TokenAuthentication):
    """``Authorization: Token ...``; one with odd bytes is a wrong one, not a crash."""

    def authenticate_credentials(self, token: bytes) -> Any:
        if not (token.isascii() and token.isalnum()):
            raise AuthenticationFailed("Invalid token.")
        return super().authenticate_credentials(token)


class DeviceTokensScheme(OpenApiAuthenticationExtension):  # type: ignore[no-untyped-call]
    """How the OpenAPI document tells it; registered by being defined."""

    target_class = DeviceTokens
    name = "deviceToken"

    def get_security_definition(self, auto_schema: Any) -> dict[str, Any]:
        return {
            "type": "apiKey",
            "in": "header",
            "name": "Authorization",
            "description": 'The word "Token", a space, and a token made on the page Devices.',
        }
