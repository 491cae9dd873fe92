"""Mixture regions, designs and fits as plain numbers, with no word of formulas or files."""
