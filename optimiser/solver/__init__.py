"""The only place that knows PuLP, HiGHS and floats."""
