"""From numbers and tokens to finished pages."""
