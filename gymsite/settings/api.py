"""Settings of the JSON API: who may ask how often, what errors are, its document, its tokens."""

from datetime import timedelta
from typing import Any

from gymsite.settings.environment import env

REST_FRAMEWORK: dict[str, Any] = {
    "DEFAULT_AUTHENTICATION_CLASSES": [
        # The first one's challenge header goes with a 401.
        "members.api.auth.DeviceTokens",
        "rest_framework.authentication.SessionAuthentication",
    ],
    "DEFAULT_PERMISSION_CLASSES": ["rest_framework.permissions.IsAuthenticated"],
    "DEFAULT_PARSER_CLASSES": ["gymsite.parsers.StrictJSONParser"],
    "DEFAULT_RENDERER_CLASSES": ["rest_framework.renderers.JSONRenderer"],
    "DEFAULT_THROTTLE_CLASSES": [
        "members.limits.OfStrangers",
        "members.limits.OfPersons",
        "members.limits.OfScope",
    ],
    "DEFAULT_THROTTLE_RATES": {
        "anon": env.str("THROTTLE_ANON", default="60/min"),
        "user": env.str("THROTTLE_USER", default="300/min"),
        # Scopes a view may name, of pages as well: writing results, live previews, tokens,
        # making invitations, joining, and links that lead nowhere.
        "submit": env.str("THROTTLE_SUBMIT", default="60/min"),
        "preview": env.str("THROTTLE_PREVIEW", default="120/min"),
        "token": env.str("THROTTLE_TOKEN", default="10/min"),
        "invite": env.str("THROTTLE_INVITE", default="300/hour"),
        "join": env.str("THROTTLE_JOIN", default="20/min"),
        "guess": env.str("THROTTLE_GUESS", default="30/min"),
    },
    "DEFAULT_SCHEMA_CLASS": "drf_standardized_errors.openapi.AutoSchema",
    "EXCEPTION_HANDLER": "drf_standardized_errors.handler.exception_handler",
    "TEST_REQUEST_DEFAULT_FORMAT": "json",
    "NUM_PROXIES": env.int("TRUSTED_PROXIES", default=0),
}
_PROBLEM = "gymsite.errors.ProblemSerializer"
DRF_STANDARDIZED_ERRORS = {
    "EXCEPTION_HANDLER_CLASS": "gymsite.errors.ProblemHandler",
    "EXCEPTION_FORMATTER_CLASS": "gymsite.errors.ProblemFormatter",
    "ENABLE_IN_DEBUG_FOR_UNHANDLED_EXCEPTIONS": True,
    "ERROR_SCHEMAS": {
        code: _PROBLEM for code in ("400", "401", "403", "404", "405", "406", "415", "429", "500")
    },
}
SPECTACULAR_SETTINGS = {
    "TITLE": "Class board",
    "DESCRIPTION": (
        "Workouts, classes, results and fair boards. While something that the site needs is away, "
        "any address answers 503 with Retry-After, and 507 while it has no room to save anything; "
        "a result sent again under its Idempotency-Key counts once."
    ),
    "VERSION": "1",
    "SERVE_INCLUDE_SCHEMA": False,
    "SWAGGER_UI_DIST": "SIDECAR",
    "SWAGGER_UI_FAVICON_HREF": "SIDECAR",
    "REDOC_DIST": "SIDECAR",
    "COMPONENT_SPLIT_REQUEST": True,
    # One name for choices that several fields share, two for two of the same name.
    "ENUM_NAME_OVERRIDES": {
        "ShownAsEnum": "members.models.ShownAs",
        "StateEnum": "scoring.models.State",
        "ExportStateEnum": "scoring.api.shapes_privacy.EXPORT_STATES",
        "ImportStateEnum": "scoring.models.imports.ImportRun.State",
        "ImportLineStateEnum": "scoring.models.imports.ImportLine.State",
        "ImportKindEnum": "scoring.models.imports.ImportRun.Kind",
        "EstimateRunStateEnum": "scoring.models.estimates.EstimateRun.State",
        "LetterStateEnum": "scoring.api.shapes_follow_up.LETTER_STATES",
        "DecisionEnum": "scoring.api.shapes_follow_up.DECISIONS",
        "QuestionKindEnum": "scoring.api.shapes_live.QUESTION_KINDS",
    },
    "POSTPROCESSING_HOOKS": [
        "drf_standardized_errors.openapi_hooks.postprocess_schema_enums",
        "gymsite.schema.problems_everywhere",
        "gymsite.links.links",
    ],
}
REST_KNOX = {
    "TOKEN_TTL": timedelta(days=env.int("TOKEN_DAYS", default=90)),
    "AUTO_REFRESH": False,
    "TOKEN_LIMIT_PER_USER": 20,
}
