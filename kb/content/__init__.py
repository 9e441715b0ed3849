"""What a yard writes: pages, blocks, inputs and tables, read with exact places."""
