"""Proofs in exact fractions: that rows cannot hold together, that an answer is the best one."""
