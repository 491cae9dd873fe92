"""Phenomena of the jar, one module each: a full form for the judge, a linear one for rows; pure functions."""
