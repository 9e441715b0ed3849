"""The sequence of the work: working time, the longest chain, and dates that a crew can keep."""
