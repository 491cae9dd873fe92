"""Which limits apply to a product, where and when. Pure functions: rows in, limits out."""
