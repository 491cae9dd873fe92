"""Mutation testing of the layers that decide: `python -m tests.mutation`."""
