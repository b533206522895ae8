"""Where the program lies, and the environment that all settings are read from."""

from pathlib import Path

import environ

BASE_DIR = Path(__file__).resolve().parent.parent.parent

# NAME_FILE names a file that holds NAME, as service managers hand secrets over.
env = environ.FileAwareEnv()
if (BASE_DIR / ".env").is_file():
    environ.Env.read_env(BASE_DIR / ".env")
