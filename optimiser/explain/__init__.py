"""Why there is no formula: the clash, its proof, and the least giving-way that cures it."""
