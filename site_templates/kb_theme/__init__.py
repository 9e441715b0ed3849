"""The theme of the book's pages."""
