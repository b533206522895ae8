"""An invented gym with twelve weeks of invented results."""
