"""From inputs and blocks to numbers: the graph, its evaluation, limits and verdicts."""
