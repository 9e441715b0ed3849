"""The keelbook command."""
