"""Keelbook: a boat yard's build manual whose numbers always come from the current inputs."""
