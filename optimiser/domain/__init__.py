"""The words of the trade as frozen values: ingredient, formula, rule, brief, proposal."""
