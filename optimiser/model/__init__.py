"""Linear models in exact fractions: variables, rows, cost. Knows no word of formulas."""
