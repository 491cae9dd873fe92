"""From request to judged proposals: stages of the aim, the grid, alternatives."""
